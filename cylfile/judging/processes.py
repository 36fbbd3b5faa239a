"""
Doing the shares of a work in several processes that all have read the record.

A process is forked when the record is in memory already, so that nothing is sent to it. What it
sends back are its results, in which a source is only a number.
"""

import io
import os
import pickle
from collections.abc import Callable, Iterator
from typing import BinaryIO

from cylfile.cannot import CannotDo
from cylfile.text.source import Source


def in_processes(work: Callable[[list], Iterator], shares: list[list], sources: list[Source]) -> Iterator:
    """
    What `work` gives for each share, in the order of the shares.

    The first share is done here, and each of the others in a process of its own, meanwhile.
    `sources` are those that results may mention.
    """
    children = [_start(work, share, sources) for share in shares[1:]]
    try:
        yield from work(shares[0])
        for child in children:
            yield from child.results(sources)
    finally:
        for child in children:
            child.end()


def _start(work: Callable[[list], Iterator], share: list, sources: list[Source]) -> "_Child":
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
            _Pickler(pipe, sources).dump(list(work(share)))
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

    def results(self, sources: list[Source]) -> list:
        data = self.pipe.read()
        _, status = os.waitpid(self.number, 0)
        self.is_over = True
        if status:
            raise CannotDo("a process of --jobs broke off; run it again with --jobs 1")
        return _Unpickler(io.BytesIO(data), sources).load()

    def end(self) -> None:
        """Let go of the pipe, at which a process that still writes ends by itself, and wait for that."""
        self.pipe.close()
        if not self.is_over:
            os.waitpid(self.number, 0)


class _Pickler(pickle.Pickler):
    """Writes sources by their number."""

    def __init__(self, pipe: BinaryIO, sources: list[Source]):
        super().__init__(pipe, protocol=pickle.HIGHEST_PROTOCOL)
        self.numbers = {id(source): number for number, source in enumerate(sources)}

    def persistent_id(self, thing: object) -> int | None:
        return self.numbers.get(id(thing)) if thing.__class__ is Source else None


class _Unpickler(pickle.Unpickler):
    def __init__(self, pipe: BinaryIO, sources: list[Source]):
        super().__init__(pipe)
        self.sources = sources

    def persistent_load(self, number: int) -> Source:
        return self.sources[number]
