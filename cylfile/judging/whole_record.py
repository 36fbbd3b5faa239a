"""
Judging a record's cylinders, in one process or in several.

The cylinders are dealt out in slices of about as many entries each, and what comes back of a
slice is its findings and heads, so that the outcome is the same however many processes there are.
"""

import os
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.judging.case import Case
from cylfile.judging.heads import Head, head_of
from cylfile.judging.judge import Verdict, air_log, judge, judge_cylinder


class Judged(NamedTuple):
    """What is kept of one cylinder."""

    findings: list[Finding]
    head: Head | None


def judge_record(case: Case, jobs: int = 1, with_heads: bool = True) -> tuple[list[Finding], dict[str, Head]]:
    """
    All findings of a record, in the order of its files, and the heads of its cylinders, if they are wanted.

    Where processes cannot be forked there is one, however many `jobs` there might be.
    """
    names = list(case.record.cylinders)
    if jobs > 1 and hasattr(os, "fork"):
        from cylfile.judging.processes import in_processes

        def judge_slice(names: list[str]) -> Iterator[Judged]:
            return _judged(case, names, with_heads)

        judged = in_processes(judge_slice, _slices(case, names, jobs), case.record.sources)
    else:
        judged = _judged(case, names, with_heads)
    heads: dict[str, Head] = {}

    def verdicts() -> Iterator[Verdict]:
        for one in judged:
            if one.head is not None:
                heads[one.head.name] = one.head
            yield Verdict(None, one.findings)

    judgement = judge(case.record, case.rules, case.as_of, case.faults, verdicts())
    return judgement.findings, heads


def _judged(case: Case, names: list[str], with_heads: bool) -> Iterator[Judged]:
    record, rules = case.record, case.rules
    air = air_log(record, rules, case.as_of)
    for name in names:
        verdict = judge_cylinder(record, rules, record.cylinders[name], case.as_of, air)
        head = head_of(record, rules, verdict.life, verdict.findings) if with_heads else None
        yield Judged(verdict.findings, head)


def _slices(case: Case, names: list[str], jobs: int) -> list[list[str]]:
    """The names in at most `jobs` stretches of about as many entries each."""
    sizes = [len(case.record.entries.get(name, ())) + 1 for name in names]
    share = sum(sizes) / jobs
    slices, taken = [[]], 0
    for name, size in zip(names, sizes):
        if taken >= share * len(slices) and len(slices) < jobs:
            slices.append([])
        slices[-1].append(name)
        taken += size
    return slices
