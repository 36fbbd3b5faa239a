"""
What somebody signed between two states: strikes, answers, late lines and waivers, each with its day, person and reason.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cylfile.compare.entry_changes import ANSWERED, LATE, STRUCK, new_signatures
from cylfile.compare.states import Comparison
from cylfile.record.blocks import StruckProperty
from cylfile.record.entries import Answer, plain_form
from cylfile.record.plain_form import plain_waiver, said_lines, struck_lines
from cylfile.record.record import Record
from cylfile.text.source import Span

WAIVED = "waived"
SIGNED_KINDS = (STRUCK, ANSWERED, LATE, WAIVED)


class Signature(NamedTuple):
    """
    One signature. `about` is what was signed, `name` whose it is, `rule` that of an answer or a waiver; `backdated` is
    whether its day is before the last of which the old state says something.
    """

    day: date
    kind: str
    by: str
    text: str
    name: str
    about: str
    rule: str
    span: Span
    backdated: bool


def signed_between(comparison: Comparison, kinds: tuple[str, ...] = SIGNED_KINDS) -> list[Signature]:
    """Every signature of these kinds that the new state has and the old had not, by its day."""
    found = [one for one in _all(comparison) if one.kind in kinds]
    return sorted(found, key=lambda one: (one.day, one.name, one.span.source.path, one.span.start))


def _all(comparison: Comparison) -> Iterator[Signature]:
    for change in comparison.all_changes:
        for signed in new_signatures(change):
            entry = change.entry
            kind = ANSWERED if isinstance(signed, Answer) else STRUCK if signed == entry.struck else LATE
            about = plain_form(entry._replace(struck=None, late=None, answers=None))
            rule = signed.rule if isinstance(signed, Answer) else ""
            is_back = signed.day < comparison.since
            yield Signature(signed.day, kind, signed.by, signed.text, entry.subject, about, rule, entry.span, is_back)
    known = Counter((name, *struck_lines(struck)) for name, struck in _struck(comparison.old))
    for name, struck in _struck(comparison.new):
        known[key := (name, *struck_lines(struck))] -= 1
        if known[key] < 0:
            day, by, text = struck.struck
            about = "; ".join(said_lines(struck.thing))
            yield Signature(day, STRUCK, by, text, name, about, "", struck.span, day < comparison.since)
    before = set(map(plain_waiver, comparison.old.waivers))
    for waiver in comparison.new.waivers:
        if plain_waiver(waiver) not in before:
            day = waiver.since or date.min
            about = f"until {waiver.until}"
            by, text, name, rule = waiver.by, waiver.text, waiver.name, waiver.rule
            yield Signature(day, WAIVED, by, text, name, about, rule, waiver.span, day < comparison.since)


def _struck(record: Record) -> Iterator[tuple[str, StruckProperty]]:
    for thing in (*filter(None, [record.department]), *record.declared.values(), *record.recalls):
        yield from ((thing.name, struck) for struck in thing.struck_properties)
