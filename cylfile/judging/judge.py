"""
The whole way through: a record and its rules to findings.

Everything comes in as an argument and goes out as a value: nothing here opens a file, prints,
or asks what day it is.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from cylfile.findings.clock_times import clock_times
from cylfile.findings.empty_texts import empty_texts
from cylfile.findings.finding import Finding, of_fault, reading_order
from cylfile.findings.seal_findings import seal_findings
from cylfile.findings.signatures import answer_findings, signature_findings, signed_entries
from cylfile.findings.two_places import TWO_PLACES, two_places_at_once
from cylfile.findings.waivers import cover, waiver_findings
from cylfile.history.facts import AIR_SAMPLE
from cylfile.history.life import Life
from cylfile.history.seals import check_seals
from cylfile.history.sources.air_log import AirLog
from cylfile.judging.by_itself import Verdict, air_log, judge_cylinder, judge_source
from cylfile.judging.case import Case
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Waiver
from cylfile.record.entries import Entry, plain_form
from cylfile.record.record import Record
from cylfile.text.source import Fault, Span

if TYPE_CHECKING:
    from cylfile.judging.heads import Head


class Beside(NamedTuple):
    """What is found without judging anybody: the `text_findings`, and who is `at_two_places`."""

    of_text: list[Finding]
    at_two_places: list[Finding]


class Judgement:
    """
    What the rules say of a record on a day, put together by what it is about.

    `verdicts` are those of the cylinders, by name. `of_text` are the findings of what could not be
    read or has a wrong name, `others` all that took more than one cylinder to see. Waived findings
    are among them. `air` is the log that was asked.
    """

    def __init__(
        self, case: Case, verdicts: dict[str, Verdict], of_text: list[Finding], others: list[Finding], air: AirLog
    ):
        self.case = case
        self.verdicts = verdicts
        self.of_text = of_text
        self.others = others
        self.air = air

    @property
    def record(self) -> Record:
        return self.case.record

    @property
    def rules(self) -> Ruleset:
        return self.case.rules

    @property
    def as_of(self) -> date:
        return self.case.as_of

    @cached_property
    def findings(self) -> list[Finding]:
        """All findings, in the order of the files."""
        return sorted(self.told, key=reading_order)

    @property
    def told(self) -> list[Finding]:
        """
        All findings, in no order.

        While a line cannot be read, it is the finding, and not what it may have told.
        """
        own = (finding for verdict in self.verdicts.values() for finding in verdict.findings)
        is_in_doubt = self.record.is_in_doubt
        told = (finding for finding in chain(self.others, own) if not any(map(is_in_doubt, finding.in_lines_of)))
        return [*self.of_text, *told]

    def excuse(self, signed: list[Entry], waivers: list[Waiver]) -> None:
        """
        Mark what is answered and what is waived, and add what is wrong with answers and waivers.

        `signed` are the `signed_entries` of all of which anything is found, `waivers` those of which all is found that
        they may cover.
        """
        findings, level_of = self.told, self.rules.level_of
        self.others += answer_findings(signed, findings, self.as_of, level_of)
        cover(findings, self.record.waivers, self.as_of)
        self.others += waiver_findings(findings, waivers, self.as_of, level_of)

    @cached_property
    def _by_subject(self) -> dict[str, list[Finding]]:
        groups: dict[str, list[Finding]] = {}
        for finding in self.findings:
            groups.setdefault(finding.subject, []).append(finding)
        return groups

    @property
    def of_cylinder(self) -> dict[str, list[Finding]]:
        """The findings about each cylinder that has any, in the order of the files."""
        return {name: found for name, found in self._by_subject.items() if name in self.record.cylinders}

    @property
    def of_source(self) -> dict[str, list[Finding]]:
        """The findings about each source of air that has any, in the order of the files."""
        return {name: found for name, found in self._by_subject.items() if name in self.record.air_sources}

    @property
    def of_record(self) -> list[Finding]:
        """The findings about neither a cylinder nor a source, in the order of the files."""
        record = self.record
        return [
            finding
            for finding in self.findings
            if finding.subject not in record.cylinders and finding.subject not in record.air_sources
        ]

    def about(self, name: str) -> list[Finding]:
        """The findings about a cylinder or a source, and those of lines that cannot be read and may be about it."""
        in_doubt = {fault.span for fault in self.record.damaged.get(name, ())}
        if not in_doubt:
            return self._by_subject.get(name, [])
        return [finding for finding in self.findings if finding.subject == name or finding.span in in_doubt]

    def own(self, name: str) -> list[Finding]:
        """The findings that a cylinder's own card and entries give."""
        return self.verdicts[name].findings if name in self.verdicts else []

    @property
    def lives(self) -> dict[str, Life]:
        """What is known of each cylinder on the as-of day, where that was not left in another process."""
        return {name: verdict.life for name, verdict in self.verdicts.items() if verdict.life is not None}

    def life(self, name: str) -> Life | None:
        """What is known of one cylinder; None where there is no such, or its life was left elsewhere."""
        return self.verdicts[name].life if name in self.verdicts else None

    @property
    def heads(self) -> dict[str, "Head"]:
        """The heads of the cylinders, where they were asked for."""
        return {name: verdict.head for name, verdict in self.verdicts.items() if verdict.head is not None}


