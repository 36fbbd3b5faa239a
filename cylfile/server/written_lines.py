"""
The lines of a ledger as the reader finds them, one that goes on below itself being one.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from cylfile.text.language import Damaged, Sentence
from cylfile.text.ledger import LEDGER, read_blocks
from cylfile.text.source import Source


class WrittenLine(NamedTuple):
    """
    One line from its first word to its last; `terminals` are those of its words, none where it cannot be read.

    `header` is where its block begins, `place` the start rule of the lines there; both None for a line of no block.
    """

    start: int
    end: int
    terminals: tuple[str, ...]
    header: int | None
    place: str | None

    @property
    def is_header(self) -> bool:
        return self.start == self.header


@lru_cache(maxsize=8)
def written_lines(source: Source) -> tuple[WrittenLine, ...]:
    """The lines of a source in its order, headers among them; an editor asks for several things that rest on them."""
    return tuple(_lines(source))


def _lines(source: Source) -> Iterator[WrittenLine]:
    for block in read_blocks(source)[0]:
        header = None if block.header is None else block.header.start
        for line in (*(() if block.header is None else (block.header,)), *block.lines):
            yield _written(source, line, header, block.place)


def _written(source: Source, line: Sentence | Damaged, header: int | None, place: str | None) -> WrittenLine:
    text = source.text
    if isinstance(line, Damaged):
        start = line.start + len(text[line.start : line.end]) - len(text[line.start : line.end].lstrip(" \t"))
        return WrittenLine(start, max(start, line.end), (), header, place)
    words = LEDGER.words_of(source, line.start, line.shape)
    return WrittenLine(words[0].start, words[-1].end, line.shape.terminals, header, place)
