"""
Which physical lines of a file each of its sentences takes up.

Commands that write need the file as it lies on paper: a sentence may run over several physical
lines, and comments and blank lines lie between and inside sentences.
"""

from typing import NamedTuple

from cylfile.text.language import Damaged, Sentence
from cylfile.text.ledger import LEDGER, Block
from cylfile.text.source import Source


class PhysicalLine(NamedTuple):
    """A line of a file: its offset, its text without the line end, and the line end, empty at the end of the file."""

    start: int
    text: str
    end: str


class Extent(NamedTuple):
    """A sentence and the physical lines it takes up, from number `first` to number `last`, counted from 0."""

    first: int
    last: int
    sentence: Sentence | Damaged


class BlockExtents(NamedTuple):
    """A block on paper: its header, None where it has none, and its own lines."""

    block: Block
    header: Extent | None
    lines: list[Extent]


def physical_lines(source: Source) -> list[PhysicalLine]:
    """All lines of a source; joined, with their line ends, they are its text."""
    lines = []
    starts = source.line_starts
    for start, after in zip(starts, (*starts[1:], len(source.text))):
        if start < after:
            end = source.line_end(start)
            lines.append(PhysicalLine(start, source.text[start:end], source.text[end:after]))
    return lines


def extents(blocks: list[Block]) -> list[BlockExtents]:
    """The blocks of a source on paper, in its order."""
    found = []
    for block in blocks:
        header = _extent(block.source, block.header) if block.header is not None else None
        found.append(BlockExtents(block, header, [_extent(block.source, line) for line in block.lines]))
    return found


def newline_of(lines: list[PhysicalLine]) -> str:
    """The line end of a file, for lines that are new in it: that of its first line."""
    return lines[0].end or "\n" if lines else "\n"


def _extent(source: Source, sentence: Sentence | Damaged) -> Extent:
    if isinstance(sentence, Damaged):
        end = sentence.end
    else:
        end = LEDGER.words_of(source.text, sentence.start, len(sentence.shape.terminals))[-1].end
    first, last = (source.position(offset)[0] - 1 for offset in (sentence.start, max(sentence.start, end - 1)))
    return Extent(first, last, sentence)
