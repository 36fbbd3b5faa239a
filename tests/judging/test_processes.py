"""Shares of a work that are done in processes: what comes back, and that none of them is left behind."""

import os

import pytest

from cylfile.cannot import CannotDo
from cylfile.judging.processes import in_processes
from cylfile.text.source import Source

SOURCES = [Source("a.cyl", "a"), Source("b.cyl", "b")]


@pytest.fixture
def children(monkeypatch) -> list[int]:
    """The processes that were started, each of which must have been waited for."""
    started: list[int] = []
    fork = os.fork

    def forked() -> int:
        number = fork()
        started.append(number)
        return number

    monkeypatch.setattr(os, "fork", forked)
    return started


def are_gone(children: list[int]) -> bool:
    for number in children:
        with pytest.raises(ChildProcessError):
            os.waitpid(number, os.WNOHANG)
    return True


def numbered(share: list[int]):
    for number in share:
        yield number, SOURCES[number % 2]


def test_results_come_in_the_order_of_the_shares_with_the_sources_themselves(children):
    found = list(in_processes(numbered, [[0, 1], [2], [3, 4, 5]], SOURCES))
    assert [number for number, _ in found] == [0, 1, 2, 3, 4, 5]
    assert all(source is SOURCES[number % 2] for number, source in found)
    assert len(children) == 2 and are_gone(children)


def test_a_process_that_broke_off_is_told_once_and_the_others_are_ended(children, capfd):
    def broken(share: list[int]):
        if share == [1]:
            raise ZeroDivisionError
        yield from numbered(share)

    with pytest.raises(CannotDo, match="--jobs 1"):
        list(in_processes(broken, [[0], [1], [2]], SOURCES))
    assert len(children) == 2 and are_gone(children)
    assert capfd.readouterr().err == ""


def test_whoever_looks_no_further_leaves_no_process_behind(children):
    found = in_processes(numbered, [[0], [1], list(range(100_000))], SOURCES)
    assert next(found)[0] == 0
    found.close()
    assert len(children) == 2 and are_gone(children)
