"""
Where two texts of one ledger differ, in whole blocks, so that no more of them need be read.
"""

import re

from cylfile.text.source import Source

# In column 1, neither blank nor comment: the header of a block, or a loose line.
_HEADER = re.compile(r"^[^\s#]", re.MULTILINE)
# With one of these a block means nothing by itself.
_CONFLICT = re.compile(r"^(?:<{7}|>{7}|\|{7}|={7})", re.MULTILINE)


class Stretch(Source):
    """A stretch of a file; its places are those in the file, before which there are so many lines."""

    __slots__ = ("before",)

    def __init__(self, path: str, text: str, before: int):
        super().__init__(path, text)
        self.before = before

    def position(self, offset: int) -> tuple[int, int]:
        line, column = super().position(offset)
        return self.before + line, column


def differing_stretches(path: str, old: str, new: str) -> tuple[Stretch, Stretch]:
    """
    The blocks of each text that are not the other's, from the first to the last.

    Loose lines that follow one another are one block, since their order is told.
    """
    if old == new:
        return Stretch(path, "", 0), Stretch(path, "", 0)
    if _CONFLICT.search(old) or _CONFLICT.search(new):
        return Stretch(path, old, 0), Stretch(path, new, 0)
    same = _same_at_start(old, new)
    start = _block_before(old, same)
    end = _block_after(old, len(old) - _same_at_end(old, new, same))
    before = old.count("\n", 0, start)
    return (
        Stretch(path, old[start:end], before),
        Stretch(path, new[start : len(new) - (len(old) - end)], before),
    )


def _same_at_start(old: str, new: str) -> int:
    low, high = 0, min(len(old), len(new))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if old.startswith(new[low:middle], low) else (low, middle - 1)
    return low


def _same_at_end(old: str, new: str, at_start: int) -> int:
    """How many characters at the end are the same, of those that do not stand in what is the same at the start."""
    low, high = 0, min(len(old), len(new)) - at_start
    while low < high:
        middle = (low + high + 1) // 2
        piece = new[len(new) - middle : len(new) - low]
        low, high = (middle, high) if old.endswith(piece, 0, len(old) - low) else (low, middle - 1)
    return low


def _block_before(text: str, at: int) -> int:
    """Where the last block begins that the line at an offset may be part of, on either side."""
    line = text.rfind("\n", 0, at) + 1
    for header in reversed(list(_HEADER.finditer(text, 0, line))):
        if not header[0].isdigit():
            return header.start()
    return 0


def _block_after(text: str, at: int) -> int:
    """Where the first block begins that neither the line at an offset nor a loose line before it is part of."""
    line = text.find("\n", at) + 1
    if not line:
        return len(text)
    return next((header.start() for header in _HEADER.finditer(text, line) if not header[0].isdigit()), len(text))
