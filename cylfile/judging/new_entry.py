"""
What a new entry brings to a record, whether it may be written: what refuses it, and how somebody signs for it all the same.
"""

from collections import Counter
from collections.abc import Iterable
from copy import copy
from datetime import date
from typing import NamedTuple

from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.empty_texts import empty_texts, may_be_empty
from cylfile.findings.finding import Finding
from cylfile.findings.seal_findings import seal_findings
from cylfile.findings.signatures import signature_findings, signed_entries
from cylfile.findings.two_places import TWO_PLACES
from cylfile.history.seals import check_seals, stated_day
from cylfile.history.sources.air_log import AirLog
from cylfile.judging.case import Case
from cylfile.judging.fill_verdict import over_strictly, unread_about_fill
from cylfile.judging.judge import Judgement, air_log, at_two_places, judge_cylinder, judge_source
from cylfile.judging.subject_judge import are_hands
from cylfile.packs.ruleset import Ruleset
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record
from cylfile.text.source import Source


class Written(NamedTuple):
    """
    What became of a fill: its place, empty where it was not written, and what the rules say of it.

    `refusing` are the findings for which it was refused.
    """

    entry: Entry
    place: str
    findings: list[Finding]
    refusing: list[Finding]


class NewEntries:
    """Judges entries that each may be the next of a record, that of `case`, on its day and by its rules."""

    def __init__(self, case: Case):
        self._case = case
        self.air = air_log(case.record, case.rules, case.as_of)

    def brings(self, entry: Entry, after: Record) -> list[Finding]:
        """
        What is wrong only with an entry, in the order of the files. `after` is the record with it, and has it.

        What could not be read says nothing else with it, and so is no part of that.
        """
        before = self._case.record
        names = may_be_told_otherwise(before, entry, self.air)
        known = Counter(finding.fingerprint for finding in self._found(before, names, entry, self.air))
        new = []
        for finding in self._found_after(after, names, entry):
            if known[finding.fingerprint]:
                known[finding.fingerprint] -= 1
            else:
                new.append(finding)
        return new

    def _found_after(self, after: Record, names: list[str], entry: Entry) -> list[Finding]:
        if entry.subject in after.air_sources or _is_of_sources(after, entry.source):
            case = self._case
            return self._found(after, names, entry, air_log(after, case.rules, case.as_of))
        with self.air.with_entry(entry, {name: after.entries[name] for name in names}):
            return self._found(after, names, entry, self.air)

    def _found(self, record: Record, names: list[str], entry: Entry, air: AirLog) -> list[Finding]:
        """What the rules say of some names, and of all else in a record of which a new entry may have them say more or less."""
        case, cards, sources = self._case._replace(record=record), record.cylinders, record.air_sources
        rules, as_of, level_of = case.rules, case.as_of, case.rules.level_of
        of_day = copy(record)
        if not any(waiver.rule == TWO_PLACES for waiver in record.waivers):
            of_day.entries = {
                name: [each for each in entries if each.day == entry.day] for name, entries in record.entries.items()
            }
        looked_at = set(names)
        signed = signed_entries(
            entries if name in looked_at else of_day.entries[name] for name, entries in record.entries.items()
        )
        across = [
            finding
            for name in names
            if name in sources
            for finding in judge_source(record, rules, sources[name], as_of, air)
        ]
        across += at_two_places(of_day, rules, as_of)
        across += signature_findings(signed, as_of, level_of)
        if any(stated_day(entry, as_of) <= seal.day for seal in record.seals):
            across += seal_findings(check_seals(record, as_of), level_of)
        if may_be_empty(entry.span.text):
            across += empty_texts(record, as_of, level_of)
        own = {name: judge_cylinder(record, rules, cards[name], as_of, air) for name in names if name in cards}
        judgement = Judgement(case, own, [], across, air)
        judgement.excuse(signed)
        return judgement.findings


def _is_of_sources(record: Record, source: Source) -> bool:
    """Whether a file has anything of a source of air, which stands elsewhere once there is a line more above it."""
    return any(
        block.span.source is source or any(entry.source is source for entry in record.entries.get(name, ()))
        for name, block in record.air_sources.items()
    )


def may_be_told_otherwise(record: Record, entry: Entry, air: AirLog) -> list[str]:
    """
    The cylinders and the sources of which the rules may say something else by themselves once a record has a new entry.

    These are its own, the source that it was filled from, and those that were filled from the same source on its day or
    later, for what the source gave until then is another. All are, where it is an entry of a source, and where what a
    person or a source did is waived, or one of the name of a cylinder: whether a waiver covers anything hangs on all that
    they did. `air` is the log of the record.
    """
    cylinders = record.cylinders
    names = list(cylinders | record.air_sources)
    waived = {waiver.name for waiver in record.waivers}
    if entry.subject not in cylinders or not waived <= cylinders.keys() or waived and are_hands(record, waived):
        return names
    told = {entry.subject}
    source = air.sources.get(entry.on) if isinstance(entry, Filled) else None
    if source is not None:
        told |= {source.block.name, *(fill.subject for fill in source.drawn_on(entry.day, date.max))}
    return [name for name in names if name in told]


def refusing(entry: Entry, findings: Iterable[Finding]) -> list[Finding]:
    """Of the findings that an entry brings, those for which it is refused: one of bad news only where it cannot be at all."""
    return [
        finding
        for finding in findings
        if finding.level == "danger" and finding.stands and (finding.rule in CORE_RULES or not entry.is_bad_news)
    ]


def refusing_fill(record: Record, rules: Ruleset, fill: Entry, air: AirLog | None = None) -> list[Finding]:
    """
    What keeps a fill from being entered now: what cannot be read about its cylinder or the source of its air.

    And what is allowed to readings of the past, for what a gauge may be off, is not to a fill that is entered now.
    `record` is that before the fill, `air` its log on the day of the fill, and the fill is as it would stand in the record.
    """
    unread = unread_about_fill(record, rules, fill)
    card = record.cylinders.get(fill.subject)
    return unread if unread or card is None else over_strictly(record, rules, card, fill, air)


def signed_for(entry: Entry, by: str, why: str) -> Entry:
    """The entry with why it is written although it is refused, and who answers for that, as a remark."""
    reason = f"overridden by {by}: {why}"
    return entry._replace(remark=f"{entry.remark}; {reason}" if entry.remark else reason)
