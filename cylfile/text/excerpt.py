"""
Excerpts: what a source says of some names, with all else left out.

Whoever asks about one cylinder need not wait until a million lines about others are read. What
an excerpt keeps reads exactly as it does in the whole source, and stands at the same place.
"""

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator

from cylfile.text.ledger import CONFLICT, LEDGER, clause_start, indent_of
from cylfile.text.plain_lines import PlainLines, mention
from cylfile.text.source import Source

# What stands in column 1 and is neither blank nor a comment. After a line end, for by that the
# search is a quick one.
_COLUMN_1 = r"(?![ \t#\n]|\r?\n|\r?\Z)"
_AFTER_LINE_END = re.compile("\n" + _COLUMN_1)
_AT_START = re.compile(_COLUMN_1)
# What begins in column 1 with no day and is no marker of a conflict.
_NO_LOOSE_LINE = re.compile(rf"\n{_COLUMN_1}(?![0-9]|{CONFLICT.pattern})")
_PASSED_OVER = r"[ \t]*(?:#[^\n]*)?\r?\n"
_BLANK_LINE = re.compile(_PASSED_OVER)
# So many places are told sooner without a table of all the lines of a file.
_FEW = 20


class Excerpt(Source):
    """
    Some stretches of a source, each (start, end) of whole lines, put together.

    Offsets are those in the excerpt. Lines and columns are those of the whole source.
    """

    __slots__ = ("whole", "_starts", "_shifts", "_places")

    def __init__(self, whole: Source, stretches: list[tuple[int, int]]):
        super().__init__(whole.path, "".join([whole.text[start:end] for start, end in stretches]))
        self.whole = whole
        # How many places of it somebody has asked for.
        self._places = 0
        # Where each stretch starts in the excerpt, and how much further on it does in the whole.
        self._starts, self._shifts, at = [], [], 0
        for start, end in stretches:
            self._starts.append(at)
            self._shifts.append(start - at)
            at += end - start

    def is_parted(self, start: int, end: int) -> bool:
        return _NO_LOOSE_LINE.search(self.whole.text, self._in_whole(start), self._in_whole(end)) is not None

    def _in_whole(self, offset: int) -> int:
        index = bisect_right(self._starts, offset) - 1
        return offset + (self._shifts[index] if index >= 0 else 0)

    def position(self, offset: int) -> tuple[int, int]:
        offset = self._in_whole(offset)
        self._places += 1
        if self._places > _FEW:
            return self.whole.position(offset)
        text = self.whole.text
        return text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset)


class Searchable:
    """A source whose blocks can be asked for by what stands in them."""

    def __init__(self, source: Source):
        self.source = source
        text = self.source.text
        lines = [found.end() for found in _AFTER_LINE_END.finditer(text)]
        if _AT_START.match(text):
            lines.insert(0, 0)
        self._markers = {line for line in lines if text[line] in "<=>|" and CONFLICT.match(text, line)}
        self._starts = [line for line in lines if line not in self._markers] if self._markers else lines
        self._has_cards = text.startswith("cylinder") or "\ncylinder" in text

    def excerpt(self, plain: PlainLines, cards: Iterable[str] = ()) -> Excerpt:
        """
        All that is not plain, and the cards that mention one of the names `cards`.

        The cards of the cylinders of plain lines are left out. Blocks that a merge conflict begins or ends in are kept.
        """
        text = self.source.text
        if not self.source.is_clean():
            return Excerpt(self.source, [(0, len(text))])
        kept = [self.block_at(marker) for marker in self._markers] + self._cards(cards)
        start = self._starts[0] if self._starts else len(text)
        if text[:start].strip():
            kept.append((0, start))
        while start < len(text):
            passed = plain.sheets.match(text, start) or plain.loose.match(text, start)
            if passed:
                start = self.block_at(passed.end())[1] if passed.end() in self._markers else passed.end()
                continue
            end = self.block_at(start)[1]
            kept += self._not_plain(plain, start, end)
            start = end
        return Excerpt(self.source, _merged(kept))

    def _not_plain(self, plain: PlainLines, start: int, end: int) -> list[tuple[int, int]]:
        """
        What to keep of a block that is not plain as a whole.

        Nearly all lines are rows of a long sheet. Where they all stand equally far in, none goes on with another, and
        plain ones can be left out but for one: with the header and the first row it tells how all others are read.
        """
        text = self.source.text
        if plain.card.match(text, start):
            return []
        row = self._first_row(start, end)
        if row == end or not plain.header.match(text, start) or not _rows_like(text, row).fullmatch(text, row, end):
            return [(start, end)]
        at = self._line_after(row)
        kept = [(start, at), (at, self._line_after(at))]
        while at < end:
            rows = plain.fill_rows.match(text, at, end)
            not_plain = rows.end() if rows else at
            at = self._line_after(not_plain)
            kept.append((not_plain, min(at, end)))
        return kept

    def cards(self, names: Iterable[str]) -> Excerpt:
        """The cards of cylinders that mention one of `names`."""
        return Excerpt(self.source, _merged(self._cards(names)))

    def _cards(self, names: Iterable[str]) -> list[tuple[int, int]]:
        if not self._has_cards:
            return []
        blocks = {block for name in names for block in self._blocks_with(mention([name]))}
        return [block for block in blocks if self.source.text.startswith("cylinder", block[0])]

    def _blocks_with(self, search: re.Pattern) -> Iterator[tuple[int, int]]:
        """The blocks in which an expression matches, each once."""
        found = search.search(self.source.text)
        while found:
            block = self.block_at(found.start())
            yield block
            found = search.search(self.source.text, block[1])

    def block_at(self, place: int) -> tuple[int, int]:
        """The block that holds a place; that of lines under no header begins with the text."""
        index = bisect_right(self._starts, place)
        start = self._starts[index - 1] if index else 0
        return start, self._starts[index] if index < len(self._starts) else len(self.source.text)

    def _first_row(self, start: int, end: int) -> int:
        """Where the first line of a sheet starts that is its own and no part of the header."""
        text, at = self.source.text, self._line_after(start)
        while at < end and (clause_start(LEDGER).match(text, at) or _BLANK_LINE.match(text, at)):
            at = self._line_after(at)
        return at

    def _line_after(self, at: int) -> int:
        return self.source.text.find("\n", at) + 1 or len(self.source.text)


def _rows_like(text: str, row: int) -> re.Pattern:
    """Matches lines that are indented exactly as the one at `row`, blank lines and comments."""
    indent = re.escape(indent_of(text, row))
    return re.compile(rf"(?:{indent}(?![ \t\r\n#])[^\n]*(?:\n|\Z)|{_PASSED_OVER})*+")


def _merged(stretches: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The stretches in order, those that touch or overlap made one."""
    merged: list[tuple[int, int]] = []
    for start, end in sorted(stretches):
        if merged and start <= merged[-1][1]:
            merged[-1] = merged[-1][0], max(end, merged[-1][1])
        else:
            merged.append((start, end))
    return merged
