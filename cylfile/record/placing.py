"""
Where a new entry belongs in the files of a record, and how it looks there.

It goes where the record keeps entries of its kind: to a sheet of its day, or to the card of its
cylinder. It is set as the lines round it are; no other line of a file is touched.
"""

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cylfile.record.entry_lines import SHEET_OF, SHEET_WORD, card_line, clause_words, header_says, row, sheet_header
from cylfile.record.record import Record
from cylfile.record.tidying import CLAUSE_ORDER
from cylfile.text.arrangement import FURTHER_IN, INDENT, arrange, set_line, set_text
from cylfile.text.extents import BlockExtents, Extent, PhysicalLine, extents, newline_of, physical_lines
from cylfile.text.language import Sentence, Slot
from cylfile.text.ledger import LEDGER, LINES_OF, TOP, read_blocks
from cylfile.text.source import Source

# Clauses in the header of a sheet that tell which sheet it is. One that says otherwise than the
# entry is another sheet.
_TELLS = ("at_site", "on")
# Clauses that an entry may take over from the header of its sheet.
_TAKEN_OVER = (*_TELLS, "by", "at_temperature", "over")
_BLANKS = re.compile("[ \t]*")


class Placement(NamedTuple):
    """
    A file with the entry in it: the path of its source, its text, and the line of the entry.

    `entry` is the entry as it stands there, `from_sheet` the clauses that it has from the header
    of its sheet; `opens_sheet` where the sheet is new.
    """

    path: str
    text: str
    line: int
    entry: tuple
    from_sheet: tuple[str, ...] = ()
    opens_sheet: bool = False


class NoPlace(ValueError):
    """Where an entry belongs cannot be told; the message says what would tell it."""


class _Sheet(NamedTuple):
    """A sheet of a record: its file, its block, and what its header says."""

    source: Source
    block: BlockExtents
    says: dict[str, object]


def place(record: Record, entry, into: str | None = None) -> Placement:
    """
    Put an entry where it belongs. With `into`, that is a sheet in the file of this path.

    `entry` names a cylinder or source of the record. Raises NoPlace.
    """
    card = record.declared[entry.subject]
    sheet = SHEET_OF.get(entry.verb)
    if into is not None:
        if sheet is None:
            raise NoPlace(f"`{entry.verb}` stands on no sheet; leave --sheet out, and it goes to its card")
        return _on_sheet(record, entry, sheet, into)
    if sheet is not None and card.word == "cylinder" and _keeps_sheets(record, entry.verb):
        return _on_sheet(record, entry, sheet, None)
    return _on_card(card.span.source, card, entry)


def _keeps_sheets(record: Record, verb: str) -> bool:
    """Whether the latest entry of a verb stands on a sheet; without any, whether there is a sheet for it."""
    latest = max(
        (entry for name in record.cylinders for entry in record.entries.get(name, ()) if entry.verb == verb),
        key=lambda entry: (entry.day, entry.source.path, entry.start),
        default=None,
    )
    if latest is None:
        return next(_headers(record, SHEET_OF[verb]), None) is not None
    return latest.shape.place == LINES_OF[SHEET_OF[verb]]


# Cards.


def _on_card(source: Source, card, entry) -> Placement:
    block = next(
        block
        for block in extents(read_blocks(source)[0])
        if block.header and _holds(source, block.header, card.span.start)
    )
    page = _Page(source)
    model, after = page.insertion(block, (str(entry.day), _time_of(entry)), _card_key)
    lines = page.written(card_line(entry), block.block.place, model, block)
    is_first = not any(_card_key(line.sentence) for line in block.lines if isinstance(line.sentence, Sentence))
    if is_first and block.lines:
        lines.insert(0, "")
    text, number = page.with_lines(after, lines)
    return Placement(source.path, text, number + (lines[0] == ""), entry)


def _holds(source: Source, extent: Extent, offset: int) -> bool:
    return extent.first <= source.position(offset)[0] - 1 <= extent.last


def _time_of(entry) -> str:
    return "" if entry.time is None else entry.time.isoformat()


def _card_key(sentence: Sentence) -> tuple[str, str] | None:
    """Day and time of a line on a card; None for a property."""
    slots = [child for child in sentence.shape.tree.children if isinstance(child, Slot)]
    if not slots:
        return None
    day, time = (*(sentence.values[slot.index] for slot in slots), "")[:2]
    return day, time if len(time) != len("09:42") else f"{time}:00"


def _row_key(sentence: Sentence) -> tuple[str, str]:
    """As of a line of a card; all rows of a sheet are of one day."""
    first = sentence.shape.tree.children[0]
    time = sentence.values[first.index] if isinstance(first, Slot) else ""
    return "", time if len(time) != len("09:42") else f"{time}:00"


# Sheets.


