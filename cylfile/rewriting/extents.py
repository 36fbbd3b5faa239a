"""
Which physical lines of a file each of its sentences takes up.

Commands that write need the file as it lies on paper: a sentence may run over several physical
lines, and comments and blank lines lie between and inside sentences.
"""

import re
from typing import NamedTuple

from cylfile.text.language import Damaged, Sentence
from cylfile.text.ledger import CONFLICT, Block
from cylfile.text.source import Source

# A line that is no part of a sentence, wherever it stands.
_NO_PART = re.compile(f"[ \t]*(?:#|$)|{CONFLICT.pattern}")


class PhysicalLine(NamedTuple):
    """A line of a file: its offset, its text without the line end, and the line end, empty at the end of the file."""

    start: int
    text: str
    end: str

    @property
    def indent(self) -> str:
        """The blanks that it begins with."""
        return self.text[: len(self.text) - len(self.text.lstrip(" \t"))]


class Extent(NamedTuple):
    """A sentence and the physical lines it takes up, from number `first` to number `last`, counted from 0."""

    first: int
    last: int
    sentence: Sentence | Damaged

    @property
    def readable(self) -> Sentence | None:
        """The sentence, where it can be read."""
        return self.sentence if isinstance(self.sentence, Sentence) else None


class BlockExtents(NamedTuple):
    """A block on paper: its header, None where it has none, and its own lines. It has one or the other."""

    block: Block
    header: Extent | None
    lines: list[Extent]

    @property
    def heading(self) -> Sentence | None:
        """The header, where there is one that can be read."""
        return None if self.header is None else self.header.readable

    @property
    def first(self) -> int:
        """The number of its first physical line."""
        return self.lines[0].first if self.header is None else self.header.first

    @property
    def last(self) -> int:
        """The number of its last physical line, comments after it left out."""
        return self.lines[-1].last if self.lines or self.header is None else self.header.last


def physical_lines(source: Source) -> list[PhysicalLine]:
    """All lines of a source; joined, with their line ends, they are its text."""
    lines, start = [], 0
    *whole, rest = source.text.split("\n")
    for line in whole:
        text = line.removesuffix("\r")
        lines.append(PhysicalLine(start, text, "\n" if text == line else "\r\n"))
        start += len(line) + 1
    if rest:
        lines.append(PhysicalLine(start, rest, ""))
    return lines


def extents(source: Source, blocks: list[Block], lines: list[PhysicalLine]) -> list[BlockExtents]:
    """
    The blocks of a source on paper, in its order. `lines` are its physical lines.

    Whatever stands between the beginnings of two sentences, and is neither blank nor a comment nor
    the marker of a conflict, belongs to the first of them; so nothing has to be read again.
    """
    firsts = sorted(
        source.position(sentence.start)[0] - 1
        for block in blocks
        for sentence in (block.header, *block.lines)
        if sentence is not None
    )
    last = dict(zip(firsts, (*firsts[1:], len(lines))))

    def extent(sentence: Sentence | Damaged) -> Extent:
        first = source.position(sentence.start)[0] - 1
        end = last[first] - 1
        while end > first and _NO_PART.match(lines[end].text):
            end -= 1
        return Extent(first, end, sentence)

    return [
        BlockExtents(block, None if block.header is None else extent(block.header), list(map(extent, block.lines)))
        for block in blocks
    ]


def newline_of(lines: list[PhysicalLine]) -> str:
    """The line end of a file, for lines that are new in it: that of its first line."""
    return lines[0].end or "\n" if lines else "\n"
