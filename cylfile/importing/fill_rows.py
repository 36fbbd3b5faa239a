"""
Rows of an export as fills: each row is a fill that can be written down, or is refused with its reason.

Nothing is guessed. A row that could mean two things is refused.
"""

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta, tzinfo
from functools import partial
from typing import NamedTuple

from cylfile.importing.column_map import UNITS, Column, ColumnMap, FileForm
from cylfile.importing.export_table import Row, cleaned
from cylfile.record.entries import write_text, write_time
from cylfile.record.plans import LONGEST_TEXT, MEANINGS, Refusal
from cylfile.record.record import Record
from cylfile.text.source import Source

_UNIT = re.compile("[A-Za-z°]*")
# A spreadsheet has made a number of a tag that looks like one, and its digits are lost.
_LOST_DIGITS = re.compile("[0-9][.,][0-9]+E[+][0-9]+", re.IGNORECASE)
_MOST_LINE_ENDS = 3
_TERMINALS = {"from": "PRESSURE", "to": "PRESSURE", "temperature": "TEMPERATURE", "over": "DURATION"}


class Fill(NamedTuple):
    """
    A fill in the words of the ledger, and the number of its row.

    `psi` is the pressure reached, to tell whether the record has the fill already. The parts
    from `before` on are as the ledger writes them, None where they are not known.
    """

    row: int
    day: date
    time: time | None
    name: str
    psi: float
    to: str
    before: str | None
    temperature: str | None
    over: str | None
    person: str | None
    source: str | None
    site: str | None
    remark: str | None
    late: str | None = None


# Part of a fill -> the word before it in an entry, in the order of an entry.
CLAUSES = {
    "before": "from", "to": "to", "temperature": "at", "over": "over",
    "person": "by", "source": "on", "site": "at", "remark": "remark", "late": "late",
}  # fmt: skip


class Refused(NamedTuple):
    """A row that cannot be taken, and why."""

    row: Row
    reason: str


class _Refusal(Exception):
    """Why a row cannot be read."""


class _Cells(dict):
    """What the cells of one column say, worked out once for each that is different."""

    def __init__(self, read: Callable[[str], object]):
        super().__init__()
        self._read = read

    def __missing__(self, cell: str):
        try:
            value = self._read(cell)
        except _Refusal as refusal:
            value = refusal
        self[cell] = value
        return value


