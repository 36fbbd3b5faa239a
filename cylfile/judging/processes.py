"""
Doing the shares of a work in several processes that all know what is in memory already.

A process is forked, so that nothing is sent to it. What it sends back are its results, in which
a source is only a number. A share of which nothing comes back is done here: what several processes
give is what one gives, whatever becomes of them.
"""

import os
import pickle
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import TypeVar

from cylfile.text.source import Source

Thing = TypeVar("Thing")

# A fork of a program that uses the frameworks of macOS may hang.
CAN_FORK = hasattr(os, "fork") and sys.platform != "darwin"
# Two processes lint 8,300,000 characters in 1 / 1.27 of the time of one, and 2,400,000 in 1 / 1.12, for which both together
# work longer, since each meets every kind of line for the first time. More than four were not measured.
_PAYS_FROM = 4_000_000
_MOST_PROCESSES = 4
# Where Linux tells how much time of processors the group of this process gets, and in which time: in a container, its own.
LIMIT = "/sys/fs/cgroup/cpu.max"


def processes_for(texts: Iterable[str | bytes]) -> int:
    """How many processes pay for reading and judging some texts; never more than there are processors."""
    if not CAN_FORK or sum(map(len, texts)) < _PAYS_FROM:
        return 1
    return min(processors(), _MOST_PROCESSES)


def processors() -> int:
    """How many processors this process may use, of those that the machine has and of the time that a container is given."""
    there = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    with suppress(OSError, ValueError), open(LIMIT, encoding="ascii") as file:
        # "max" in place of a number where there is no limit.
        time, period = map(int, file.read().split())
        return max(1, min(there, time // period))
    return there


def dealt(things: Iterable[tuple[Thing, int]], jobs: int, handing_over: int = 0) -> list[list[Thing]]:
    """
    Things, each given with its size, in at most `jobs` shares of about one size.

    All but the first, which is done here, count as larger by what it takes to hand over what comes of them.
    """
    shares: list[list[Thing]] = [[] for _ in range(jobs)]
    sizes = [0, *[handing_over] * (jobs - 1)]
    for thing, size in things:
        least = sizes.index(min(sizes))
        shares[least].append(thing)
        sizes[least] += size + 1
    return [shares[0], *filter(None, shares[1:])]


@contextmanager
def in_processes(work: Callable[[list], Iterable], shares: list[list], sources: Sequence[Source]) -> Iterator[Iterator]:
    """
    What `work` gives for each share, in the order of the shares.

    Each share but the first is done in a process of its own from now on, and the first here, once somebody asks
    for what it gives; where no process can be forked, all are done here. `sources` are those that results may mention.
    """
    children = [_start(work, share, sources) if CAN_FORK else None for share in shares[1:]]

    def results() -> Iterator:
        yield from work(shares[0])
        for share, child in zip(shares[1:], children):
            found = child.results(sources) if child else None
            yield from work(share) if found is None else found

    try:
        yield results()
    finally:
        for child in filter(None, children):
            child.end()


def _start(work: Callable[[list], Iterable], share: list, sources: Sequence[Source]) -> "_Child | None":
    """The process that does a share; None where the system gives none."""
    # Before there are two who import it, and not where a record is done by one.
    from cylfile.record import packing

    outlet, inlet = os.pipe()
    try:
        number = os.fork()
    except OSError:
        os.close(outlet)
        os.close(inlet)
        return None
    if number:
        os.close(inlet)
        return _Child(number, outlet)
    # From here on this is the other process. It must not come back from this function.
    status = 1
    try:
        os.close(outlet)
        results = list(work(share))
        # It is all packed before any of it is sent, for nobody takes it before the first share is done.
        packed = packing.pack(results, sources)
        with open(inlet, "wb") as pipe:
            pipe.write(packed)
        status = 0
    except BaseException:
        if os.environ.get("CYLFILE_DEBUG"):
            import traceback

            traceback.print_exc()
    finally:
        os._exit(status)


class _Child:
    """A process that does a share, and the end of the pipe on which its results come."""

    def __init__(self, number: int, outlet: int):
        self.number = number
        self.pipe = open(outlet, "rb")
        self.is_over = False

    def results(self, sources: Sequence[Source]) -> list | None:
        """What it found; None where it broke off, be it in the middle of sending."""
        from cylfile.record.packing import unpack

        data = self.pipe.read()
        self._wait()
        try:
            return unpack(data, sources)
        except (EOFError, pickle.UnpicklingError):
            return None

    def end(self) -> None:
        """Let go of it, whether it has done its share or not."""
        self.pipe.close()
        if not self.is_over:
            with suppress(ProcessLookupError):
                os.kill(self.number, signal.SIGKILL)
            self._wait()

    def _wait(self) -> None:
        # Where whoever started the program lets no process be waited for, it is gone already.
        with suppress(ChildProcessError):
            os.waitpid(self.number, 0)
        self.is_over = True
