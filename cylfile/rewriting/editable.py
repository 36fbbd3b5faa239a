"""
A file as it lies on paper, for putting lines into it: where they go, and how they are set.
"""

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable
from datetime import date
from functools import cached_property
from itertools import accumulate

from cylfile.rewriting.arrangement import FURTHER_IN, INDENT, PROPERTY, arrange, set_text
from cylfile.rewriting.extents import BlockExtents, Extent, PhysicalLine, extents, newline_of, physical_lines
from cylfile.text.acts import Act
from cylfile.text.language import Sentence
from cylfile.text.ledger import LEDGER, TOP, Block
from cylfile.text.parse_table import Slot
from cylfile.text.source import Source

# Day and time of a line; None for one that has no day.
KeyOf = Callable[[Sentence], tuple[str, str] | None]
# A comment that stands further in than the header of a block.
_INDENTED_COMMENT = re.compile("[ \t]+#")


class Page:
    """A file as it lies on paper, for putting lines into it. Its `blocks` are read where nobody has them."""

    def __init__(self, source: Source, blocks: list[Block] | None = None):
        self.source = source
        self._read = blocks
        self.lines: list[PhysicalLine] = physical_lines(source)
        self.newline = newline_of(self.lines)
        self._gaps: dict[int, str | None] = {}
        self._indents_of: dict[int, set[str]] = {}
        self._sheets: dict[str, list[BlockExtents]] = {}
        # By kind, the earliest day of each sheet and those after it.
        self._from_day: dict[str, list[str]] = {}

    def number(self, offset: int) -> int:
        return self.source.position(offset)[0] - 1

    @cached_property
    def blocks(self) -> list[BlockExtents]:
        """All blocks, in the order of the file."""
        return extents(self.source, self.lines, self._read)

    def sheets(self, kind: str) -> list[BlockExtents]:
        if kind not in self._sheets:
            self._sheets[kind] = [block for block in self.blocks if block.block.kind == kind]
        return self._sheets[kind]

    def block_at(self, offset: int) -> BlockExtents:
        """The block in whose header an offset lies."""
        return self.blocks[bisect_right(self._firsts, self.number(offset)) - 1]

    @cached_property
    def _firsts(self) -> list[int]:
        return [block.first for block in self.blocks]

    def insertion(self, block: BlockExtents, key: tuple[str, str], key_of: KeyOf) -> tuple[Extent | None, int]:
        """The line of a block to be modeled on, and the number of the physical line to stand before."""
        read = [(sentence, line) for line in block.lines if (sentence := line.readable)]
        keyed = [(its_key, line) for sentence, line in read if (its_key := key_of(sentence)) is not None]
        before = [line for its_key, line in keyed if not _is_later(its_key, key)]
        if before:
            return before[-1], before[-1].last + 1
        if keyed:
            return keyed[0][1], self.above(keyed[0][1].first)
        return (block.lines[-1] if block.lines and block.lines[-1].readable else None), block.last + 1

    def above(self, number: int) -> int:
        """
        The first of the comments that stand right above a line, or the line itself.

        A comment that stands further in than a header belongs to the block before.
        """
        blanks = "" if self.lines[number].text[0] not in " \t" else " \t"
        while number and self.lines[number - 1].text.lstrip(blanks).startswith("#"):
            number -= 1
        return number

    def written(self, text: str, place: str, model: Extent | None, block: BlockExtents | None) -> list[str]:
        """The physical lines of a sentence, set as the line it is modeled on."""
        if model is None:
            indent = "" if place == TOP else self._indent_of(block)
            return set_text(text, place, indent, indent + FURTHER_IN)
        indent = self.lines[model.first].indent
        further_in = indent + FURTHER_IN if place == TOP or self._indents(block) == {indent} else None
        if model.first not in self._gaps:
            self._gaps[model.first] = self._gap(model, indent)
        return set_text(text, place, indent, further_in, self._gaps[model.first])

    def _indents(self, block: BlockExtents | None) -> set[str]:
        """The indents of the lines of a block."""
        if block is None:
            return set()
        if block.first not in self._indents_of:
            self._indents_of[block.first] = {self.lines[line.first].indent for line in block.lines}
        return self._indents_of[block.first]

    def _indent_of(self, block: BlockExtents | None) -> str:
        indents = self._indents(block)
        return next(iter(indents)) if len(indents) == 1 else INDENT

    def _gap(self, model: Extent, indent: str) -> str | None:
        """
        What parts the clauses of a line; None where it is set in the canonical layout.

        A property is always taken for canonical: its columns are others.
        """
        if model.readable is None:
            return None
        first, last = self.lines[model.first], self.lines[model.last]
        words = LEDGER.words(self.source.text, first.start, last.start + len(last.text))
        sentence = LEDGER.in_order(self.source, model.readable)
        arrangement = arrange(sentence)
        if arrangement.pieces[0].field == PROPERTY:
            return None
        text = self.source.text[first.start : words[-1].end]
        if "\n".join(arrangement.lines(sentence.values, indent, indent + FURTHER_IN)) == text.replace("\r\n", "\n"):
            return None
        begins = {piece.first for piece in arrangement.pieces if piece.gap > 1}
        gaps = Counter(
            self.source.text[before.end : word.start]
            for number, (before, word) in enumerate(zip(words, words[1:]), 1)
            if number in begins
        )
        gaps = Counter({gap: count for gap, count in gaps.items() if "\n" not in gap})
        return gaps.most_common(1)[0][0] if gaps else None

    def with_lines(self, before: int, new: list[str], newline: str | None = None) -> tuple[str, int]:
        """The text with new lines before physical line number `before`, and the number, from 1, of the first of them."""
        newline = newline or self.newline
        text = "".join(line.text + line.end for line in self.lines[:before])
        if text and not text.endswith("\n"):
            text += newline
        text += "".join(line + newline for line in new)
        return text + "".join(line.text + line.end for line in self.lines[before:]), before + 1

    def with_block(self, kind: str, day: date, new: list[str], newline: str) -> tuple[str, int]:
        """The text with a new sheet among those of its kind, by day, and the line of its header."""
        at = self.place_of_block(kind, day)
        if self.lines[at:] and self.lines[at].text.strip(" \t"):
            new = [*new, ""]
        is_apart = not at or not self.lines[at - 1].text.strip(" \t")
        text, number = self.with_lines(at, new if is_apart else ["", *new], newline if not self.lines else None)
        return text, number + (not is_apart)

    def place_of_block(self, kind: str, day: date) -> int:
        """The number of the physical line before which a new sheet of a day stands among those of its kind."""
        sheets = self.sheets(kind)
        if kind not in self._from_day:
            # A sheet whose header cannot be read may be of any day.
            days = ["" if sheet.heading is None else sheet.heading.values[0] for sheet in sheets]
            self._from_day[kind] = [*accumulate(reversed(days), min)][::-1]
        before = bisect_right(self._from_day[kind], str(day))
        if before:
            return self.end_of(sheets[before - 1])
        return self.above(sheets[0].first) if sheets else len(self.lines)

    def end_of(self, block: BlockExtents) -> int:
        """The number of the physical line after a block and the comments further in that end it."""
        number = block.last + 1
        while number < len(self.lines) and _INDENTED_COMMENT.match(self.lines[number].text):
            number += 1
        return number


def card_key(sentence: Sentence) -> tuple[str, str] | None:
    """Day and time of a line on a card; None for a property."""
    day, time = (*_when(sentence), "", "")[:2]
    return (day, _with_seconds(time)) if day else None


def row_key(sentence: Sentence) -> tuple[str, str]:
    """As of a line of a card; all rows of a sheet are of one day."""
    return "", _with_seconds("".join(_when(sentence)))


def _when(sentence: Sentence) -> list[str]:
    """The day and the time that a line begins with, those of them that it says."""
    shape, values, _ = sentence
    if isinstance(shape, Act):
        return [value for part, value in zip(shape.head, values) if value and part.rule in ("DAY", "TIME")]
    return [values[child.index] for child in shape.tree.children if isinstance(child, Slot)]


def _with_seconds(time: str) -> str:
    return time if len(time) != len("09:42") else f"{time}:00"


def _is_later(key: tuple[str, str], than: tuple[str, str]) -> bool:
    """Whether a line comes after an entry: it is of a later day, or of a later time where both have one."""
    return key[0] > than[0] or (key[0] == than[0] and "" not in (key[1], than[1]) and key[1] > than[1])
