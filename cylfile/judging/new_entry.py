"""
What a new entry brings to a record, whether it may be written: what refuses it, and how somebody signs for it all the same.
"""

from collections.abc import Iterable, Mapping
from functools import cached_property
from operator import itemgetter
from typing import NamedTuple

from cylfile.findings.clock_times import clock_times
from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.empty_texts import empty_texts, may_be_empty
from cylfile.findings.finding import Finding, of_fault
from cylfile.findings.new_findings import added
from cylfile.findings.seal_findings import seal_findings
from cylfile.findings.signatures import signature_findings, signed_entries
from cylfile.findings.two_places import TWO_PLACES
from cylfile.history.seals import check_seals, stated_day
from cylfile.history.sources.air_changes import differing_fills, told_otherwise
from cylfile.history.sources.air_log import AirLog
from cylfile.history.sources.source_log import counted_anew, counts_until
from cylfile.history.standing import standing
from cylfile.judging.by_itself import air_log, judge_cylinder, judge_source
from cylfile.judging.case import Case
from cylfile.judging.fill_verdict import over_strictly, unread_about_fill
from cylfile.judging.judge import Judgement, at_two_places
from cylfile.judging.subject_judge import are_hands
from cylfile.packs.ruleset import Ruleset
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record
from cylfile.text.source import Source

_DAY = itemgetter(0)


class Written(NamedTuple):
    """
    What became of a fill: its place, empty where it was not written, and what the rules say of it.

    `refusing` are the findings for which it was refused.
    """

    entry: Entry
    place: str
    findings: list[Finding]
    refusing: list[Finding]


class NewEntry:
    """An entry as it stands in a `record` that has it and says nothing else new: `case` is that of the record without it."""

    def __init__(self, case: Case, record: Record, entry: Entry):
        self.record = record
        self.entry = entry
        self._case = case
        self._names = may_be_told_otherwise(case, record, entry)
        # Who has an entry of its day: somebody may be at two places with it.
        self._of_day = [name for name, entries in record.entries.items() if entry.day in map(_DAY, entries)]
        self._air = self._air_of(case.record)

    def _air_of(self, record: Record) -> AirLog:
        fills = [self.entry, *(each for name in self._names for each in record.entries.get(name, ()))]
        return air_log(record, self._case.rules, self._case.as_of, fills)

    @cached_property
    def findings(self) -> list[Finding]:
        """
        What is wrong only with it, in the order of the files.

        What could not be read says nothing else with it, and so is no part of that.
        """
        return added(self._found(self._case.record, self._air), self._found_with_it())

    def refusing_fill(self) -> list[Finding]:
        """What keeps it, which is a fill, from being entered now; see the function of that name."""
        case, day = self._case, self.entry.day
        return refusing_fill(case.record, case.rules, self.entry, self._air if day == case.as_of else None)

    def _found_with_it(self) -> list[Finding]:
        record, entry = self.record, self.entry
        if entry.subject in record.air_sources or _is_of_sources(record, entry.source):
            return self._found(record, self._air_of(record))
        with self._air.with_entry(entry, {name: record.entries[name] for name in self._names}):
            return self._found(record, self._air)

    def _found(self, record: Record, air: AirLog) -> list[Finding]:
        """What the rules say of all in a record, with the entry or without it, of which it may have them say more or less."""
        case, names, day = self._case._replace(record=record), self._names, self.entry.day
        rules, as_of, level_of = case.rules, case.as_of, case.rules.level_of
        cards, sources = record.cylinders, record.air_sources
        # Whether a waiver of being at two places covers anything hangs on all days.
        of_day: Mapping[str, list[Entry]] = record.entries
        if not any(waiver.rule == TWO_PLACES for waiver in record.waivers):
            of_day = {name: [each for each in record.entries.get(name, ()) if each.day == day] for name in self._of_day}
        signed = signed_entries(({**of_day, **{name: record.entries.get(name, []) for name in names}}).values())
        across = [
            finding
            for name in names
            if name in sources
            for finding in judge_source(record, rules, sources[name], as_of, air)
        ]
        across += at_two_places(record, rules, as_of, of_day)
        across += signature_findings(signed, as_of, level_of)
        if any(stated_day(self.entry, as_of) <= seal.day for seal in record.seals):
            across += seal_findings(check_seals(record, as_of), level_of)
        if may_be_empty(self.entry.span.text):
            across += empty_texts(record, as_of, level_of)
        own = {name: judge_cylinder(record, rules, cards[name], as_of, air) for name in names if name in cards}
        of_time = [of_fault(each, level_of(each.rule)) for each in clock_times(record, as_of, [self.entry.subject])]
        judgement = Judgement(case, own, of_time, across, air)
        judgement.excuse(signed, record.waivers)
        return judgement.findings


def _is_of_sources(record: Record, source: Source) -> bool:
    """Whether a file has anything of a source of air, which stands elsewhere once there is a line more above it."""
    return any(
        block.span.source is source or any(entry.source is source for entry in record.entries.get(name, ()))
        for name, block in record.air_sources.items()
    )


def may_be_told_otherwise(case: Case, record: Record, entry: Entry) -> list[str]:
    """
    The cylinders and the sources of which the rules may say something else by themselves in a record with a new entry.

    `case` is that of the record without it. These are its own, the source that it was filled from, and those that were
    filled from the same source on its day or later, as long as it counts among what the source gave; of an entry of a
    source, those of whose fills it tells something else. All are, where what a person or a source did is waived, or one
    of the name of a cylinder: whether a waiver covers anything hangs on all that they did.
    """
    before = case.record
    cylinders = before.cylinders
    names = list(cylinders | before.air_sources)
    waived = {waiver.name for waiver in before.waivers}
    if not waived <= cylinders.keys() or waived and are_hands(before, waived):
        return names
    if entry.subject in before.air_sources:
        air, air_after = (air_log(each, case.rules, case.as_of) for each in (before, record))
        own = [entry.subject]
        told = told_otherwise(air, air_after, differing_fills(air, air_after, own), own)
        reached = {entry.subject, *told.fills, *(before.air_sources if told.of_suspect_air else ())}
        return [name for name in names if name in reached]
    source, day = entry.on if isinstance(entry, Filled) else None, entry.day
    until = counts_until(counted_anew(standing(before.entries.get(source or "", ()), case.as_of)), day)
    return [
        name
        for name in names
        if name in (entry.subject, source)
        or source is not None
        and (entries := before.entries.get(name))
        and max(map(_DAY, entries)) >= day
        and any(each.__class__ is Filled and each.on == source and day <= each.day <= until for each in entries)
    ]


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
