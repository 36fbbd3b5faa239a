"""Shares of a work that are done in processes: what comes back, and that none of them is left behind."""

import os
import select
import signal

import pytest

from cylfile.judging import processes
from cylfile.judging.processes import in_processes, processes_for, shares_of
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


def first_free_descriptor() -> int:
    number = os.dup(0)
    os.close(number)
    return number


def numbered(share: list[int]):
    for number in share:
        yield number, SOURCES[number % 2]


def is_here() -> bool:
    return os.getpid() == HERE


@pytest.fixture(autouse=True)
def told():
    """The pipe on which other processes tell this one of the shares that they take."""
    global _TOLD
    _TOLD = os.pipe()
    yield
    for end in _TOLD:
        os.close(end)


def taken_by_another(results):
    if not is_here():
        os.write(_TOLD[1], b".")
    return results


def wait_for_another(shares: int) -> None:
    """Wait until other processes have taken so many shares."""
    for _ in range(shares):
        assert select.select(_TOLD[:1], [], [], 60)[0], "no other process takes a share"
        os.read(_TOLD[0], 1)


def test_results_come_in_the_order_of_the_shares_with_the_sources_themselves(children):
    with in_processes(numbered, [[0, 1], [2], [3, 4, 5]], 3, SOURCES) as results:
        found = list(results)
    assert [number for number, _ in found] == [0, 1, 2, 3, 4, 5]
    assert all(source is SOURCES[number % 2] for number, source in found)
    assert len(children) == 2 and are_gone(children)


def test_a_source_that_nobody_told_of_comes_back_too():
    with in_processes(
        lambda share: taken_by_another([Source(*each) for each in share]), [[("c.cyl", "c")]] * 2, 2, SOURCES
    ) as results:
        wait_for_another(1)
        found, _ = results
    assert (found.path, found.text) == ("c.cyl", "c")


def killed() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def broken() -> None:
    raise ZeroDivisionError


def half_sent() -> None:
    # In this process, and in no other.
    packed = packing.Packer.packed.fget
    packing.Packer.packed = property(lambda packer: packed(packer)[:-1])


@pytest.mark.parametrize("ends, done_here", [(killed, [0, 1, 2]), (broken, [0, 1, 2]), (half_sent, [2])])
def test_what_a_process_that_broke_off_had_to_do_is_done_here(children, capfd, ends, done_here):
    def work(share: list[int]):
        taken_by_another(None)
        if share == [0] and not is_here():
            ends()
        return [(number, is_here()) for number in share]

    with in_processes(work, [[0], [1], [2]], 2, SOURCES) as results:
        # The other process takes the first share, and all of them where it goes on.
        wait_for_another(3 if ends is half_sent else 1)
        assert list(results) == [(number, number in done_here) for number in range(3)]
    assert len(children) == 1 and are_gone(children)
    assert capfd.readouterr().err == ""


def test_whoever_is_free_takes_the_next_share_and_none_is_done_twice(children):
    taken_here = os.pipe()

    def work(share: list[int]):
        if is_here():
            if not told:
                told.append(os.write(taken_here[1], b"."))
                wait_for_another(1)
        elif share == [0]:
            # It takes the first share before this process takes any, and no other while this one has none.
            taken_by_another(None)
            os.read(taken_here[0], 1)
        return [(number, is_here()) for number in share]

    told: list[int] = []
    with in_processes(work, [[0], [1], [2, 3]], 2, SOURCES) as results:
        assert select.select(_TOLD[:1], [], [], 60)[0], "no other process takes a share"
        found = list(results)
    for end in taken_here:
        os.close(end)
    assert [number for number, _ in found] == [0, 1, 2, 3]
    assert [found[0], found[1]] == [(0, False), (1, True)]


def test_what_cannot_be_done_anywhere_says_so_itself_and_ends_the_others(children, capfd):
    def work(share: list[int]):
        return broken() if share == [1] else list(numbered(share))

    with pytest.raises(ZeroDivisionError), in_processes(work, [[0], [1], [2]], 3, SOURCES) as results:
        list(results)
    assert len(children) == 2 and are_gone(children)
    assert capfd.readouterr().err == ""


def test_whoever_looks_no_further_leaves_no_process_and_no_pipe_behind(children):
    free = first_free_descriptor()
    with in_processes(numbered, [[0], [1], list(range(100_000))], 3, SOURCES) as results:
        assert next(results)[0] == 0
    with in_processes(numbered, [[0], [1], list(range(100_000))], 3, SOURCES):
        pass
    assert len(children) == 4 and are_gone(children)
    assert first_free_descriptor() == free


@pytest.mark.parametrize("works", [False, True])
def test_where_no_process_can_be_had_all_is_done_here(monkeypatch, works):
    def fork() -> int:
        assert works, "forked"
        raise BlockingIOError

    monkeypatch.setattr(processes, "CAN_FORK", works)
    monkeypatch.setattr(os, "fork", fork)
    with in_processes(lambda share: [(share, is_here())], [[0], [1]], 2, SOURCES) as results:
        assert list(results) == [([0], True), ([1], True)]
    if not works:
        assert processes_for(["x" * 100_000_000]) == 1


@pytest.mark.parametrize(
    "sizes, jobs, shares",
    [
        ([1, 1, 1, 1], 2, ["ab", "cd"]),
        ([1, 1, 1, 1, 1, 1], 3, ["ab", "cd", "ef"]),
        ([5, 1, 1, 1], 2, ["a", "bcd"]),
        ([1, 1, 6, 1], 2, ["abc", "d"]),
        ([1, 1], 5, ["a", "b"]),
        ([3, 3, 3], 1, ["abc"]),
        ([], 2, []),
    ],
)
def test_shares_are_of_about_one_size(monkeypatch, sizes, jobs, shares):
    monkeypatch.setattr(processes, "SHARES", 1)
    assert shares_of(zip("abcdef", sizes), jobs) == [list(share) for share in shares]


def test_there_are_several_shares_for_each_process_and_a_pipe_holds_the_tickets_of_all():
    assert len(shares_of(((number, 1) for number in range(100_000)), 2)) == 2 * processes.SHARES
    assert len(shares_of(((number, 1) for number in range(100_000)), 1_000)) * processes._TICKET <= 4_096


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
