"""
What pictures are drawn with: block characters where the output has them, ASCII where it has not.
"""

from typing import NamedTuple, TextIO


class Signs(NamedTuple):
    """
    `ink` draws letters. `shades` tell parts of a bar apart without color; `heights` are eight
    heights of a column, lowest first; `line` lasts. `branches` are those of a tree: one that others
    follow, the last, what passes by, and nothing.
    """

    ink: str
    shades: str
    heights: str
    line: str
    branches: tuple[str, ...]


BLOCKS = Signs("█", "█▓▒░▪", "▁▂▃▄▅▆▇█", "─", ("├─ ", "└─ ", "│  ", "   "))
ASCII = Signs("#", "#=+-:", ".:-=+*#@", "-", ("|- ", "`- ", "|  ", "   "))


def signs_for(stream: TextIO) -> Signs:
    """The signs that a stream can write."""
    try:
        "".join((*BLOCKS[:-1], *BLOCKS.branches)).encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ASCII
    return BLOCKS
