"""
Where a new entry belongs in the files of a record, and how it looks there.

It goes where the record keeps entries of its kind: to a sheet of its day, or to the card of its
cylinder. It is set as the lines round it are; no other line of a file is touched.
"""

import re
from collections.abc import Iterator
from datetime import date
from operator import itemgetter
from typing import NamedTuple

from cylfile.record.blocks import Declared
from cylfile.record.entries import Entry
from cylfile.record.record import Record
from cylfile.record.vocabulary import LENT, SHEETS, TELLS, VERBS
from cylfile.rewriting.editable import Page, card_key, row_key
from cylfile.rewriting.entry_lines import card_line, clause_words, has_sheet, headers_say, row, sheet_header
from cylfile.rewriting.extents import BlockExtents
from cylfile.text.ledger import LINES_OF, TOP
from cylfile.text.source import Source

# The name of a file that an import has made. It is whole as it is: no later entry goes there.
_IMPORTED = re.compile(r"(?:.*/)?import-[0-9-]{10}-to-[0-9-]{10}\.cyl", re.DOTALL)

_DAY = itemgetter(0)


def import_name(first: date, last: date) -> str:
    """The name of the file for the fills of an import, of these days."""
    return f"import-{first}-to-{last}.cyl"


class Placement(NamedTuple):
    """
    A file with the entry in it: the path of its source, its text, and the line of the entry.

    `entry` is the entry as it stands there, `from_sheet` the clauses that it has from the header
    of its sheet; `opens_sheet` where the sheet is new.
    """

    path: str
    text: str
    line: int
    entry: Entry
    from_sheet: tuple[str, ...] = ()
    opens_sheet: bool = False


class NoPlace(ValueError):
    """Where an entry belongs cannot be told; the message says what would tell it."""


class _Sheet(NamedTuple):
    """A sheet of a record: its file, its block, and what its header says."""

    source: Source
    block: BlockExtents
    says: dict[str, object]


def place(record: Record, entry: Entry, into: str | None = None, on_card: bool = False) -> Placement:
    """
    Put an entry where it belongs. With `into`, that is a sheet in the file of this path; with `on_card` its card.

    `entry` names a cylinder or source of the record. Raises NoPlace.
    """
    card = record.declared[entry.subject]
    sheet = has_sheet(entry) and entry.row.sheet_rule
    if into is not None:
        if not sheet:
            what = entry.verb if entry.row.sheet == "" else f"{entry.day} {entry.verb}"
            raise NoPlace(f"`{what}` is written on no sheet; leave --into out, and it goes to its card")
        return on_sheet(record, entry, into)
    if sheet and not on_card and card.word == "cylinder" and _keeps_sheets(record, entry.verb):
        return on_sheet(record, entry)
    return _on_card(card.span.source, card, entry)


def _keeps_sheets(record: Record, verb: str) -> bool:
    """Whether the latest entry of a verb stands on a sheet; without any, whether there is a sheet for it."""
    kind = VERBS[verb]
    latest: list[Entry] = []
    for name in record.cylinders:
        entries = record.entries.get(name)
        # Most have no entry as late as that.
        if entries and not (latest and max(map(_DAY, entries)) < latest[0].day):
            latest += (entry for entry in entries if entry.verb == verb)
            latest = sorted(latest, key=_when_and_where)[-1:]
    if not latest:
        return _last_header(record, kind.sheet_rule) is not None
    return latest[0].shape.place == kind.row_rule


def _when_and_where(entry: Entry) -> tuple[date, str, int]:
    return entry.day, entry.source.path, entry.start


# Cards.


def _on_card(source: Source, card: Declared, entry: Entry) -> Placement:
    page = Page(source)
    block = page.block_at(card.span.start)
    model, after = page.insertion(block, (str(entry.day), _time_of(entry)), card_key)
    lines = page.written(card_line(entry), LINES_OF[card.word], model, block)
    is_first = not any(line.readable and card_key(line.readable) for line in block.lines)
    if is_first and block.lines:
        lines.insert(0, "")
    text, number = page.with_lines(after, lines)
    return Placement(source.path, text, number + (lines[0] == ""), entry)


def _time_of(entry: Entry) -> str:
    return "" if entry.time is None else entry.time.isoformat()


# Sheets.


def on_sheet(record: Record, entry: Entry, into: str | None = None) -> Placement:
    """
    Put an entry of a verb that has sheets on one of its day, or on a new one; with `into` in the file of this path.

    Raises NoPlace.
    """
    kind = entry.row.sheet_rule
    sheets = [sheet for sheet in _sheets_of(record, kind, entry.day, into) if _fits(entry, sheet.says)]
    if not sheets:
        return _on_new_sheet(record, entry, kind, into)
    sheet = _best(entry, sheets)
    taken = [field for field in sheet.says if field in LENT and getattr(entry, field, "") is None]
    whole = entry._replace(**{field: sheet.says[field] for field in taken})
    page = Page(sheet.source)
    model, after = page.insertion(sheet.block, ("", _time_of(entry)), row_key)
    lines = page.written(row(whole, sheet.says), SHEETS[kind].row_rule, model, sheet.block)
    text, number = page.with_lines(after, lines)
    return Placement(sheet.source.path, text, number, whole, tuple(clause_words(whole, field) for field in taken))


