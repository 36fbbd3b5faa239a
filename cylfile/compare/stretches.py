"""
Where two texts of one ledger differ, in whole blocks, so that no more of them need be read.
"""

import re

# In column 1, neither blank nor comment: the header of a block, or a loose line.
_HEADER = re.compile(r"^[^\s#]", re.MULTILINE)
# With one of these a block means nothing by itself.
_CONFLICT = re.compile(r"^(?:<{7}|>{7}|\|{7}|={7})", re.MULTILINE)


def differing_stretches(old: str, new: str) -> tuple[str, str]:
    """
    The blocks of each text that are not the other's, from the first to the last, where they stand: in place of all
    that is before them there are as many line ends.

    Loose lines that follow one another are one block, since their order is told.
    """
    if old == new:
        return "", ""
    if _CONFLICT.search(old) or _CONFLICT.search(new):
        return old, new
    same = _same_at_start(old, new)
    start = _block_before(old, same)
    end = _block_after(old, len(old) - _same_at_end(old, new, same))
    before = "\n" * old.count("\n", 0, start)
    return before + old[start:end], before + new[start : len(new) - (len(old) - end)]


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
