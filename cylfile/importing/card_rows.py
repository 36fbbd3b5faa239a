"""
Rows of an inventory as cards: each row is a cylinder that can be written down, or is refused with its reason.

Nothing is guessed. A name, a serial number or a tag that stands in two rows is refused in both, and so is one that
the record has.
"""

from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date
from functools import partial
from typing import NamedTuple

from cylfile.importing.cells import CellRefused, Cells, Quantities, cylinders_by, is_empty, lost_digits, names
from cylfile.importing.column_map import Column, ColumnMap, FileForm
from cylfile.importing.export_table import UNCLOSED, RefusedRow, Row, cleaned
from cylfile.record.entries import write_text
from cylfile.record.plain_form import name_or_text
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.rewriting.neat_layout import lay_out
from cylfile.text.source import Source

# Part of the map -> its word on a card, and how the cell is written after it; in the order of a card.
_LINES: dict[str, Callable[[str], str]] = {
    "serial": name_or_text, "maker": name_or_text, "owner": name_or_text, "marked": write_text, "class": str,
    "rated": str, "made": str, "holds": str, "tag": str, "life": lambda years: f"{years} years",
}  # fmt: skip
# Part of the map that is the day of an entry -> the entry, and the parts that are clauses of it.
_ENTRIES = {
    "entered": ("entered service", {"site": "at"}),
    "test": ("hydro pass", {"tester": "by"}),
    "visual": ("visual pass", {"inspector": "by"}),
}
_NAMES = ("cylinder", "class", "tag")
# What no two cylinders have the same, and what people call it.
_MARKS = {"cylinder": "name", "serial": "serial", "tag": "tag"}


class NewCard(NamedTuple):
    """A card in the words of the ledger, its header first, the number of its row, and what it is known by."""

    row: int
    lines: list[str]
    marks: dict[str, str]

    @property
    def name(self) -> str:
        return self.marks["cylinder"]


class CardOutcome(NamedTuple):
    """
    What became of the rows of an inventory.

    `cards` can be written; `doubles` are the numbers of rows whose cylinder the record has already, by name and serial
    number; `left_out` counts the rows that do not count by the map.
    """

    cards: list[NewCard]
    refused: list[RefusedRow]
    doubles: list[int]
    left_out: int


class CardReader:
    """Reads rows by a map, for one record. `faults` say what the map names that the record does not know."""

    def __init__(self, columns: ColumnMap, form: FileForm, record: Record, as_of: date):
        self._map = columns
        self._columns = columns.columns
        self._as_of = as_of
        self.faults: list[str] = []
        quantities = Quantities(form)
        self._cells: dict[str, Cells] = {}
        for name, column in self._columns.items():
            if name in ("rated", "holds"):
                self._cells[name] = Cells(partial(_figure, quantities, column, name))
            elif column.form is not None:
                self._cells[name] = Cells(partial(self._day, column, name))
            else:
                self._cells[name] = Cells(partial(_text, column, name))
        for name, declared, word in (
            ("site", record.sites, "site"), ("tester", record.testers, "tester"), ("inspector", record.people, "person"),
        ):  # fmt: skip
            if name in self._columns:
                self._cells[name], faults = names(self._columns[name], name, declared, word)
                self.faults += faults
        for day, (_, clauses) in _ENTRIES.items():
            lacking = [part for part in clauses if part in self._columns and day not in self._columns]
            self.faults += [f"[{part}] is of the day of [{day}], and the map says nothing of that" for part in lacking]

    def read(self, row: Row) -> NewCard | RefusedRow | None:
        """The card of a row, its refusal, or None where the map says that the row does not count."""
        if not self._map.counts(row):
            return None
        if row.is_unclosed:
            return RefusedRow(row, UNCLOSED)
        said = {name: cells[cleaned(self._columns[name].of(row.cells))] for name, cells in self._cells.items()}
        for value in said.values():
            if isinstance(value, CellRefused):
                return RefusedRow(row, str(value))
        lines = [f"cylinder {said['cylinder']}"]
        lines += [f"  {word} {write(said[word])}" for word, write in _LINES.items() if said.get(word)]
        lines += sorted(_entries(said))
        faults = read_record([Source("row", "\n".join(lines))]).faults
        unreadable = next((fault for fault in faults if fault.rule == "unreadable-line"), None)
        if unreadable is not None:
            return RefusedRow(row, f"{unreadable.text}; {unreadable.cure}" if unreadable.cure else unreadable.text)
        return NewCard(row.number, lines, self.marks(row))

    def marks(self, row: Row) -> dict[str, str]:
        """What the cylinder of a row is known by, be the row refused or not, by the parts of `_MARKS` that can be read."""
        said = {
            part: self._cells[part][cleaned(self._columns[part].of(row.cells))]
            for part in self._cells
            if part in _MARKS
        }
        return {part: mark for part, mark in said.items() if mark and not isinstance(mark, CellRefused)}

    def _day(self, column: Column, name: str, cell: str) -> str:
        """A day or a month as the ledger writes it, empty for an empty cell."""
        if not cell:
            return ""
        assert column.form is not None
        moment = column.form.read(cell)
        if moment is None:
            raise CellRefused(f"the day of `{name}`, `{cell}`, is not {column.form.words}")
        if moment.date() > self._as_of:
            raise CellRefused(
                f"the day of `{name}`, `{cell}`, is after the day the record is judged for ({self._as_of})"
            )
        return f"{moment:%Y-%m-%d}" if column.form.says_day else f"{moment:%Y-%m}"


