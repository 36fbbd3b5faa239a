"""
Judging a record's cylinders, in one process or in several.

The cylinders are dealt out in shares of about as many entries each, and what comes back of a
share is its findings and heads, so that the outcome is the same however many processes there are.
"""

from collections.abc import Iterator

from cylfile.history.sources.air_log import AirLog
from cylfile.judging.by_itself import Verdict, air_log, judge_cylinder
from cylfile.judging.case import Case
from cylfile.judging.heads import head_of
from cylfile.judging.judge import Judgement, judge
from cylfile.packs.expressions import asked


def judge_record(case: Case, jobs: int = 1, with_heads: bool = True) -> Judgement:
    """The judgement of a record, with the heads of its cylinders, if they are wanted, and without their lives."""
    from cylfile.judging.processes import in_processes, shares_of

    record, names = case.record, list(case.record.cylinders)
    air = air_log(record, case.rules, case.as_of)

    def verdicts_on(names: list[str]) -> Iterator[Verdict]:
        return _verdicts(case, names, with_heads, air)

    if jobs > 1 and any(fact.given for rule in case.rules.rules.values() for fact in asked(rule.condition)):
        _add_up(air, jobs)
    shares = shares_of(((name, len(record.entries.get(name, ())) + 1) for name in names), jobs)
    with in_processes(verdicts_on, shares, jobs, record.sources) as verdicts:
        judgement = judge(record, case.rules, case.as_of, case.faults, zip(names, verdicts), air)
    judgement.case = case
    return judgement


def _add_up(air: AirLog, jobs: int) -> None:
    """Have the air of all fills added up in several processes, since each of those that judge would ask for it."""
    from cylfile.judging.processes import in_processes, shares_of

    logs = list(air.sources.values())
    shares = shares_of(((log, log.fills + 1) for log in logs), jobs)
    with in_processes(lambda logs: (log.added_up() for log in logs), shares, jobs, ()) as added_up:
        for log, sums in zip(logs, added_up):
            log.take_added_up(sums)


def _verdicts(case: Case, names: list[str], with_heads: bool, air: AirLog) -> Iterator[Verdict]:
    record, rules = case.record, case.rules
    for name in names:
        verdict = judge_cylinder(record, rules, record.cylinders[name], case.as_of, air)
        if with_heads:
            verdict.head = head_of(record, rules, verdict.life_here, verdict.findings)
        verdict.life = None
        yield verdict
