"""
What a command says that is no page of a record: what it has done, and texts that other programs read.

These have one form each, so that no row of `forms` is theirs. Nothing of a record leaves raw here either.
"""

import sys
from collections.abc import Iterable

from cylfile.show.visible import visible


def tell(text: str = "") -> None:
    """Say a line on standard output."""
    print(visible(text))


def tell_beside(text: str) -> None:
    """Say a line on standard error, since it is about the output and no part of it."""
    print(visible(text), file=sys.stderr, flush=True)


def note(text: str) -> None:
    """Say a line on standard error that somebody has to know of; it begins with the name of the program."""
    tell_beside(f"cylfile: {text}")


def hand_on(lines: Iterable[str]) -> None:
    """Write lines for another program."""
    sys.stdout.writelines(f"{visible(line)}\n" for line in lines)


def hand_on_exactly(data: bytes) -> None:
    """Write bytes as they are: those that somebody gave, or that a digest is of."""
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
