"""
`cylfile import`: fills exported by a fill station or a spreadsheet, entered as fill sheets; an inventory, as cards.
"""

import argparse
import gc
import os
from contextlib import nullcontext
from datetime import date, datetime, tzinfo
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import day
from cylfile.files.ledger_files import file_bytes, reason, shown_path
from cylfile.files.rules_and_day import zone_of
from cylfile.files.stored_record import StoredRecord, folder_to_write, read_stored
from cylfile.files.tree import STANDARD_INPUT, is_within
from cylfile.files.writing import locked, write_file
from cylfile.importing.card_rows import CardOutcome, CardReader, take_in_cards, written_cards
from cylfile.importing.column_map import (
    CARDS,
    FILLS,
    ColumnMap,
    FileForm,
    MapKind,
    MapRefused,
    column_map,
    file_form,
    map_of,
)
from cylfile.importing.draft_map import draft_of, heading_of
from cylfile.importing.export_table import Table, TableRefused, read_table
from cylfile.importing.fill_rows import FillReader
from cylfile.importing.import_fills import NotReadBack, Outcome, take_in, written
from cylfile.record.entries import write_text
from cylfile.record.plans import LONGEST_TEXT
from cylfile.record.record import Record
from cylfile.rewriting.extents import newline_of, physical_lines
from cylfile.rewriting.insertion import import_name
from cylfile.show.pages.import_page import Import, rejected_rows
from cylfile.show.terminal.progress import counted_off
from cylfile.show.told import hand_on
from cylfile.text.source import Source

_PURPOSE = (
    "Read fills that a fill station or a spreadsheet has exported, and enter them as fill sheets. A map says which "
    "column holds what. Without --enter nothing is written: the first rows are shown as sentences, and every row "
    "that cannot be read with the reason. With --cards it is an inventory of cylinders, and each row becomes a card."
)
_MORE = """\
examples:
  cylfile import export.csv --draft-map . > station1.toml
  cylfile import export.csv --columns station1.toml
  cylfile import export.csv --columns station1.toml --enter
  cylfile import export.csv --columns station1.toml --skip-unreadable
  cylfile import cylinders.xlsx --cards --draft-map . > inventory.toml
  cylfile import cylinders.xlsx --cards --columns inventory.toml --enter

a map:
  [day]
  column = "Date"              # its heading, or its number from 1
  form   = "month/day/year"    # in words, see below
  [time]                       # not needed where [day] says the time too
  column = "Time"
  form   = "hour:minute"
  [cylinder]
  column = "Tag"
  by     = "tag"               # name, tag or serial
  [to]
  column = "End pressure"
  unit   = "psi"               # psi, bar, MPa or kPa
  [person]
  column = "Operator"
  means  = { "R. Ash" = "ash" }    # in the cells, and in the record
  [site]
  always = "quay"              # the same for all rows

Further tables are [from], [temperature] and [over] with a unit, [source] and
[remark]; [rows] with a column and the values of rows that count, only = ["OK"];
and [file] with encoding, separator, heading (its row), decimal, thousands, and
the zone of the times where it is not the department's. Further words of a form
are second, fraction, am, short-year, month-name and offset.

The map of an inventory has [cylinder], which is the name on the card, and may
have [serial], [maker], [owner], [marked], [class], [tag] and [life] in years,
[rated] and [holds] with a unit, and, with a form that may be a month/year,
[made], [entered] service at [site], last [test] passed at [tester], and last
[visual] inspection passed by [inspector].

Exit status: 0 all rows can be or were entered, 1 some cannot be, 2 the job could not be done.
"""
_ENDING = ".cyl"


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    # See `reading.read`.
    gc.disable()
    data = _export(options.export)
    if options.draft_map:
        kind = CARDS if options.cards else FILLS
        heading = heading_of(_table(options, data, FileForm(heading=0)).rows, kind)
        table = _table(options, data, FileForm(heading=heading))
        record = read_stored(options.paths).record if options.paths else None
        draft = draft_of(table, os.path.basename(options.export), record, heading, kind)
        hand_on(draft.removesuffix("\n").split("\n"))
        return 0
    _look_at(options)
    said = _map(options.columns)
    enters = options.enter or options.skip_unreadable
    with locked(folder_to_write(options.paths)) if enters else nullcontext():
        return (_CardImport if options.cards else _FillImport)(options, data, said).end(enters)


