"""
Which facts are known of any cylinder: those that are known of the barest card and line there can be, and no others.

Of such a fact no rule looks whether it is known. So one that is called so and is not would be judged by nothing.
"""

from datetime import date

import pytest

from cylfile.history import facts
from cylfile.history.facts import CYLINDER_PLACES, FACTS, STATUS
from cylfile.history.fold import steps_of
from cylfile.history.life import Life
from cylfile.judging.by_itself import air_log
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


@pytest.mark.parametrize("name", ["rounding", "over-limit", "charge", "charge-rounding"])
def test_what_settles_a_pressure_is_worked_out_only_where_a_condition_comes_to_it(name, monkeypatch):
    """Of nearly every fill the reading alone tells that nothing is over; air is not asked for twice as often as it must."""
    rule = 'rule rule-{}  danger\n  on filled\n  when to > 9999 psi and {} > {}\n  say "x"\n'
    zero = "0 psi" if FACTS[name].dimension == "pressure" else "0"
    pack = 'pack house "H"\n  over us-dot\n' + "".join(rule.format(number, name, zero) for number in (1, 2))
    rules, faults = load_rules(["h.cylpack"], lambda _: Source("h.cylpack", pack))
    assert [fault.text for fault in faults] == []
    own = rules.with_rules({name: rule for name, rule in rules.rules.items() if name.startswith("rule-")})
    text = "cylinder 114\n  class dot-3aa\n  rated 3000 psi\n  2026-05-01 filled to {} psi at 70 F\n"
    asked = []
    settled = Life.settled
    monkeypatch.setattr(Life, "settled", lambda life, entry: asked.append(1) or settled(life, entry))
    monkeypatch.setattr(facts, "left_open", lambda *given, **more: asked.append(1) or 0.0)
    for psi, is_asked in ((3000, False), (99999, True)):
        record = read_record([Source("a.cyl", text.format(psi))])
        before, _ = next(steps_of(record, own, record.cylinders["114"], AS_OF))
        (entry,) = record.entries["114"]
        own.judge_of("filled")(before, entry, [])
        assert bool(asked) is is_asked, psi
        asked.clear()


@pytest.mark.parametrize("fact", [fact for fact in FACTS.values() if fact.needs], ids=lambda fact: fact.name)
def test_what_an_entry_needs_to_say_is_what_the_fact_is_worked_out_of(fact):
    """A fact that is not worked out, since the entry does not say what it needs, would be known of none of them."""
    text = "cylinder 114\n  class carbon-wrapped\n  rated 4500 psi\n  2026-05-01 filled to 4500 psi{}\n"
    rules, _ = load_rules(["us-dot"], lambda name: None)
    is_unlikely = fact.name == "unlikely-temperature"
    for more, is_known in (("", False), (" at 200 F", is_unlikely), (" at 70 F", not is_unlikely)):
        record = read_record([Source("a.cyl", text.format(more))])
        life, _ = next(steps_of(record, rules, record.cylinders["114"], AS_OF))
        (fill,) = record.entries["114"]
        assert [FACTS[name].value(life, fill) is None for name in fact.needs] == [not more] * len(fact.needs)
        assert (fact.compute(life, fill) is not None) == is_known
