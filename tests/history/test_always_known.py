"""
Which facts are known of any cylinder: those that are known of the barest card and line there can be, and no others.

Of such a fact no rule looks whether it is known. So one that is called so and is not would be judged by nothing.
"""

from datetime import date

import pytest

from cylfile.history.facts import CYLINDER_PLACES, FACTS, STATUS
from cylfile.history.fold import steps_of
from cylfile.judging.judge import air_log
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.ledger_entries import VALUES, Written, needed_of

NO_PACKS, _ = load_rules([], lambda name: None)
AS_OF = date(2026, 11, 25)
# What somebody had to write for it to be known: the reading of a gauge, and the recalls, of which this record has none.
WRITTEN = {"reading", "settled-or-read", "recalled"}


def barest(place: str) -> str:
    """A card, and its line where a rule stands at one, on which nothing is written that may be left out."""
    if place == STATUS:
        return "cylinder 114\n"
    fields = ["unread"] if place == "filled" else needed_of(place)
    return Written(place, "2026-05-01", "", {field: VALUES[field][0] for field in fields}).on_card()


@pytest.mark.parametrize("place", CYLINDER_PLACES)
def test_the_facts_of_a_bare_card(place):
    record = read_record([Source("a.cyl", barest(place))])
    assert [fault.text for fault in record.faults] == []
    before, _ = next(steps_of(record, NO_PACKS, record.cylinders["114"], AS_OF))
    before.air = air_log(record, NO_PACKS, AS_OF)
    (entry,) = record.entries.get("114", [None])
    known = {fact.name for fact in FACTS.values() if place in fact.at and fact.value(before, entry) is not None}
    assert known - WRITTEN == {fact.name for fact in FACTS.values() if place in fact.at and fact.always_known}
