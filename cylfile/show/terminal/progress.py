"""
Saying what takes so long, to somebody who sits before a terminal and waits.
"""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from cylfile.text.source import Source

# Records of fewer characters than this are read and judged before a note of it could be read.
_LASTS = 5_000_000
# Seconds before a bar is drawn at all, and between one drawing and the next.
_BEFORE_THE_BAR = 1.0
_BETWEEN_BARS = 0.1
_BAR_WIDTH = 30


@contextmanager
def told(sources: list[Source], doing: str) -> Iterator[None]:
    """
    Say on standard error what is done with a long record, and take it away when it is done.

    Nothing is said where standard error is no terminal.
    """
    if sum(len(source.text) for source in sources) < _LASTS or not sys.stderr.isatty():
        yield
        return
    note = f"cylfile: {doing}"
    print(note, end="", file=sys.stderr, flush=True)
    try:
        yield
    finally:
        print(f"\r{' ' * len(note)}\r", end="", file=sys.stderr, flush=True)


@contextmanager
def counted_off(total: int, doing: str) -> Iterator[Callable[[], None]]:
    """
    A bar on standard error that grows with each call of what this gives, and goes when all is done.

    Nothing is drawn where standard error is no terminal, or before the work has lasted a second.
    """
    if not sys.stderr.isatty():
        yield lambda: None
        return
    bar = _Bar(total, doing)
    try:
        yield bar.tell
    finally:
        bar.clear()


class _Bar:
    def __init__(self, total: int, doing: str):
        self._total = max(total, 1)
        self._doing = doing
        self._done = 0
        self._drawn = 0
        self._next = time.monotonic() + _BEFORE_THE_BAR
        self._full, self._empty = ("█", "░") if _can_write("█░") else ("#", ".")

    def tell(self) -> None:
        self._done += 1
        # Looking at the clock for each of many rows would take longer than they do.
        if self._done % 256 == 0 and time.monotonic() > self._next:
            self._next = time.monotonic() + _BETWEEN_BARS
            self._draw()

    def _draw(self) -> None:
        full = min(self._done * _BAR_WIDTH // self._total, _BAR_WIDTH)
        drawn = self._full * full + self._empty * (_BAR_WIDTH - full)
        line = f"cylfile: {self._doing}  {drawn}  {self._done:,} of {self._total:,}"
        print(f"\r{line}", end="", file=sys.stderr, flush=True)
        self._drawn = len(line)

    def clear(self) -> None:
        if self._drawn:
            print(f"\r{' ' * self._drawn}\r", end="", file=sys.stderr, flush=True)


def _can_write(text: str) -> bool:
    try:
        text.encode(sys.stderr.encoding or "ascii")
    except UnicodeEncodeError:
        return False
    return True