def _figure(quantities: Quantities, column: Column, name: str, cell: str) -> str:
    said = quantities.read(column, name, cell)
    return said[0] if said else ""


def _text(column: Column, name: str, cell: str) -> str:
    if not cell and name == "cylinder":
        raise CellRefused(f"no cylinder: {is_empty(column)}")
    if name in _MARKS and (lost := lost_digits(cell, _MARKS[name])):
        raise CellRefused(lost)
    text = column.means.get(cell, " ".join(cell.split()))
    if text and name in _NAMES and name_or_text(text) != text:
        meaning = f'; write under [{name}] means = {{ "{cell}" = "..." }}' if name == "class" else ""
        raise CellRefused(f"the {name} `{text}` is no name: letters and digits, and . _ / - between them{meaning}")
    if text and name == "life" and not (text.isascii() and text.isdigit()):
        raise CellRefused(f"the life `{text}` is no number of years")
    return text


def _entries(said: dict[str, str]) -> list[str]:
    lines = []
    for part, (act, clauses) in _ENTRIES.items():
        if said.get(part):
            words = [f"{word} {said[clause]}" for clause, word in clauses.items() if said.get(clause)]
            lines.append(" ".join([f"  {said[part]} {act}", *words]))
    return lines


def take_in_cards(rows: Iterable[Row], reader: CardReader, record: Record) -> CardOutcome:
    """Read the rows of an inventory, and set aside what the record has, and what two rows have."""
    cards: list[tuple[Row, NewCard]] = []
    refused: list[RefusedRow] = []
    doubles: list[int] = []
    left_out = 0
    rows_with: Counter[tuple[str, str]] = Counter()
    for row in rows:
        outcome = reader.read(row)
        if outcome is None:
            left_out += 1
            continue
        rows_with.update(map(_compared, reader.marks(row).items()))
        if isinstance(outcome, RefusedRow):
            refused.append(outcome)
        elif _is_there(record, outcome):
            doubles.append(row.number)
        else:
            cards.append((row, outcome))
    known = {
        _compared((part, mark)): names
        for part, by in _MARKS.items()
        for mark, names in cylinders_by(record, by).items()
    }
    others = {thing.name: thing.word for thing in _others(record)}
    taken = []
    for row, card in cards:
        why = [
            f"the {_MARKS[part]} `{mark}` is that of {', '.join(known[_compared((part, mark))])} already"
            for part, mark in card.marks.items()
            if _compared((part, mark)) in known
        ]
        why += [f"`{card.name}` is a {others[card.name]} of the record"] if card.name in others else []
        why += [
            f"the {_MARKS[part]} `{mark}` stands in more than one row"
            for part, mark in card.marks.items()
            if rows_with[_compared((part, mark))] > 1
        ]
        if why:
            refused.append(RefusedRow(row, "; ".join(why)))
        else:
            taken.append(card)
    return CardOutcome(taken, sorted(refused, key=lambda each: each.row.number), doubles, left_out)


def _compared(mark: tuple[str, str]) -> tuple[str, str]:
    """A part of the map and a mark of it, as it is compared with others: a serial number is the same in capitals or not."""
    part, said = mark
    return part, said.casefold() if part == "serial" else said


def _is_there(record: Record, card: NewCard) -> bool:
    known = record.cylinders.get(card.name)
    return known is not None and known.serial is not None and known.serial == card.marks.get("serial")


def _others(record: Record):
    for declared in (record.sites, record.people, record.testers, record.air_sources):
        yield from declared.values()


def written_cards(cards: list[NewCard], newline: str = "\n") -> str:
    """The text of cards, laid out as all ledgers are."""
    return lay_out(Source("new", newline.join(newline.join([*card.lines, ""]) for card in cards)))
