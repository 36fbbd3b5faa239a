"""
Saying what takes so long, to somebody who sits before a terminal and waits.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from cylfile.text.source import Source

# Records of fewer characters than this are read and judged before a note of it could be read.
_LASTS = 5_000_000


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
