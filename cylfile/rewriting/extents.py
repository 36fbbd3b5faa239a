"""
Which physical lines of a file each of its sentences takes up.

Commands that write need the file as it lies on paper: a sentence may run over several physical
lines, and comments and blank lines lie between and inside sentences.
"""

import re
from bisect import bisect_right
from collections.abc import Iterable
from itertools import islice, repeat
from typing import NamedTuple

from cylfile.text.language import Damaged, Sentence
from cylfile.text.ledger import CONFLICT, Block, LedgerReader
from cylfile.text.source import Source

# What a NamedTuple's own constructor calls, without the call.
_new_tuple = tuple.__new__
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
    *whole, rest = source.text.split("\n")
    ends: Iterable[str] = repeat("\n")
    if "\r" in source.text:
        ends = ["\r\n" if line.endswith("\r") else "\n" for line in whole]
        whole = [line.removesuffix("\r") for line in whole]
    lines = [_new_tuple(PhysicalLine, line) for line in zip(source.line_starts, whole, ends)]
    if rest:
        lines.append(PhysicalLine(source.line_starts[-1], rest, ""))
    return lines


def extents(source: Source, lines: list[PhysicalLine], blocks: list[Block] | None = None) -> list[BlockExtents]:
    """
    The blocks of a source on paper, in its order. `lines` are its physical lines; its `blocks` are read where nobody
    has them.

    Whatever stands between the beginnings of two sentences, and is neither blank nor a comment nor
    the marker of a conflict, belongs to the first of them; so nothing has to be read again.
    """
    if blocks is None:
        blocks = list(LedgerReader(source, by_acts=True).blocks())
    sentences = [line for block in blocks for line in (block.header, *block.lines) if line is not None]
    starts = source.line_starts
    firsts = [bisect_right(starts, sentence.start) - 1 for sentence in sentences]
    found = []
    for sentence, first, end in zip(sentences, firsts, (*firsts[1:], len(lines))):
        last = end - 1
        while last > first and _NO_PART.match(lines[last].text):
            last -= 1
        found.append(_new_tuple(Extent, (first, last, sentence)))
    at = iter(found)
    return [
        _new_tuple(BlockExtents, (block, None if block.header is None else next(at), [*islice(at, len(block.lines))]))
        for block in blocks
    ]


def newline_of(lines: list[PhysicalLine]) -> str:
    """The line end of a file, for lines that are new in it: that of its first line."""
    return lines[0].end or "\n" if lines else "\n"
