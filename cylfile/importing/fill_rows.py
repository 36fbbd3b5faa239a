"""
Rows of an export as fills: each row is a fill that can be written down, or is refused with its reason.

Nothing is guessed. A row that could mean two things is refused.
"""

from datetime import date, datetime, time, timedelta, tzinfo
from functools import partial
from typing import NamedTuple

from cylfile.importing.cells import CellRefused, Cells, Quantities, cylinders_by, is_empty, lost_digits, names
from cylfile.importing.column_map import Column, ColumnMap, FileForm
from cylfile.importing.export_table import UNCLOSED, RefusedRow, Row, cleaned
from cylfile.record.entries import write_text, write_time
from cylfile.record.plans import LONGEST_TEXT
from cylfile.record.record import Record
from cylfile.text.source import Source


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
        self._map = columns
        self._columns = columns.columns
        day_form = self._columns["day"].form
        assert day_form is not None
        self._day_form = day_form
        self._as_of = as_of
        self._zone, self._home = zone, home
        self._quantities = Quantities(form)
        self._form = form
        self.faults: list[str] = []
        self._marks = cylinders_by(record, self._columns["cylinder"].by)
        self._cells: dict[str, Cells] = {
            name: Cells(partial(self._quantity, self._columns[name], name))
            for name in ("from", "to", "temperature", "over")
            if name in self._columns
        }
        for name, declared, word in (
            ("person", record.people, "person"),
            ("source", record.air_sources, "source"),
            ("site", record.sites, "site"),
        ):
            if name in self._columns:
                self._cells[name], faults = names(self._columns[name], name, declared, word)
                self.faults += faults
        self._cells["cylinder"] = Cells(self._cylinder)
        if "remark" in self._columns:
            self._cells["remark"] = Cells(_remark)
        self._moments = {
            name: Cells(partial(self._form_of, self._columns[name], name))
            for name in ("day", "time")
            if name in self._columns
        }
        self._look_at_zones()

    def read(self, row: Row) -> Fill | RefusedRow | None:
        """The fill of a row, its refusal, or None where the map says that the row does not count."""
        if not self._map.counts(row):
            return None
        if row.is_unclosed:
            return RefusedRow(row, UNCLOSED)
        columns = self._columns
        said = {name: cells[cleaned(columns[name].of(row.cells))] for name, cells in self._cells.items()}
        said["moment"] = self._moment(row)
        for value in said.values():
            if isinstance(value, CellRefused):
                return RefusedRow(row, str(value))
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

    def _moment(self, row: Row) -> tuple[datetime, bool] | CellRefused:
        """When the fill was, local, and whether the time of day is known; else why that cannot be told."""
        columns = self._columns
        moment, has_time = self._moments["day"][cleaned(columns["day"].of(row.cells))], self._day_form.says_time
        if isinstance(moment, CellRefused):
            return moment
        time_cell = cleaned(columns["time"].of(row.cells)) if "time" in columns else ""
        if time_cell:
            at = self._moments["time"][time_cell]
            if isinstance(at, CellRefused):
                return at
            moment, has_time = moment.replace(hour=at.hour, minute=at.minute, second=at.second, tzinfo=at.tzinfo), True
        try:
            if has_time and self._zone is not None:
                moment = self._in_zone(moment)
            if moment.tzinfo is not None and self._home is not None:
                moment = moment.astimezone(self._home)
        except CellRefused as refusal:
            return refusal
        except OverflowError:
            return CellRefused(f"{moment:%Y-%m-%d} is outside the calendar in the department's zone")
        if moment.date() > self._as_of:
            return CellRefused(f"it is dated {moment.date()}, after the day the record is judged for ({self._as_of})")
        return moment, has_time

    def _form_of(self, column: Column, name: str, cell: str) -> datetime:
        if not cell:
            raise CellRefused(f"no {name}: {is_empty(column)}")
        assert column.form is not None
        moment = column.form.read(cell)
        if moment is None:
            raise CellRefused(f"the {name} `{cell}` is not {column.form.words}")
        return moment

    def _in_zone(self, moment: datetime) -> datetime:
        """A time of the export in its zone; refused where a clock that is put forward or back makes it none or two."""
        placed = moment.replace(tzinfo=self._zone)
        if placed.utcoffset() != placed.replace(fold=1).utcoffset():
            raise CellRefused(
                f"{moment:%Y-%m-%d %H:%M} is no single time in {self._form.zone}: the clock is changed then"
            )
        return placed

    # Figures.

    def _quantity(self, column: Column, name: str, cell: str) -> tuple[str, float | timedelta] | None:
        if not cell and name == "to":
            raise CellRefused(f"no pressure after the fill: {is_empty(column)}")
        return self._quantities.read(column, name, cell)

    # Names.

    def _cylinder(self, cell: str) -> str:
        column = self._columns["cylinder"]
        if not cell:
            raise CellRefused(f"no cylinder: {is_empty(column)}")
        marked = self._marks.get(cell, ())
        if len(marked) == 1:
            return marked[0]
        if marked:
            raise CellRefused(f"the {column.by} `{cell}` is on more than one card: {', '.join(marked)}")
        raise CellRefused(lost_digits(cell, column.by) or f"no cylinder has the {column.by} `{cell}`")


def _remark(cell: str) -> str | None:
    text = " ".join(cell.split())
    if not text:
        return None
    if len(text) > LONGEST_TEXT:
        raise CellRefused(f"its remark has {len(text):,} characters; the longest has {LONGEST_TEXT:,}")
    if not Source("", text).is_clean():
        raise CellRefused("its remark holds control characters")
    return write_text(text)


def sentence(fill: Fill) -> str:
    """A fill as one loose line of the ledger."""
    words = [str(fill.day)]
    if fill.time is not None:
        words.append(write_time(fill.time))
    words += ["filled", fill.name]
    clauses = ((word, getattr(fill, part)) for part, word in CLAUSES.items())
    return " ".join([*words, *(f"{word} {value}" for word, value in clauses if value is not None)])