def make_options() -> Options:
    options = Options("import", _PURPOSE, _MORE)
    options.add_argument("export", metavar="FILE", help="the export, CSV or XLSX; - is standard input")
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record")
    options.add_argument("--cards", action="store_true", help="it is an inventory: make a card of each row")
    options.add_argument("--columns", metavar="MAP.toml", help="the map of the columns")
    options.add_argument("--draft-map", action="store_true", help="propose a map for the export, and do nothing else")
    options.add_argument("--enter", action="store_true", help="write them, if every row can be taken")
    options.add_argument(
        "--skip-unreadable",
        action="store_true",
        help="write those that can be taken, and the other rows to a file beside the export",
    )
    options.add_argument(
        "--into", metavar="FILE", help="the ledger to write to, which may be new; a new one by default"
    )
    options.add_argument("--late", metavar="WHY", help="why rows of a sealed period come late; signed with --by")
    options.add_argument("--by", metavar="PERSON", help="who signs that")
    options.add_argument(
        "--as-of", metavar="DAY", type=day, help="no row may be later; today in the department's zone by default"
    )
    add_form_options(options)
    return options


def _look_at(options: argparse.Namespace) -> None:
    """Raise CannotDo where the options do not go together."""
    if options.columns is None:
        raise CannotDo("a map of the columns is needed: --columns MAP.toml; `--draft-map` proposes one")
    if (options.late is None) != (options.by is None):
        raise CannotDo('late rows have a reason and a signature: give both, --late "why" --by PERSON')
    if options.cards and options.late is not None:
        raise CannotDo("a card is never late: leave out --late and --by")
    late = options.late or ""
    if "\n" in late or "\t" in late or not Source("", late).is_clean() or len(late) > LONGEST_TEXT:
        raise CannotDo(f"the reason of --late is one line of plain words, {LONGEST_TEXT:,} characters at most")


def _export(path: str) -> bytes:
    try:
        return file_bytes(path)
    except OSError as trouble:
        raise CannotDo(f"the export `{shown_path(path)}` cannot be read ({reason(trouble)}); check the name") from None


def _map(path: str) -> dict:
    try:
        return map_of(file_bytes(path))
    except OSError as trouble:
        raise CannotDo(f"the map `{shown_path(path)}` cannot be read ({reason(trouble)}); check the name") from None
    except MapRefused as refusal:
        raise CannotDo(f"the map `{shown_path(path)}` is {refusal}") from None


def _table(options: argparse.Namespace, data: bytes, form: FileForm) -> Table:
    try:
        return read_table(data, form.encoding, form.separator, form.heading)
    except TableRefused as refusal:
        raise CannotDo(f"`{shown_path(options.export)}`: {refusal}") from None


class _Target(NamedTuple):
    """Where the sheets go: the file, and what is in it, None where it is new."""

    path: str
    before: bytes | None


