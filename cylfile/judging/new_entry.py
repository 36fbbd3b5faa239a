"""
Whether a new entry may be written: what refuses it, and how somebody signs for it all the same.
"""

from collections.abc import Iterable
from typing import NamedTuple

from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import Finding
from cylfile.history.sources.source_log import AirLog
from cylfile.judging.fill_verdict import over_strictly, unread_about_fill
from cylfile.packs.ruleset import Ruleset
from cylfile.record.entries import Entry
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