def _on_sheet(record: Record, entry, kind: str, into: str | None) -> Placement:
    sheets = [sheet for sheet in _sheets_of(record, kind, entry.day, into) if _fits(entry, sheet.says)]
    if not sheets:
        return _on_new_sheet(record, entry, kind, into)
    sheet = _best(entry, sheets)
    taken = [field for field in sheet.says if field in _TAKEN_OVER and getattr(entry, field, "") is None]
    whole = entry._replace(**{field: sheet.says[field] for field in taken})
    page = _Page(sheet.source)
    model, after = page.insertion(sheet.block, ("", _time_of(entry)), _row_key)
    lines = page.written(row(whole, sheet.says), LINES_OF[kind], model, sheet.block)
    text, number = page.with_lines(after, lines)
    return Placement(sheet.source.path, text, number, whole, tuple(clause_words(whole, field) for field in taken))


def _fits(entry, says: dict[str, object]) -> bool:
    """Whether a sheet could be the entry's: nothing of its header that the entry would take over is foreign to it."""
    for field, value in says.items():
        own = getattr(entry, field)
        if field in _TELLS and own is not None and own != value:
            return False
        if own is None and field not in _TAKEN_OVER:
            return False
    return True


def _best(entry, sheets: list[_Sheet]) -> _Sheet:
    """The sheet with which the entry agrees most. Raises NoPlace where what it would take over differs among several."""
    agreeing = [sum(getattr(entry, field, "") == value for field, value in sheet.says.items()) for sheet in sheets]
    best = [sheet for sheet, count in zip(sheets, agreeing) if count == max(agreeing)]
    for field in _TAKEN_OVER:
        if getattr(entry, field, "") is None and len({sheet.says.get(field) for sheet in best}) > 1:
            said = (clause_words(entry._replace(**{field: sheet.says.get(field)}), field) for sheet in best)
            choices = " or ".join(f"`{clause}`" for clause in sorted(set(said) - {""}))
            raise NoPlace(f"{len(best)} sheets of {entry.day} could be meant; say {choices}")
    return best[-1]


def _on_new_sheet(record: Record, entry, kind: str, into: str | None) -> Placement:
    """A sheet of its own for the entry, in the file where the last sheet of its kind lies."""
    days = list(_headers(record, kind, into))
    if into is None and not days:
        raise NoPlace(f"the record has no {SHEET_WORD[kind]} sheet to go by; name a file with --sheet")
    last_day, last_source, offset = max(
        days, key=lambda found: (found[0], found[1].path, found[2]), default=(None, None, 0)
    )
    path = into or _turned_over(last_source.path, last_day, entry.day)
    source = next((source for source in record.sources if source.path == path), Source(path, ""))
    page, model_page = _Page(source), _Page(last_source or source)
    last = next((sheet for sheet in model_page.sheets(kind) if sheet.header.first == model_page.number(offset)), None)
    says = header_says(last_source, last.header.sentence, kind) if last and _is_readable(last.header) else None
    heads = {field for field in says or () if field in _TAKEN_OVER}
    header = sheet_header(entry, heads)
    says = {field: getattr(entry, field) for field in heads if getattr(entry, field) is not None}
    lines = model_page.written(header, TOP, last and last.header, None)
    size = len(lines)
    rows = [line for line in last.lines if _is_readable(line)] if last else []
    lines += model_page.written(row(entry, says), LINES_OF[kind], rows[-1] if rows else None, last)
    text, number = page.with_block(page.sheets(kind), entry.day, lines, model_page.newline)
    return Placement(path, text, number + size, entry, opens_sheet=True)


def _turned_over(path: str, last: date, day: date) -> str:
    """The path of the file for a new sheet: that of the last one, or the next where files are named for months or years."""
    folder, slash, name = path.rpartition("/")
    for form in ("%Y-%m", "%Y"):
        if last.strftime(form) in name and last.strftime(form) != day.strftime(form):
            return folder + slash + name.replace(last.strftime(form), day.strftime(form), 1)
        if last.strftime(form) in name:
            break
    return path


def _headers(record: Record, kind: str, into: str | None = None) -> Iterator[tuple[date, Source, int]]:
    """Day, source and offset of every header of a kind of sheet, those of one file where it is named."""
    header = re.compile(
        rf"^{SHEET_WORD[kind]}[ \t]+sheet[ \t]+([0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}})(?![^ \t\r\n#])", re.MULTILINE
    )
    for source in record.sources:
        if into is None or source.path == into:
            for found in header.finditer(source.text):
                try:
                    yield date.fromisoformat(found[1]), source, found.start()
                except ValueError:
                    # There is no such day, which is a fault of its own.
                    continue


def _sheets_of(record: Record, kind: str, day: date, into: str | None) -> Iterator[_Sheet]:
    """The sheets of a kind and a day whose headers can be read."""
    for source in dict.fromkeys(source for found, source, _ in _headers(record, kind, into) if found == day):
        for block in _Page(source).sheets(kind):
            if _is_readable(block.header):
                says = header_says(source, block.header.sentence, kind)
                if says is not None and says.pop("day") == day:
                    yield _Sheet(source, block, says)


