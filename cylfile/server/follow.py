"""
What the rules say of a record that is being changed.

There are two ways to know. `settle` judges the whole record, but for what no change has reached, and is right in every
respect.
`follow` takes in a change at once: it judges only the cylinders of whose entries a file says
something else, and shifts the places of all else that is known. What one cylinder has to do with
another it leaves as it was, or out, until the record is settled.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import partial
from typing import NamedTuple

from cylfile.findings.clock_times import CLOCK_RULES, clock_times
from cylfile.findings.finding import Finding, of_fault
from cylfile.findings.signatures import answer_findings, signed_entries
from cylfile.findings.two_places import TWO_PLACES
from cylfile.findings.waivers import cover
from cylfile.history.sources.air_changes import differing_fills
from cylfile.history.sources.air_log import AirLog
from cylfile.judging.by_itself import Verdict, air_log, judge_cylinder
from cylfile.judging.case import Case
from cylfile.judging.fills_as_before import JudgeAgain
from cylfile.judging.judge import Beside, Judgement, at_two_places, judge, told_together
from cylfile.judging.reached import reached
from cylfile.judging.told_by_others import FillsToldOtherwise
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Waiver
from cylfile.record.entries import Entry
from cylfile.record.record import Record
from cylfile.server.changing_record import Change, moved
from cylfile.text.source import Fault, Source

# Cylinders of so many entries are judged at once, which takes less than a tenth of a second; the others wait until the
# record is at rest.
MANY = 4_000


class Rules(NamedTuple):
    """What a record is judged by: rules, the day, and what is wrong with the packs and the zone."""

    ruleset: Ruleset
    as_of: date
    faults: list[Fault]


class Known(NamedTuple):
    """
    What is known of a record that has changed since it was `settled`.

    `followed` is what is known at once; `names`, `heads` and `regrouped` are those of all changes since, see `Change`.
    """

    settled: Judgement
    followed: Judgement
    names: set[str]
    heads: set[str]
    regrouped: set[str]

    def after(self, change: Change) -> "Known":
        """The same after one change more, which is not of all."""
        names, heads, regrouped = (
            self.names | change.names,
            self.heads | change.heads,
            self.regrouped | change.regrouped,
        )
        return self._replace(names=names, heads=heads, regrouped=regrouped)


class Overtaken(Exception):
    """What was to be judged is no longer wanted: the record is another one now."""


def settle(
    record: Record, rules: Rules, known: Known | None = None, is_wanted: Callable[[], bool] = lambda: True
) -> Judgement:
    """Judge the whole of a record, but for what is known already. Raises Overtaken once it is not wanted any more."""
    air = air_log(record, rules.ruleset, rules.as_of, before=known and known.settled.air)
    still_true: dict[str, Verdict] = {}
    judges: dict[str, Callable] = {}
    beside = None
    if known is not None:
        differing = differing_fills(known.settled.air, air, known.names)
        still_true, judges = _still_true(known, record, air, differing, is_wanted)
        beside = Beside(known.followed.of_text, _at_two_places(known, record, differing))
    verdicts = {}
    for name, card in record.cylinders.items():
        _go_on(is_wanted)
        judge_by = judges.get(name, JudgeAgain)
        verdicts[name] = still_true.get(name) or judge_cylinder(record, rules.ruleset, card, rules.as_of, air, judge_by)
    return judge(record, *rules, verdicts, air, beside)


def _go_on(is_wanted: Callable[[], bool]) -> None:
    if not is_wanted():
        raise Overtaken


def _still_true(
    known: Known, record: Record, air: AirLog, differing: dict[str, list[Entry]], is_wanted: Callable[[], bool]
) -> tuple[dict[str, Verdict], dict[str, Callable]]:
    """The verdicts of those of whom not all has to be judged again, and what judges others again, where some is known of them."""
    settled, followed = known.settled.verdicts, known.followed.verdicts
    told = reached(known.settled, record, air, differing, known.names, known.heads, known.regrouped)
    again = FillsToldOtherwise(known.settled.rules, record, air, told.of_signers)
    verdicts = {}
    for name, verdict in followed.items():
        _go_on(is_wanted)
        # One that was judged meanwhile was judged by the air as it was.
        is_known = name in settled and verdict.life is settled[name].life
        if is_known and name not in known.names and name not in told.wholly:
            fills = told.of_fills.get(name)
            now = again.verdict(verdict, fills) if fills else verdict
            if now is not None:
                verdicts[name] = now
    judges: dict[str, Callable] = {
        name: partial(JudgeAgain, before=verdict.asked, otherwise=told.fills)
        for name, verdict in settled.items()
        if name not in told.wholly
    }
    return verdicts, judges


def _at_two_places(known: Known, record: Record, differing: dict[str, list[Entry]]) -> list[Finding]:
    """The findings of who is at two places at once: looked for on the days only of which anything that they hang on differs."""
    settled, followed = known.settled, known.followed
    found, left = (
        [finding for finding in judged.others if finding.rule == TWO_PLACES] for judged in (settled, followed)
    )
    before, after = settled.record, record
    # Of two fills at one moment the one counts as the earlier that is of the first of the cylinders.
    orders = [
        [name for name in one.cylinders if name in other.cylinders] for one, other in ((before, after), (after, before))
    ]
    if len(before.sites) != len(after.sites) or orders[0] != orders[1]:
        return list(at_two_places(record, settled.rules, settled.as_of, record.entries))
    days = {fill.day for fills in differing.values() for fill in fills}
    for name in before.cylinders.keys() ^ after.cylinders.keys():
        days.update(entry.day for one in (before, after) for entry in one.entries.get(name, ()))
    # A line that was typed anew, though it says what it said.
    by_day, left_by_day = (Counter(each.day for each in some if each.day is not None) for some in (found, left))
    days |= (by_day - left_by_day).keys()
    again = at_two_places(record, settled.rules, settled.as_of, record.entries_of(days))
    return [*(finding for finding in left if finding.day not in days), *again]


class OfFaults:
    """The findings of faults, each made once however often the record changes."""

    def __init__(self) -> None:
        self._made: dict[tuple[Fault, tuple[Fault, ...]], Finding] = {}
        self._waivers: list[Waiver] = []
        self._rules: Ruleset | None = None

    def findings(self, case: Case, faults: Sequence[Fault]) -> list[Finding]:
        """Those of the faults as they are now."""
        known = self._made if (self._rules, self._waivers) == (case.rules, case.record.waivers) else {}
        self._rules, self._waivers = case.rules, case.record.waivers
        level_of = case.rules.level_of
        self._made = {}
        return [
            self._made.setdefault(each, known.get(each) or of_fault(each[0], level_of(each[0].rule), each[1]))
            for each in told_together(faults)
        ]


def follow(before: Judgement, record: Record, change: Change, of_faults: OfFaults) -> Judgement:
    """What is known after a change, as far as it can be told at once."""
    case = Case(record, *before.case[1:])
    verdicts = {name: verdict for name, verdict in before.verdicts.items() if name in record.cylinders}
    late = _late(record, change.names & verdicts.keys())
    again = change.names - late | (record.cylinders.keys() - verdicts.keys())
    changed = {move.old for move in change.moves.values()}
    for name, verdict in verdicts.items():
        if name not in again and any(_stands_in(finding, changed) for finding in verdict.findings):
            findings = _moved(verdict.findings, change)
            is_whole = len(findings) == len(verdict.findings)
            if name in late or (is_whole and not any(_names_a_line(finding, change) for finding in findings)):
                verdicts[name] = Verdict(verdict.life, findings, verdict.asked)
            else:
                again.add(name)
    for name in again & record.cylinders.keys():
        verdicts[name] = judge_cylinder(record, case.rules, record.cylinders[name], case.as_of, before.air)
        signed = signed_entries([record.entries.get(name, ())])
        answer_findings(signed, verdicts[name].findings, case.as_of, case.rules.level_of)
        cover(verdicts[name].findings, record.waivers, case.as_of)
    of_text = of_faults.findings(case, [*record.faults, *case.faults]) + _of_clocks(before, case, change, again | late)
    cover(of_text, record.waivers, case.as_of)
    return Judgement(case, verdicts, of_text, _moved(before.others, change), before.air)


def _late(record: Record, names: set[str]) -> set[str]:
    """Those of some cylinders that are not judged at once; one always is."""
    late, entries = set(), 0
    for name in sorted(names):
        if entries >= MANY:
            late.add(name)
        entries += len(record.entries.get(name, ()))
    return late


def _of_clocks(before: Judgement, case: Case, change: Change, again: set[str]) -> list[Finding]:
    """The findings of times that no clock showed, or showed twice; looked for only under the names that are judged again."""
    known = [finding for finding in before.of_text if finding.rule in CLOCK_RULES]
    kept = {id(finding): moved(finding, change.moves) for finding in known}
    names = None
    # The department tells by which clocks.
    if "department" not in change.heads:
        names = again | {finding.subject for finding in known if kept[id(finding)] is None}
    faults = clock_times(case.record, case.as_of, names)
    found = [of_fault(fault, case.rules.level_of(fault.rule)) for fault in faults]
    return found + [
        each for each in kept.values() if each is not None and names is not None and each.subject not in names
    ]


def _moved(findings: Iterable[Finding], change: Change) -> list[Finding]:
    """The findings where they stand now, without those whose place is among what has changed."""
    found = (moved(finding, change.moves) for finding in findings)
    return [finding for finding in found if finding is not None]


def _stands_in(finding: Finding, sources: set[Source]) -> bool:
    """Whether a finding has to do with a place in one of some sources."""
    return finding.span.source in sources or any(place.source in sources for place, _ in finding.related)


def _names_a_line(finding: Finding, change: Change) -> bool:
    """Whether a finding says where another line stands, of a file whose lines have other numbers now."""
    moves = (change.moves.get(span.source.path) for span, _ in finding.related)
    return any(move is not None and move.shifts_lines for move in moves)