def _fits(entry: Entry, says: dict[str, object]) -> bool:
    """Whether a sheet could be the entry's: nothing of its header that the entry would take over is foreign to it."""
    for field, value in says.items():
        own = getattr(entry, field)
        if field in TELLS and own is not None and own != value:
            return False
        if own is None and field not in LENT:
            return False
    return True


def _best(entry: Entry, sheets: list[_Sheet]) -> _Sheet:
    """The sheet with which the entry agrees most. Raises NoPlace where what it would take over differs among several."""
    agreeing = [sum(getattr(entry, field, "") == value for field, value in sheet.says.items()) for sheet in sheets]
    best = [sheet for sheet, count in zip(sheets, agreeing) if count == max(agreeing)]
    for field in LENT:
        if getattr(entry, field, "") is None and len({sheet.says.get(field) for sheet in best}) > 1:
            said = (clause_words(entry._replace(**{field: sheet.says.get(field)}), field) for sheet in best)
            choices = " or ".join(f"`{clause}`" for clause in sorted(set(said) - {""}))
            raise NoPlace(f"{len(best)} sheets of {entry.day} could be meant; say {choices}")
    return best[-1]


def _on_new_sheet(record: Record, entry: Entry, kind: str, into: str | None) -> Placement:
    """
    A sheet of its own for the entry, in the file where the last sheet of its kind lies.

    That is never the file of an import. Where there are only such, it is one for the month beside them.
    """
    latest = _last_header(record, kind, into)
    if into is not None:
        path = into
    elif latest is not None and not _is_home(latest[1], into):
        path = f"{latest[1].path.rpartition('import-')[0]}{entry.day:%Y-%m}.cyl"
    elif latest is not None:
        path = _turned_over(latest[1].path, latest[0], entry.day)
    else:
        raise NoPlace(f"the record has no {SHEETS[kind].sheet} sheet to go by; name a file with --into")
    source = next((source for source in record.sources if source.path == path), Source(path, ""))
    page = Page(source)
    _, last_source, offset = latest or (entry.day, source, 0)
    model_page = page if last_source is source else Page(last_source)
    last = next((sheet for sheet in model_page.sheets(kind) if sheet.first == model_page.number(offset)), None)
    (says,) = headers_say(last_source, [last.heading], kind) if last and last.heading else (None,)
    heads = {field for field in says or () if field in LENT}
    header = sheet_header(entry, heads)
    says = {field: getattr(entry, field) for field in heads if getattr(entry, field) is not None}
    lines = model_page.written(header, TOP, last and last.header, None)
    size = len(lines)
    rows = [line for line in last.lines if line.readable] if last else []
    lines += model_page.written(row(entry, says), SHEETS[kind].row_rule, rows[-1] if rows else None, last)
    text, number = page.with_block(kind, entry.day, lines, model_page.newline)
    return Placement(path, text, number + size, entry, opens_sheet=True)


def _is_home(source: Source, into: str | None) -> bool:
    """Whether new sheets may go to a file of their own accord: not to that of an import, unless it is named."""
    return into is not None or not _IMPORTED.fullmatch(source.path)


def _turned_over(path: str, last: date, day: date) -> str:
    """The path of the file for a new sheet: that of the last one, or the next where files are named for months or years."""
    folder, slash, name = path.rpartition("/")
    for form in ("%Y-%m", "%Y"):
        if last.strftime(form) in name and last.strftime(form) != day.strftime(form):
            return folder + slash + name.replace(last.strftime(form), day.strftime(form), 1)
        if last.strftime(form) in name:
            break
    return path


def _last_header(record: Record, kind: str, into: str | None = None) -> tuple[date, Source, int] | None:
    """
    Day, source and offset of the header of the last sheet of a kind, in one file where that is named.

    One in a file where new sheets may go is taken before all others.
    """
    found = []
    for source in record.sources:
        if into is None or source.path == into:
            days = sorted(set(_header(kind).findall(f"\n{source.text}")), reverse=True)
            if last := next(filter(None, map(_day, days)), None):
                found.append((_is_home(source, into), last, source.path, source))
    if not found:
        return None
    _, day, _, source = max(found, key=itemgetter(0, 1, 2))
    *_, header = _header(kind, str(day)).finditer(f"\n{source.text}")
    return day, source, header.start()


def _header(kind: str, day: str = "[0-9]{4}-[0-9]{2}-[0-9]{2}") -> re.Pattern:
    """What a header of a kind of sheet begins with, of any day or of one, in a text with a line end before it."""
    return re.compile(rf"\n{SHEETS[kind].sheet}[ \t]+sheet[ \t]+({day})(?![^ \t\r\n#])")


def _day(written: str) -> date | None:
    """The day that is written; None where there is no such, which is a fault of its own."""
    try:
        return date.fromisoformat(written)
    except ValueError:
        return None


def _sheets_of(record: Record, kind: str, day: date, into: str | None) -> Iterator[_Sheet]:
    """The sheets of a kind and a day whose headers can be read."""
    header = _header(kind, str(day))
    for source in record.sources:
        is_looked_at = source.path == into if into is not None else _is_home(source, into)
        # Without such a header, it need not be read again.
        if not is_looked_at or not header.search(f"\n{source.text}"):
            continue
        headed = [(block, block.heading) for block in Page(source).sheets(kind) if block.heading is not None]
        for (block, _), says in zip(headed, headers_say(source, [heading for _, heading in headed], kind)):
            if says is not None and says.pop("day") == day:
                yield _Sheet(source, block, says)
