"""
Judging a record's cylinders, in one process or in several.

The cylinders are dealt out in slices of about as many entries each, and what comes back of a
slice is its findings and heads, so that the outcome is the same however many processes there are.
"""

from collections.abc import Iterator
from itertools import chain

from cylfile.history.sources.air_log import AirLog
from cylfile.judging.by_itself import Verdict, air_log, judge_cylinder
from cylfile.judging.case import Case
from cylfile.judging.heads import head_of
from cylfile.judging.judge import Judgement, judge
from cylfile.packs.expressions import asked

# What is across cylinders takes as long to judge as one in so many of all entries: with this two processes that judge
# 490,000 or 981,000 varied entries are done within a tenth of a second of each other.
_ACROSS = 18


def judge_record(case: Case, jobs: int = 1, with_heads: bool = True) -> Judgement:
    """The judgement of a record, with the heads of its cylinders, if they are wanted, and without their lives."""
    from cylfile.judging.processes import in_processes

    record, names = case.record, list(case.record.cylinders)
    air = air_log(record, case.rules, case.as_of)

    def verdicts_on(names: list[str]) -> Iterator[Verdict]:
        return _verdicts(case, names, with_heads, air)

    if jobs > 1 and any(fact.given for rule in case.rules.rules.values() for fact in asked(rule.condition)):
        _add_up(air, jobs)
    with in_processes(verdicts_on, _slices(case, names, jobs), record.sources) as verdicts:
        judgement = judge(record, case.rules, case.as_of, case.faults, zip(names, verdicts), air)
    judgement.case = case
    return judgement


def _add_up(air: AirLog, jobs: int) -> None:
    """Have the air of all fills added up in several processes, since each of those that judge would ask for it."""
    from cylfile.judging.processes import dealt, in_processes

    shares = dealt(((log, log.fills) for log in air.sources.values()), jobs)
    with in_processes(lambda logs: (log.added_up() for log in logs), shares, ()) as added_up:
        for log, sums in zip(chain.from_iterable(shares), added_up):
            log.take_added_up(sums)


def _verdicts(case: Case, names: list[str], with_heads: bool, air: AirLog) -> Iterator[Verdict]:
    record, rules = case.record, case.rules
    for name in names:
        verdict = judge_cylinder(record, rules, record.cylinders[name], case.as_of, air)
        if with_heads:
            verdict.head = head_of(record, rules, verdict.life_here, verdict.findings)
        verdict.life = None
        yield verdict


def _slices(case: Case, names: list[str], jobs: int) -> list[list[str]]:
    """
    The names in at most `jobs` stretches of about as many entries each.

    The first has fewer, for whoever does it judges all besides cylinders too.
    """
    entries = case.record.entries
    sizes = [len(entries.get(name, ())) + 1 for name in names]
    taken = _size_of_the_rest(case)
    share = (taken + sum(sizes)) / jobs
    slices: list[list[str]] = [[]]
    for name, size in zip(names, sizes):
        if taken >= share * len(slices) and len(slices) < jobs:
            slices.append([])
        slices[-1].append(name)
        taken += size
    return slices


def _size_of_the_rest(case: Case) -> int:
    """How many entries of cylinders take as long to judge as all besides cylinders does."""
    entries = case.record.entries
    of_sources = sum(len(entries.get(name, ())) for name in case.record.air_sources)
    return of_sources + case.record.entry_count // _ACROSS
