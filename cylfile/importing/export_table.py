"""
The rows of an export: bytes to cells, whatever encoding and separator it was saved with.
"""

import codecs
import csv
import io
import zipfile
from collections.abc import Iterator
from datetime import datetime, time
from typing import NamedTuple

# What a table says of its encoding where it is a workbook of a spreadsheet.
WORKBOOK = "workbook"
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
# How many rows are looked at to find the separator.
_LOOKED_AT = 50
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


_ZIP, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
# The most that a workbook may unfold to, in bytes: a small file can hold a very large one.
_MOST_UNFOLDED = 300_000_000
# A cell with more of them has a quotation mark that is not closed.
_MOST_LINE_ENDS = 3
UNCLOSED = "a quotation mark in it is not closed, so that it takes in the rows below it"
# Spreadsheets keep fifteen digits of a number; what is longer has lost its last ones.
_LONGEST_NUMBER = 10**15


class TableRefused(ValueError):
    """An export that cannot be read as a table at all, and what to do."""


class Row(NamedTuple):
    """A row by its number, counted from 1 with the heading as a spreadsheet counts, and its cells."""

    number: int
    cells: list[str]

    @property
    def is_unclosed(self) -> bool:
        """Whether a cell takes in the rows below it."""
        return any(cell.count("\n") > _MOST_LINE_ENDS for cell in self.cells)


class RefusedRow(NamedTuple):
    """A row that cannot be taken, and why."""

    row: Row
    reason: str


class Table(NamedTuple):
    """
    An export. `heading` are the names of its columns, empty where it has none.

    `encoding` and `separator` are those that it was read with; `remarks` say what of it was
    found out and might be wrong.
    """

    heading: list[str]
    rows: list[Row]
    encoding: str
    separator: str
    remarks: list[str]


def read_table(data: bytes, encoding: str | None = None, separator: str | None = None, heading: int = 1) -> Table:
    """
    Read an export. What is not stated is found out; `heading` is the number of the row with the
    names of the columns, 0 where there is none. Raises TableRefused.
    """
    if data.startswith(_OLD_WORKBOOK):
        raise TableRefused("it is a workbook of an old form; save it as .xlsx or as CSV")
    if data.startswith(_ZIP):
        rows, remarks = _workbook_rows(data)
        return _headed(rows, heading, WORKBOOK, separator or ",", remarks)
    text, encoding, remarks = _decoded(data, encoding)
    if text.startswith("sep=") and len(text) > 5 and text[4] not in "\r\n" and text[5] in "\r\n":
        # Some spreadsheets state the separator in a line before the table.
        separator = separator or text[4]
        text = text.partition("\n")[2]
    separator = separator or _separator_of(text)
    try:
        rows = list(_rows(text, separator))
    except csv.Error as trouble:
        raise TableRefused(f"it is no table of cells ({trouble}); save it as CSV again") from None
    return _headed(rows, heading, encoding, separator, remarks)


def _headed(rows: list[Row], heading: int, encoding: str, separator: str, remarks: list[str]) -> Table:
    if not rows:
        raise TableRefused("there is no row in it")
    if heading == 0:
        return Table([], rows, encoding, separator, remarks)
    names = next((row.cells for row in rows if row.number == heading), None)
    if names is None:
        raise TableRefused(f"row {heading}, which should name the columns, is empty or not there")
    names = [cleaned(name) for name in names]
    return Table(names, [row for row in rows if row.number > heading], encoding, separator, remarks)


def cleaned(cell: str) -> str:
    """A cell without the blanks round it, and without the apostrophe by which spreadsheets keep a text a text."""
    return cell.strip(" \t\r\n\u00a0\ufeff").removeprefix("'")


def _rows(text: str, separator: str) -> Iterator[Row]:
    """The rows with anything in them."""
    for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=separator), 1):
        if any(cell.strip() for cell in cells):
            yield Row(number, cells)


def _workbook_rows(data: bytes) -> tuple[list[Row], list[str]]:
    """The rows of the first sheet of a workbook, and what to know of it. Raises TableRefused."""
    try:
        from openpyxl import load_workbook
    except ImportError:
        raise TableRefused("to read a workbook, install the extra `excel` of cylfile; or save it as CSV") from None
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as folded:
            if sum(part.file_size for part in folded.infolist()) > _MOST_UNFOLDED:
                raise TableRefused("it unfolds to more than a workbook should; save the sheet as CSV")
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        # A stated size may be wrong, and then cells would be left out.
        sheet.reset_dimensions()
        read = enumerate(sheet.iter_rows(values_only=True), 1)
        rows = [Row(number, [_cell_text(value) for value in values]) for number, values in read]
    except TableRefused:
        raise
    except Exception:
        # A broken workbook makes the library stumble in more ways than it says.
        raise TableRefused("it is no workbook that can be read; save the sheet as CSV") from None
    others = [other.title for other in book.worksheets[1:]]
    remarks = [f"only its first sheet was read, not {', '.join(others)}"] if others else []
    return [row for row in rows if any(cell.strip() for cell in row.cells)], remarks


def _cell_text(value: object) -> str:
    """The value of a cell of a workbook as an export writes it: days as year-month-day, numbers without a needless `.0`."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d}" if value.time() == time.min else f"{value:%Y-%m-%d %H:%M:%S}"
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if abs(value) >= _LONGEST_NUMBER:
            return f"{value:.5E}"
        return str(int(value)) if value == int(value) else f"{value:.10f}".rstrip("0")
    return str(value)


def _decoded(data: bytes, stated: str | None) -> tuple[str, str, list[str]]:
    if stated is not None:
        try:
            return data.decode(_without_mark(data, stated)), stated, []
        except LookupError:
            raise TableRefused(f"there is no encoding `{stated}`; utf-8 and windows-1252 are common ones") from None
        except UnicodeError:
            raise TableRefused(f"it is not {stated} text; leave the encoding out, and it is found out") from None
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            try:
                return data.decode(encoding), encoding.removesuffix("-sig"), []
            except UnicodeError:
                raise TableRefused(f"it begins as {encoding} text and does not go on as such; save it again") from None
    if b"\0" in data[:4096]:
        raise TableRefused("it is not text; save the sheet as CSV")
    try:
        return data.decode("utf-8"), "utf-8", []
    except UnicodeError:
        pass
    try:
        remark = "it is not UTF-8 text and was read as windows-1252; state the encoding if names look wrong"
        return data.decode("cp1252"), "windows-1252", [remark]
    except UnicodeError:
        raise TableRefused("its encoding cannot be told; state it in the map, under [file]") from None


def _without_mark(data: bytes, stated: str) -> str:
    is_utf8 = codecs.lookup(stated).name == "utf-8"
    return "utf-8-sig" if is_utf8 and data.startswith(codecs.BOM_UTF8) else stated


def _separator_of(text: str) -> str:
    """The separator that cuts most of the first rows into the same number of cells, the more the better."""
    best, best_score = ",", (0, 0)
    for separator in SEPARATORS:
        try:
            counts = [len(row.cells) for row, _ in zip(_rows(text, separator), range(_LOOKED_AT))]
        except csv.Error:
            continue
        if not counts:
            continue
        usual = max(set(counts), key=counts.count)
        score = (counts.count(usual) * (usual > 1), usual)
        if score > best_score:
            best, best_score = separator, score
    return best