def _is_readable(extent: Extent) -> bool:
    return isinstance(extent.sentence, Sentence)


# Pages.


class _Page:
    """A file as it lies on paper, for putting lines into it."""

    def __init__(self, source: Source):
        self.source = source
        self.lines: list[PhysicalLine] = physical_lines(source)
        self.newline = newline_of(self.lines)

    def number(self, offset: int) -> int:
        return self.source.position(offset)[0] - 1

    def sheets(self, kind: str) -> list[BlockExtents]:
        return [block for block in extents(read_blocks(self.source)[0]) if block.block.kind == kind]

    def insertion(self, block: BlockExtents, key: tuple[str, str], key_of) -> tuple[Extent | None, int]:
        """The line of a block to be modelled on, and the number of the physical line to stand before."""
        keyed = [(key_of(line.sentence), line) for line in block.lines if _is_readable(line)]
        keyed = [(its_key, line) for its_key, line in keyed if its_key is not None]
        before = [line for its_key, line in keyed if not _is_later(its_key, key)]
        if before:
            return before[-1], before[-1].last + 1
        if keyed:
            return keyed[0][1], self._above(keyed[0][1].first)
        last = block.lines[-1] if block.lines else block.header
        return (block.lines[-1] if block.lines and _is_readable(block.lines[-1]) else None), last.last + 1

    def _above(self, number: int) -> int:
        """The first of the comments that stand right above a line, or the line itself."""
        while number and self.lines[number - 1].text.lstrip(" \t").startswith("#"):
            number -= 1
        return number

    def written(self, text: str, place: str, model: Extent | None, block: BlockExtents | None) -> list[str]:
        """The physical lines of a sentence, set as the line it is modelled on."""
        if model is None:
            indent = "" if place == TOP else self._indent_of(block)
            return set_text(text, place, CLAUSE_ORDER, indent, indent + FURTHER_IN)
        indent = _BLANKS.match(self.lines[model.first].text).group()
        further_in = indent + FURTHER_IN if place == TOP or self._indents(block) == {indent} else None
        return set_text(text, place, CLAUSE_ORDER, indent, further_in, self._gap(model, indent))

    def _indents(self, block: BlockExtents | None) -> set[str]:
        return {_BLANKS.match(self.lines[line.first].text).group() for line in block.lines} if block else set()

    def _indent_of(self, block: BlockExtents | None) -> str:
        indents = self._indents(block)
        return next(iter(indents)) if len(indents) == 1 else INDENT

    def _gap(self, model: Extent, indent: str) -> str | None:
        """
        What parts the clauses of a line; None where it is set in the canonical layout.

        A property is always taken for canonical: its columns are others.
        """
        first, last = self.lines[model.first], self.lines[model.last]
        words = LEDGER.words(self.source.text, first.start, last.start + len(last.text))
        pieces = arrange(model.sentence.shape, CLAUSE_ORDER)
        if pieces[0].field == "property":
            return None
        text = self.source.text[first.start : words[-1].end]
        if "\n".join(set_line(pieces, words, indent, indent + FURTHER_IN)) == text.replace("\r\n", "\n"):
            return None
        begins = {piece.first for piece in pieces if piece.gap > 1}
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

    def with_block(self, sheets: list[BlockExtents], day: date, new: list[str], newline: str) -> tuple[str, int]:
        """The text with a new sheet among those of its kind, by day, and the line of its header."""
        days = [str(day) if not _is_readable(sheet.header) else _day_of(sheet) for sheet in sheets]
        before = [sheet for sheet, its_day in zip(sheets, days) if its_day <= str(day)]
        if before or not sheets:
            at = self._end_of(before[-1]) if before else len(self.lines)
        else:
            at = self._above(sheets[0].header.first)
        if self.lines[at:] and self.lines[at].text.strip(" \t"):
            new = [*new, ""]
        is_apart = not at or not self.lines[at - 1].text.strip(" \t")
        text, number = self.with_lines(at, new if is_apart else ["", *new], newline if not self.lines else None)
        return text, number + (not is_apart)

    def _end_of(self, block: BlockExtents) -> int:
        """The number of the physical line after a block and the comments further in that end it."""
        number = (block.lines[-1] if block.lines else block.header).last + 1
        while number < len(self.lines) and re.match("[ \t]+#", self.lines[number].text):
            number += 1
        return number


def _day_of(sheet: BlockExtents) -> str:
    return sheet.header.sentence.values[0]


def _is_later(key: tuple[str, str], than: tuple[str, str]) -> bool:
    """Whether a line comes after an entry: it is of a later day, or of a later time where both have one."""
    return key[0] > than[0] or (key[0] == than[0] and "" not in (key[1], than[1]) and key[1] > than[1])