class FillReader:
    """
    Reads rows by a map, for one record.

    `zone` is that of the times in the export where it is another than the department's, `home`
    the department's. `faults` say what the map names that the record does not know.
    """

    def __init__(
        self,
        columns: ColumnMap,
        form: FileForm,
        record: Record,
        as_of: date,
        zone: tzinfo | None = None,
        home: tzinfo | None = None,
    ):
        self._columns = columns.columns
        self._only = columns.rows
        day_form = self._columns["day"].form
        assert day_form is not None
        self._day_form = day_form
        self._as_of = as_of
        self._zone, self._home = zone, home
        self._number = _number(form.decimal or ".", form.thousands)
        self._form = form
        self.faults: list[str] = []
        self._marks = marks_of(record, self._columns["cylinder"].by)
        self._cells = {
            name: _Cells(partial(self._quantity, self._columns[name], name))
            for name in _TERMINALS
            if name in self._columns
        }
        for name, declared, word in (
            ("person", record.people, "person"),
            ("source", record.air_sources, "source"),
            ("site", record.sites, "site"),
        ):
            if name in self._columns:
                self._cells[name] = self._names(self._columns[name], name, declared, word)
        self._cells["cylinder"] = _Cells(self._cylinder)
        if "remark" in self._columns:
            self._cells["remark"] = _Cells(_remark)
        self._moments = {
            name: _Cells(partial(self._form_of, self._columns[name], name))
            for name in ("day", "time")
            if name in self._columns
        }
        self._look_at_zones()

    def read(self, row: Row) -> Fill | Refused | None:
        """The fill of a row, its refusal, or None where the map says that the row does not count."""
        if self._only is not None and cleaned(self._only.of(row.cells)) not in self._only.only:
            return None
        if any(cell.count("\n") > _MOST_LINE_ENDS for cell in row.cells):
            return Refused(row, "a quotation mark in it is not closed, so that it takes in the rows below it")
        columns = self._columns
        said = {name: cells[cleaned(columns[name].of(row.cells))] for name, cells in self._cells.items()}
        said["moment"] = self._moment(row)
        for value in said.values():
            if isinstance(value, _Refusal):
                return Refused(row, str(value))
        when, has_time = said["moment"]
        text, psi = said["to"]
        parts = (said.get(name) for name in ("from", "temperature", "over"))
        others = (said.get(name) for name in ("person", "source", "site", "remark"))
        return Fill(
            row.number,
            when.date(),
            when.time() if has_time else None,
            said["cylinder"],
            psi,
            text,
            *(part and part[0] for part in parts),
            *others,
        )

    # Days and times.

    def _look_at_zones(self) -> None:
        says_offset = any(column.form is not None and column.form.says_offset for column in self._columns.values())
        if says_offset and self._zone is not None:
            self.faults.append("[file] zone and the `offset` of a form both tell the zone; keep one")
        if (says_offset or self._zone is not None) and self._home is None:
            self.faults.append(
                "the times are to be turned into the department's zone, and it has none; write its `zone`"
            )
        has_time = "time" in self._columns or self._day_form.says_time
        if self._zone is not None and not has_time:
            self.faults.append("[file] zone needs times: without them nobody can tell which day it was here")

    def _moment(self, row: Row) -> tuple[datetime, bool] | _Refusal:
        """When the fill was, local, and whether the time of day is known; else why that cannot be told."""
        columns = self._columns
        moment, has_time = self._moments["day"][cleaned(columns["day"].of(row.cells))], self._day_form.says_time
        if isinstance(moment, _Refusal):
            return moment
        time_cell = cleaned(columns["time"].of(row.cells)) if "time" in columns else ""
        if time_cell:
            at = self._moments["time"][time_cell]
            if isinstance(at, _Refusal):
                return at
            moment, has_time = moment.replace(hour=at.hour, minute=at.minute, second=at.second, tzinfo=at.tzinfo), True
        try:
            if has_time and self._zone is not None:
                moment = self._in_zone(moment)
            if moment.tzinfo is not None and self._home is not None:
                moment = moment.astimezone(self._home)
        except _Refusal as refusal:
            return refusal
        except OverflowError:
            return _Refusal(f"{moment:%Y-%m-%d} is outside the calendar in the department's zone")
        if moment.date() > self._as_of:
            return _Refusal(f"it is dated {moment.date()}, after the day the record is judged for ({self._as_of})")
        return moment, has_time

    def _form_of(self, column: Column, name: str, cell: str) -> datetime:
        if not cell:
            raise _Refusal(f"no {name}: {_empty(column)}")
        assert column.form is not None
        moment = column.form.read(cell)
        if moment is None:
            raise _Refusal(f"the {name} `{cell}` is not {column.form.words}")
        return moment

    def _in_zone(self, moment: datetime) -> datetime:
        """A time of the export in its zone; refused where a clock that is put forward or back makes it none or two."""
        placed = moment.replace(tzinfo=self._zone)
        if placed.utcoffset() != placed.replace(fold=1).utcoffset():
            raise _Refusal(f"{moment:%Y-%m-%d %H:%M} is no single time in {self._form.zone}: the clock is changed then")
        return placed

    # Figures.

    def _quantity(self, column: Column, name: str, cell: str) -> tuple[str, float | timedelta] | None:
        what = {"from": "pressure before the fill", "to": "pressure after the fill", "over": "duration"}.get(name, name)
        if not cell:
            if name == "to":
                raise _Refusal(f"no {what}: {_empty(column)}")
            return None
        found = self._number.match(cell)
        unit = cell[found.end() :].strip(" \u00a0") if found else ""
        if not found or not _UNIT.fullmatch(unit):
            raise _Refusal(f"the {what} `{cell}` is not a number{self._hint(cell)}")
        units = {known.lower(): known for known in UNITS[name]}
        unit = units.get(unit.lower().lstrip("°"), unit)
        if column.unit is not None and unit not in ("", column.unit):
            raise _Refusal(f"the {what} `{cell}` is in {unit}, and the map says {column.unit}")
        unit = unit or column.unit or ""
        if unit not in UNITS[name]:
            missing = "has no unit, and the map states none" if not unit else f"is in `{unit}`, which is no unit here"
            raise _Refusal(f"the {what} `{cell}` {missing}")
        number = _plain(found.group(), self._form.decimal or ".", self._form.thousands)
        if number.startswith("-") and name != "temperature":
            raise _Refusal(f"the {what} `{cell}` is below nothing")
        text = f"{number} {unit}"
        try:
            return text, MEANINGS[_TERMINALS[name]][text].value
        except Refusal as refusal:
            raise _Refusal(f"the {what} `{cell}`: {refusal}") from None

    def _hint(self, cell: str) -> str:
        if "," in cell and self._form.decimal is None and self._form.thousands is None:
            return "; if the comma is a decimal point, or stands between thousands, say so under [file]"
        return ""

    # Names.

    def _cylinder(self, cell: str) -> str:
        column = self._columns["cylinder"]
        if not cell:
            raise _Refusal(f"no cylinder: {_empty(column)}")
        names = self._marks.get(cell, ())
        if len(names) == 1:
            return names[0]
        if names:
            raise _Refusal(f"the {column.by} `{cell}` is on more than one card: {', '.join(names)}")
        if _LOST_DIGITS.fullmatch(cell):
            raise _Refusal(f"`{cell}`: a spreadsheet has made a number of the {column.by}; export it as text")
        return self._unknown(f"no cylinder has the {column.by} `{cell}`")

    @staticmethod
    def _unknown(text: str):
        raise _Refusal(text)

    def _names(self, column: Column, name: str, declared: dict, word: str) -> _Cells:
        """Reads cells that name somebody or something that the record declares, by name or by title."""
        by_title: dict[str, list[str]] = {}
        for thing in declared.values():
            by_title.setdefault(thing.title.casefold(), []).append(thing.name)

        def read(cell: str) -> str | None:
            if not cell:
                return None
            meant = column.means.get(cell, cell)
            titled = by_title.get(meant.casefold(), [])
            if meant in declared:
                return meant
            if len(titled) == 1:
                return titled[0]
            return self._unknown(
                f'the record declares no {word} `{meant}`; declare it, or write under [{name}] means = {{ "{cell}" = "..." }}'
            )

        cells = _Cells(read)
        stated = column.means.values() if column.always is None else [column.always]
        for meant in stated:
            if isinstance(cells[cleaned(meant)], _Refusal):
                self.faults.append(f"[{name}] names `{meant}`, and the record declares no such {word}")
        return cells