def judge(
    record: Record,
    rules: Ruleset,
    as_of: date,
    faults: Sequence[Fault] = (),
    verdicts: Mapping[str, Verdict] | Iterable[tuple[str, Verdict]] | None = None,
    air: AirLog | None = None,
    beside: Beside | None = None,
) -> Judgement:
    """
    Judge every cylinder of a record. `faults` are those of its rule packs.

    `verdicts` are those of the cylinders, by name, where somebody else gives them, as from several processes; they are
    taken when all else has been judged. `air` is the `air_log` of the record, `beside` what is found beside, where
    somebody knows it.
    """
    case = Case(record, rules, as_of, faults)
    air = air or air_log(record, rules, as_of)
    signed = signed_entries(record.entries.values())
    if beside is None:
        beside = Beside(text_findings(case), list(at_two_places(record, rules, as_of, record.entries)))
    across = [*beside.at_two_places, *_across(record, rules, as_of, air, signed)]
    if verdicts is None:
        cards = record.cylinders.items()
        verdicts = ((name, judge_cylinder(record, rules, card, as_of, air)) for name, card in cards)
    judgement = Judgement(case, dict(verdicts), beside.of_text, across, air)
    judgement.excuse(signed, record.waivers)
    return judgement


def text_findings(case: Case) -> list[Finding]:
    """
    The findings of what could not be read of a record or of its rules, or has a wrong name.

    What is wrong because of one line is told with that line.
    """
    faults = [*case.record.faults, *case.faults, *clock_times(case.record, case.as_of)]
    level_of = case.rules.level_of
    return [of_fault(fault, level_of(fault.rule), followers) for fault, followers in told_together(faults)]


def told_together(faults: Sequence[Fault]) -> list[tuple[Fault, tuple[Fault, ...]]]:
    """The faults that are findings, each with those that there are because of it."""
    followers: dict[Span, list[Fault]] = defaultdict(list)
    alone = []
    causes = {fault.span for fault in faults if fault.because is None}
    for fault in faults:
        if fault.because in causes:
            followers[fault.because].append(fault)
        else:
            alone.append(fault)
    return [(fault, tuple(followers.get(fault.span, ()))) for fault in alone]


def _across(record: Record, rules: Ruleset, as_of: date, air: AirLog, signed: list[Entry]) -> list[Finding]:
    """The findings about sources and the whole record, and those that took more than one cylinder to see."""
    findings = []
    if not rules.names and record.sources and not any(fault.rule == "no-rules" for fault in record.faults):
        findings.append(_no_rules(record, rules))
    elif record.air_sources and rules.judge_of(AIR_SAMPLE) is None:
        findings.append(_samples_not_judged(record, rules))
    for source in record.air_sources.values():
        findings += judge_source(record, rules, source, as_of, air)
    findings += seal_findings(check_seals(record, as_of), rules.level_of)
    findings += signature_findings(signed, as_of, rules.level_of)
    findings += empty_texts(record, as_of, rules.level_of)
    return findings


def at_two_places(
    record: Record, rules: Ruleset, as_of: date, entries: Mapping[str, Sequence[Entry]]
) -> Iterator[Finding]:
    """The findings of who fills or is filled at two places at once: `entries` are all of the record, or all of some days."""
    level = rules.level_of(TWO_PLACES)
    for entry, text, other in two_places_at_once(record, as_of, entries):
        finding = Finding(TWO_PLACES, level, entry.subject, entry.span, text, day=entry.day, about=plain_form(entry))
        finding.related.append((other.span, "other place"))
        yield finding


def _samples_not_judged(record: Record, rules: Ruleset) -> Finding:
    first = next(iter(record.air_sources.values()))
    text = "there are sources of air, and no rule pack in force judges their samples"
    advice = "Write under the department: rules air"
    return Finding("samples-not-judged", rules.level_of("samples-not-judged"), "", first.span, text, advice=advice)


def _no_rules(record: Record, rules: Ruleset) -> Finding:
    department = record.department
    span = department.span if department else Span(record.sources[0], 0, 0)
    text = "the department names no rules, so only the core checks were made"
    return Finding(
        "no-rules", rules.level_of("no-rules"), "", span, text, advice="Write under the department: rules us-dot"
    )
