"""
Doing the shares of a work in several processes that all know what is in memory already.

A process is forked, so that nothing is sent to it. Whoever is free takes the next share. What a process sends back are
its results, in which a source is only a number. A share of which nothing comes back is done here: what several
processes give is what one gives, whatever becomes of them.
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
# So many shares are made for each process. What the last one of them takes is what the others may have to wait.
SHARES = 40
_MOST_SHARES = 2_000
# The bytes of the number of a share. A pipe holds those of all shares, be it one of the smallest.
_TICKET = 2
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


def shares_of(things: Iterable[tuple[Thing, int]], jobs: int) -> list[list[Thing]]:
    """
    Things, each given with its size, which is more than nothing, in their order in shares of about one size.

    So many that processes of which each takes the next one whenever it is free are done at about the same time.
    """
    given = list(things)
    each = sum(size for _, size in given) / (min(jobs * SHARES, _MOST_SHARES) if jobs > 1 else 1)
    shares: list[list[Thing]] = []
    taken = 0
    for thing, size in given:
        if taken >= each * len(shares):
            shares.append([])
        shares[-1].append(thing)
        taken += size
    return shares


@contextmanager
def in_processes(
    work: Callable[[list], Iterable], shares: list[list], jobs: int, sources: Sequence[Source]
) -> Iterator[Iterator]:
    """
    What `work` gives for each share, in the order of the shares.

    They are done in `jobs` processes, of which this is one: the others begin now, and this one once somebody asks for
    what it gives; where no process can be forked, all are done here. `sources` are those that results may mention.
    """
    tickets = _Tickets(len(shares))
    forked = range(min(jobs, len(shares)) - 1) if CAN_FORK else ()
    children = [child for _ in forked if (child := _start(work, shares, tickets, sources))]

    def results() -> Iterator:
        done = {number: list(work(shares[number])) for number in tickets} if children else {}
        for child in children:
            done.update(child.results(sources))
        for number, share in enumerate(shares):
            yield from done.pop(number) if number in done else work(share)

    try:
        yield results()
    finally:
        for child in children:
            child.end()
        tickets.close()


class _Tickets:
    """The numbers of shares, each of which is given to one process only, to whichever asks first."""

    def __init__(self, count: int):
        # All numbers stand in a pipe, and what one process has read of it no other one reads.
        self._outlet, inlet = os.pipe()
        with open(inlet, "wb") as pipe:
            pipe.write(b"".join(number.to_bytes(_TICKET, "big") for number in range(count)))

    def __iter__(self) -> Iterator[int]:
        while ticket := os.read(self._outlet, _TICKET):
            yield int.from_bytes(ticket, "big")

    def close(self) -> None:
        os.close(self._outlet)


def _start(
    work: Callable[[list], Iterable], shares: list[list], tickets: _Tickets, sources: Sequence[Source]
) -> "_Child | None":
    """A process that does the shares whose tickets it gets; None where the system gives none."""
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
        packer = packing.Packer(sources)
        for ticket in tickets:
            packer.add((ticket, list(work(shares[ticket]))))
        # It is all packed before any of it is sent, for nobody takes it before all tickets are gone.
        with open(inlet, "wb") as pipe:
            pipe.write(packer.packed)
        status = 0
    except BaseException:
        if os.environ.get("CYLFILE_DEBUG"):
            import traceback

            traceback.print_exc()
    finally:
        os._exit(status)


class _Child:
    """A process that does shares, and the end of the pipe on which its results come."""

    def __init__(self, number: int, outlet: int):
        self.number = number
        self.pipe = open(outlet, "rb")
        self.is_over = False

    def results(self, sources: Sequence[Source]) -> dict[int, list]:
        """What it found, by the numbers of the shares that it did; of some where it broke off in the middle of sending."""
        from cylfile.record.packing import unpack_each

        data = self.pipe.read()
        self._wait()
        found: dict[int, list] = {}
        with suppress(pickle.UnpicklingError):
            found.update(unpack_each(data, sources))
        return found

    def end(self) -> None:
        """Let go of it, whether it has done its shares or not."""
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