def marks_of(record: Record, by: str) -> dict[str, list[str]]:
    """The names of the cylinders by what the export knows them by."""
    marks: dict[str, list[str]] = {}
    for card in record.cylinders.values():
        of_card = {
            "name": [card.name],
            "tag": [tag.name for tag in card.tags],
            "serial": [card.serial] if card.serial else [],
        }[by]
        for mark in of_card:
            marks.setdefault(mark, []).append(card.name)
    return marks


def _empty(column: Column) -> str:
    return f"the column `{column.name}` is empty"


def _number(decimal: str, thousands: str | None) -> re.Pattern:
    """Matches a number at the start of a cell, as the export writes it."""
    grouped = f"[0-9]{{1,3}}(?:{re.escape(thousands)}[0-9]{{3}})+|" if thousands else ""
    return re.compile(f"[+-]?(?:{grouped}[0-9]+)(?:{re.escape(decimal)}[0-9]+)?(?![0-9.,])")


def _plain(number: str, decimal: str, thousands: str | None) -> str:
    """A number as the ledger writes it: no plus, no needless zeros."""
    if thousands:
        number = number.replace(thousands, "")
    whole, _, part = number.removeprefix("+").partition(decimal)
    sign = "-" if whole.startswith("-") else ""
    whole = whole.removeprefix("-").lstrip("0") or "0"
    part = part.rstrip("0")
    return f"{sign}{whole}.{part}" if part else f"{sign}{whole}"


def _remark(cell: str) -> str | None:
    text = " ".join(cell.split())
    if not text:
        return None
    if len(text) > LONGEST_TEXT:
        raise _Refusal(f"its remark has {len(text):,} characters; the longest has {LONGEST_TEXT:,}")
    if not Source("", text).is_clean():
        raise _Refusal("its remark holds control characters")
    return write_text(text)


def sentence(fill: Fill) -> str:
    """A fill as one loose line of the ledger."""
    words = [str(fill.day)]
    if fill.time is not None:
        words.append(write_time(fill.time))
    words += ["filled", fill.name]
    clauses = ((word, getattr(fill, part)) for part, word in CLAUSES.items())
    return " ".join([*words, *(f"{word} {value}" for word, value in clauses if value is not None)])
