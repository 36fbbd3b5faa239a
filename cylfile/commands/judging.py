"""
Judging a record's cylinders, in one process or in several.

The cylinders are dealt out in slices of about as many entries each. Every process has read the
record before it was forked; what it sends back is the findings and the heads of its slice, so
that the outcome is the same however many there are.
"""

import io
import os
import pickle
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.commands.cannot import CannotDo
from cylfile.commands.reading import Reading
from cylfile.findings.finding import Finding
from cylfile.judge import Verdict, judge, judge_cylinder
from cylfile.show.heads import Head, head_of
from cylfile.text.source import Source


class Judged(NamedTuple):
    """What is kept of one cylinder."""

    findings: list[Finding]
    head: Head | None


def judge_record(reading: Reading, jobs: int = 1, with_heads: bool = True) -> tuple[list[Finding], dict[str, Head]]:
    """
    All findings of a record, in the order of its files, and the heads of its cylinders, if they are wanted.

    Where processes cannot be forked there is one, however many `jobs` there might be.
    """
    names = list(reading.record.cylinders)
    if jobs > 1 and hasattr(os, "fork"):
        judged = _by_processes(reading, _slices(reading, names, jobs), with_heads)
    else:
        judged = _judged(reading, names, with_heads)
    heads: dict[str, Head] = {}

    def verdicts() -> Iterator[Verdict]:
        for one in judged:
            if one.head is not None:
                heads[one.head.name] = one.head
            yield Verdict(None, one.findings)

    judgement = judge(reading.record, reading.rules, reading.as_of, reading.faults, verdicts())
    return judgement.findings, heads


def _judged(reading: Reading, names: list[str], with_heads: bool) -> Iterator[Judged]:
    record, rules = reading.record, reading.rules
    for name in names:
        verdict = judge_cylinder(record, rules, record.cylinders[name], reading.as_of)
        head = head_of(record, rules, verdict.life, verdict.findings) if with_heads else None
        yield Judged(verdict.findings, head)


def _slices(reading: Reading, names: list[str], jobs: int) -> list[list[str]]:
    """The names in at most `jobs` stretches of about as many entries each."""
    sizes = [len(reading.record.entries.get(name, ())) + 1 for name in names]
    share = sum(sizes) / jobs
    slices, taken = [[]], 0
    for name, size in zip(names, sizes):
        if taken >= share * len(slices) and len(slices) < jobs:
            slices.append([])
        slices[-1].append(name)
        taken += size
    return slices


def _by_processes(reading: Reading, slices: list[list[str]], with_heads: bool) -> Iterator[Judged]:
    """Judge the first slice here and the others in processes of their own, meanwhile."""
    children = [_start(reading, names, with_heads) for names in slices[1:]]
    try:
        yield from _judged(reading, slices[0], with_heads)
        for child in children:
            yield from child.results(reading)
    finally:
        for child in children:
            child.end()


def _start(reading: Reading, names: list[str], with_heads: bool) -> "_Child":
    outlet, inlet = os.pipe()
    number = os.fork()
    if number:
        os.close(inlet)
        return _Child(number, outlet)
    # From here on this is the other process. It must not come back from this function.
    status = 1
    try:
        os.close(outlet)
        with open(inlet, "wb") as pipe:
            _Pickler(pipe, reading.record.sources).dump(list(_judged(reading, names, with_heads)))
        status = 0
    except BaseException:
        if os.environ.get("CYLFILE_DEBUG"):
            import traceback

            traceback.print_exc()
    finally:
        os._exit(status)


class _Child:
    """A process that judges a slice, and the end of the pipe on which its results come."""

    def __init__(self, number: int, outlet: int):
        self.number = number
        self.pipe = open(outlet, "rb")  # noqa: SIM115 - closed in `end`
        self.is_over = False

    def results(self, reading: Reading) -> list[Judged]:
        data = self.pipe.read()
        _, status = os.waitpid(self.number, 0)
        self.is_over = True
        if status:
            raise CannotDo("a process of --jobs broke off; run it again with --jobs 1")
        return _Unpickler(io.BytesIO(data), reading.record.sources).load()

    def end(self) -> None:
        """Let go of the pipe, at which a process that still writes ends by itself, and wait for that."""
        self.pipe.close()
        if not self.is_over:
            os.waitpid(self.number, 0)


class _Pickler(pickle.Pickler):
    """Writes sources by their number: both processes have them."""

    def __init__(self, pipe, sources: list[Source]):
        super().__init__(pipe, protocol=pickle.HIGHEST_PROTOCOL)
        self.numbers = {id(source): number for number, source in enumerate(sources)}

    def persistent_id(self, thing):
        return self.numbers.get(id(thing)) if thing.__class__ is Source else None


class _Unpickler(pickle.Unpickler):
    def __init__(self, pipe, sources: list[Source]):
        super().__init__(pipe)
        self.sources = sources

    def persistent_load(self, number: int) -> Source:
        return self.sources[number]