class _Import:
    """One export taken into one record. What is taken in, and how it is written, says each kind of import."""

    kind: MapKind
    outcome: Outcome | CardOutcome

    def __init__(self, options: argparse.Namespace, data: bytes, said: dict):
        self.options = options
        self.stored: StoredRecord = read_stored(options.paths)
        record = self.stored.record
        if options.by is not None and options.by not in record.people:
            raise CannotDo(f"the record declares no person `{options.by}`, who is to sign")
        form, faults = file_form(said)
        self._no(faults)
        self.table = _table(options, data, form)
        self.heading = form.heading
        columns, faults = column_map(said, self.table.heading, self.kind)
        self._no(faults)
        assert columns is not None
        home, _ = zone_of(record)
        self.as_of = options.as_of or (datetime.now(home).date() if home else date.today())
        self._take_in(columns, form, record, home)

    def _take_in(self, columns: ColumnMap, form: FileForm, record: Record, home: tzinfo | None) -> None:
        """Read the rows, and set what became of them."""
        raise NotImplementedError

    def _is_any(self) -> bool:
        """Whether there is anything to write."""
        raise NotImplementedError

    def _usual_file(self) -> str:
        """The name of the file to write to where none is asked for."""
        raise NotImplementedError

    def _text(self, newline: str = "\n") -> str:
        """What is to be written."""
        raise NotImplementedError

    def _no(self, faults: list[str]) -> None:
        """Raise CannotDo with what is wrong with the map, if anything is."""
        if faults:
            raise CannotDo(f"the map `{shown_path(self.options.columns)}`: {'; '.join(faults)}")

    def end(self, enters: bool) -> int:
        """Write what is to be written, and say what became of the export; the exit status."""
        outcome, options = self.outcome, self.options
        target = rejected = None
        if enters and self._is_any() and (options.skip_unreadable or not outcome.refused):
            target = self._target()
            rejected = self._write(target)
        elif options.skip_unreadable and outcome.refused and outcome.doubles and not os.path.exists(self._beside()):
            # The fills are in the record already, so a run before this one was broken off before the rest.
            rejected = self._write_rejected()
        name = "the export" if options.export == STANDARD_INPUT else shown_path(options.export)
        written, left = target and shown_path(target.path), rejected and shown_path(rejected)
        show(Import(name, self.table, outcome, written, left, self._last_words(enters, target, rejected)), options)
        return int(bool(outcome.refused))

    def _last_words(self, enters: bool, target: _Target | None, rejected: str | None) -> str:
        outcome = self.outcome
        if target is not None:
            rest = f" The rows not taken are in {shown_path(rejected)}." if rejected else ""
            return f"Entered into {shown_path(target.path)}.{rest} Judge them now: cylfile lint"
        if enters and outcome.refused and self._is_any():
            return "Nothing was written, for not every row can be taken. Put them right, or use --skip-unreadable."
        if enters or not self._is_any():
            return f"The rows not taken are in {shown_path(rejected)}." if rejected else "Nothing was written."
        also = ", --skip-unreadable leaves out the rows that cannot be taken" if outcome.refused else ""
        return f"Nothing has been written yet: --enter does that{also}."

    def _target(self) -> _Target:
        """Where to write. Raises CannotDo where that is no place in the record."""
        folder = self.stored.folder.path
        path = self.options.into or os.path.join(folder, self._usual_file())
        if os.path.splitext(path)[1].lower() != _ENDING:
            raise CannotDo(f"`{shown_path(path)}` would not be a ledger; its name must end in {_ENDING}")
        path = os.path.realpath(path)
        if not is_within(path, folder) or "/." in path[len(folder) :]:
            raise CannotDo(f"`{shown_path(path)}` would not be part of the record; name a file in its folder")
        if not os.path.exists(path):
            return _Target(path, None)
        if self.options.into is None:
            raise CannotDo(f"`{shown_path(path)}` is there already; name the file to write to with --into")
        return _Target(path, file_bytes(path))

    def _write(self, target: _Target) -> str | None:
        """Write the sheets, and the rows not taken to a file beside the export; its path."""
        if self.outcome.refused and os.path.exists(self._beside()):
            path = shown_path(self._beside())
            raise CannotDo(f"`{path}` is there already, and rows not taken would go there; move it away")
        try:
            whole = self._whole(target)
        except NotReadBack as fault:
            raise CannotDo(
                f"row {fault.row} would not read as what it says, which is a fault of the program: report it, and take "
                "the row out; nothing was written"
            ) from None
        write_file(target.path, target.before, whole)
        # If this is broken off here, the same export gives the same rows once more, and nothing twice.
        return self._write_rejected() if self.outcome.refused else None

    def _write_rejected(self) -> str:
        text = rejected_rows(self.table, self.outcome.refused, self.heading)
        write_file(self._beside(), None, text.encode("utf-8"))
        return self._beside()

    def _whole(self, target: _Target) -> bytes:
        """What the file is to hold: what it holds, a blank line, and what is taken in."""
        if target.before is None:
            return self._text().encode()
        file = next(
            (file for file in self.stored.files.values() if file.path == target.path),
            None,
        )
        if file is None or not file.is_whole:
            raise CannotDo(f"`{shown_path(target.path)}` is not text, so nothing can be written in it")
        text, newline = file.source.text, newline_of(physical_lines(file.source))
        gap = "" if not text else newline if text.endswith("\n") else newline * 2
        return file.encoded(text + gap + self._text(newline))

    def _beside(self) -> str:
        """Where rows go that are not taken: beside the export."""
        export = self.options.export
        stem = "export" if export == STANDARD_INPUT else os.path.splitext(export)[0]
        return f"{stem}-not-taken.csv"


class _FillImport(_Import):
    kind = FILLS
    outcome: Outcome

    def _take_in(self, columns: ColumnMap, form: FileForm, record: Record, home: tzinfo | None) -> None:
        options, as_of = self.options, self.as_of
        reader = FillReader(columns, form, record, as_of, _zone(form.zone), home)
        self._no(reader.faults)
        late = f"{as_of} by {options.by} {write_text(options.late)}" if options.late is not None else None
        with counted_off(len(self.table.rows), "reading rows") as tell:
            self.outcome = take_in(self.table.rows, reader, record, late, tell)

    def _is_any(self) -> bool:
        return bool(self.outcome.fills)

    def _usual_file(self) -> str:
        days = [fill.day for fill in self.outcome.fills]
        return import_name(min(days), max(days))

    def _text(self, newline: str = "\n") -> str:
        return written(self.outcome.fills, newline)


class _CardImport(_Import):
    kind = CARDS
    outcome: CardOutcome

    def _take_in(self, columns: ColumnMap, form: FileForm, record: Record, home: tzinfo | None) -> None:
        reader = CardReader(columns, form, record, self.as_of)
        self._no(reader.faults)
        self.outcome = take_in_cards(self.table.rows, reader, record)

    def _is_any(self) -> bool:
        return bool(self.outcome.cards)

    def _usual_file(self) -> str:
        return f"cards-{self.as_of}.cyl"

    def _text(self, newline: str = "\n") -> str:
        return written_cards(self.outcome.cards, newline)


def _zone(name: str | None):
    if name is None:
        return None
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise CannotDo(
            f"there is no time zone `{name}`; write its name in the IANA database, such as America/Denver"
        ) from None
