"""
Whether a new entry may be written: what refuses it, and how somebody signs for it all the same.
"""

from collections.abc import Iterable
from typing import NamedTuple

from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import Finding
from cylfile.history.sources.air_log import AirLog
from cylfile.judging.fill_verdict import over_strictly, unread_about_fill
from cylfile.judging.subject_judge import are_hands
from cylfile.packs.ruleset import Ruleset
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record


class Written(NamedTuple):
    """
    What became of a fill: its place, empty where it was not written, and what the rules say of it.

    `refusing` are the findings for which it was refused.
    """

    entry: Entry
    place: str
    findings: list[Finding]
    refusing: list[Finding]


def may_be_told_otherwise(record: Record, entry: Entry) -> list[str]:
    """
    The cylinders and the sources of which the rules may say something else by themselves once a record has a new entry.

    These are its own, the source that it was filled from, and those that were filled from the same source on its day or
    later, for what the source gave until then is another. All are, where it is an entry of a source, and where what a
    person or a source did is waived, or one of the name of a cylinder: whether a waiver covers anything hangs on all that
    they did.
    """
    cylinders = record.cylinders
    names = list(cylinders | record.air_sources)
    waived = {waiver.name for waiver in record.waivers}
    if entry.subject not in cylinders or not waived <= cylinders.keys() or waived and are_hands(record, waived):
        return names
    source = entry.on if isinstance(entry, Filled) else None
    return [
        name
        for name in names
        if name in (entry.subject, source)
        or source is not None
        and any(
            other.__class__ is Filled and other.on == source and other.day >= entry.day
            for other in record.entries.get(name, ())
        )
    ]


def refusing(entry: Entry, findings: Iterable[Finding]) -> list[Finding]:
    """Of the findings that an entry brings, those for which it is refused: one of bad news only where it cannot be at all."""
    return [
        finding
        for finding in findings
        if finding.level == "danger" and finding.stands and (finding.rule in CORE_RULES or not entry.is_bad_news)
    ]


def refusing_fill(
    record: Record, rules: Ruleset, fill: Entry, written: Entry, air: AirLog | None = None
) -> list[Finding]:
    """
    What keeps a fill from being entered now: what cannot be read about its cylinder or the source of its air.

    And what is allowed to readings of the past, for what a gauge may be off, is not to a fill that is entered now.
    `record` is that before the fill, `air` its log, and `written` the fill as it would stand in the record.
    """
    unread = unread_about_fill(record, rules, fill)
    card = record.cylinders.get(fill.subject)
    return unread if unread or card is None else over_strictly(record, rules, card, written, air)


def signed_for(entry: Entry, by: str, why: str) -> Entry:
    """The entry with why it is written although it is refused, and who answers for that, as a remark."""
    reason = f"overridden by {by}: {why}"
    return entry._replace(remark=f"{entry.remark}; {reason}" if entry.remark else reason)
