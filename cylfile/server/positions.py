"""
Places as the protocol counts them: lines and columns from 0, columns in units of an encoding.

The protocol ends a line at a line feed, at a carriage return, or at both together; a `Source`
ends it at line feeds alone. So lines are counted anew here.
"""

import re
from bisect import bisect_right
from itertools import accumulate

_LINE_END = re.compile("\r\n|\n|\r")


class Positions:
    """The lines of one text, in one encoding."""

    def __init__(self, text: str, encoding: str):
        self.text = text
        self.encoding = encoding
        self.starts = line_starts(text)
        self._is_plain = encoding == "utf-32" or text.isascii()

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset in code points."""
        line = bisect_right(self.starts, offset) - 1
        start = self.starts[line]
        if self._is_plain:
            return line, offset - start
        return line, _units(self.text[start:offset], self.encoding)

    def offset(self, line: int, column: int) -> int:
        """The offset of a place; one beyond the end of its line, or of the text, is that end."""
        if line >= len(self.starts):
            return len(self.text)
        start = self.starts[line]
        end = self.starts[line + 1] if line + 1 < len(self.starts) else len(self.text)
        content = self.text[start:end].rstrip("\r\n")
        return start + column_offset(content, column, self.encoding)


def line_starts(text: str) -> list[int]:
    """Where the lines of a text start, as the protocol ends them."""
    if text.count("\r") > text.count("\r\n"):
        return [0, *(found.end() for found in _LINE_END.finditer(text))]
    # Three times as quick, and asked at every keystroke.
    return [0, *accumulate(len(line) + 1 for line in text.split("\n"))][:-1]


def column_offset(line: str, column: int, encoding: str) -> int:
    """The code points of a line before a column; one beyond its end is that end."""
    if encoding == "utf-32" or line.isascii():
        return min(column, len(line))
    units = 0
    for index, character in enumerate(line):
        if units >= column:
            return index
        units += _units(character, encoding)
    return len(line)


def _units(text: str, encoding: str) -> int:
    if text.isascii():
        return len(text)
    if encoding == "utf-8":
        return len(text.encode("utf-8", "surrogatepass"))
    return len(text) + sum(character > "\uffff" for character in text)
