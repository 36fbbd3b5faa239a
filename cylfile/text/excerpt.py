"""
Excerpts: what a source says of some names, with all else left out.

Whoever asks about one cylinder need not wait until a million lines about others are read. What
an excerpt keeps reads exactly as it does in the whole source, and stands at the same place.
"""

import re
from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator

from cylfile.text.ledger import CONFLICT, LEDGER, SHEETS, clause_start, indent_of
from cylfile.text.source import Source

_IN_WORDS = "[A-Za-z0-9._/-]"
# What stands in column 1 and is neither blank nor a comment. After a line end, for by that the
# search is a quick one.
_COLUMN_1 = r"(?![ \t#\n]|\r?\n|\r?\Z)"
_AFTER_LINE_END = re.compile("\n" + _COLUMN_1)
_AT_START = re.compile(_COLUMN_1)
# What begins in column 1 with no day and is no marker of a conflict.
_NO_LOOSE_LINE = re.compile(rf"\n{_COLUMN_1}(?![0-9]|{CONFLICT.pattern})")
_PASSED_OVER = r"[ \t]*(?:#[^\n]*)?\r?\n"
_BLANK_LINE = re.compile(_PASSED_OVER)


# Ways of writing an entry that nothing can be wrong with, so that lines that are written otherwise need a closer look.
# Day 29 and later are among these, since not every month has them.
# Their groups are names; where one of them is a keyword, the line is not written so.
_NAMED = r"([A-Za-z0-9][A-Za-z0-9._/-]{0,63})(?=[ \t\r\n]|\Z)"
_GAP = "[ \t]+"
_FIGURE = r"[0-9]{1,5}(?:\.[0-9]{1,3})?[ \t]+"
_PRESSURE = f"{_FIGURE}(?:psi|bar)(?=[ \t\r\n]|\\Z)"
_CLOCK = "(?:[01][0-9]|2[0-3]):[0-5][0-9](?=[ \t])"
_DAY = "(?:19|20)[0-9]{2}-(?:0[1-9]|1[0-2])-(?:0[1-9]|1[0-9]|2[0-8])(?=[ \t])"
_LINE_END = r"[ \t]*(?:#[\x20-\x7e\t]*)?(?:\r?\n|\Z)"
_FILL = (
    f"(?:{_GAP}from{_GAP}{_PRESSURE})?{_GAP}to{_GAP}{_PRESSURE}(?:{_GAP}at{_GAP}-?{_FIGURE}[FC](?=[ \t\r\n]|\\Z))?"
    f"(?:{_GAP}by{_GAP}{_NAMED})?(?:{_GAP}on{_GAP}{_NAMED})?(?:{_GAP}at{_GAP}{_NAMED})?"
)
_PLAIN_ROW = re.compile(f"[ \t]+(?:{_CLOCK}{_GAP})?{_NAMED}{_FILL}{_LINE_END}")
# The clauses of a loose line come in any order; see `_each_once`.
_CLAUSE = (
    f"from{_GAP}{_PRESSURE}|to{_GAP}{_PRESSURE}|by{_GAP}{_NAMED}|on{_GAP}{_NAMED}"
    f"|at{_GAP}(?P<warm>-?{_FIGURE}[FC](?=[ \t\r\n]|\\Z))|at{_GAP}(?P<site>{_NAMED})"
)
_PLAIN_LOOSE = re.compile(
    f"{_DAY}{_GAP}(?:{_CLOCK}{_GAP})?filled{_GAP}{_NAMED}(?P<clauses>(?:{_GAP}(?:{_CLAUSE}))*){_LINE_END}"
)
_NEVER = re.compile("(?!)")
# The words that blocks begin with.
_OPENINGS = (
    "department", "site ", "person ", "tester ", "source ", "cylinder ", "recall ", "waived ", "sealed ",
    *(f"{kind} sheet " for kind in SHEETS),
)  # fmt: skip


