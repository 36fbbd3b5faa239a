"""Shares of a work that are done in processes: what comes back, and that none of them is left behind."""

import os
import pickle
import signal

import pytest

from cylfile.judging import processes
from cylfile.judging.processes import in_processes, processes_for
from cylfile.record import packing
from cylfile.text.source import Source

SOURCES = [Source("a.cyl", "a"), Source("b.cyl", "b")]
HERE = os.getpid()


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


def is_here() -> bool:
    return os.getpid() == HERE


def test_results_come_in_the_order_of_the_shares_with_the_sources_themselves(children):
    with in_processes(numbered, [[0, 1], [2], [3, 4, 5]], SOURCES) as results:
        found = list(results)
    assert [number for number, _ in found] == [0, 1, 2, 3, 4, 5]
    assert all(source is SOURCES[number % 2] for number, source in found)
    assert len(children) == 2 and are_gone(children)


def test_a_source_that_nobody_told_of_comes_back_too():
    with in_processes(lambda share: [Source(*each) for each in share], [[], [("c.cyl", "c")]], SOURCES) as results:
        (found,) = results
    assert (found.path, found.text) == ("c.cyl", "c")


def killed(share: list[int]) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def broken(share: list[int]) -> None:
    raise ZeroDivisionError


def half_sent(share: list[int]) -> None:
    # In this process, and in no other.
    packing.pack = lambda things, sources: pickle.dumps(things)[:-1]


@pytest.mark.parametrize("ends", [killed, broken, half_sent])
def test_what_a_process_that_broke_off_had_to_do_is_done_here(children, capfd, ends):
    def work(share: list[int]):
        if share == [1] and not is_here():
            ends(share)
        return [(number, is_here()) for number in share]

    with in_processes(work, [[0], [1], [2]], SOURCES) as results:
        assert list(results) == [(0, True), (1, True), (2, False)]
    assert len(children) == 2 and are_gone(children)
    assert capfd.readouterr().err == ""


def test_what_cannot_be_done_anywhere_says_so_itself_and_ends_the_others(children, capfd):
    def work(share: list[int]):
        return broken(share) if share == [1] else list(numbered(share))

    with pytest.raises(ZeroDivisionError), in_processes(work, [[0], [1], [2]], SOURCES) as results:
        list(results)
    assert len(children) == 2 and are_gone(children)
    assert capfd.readouterr().err == ""


def test_whoever_looks_no_further_leaves_no_process_behind(children):
    with in_processes(numbered, [[0], [1], list(range(100_000))], SOURCES) as results:
        assert next(results)[0] == 0
    assert len(children) == 2 and are_gone(children)


@pytest.mark.parametrize("works", [False, True])
def test_where_no_process_can_be_had_all_is_done_here(monkeypatch, works):
    def fork() -> int:
        assert works, "forked"
        raise BlockingIOError

    monkeypatch.setattr(processes, "CAN_FORK", works)
    monkeypatch.setattr(os, "fork", fork)
    with in_processes(lambda share: [(share, is_here())], [[0], [1]], SOURCES) as results:
        assert list(results) == [([0], True), ([1], True)]
    if not works:
        assert processes_for(["x" * 100_000_000]) == 1


@pytest.mark.parametrize(
    "text, processors, number",
    [("x" * 100_000, 8, 1), ("x" * 10_000_000, 8, 4), ("x" * 10_000_000, 2, 2), ("x" * 10_000_000, 1, 1)],
)
def test_there_are_as_many_processes_as_pay_and_never_more_than_processors(monkeypatch, text, processors, number):
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(processors)), raising=False)
    monkeypatch.setattr(processes, "LIMIT", "no such file")
    assert processes_for([text]) == number


@pytest.mark.parametrize(
    "limit, number",
    [
        ("max 100000\n", 3),
        ("250000 100000\n", 2),
        ("100000 100000\n", 1),
        ("50000 100000\n", 1),
        ("800000 100000\n", 3),
        ("?", 3),
    ],
)
def test_a_container_has_as_many_processors_as_it_is_given_time_of(monkeypatch, tmp_path, limit, number):
    (tmp_path / "cpu.max").write_text(limit)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1, 2}, raising=False)
    monkeypatch.setattr(processes, "LIMIT", str(tmp_path / "cpu.max"))
    assert processes.processors() == number