class Excerpt(Source):
    """
    Some stretches of a source, each (start, end) of whole lines, put together.

    Offsets are those in the excerpt. Lines and columns are those of the whole source.
    """

    __slots__ = ("whole", "_starts", "_shifts")

    def __init__(self, whole: Source, stretches: list[tuple[int, int]]):
        super().__init__(whole.path, "".join([whole.text[start:end] for start, end in stretches]))
        self.whole = whole
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
        # Counting up to a few places is quicker than a table of all the lines of the file.
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

    def excerpt(
        self,
        names: Iterable[str] = (),
        subjects: Iterable[str] = (),
        cards: Iterable[str] = (),
        openings: tuple[str, ...] = (),
        known: Collection[str] | None = None,
    ) -> Excerpt:
        """
        What the source says of `names`, in a text too, and the blocks that begin with one of `openings`.

        With the names of all cards as `known`, also what may be of them without saying so: rows of the sheets that
        they stand on and lines in column 1 that may be beyond reading, or are of a name that is not known.

        `subjects` are names as well, but of sources of air: they do not count after `on`, where
        they stand in nearly every block. Of `cards` only the cards are kept that mention them.
        Blocks that a merge conflict begins or ends in are always kept.
        """
        text = self.source.text
        searches = [*map(_mention, names), *(_mention(name, "on") for name in subjects)]
        kept = [self.block_at(marker) for marker in self._markers]
        kept += (self.block_at(start) for start in self._starts if text.startswith(openings, start))
        for start, end in {block for search in searches for block in self._blocks_with(search)}:
            kept += self._lines_with(searches, start, end, known)
        if known is not None:
            kept += (self.block_at(start) for start in self._starts if self._is_doubtful(start, known))
        kept += self._cards(cards)
        return Excerpt(self.source, _merged(kept))

    def cards(self, names: Iterable[str]) -> Excerpt:
        """The cards of cylinders that mention one of `names`."""
        return Excerpt(self.source, _merged(self._cards(names)))

    def _cards(self, names: Iterable[str]) -> list[tuple[int, int]]:
        blocks = {block for name in names for block in self._blocks_with(_mention(name))}
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

    def _is_doubtful(self, start: int, known: Collection[str]) -> bool:
        """Whether a block may be one that cannot be read, or a loose line of a name that is not known."""
        text = self.source.text
        if not text[start].isdigit():
            return not text.startswith(_OPENINGS, start)
        line = _PLAIN_LOOSE.match(text, start)
        return line is None or not (_is_plainly_of(line, known) and _each_once(line))

    def _doubtful_rows(self, start: int, rows: int, end: int, known: Collection[str]) -> list[tuple[int, int]]:
        """The rows of a sheet that may be beyond reading, or are of a name that is not known."""
        text = self.source.text
        plain = _PLAIN_ROW if text.startswith("fill", start) else _NEVER
        kept = []
        while rows < end:
            row = plain.match(text, rows)
            after = row.end() if row else self._line_after(rows)
            if not _is_plainly_of(row, known):
                kept.append((rows, after))
            rows = after
        return kept

    def _lines_with(
        self, searches: list[re.Pattern], start: int, end: int, known: Collection[str] | None
    ) -> list[tuple[int, int]]:
        """
        What to keep of a block in which one of the expressions matches.

        Nearly all lines are rows of a long sheet. Where they all stand equally far in, none goes
        on with another, and only the header, the first row and the rows with a match are needed.
        Any other block is needed whole.
        """
        text = self.source.text
        if not text.startswith(SHEETS, start):
            return [(start, end)]
        row = self._first_row(start, end)
        if row == end or not _rows_like(text, row).fullmatch(text, row, end):
            return [(start, end)]
        kept, rows = [(start, self._line_after(row))], self._line_after(row)
        if known is not None:
            kept += self._doubtful_rows(start, rows, end, known)
        for search in searches:
            for found in search.finditer(text, rows, end):
                kept.append((text.rfind("\n", 0, found.start()) + 1, self._line_after(found.start())))
        return kept

    def _first_row(self, start: int, end: int) -> int:
        """Where the first line of a sheet starts that is its own and no part of the header."""
        text, at = self.source.text, self._line_after(start)
        while at < end and (clause_start(LEDGER).match(text, at) or _BLANK_LINE.match(text, at)):
            at = self._line_after(at)
        return at

    def _line_after(self, at: int) -> int:
        return self.source.text.find("\n", at) + 1 or len(self.source.text)


def _each_once(line: re.Match) -> bool:
    """Whether each clause of a plain loose line stands once, and the one that it needs does."""
    words = line["clauses"].split()
    of_places = sum(line[which] is not None for which in ("warm", "site"))
    once = all(words.count(word) <= 1 for word in ("from", "by", "on"))
    return once and words.count("to") == 1 and words.count("at") == of_places


def _is_plainly_of(line: re.Match | None, known: Collection[str]) -> bool:
    """Whether a line is a plain one of a name that is known, and no name on it is a keyword."""
    return line is not None and line[1] in known and LEDGER.keywords.keys().isdisjoint(line.groups())


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


def _mention(name: str, not_after: str = "") -> re.Pattern:
    """
    Matches a name where it stands as a word.

    The letters come first and what stands before them is looked at afterwards, so that the
    search goes as fast as one for the bare letters.
    """
    letters = re.escape(name)
    refused = "".join(f"(?<!{not_after}{gap}{letters})" for gap in (" ", "  ", "\t")) if not_after else ""
    return re.compile(f"{letters}(?<!{_IN_WORDS}{letters}){refused}(?!{_IN_WORDS})")
