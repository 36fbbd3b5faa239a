"""
What single cells of an export say: figures with their units, names of the record, texts. Each is worked out once.

Nothing is guessed. A cell that could mean two things is refused.
"""

import re
from collections.abc import Callable, Mapping
from datetime import timedelta

from cylfile.importing.column_map import TERMINALS, UNITS, Column, FileForm
from cylfile.record.blocks import Declared
from cylfile.record.plans import MEANINGS, Refusal
from cylfile.record.record import Record

_UNIT = re.compile("[A-Za-z°]*|in3|ft3|m3")
# A spreadsheet has made a number of a tag that looks like one, and its digits are lost.
_LOST_DIGITS = re.compile("[0-9][.,][0-9]+E[+][0-9]+", re.IGNORECASE)
_WHAT = {
    "from": "pressure before the fill", "to": "pressure after the fill", "over": "duration", "rated": "rated pressure",
    "holds": "volume",
}  # fmt: skip


class CellRefused(Exception):
    """Why a cell cannot be read."""


class Cells(dict):
    """What the cells of one column say, worked out once for each that is different; its `CellRefused` where nothing."""

    def __init__(self, read: Callable[[str], object]):
        super().__init__()
        self._read = read

    def __missing__(self, cell: str):
        try:
            value = self._read(cell)
        except CellRefused as refusal:
            value = refusal
        self[cell] = value
        return value


def is_empty(column: Column) -> str:
    return f"the column `{column.name}` is empty"


class Quantities:
    """Reads figures as a file writes them."""

    def __init__(self, form: FileForm):
        self._form = form
        self._number = _number(form.decimal or ".", form.thousands)

    def read(self, column: Column, name: str, cell: str) -> tuple[str, float | timedelta] | None:
        """
        The text of the ledger and its value in the program's own unit, None for an empty cell. Raises CellRefused.

        `name` is that of the part of the map.
        """
        what = _WHAT.get(name, name)
        if not cell:
            return None
        found = self._number.match(cell)
        unit = cell[found.end() :].strip(" \u00a0") if found else ""
        if not found or not _UNIT.fullmatch(unit):
            raise CellRefused(f"the {what} `{cell}` is not a number{self._hint(cell)}")
        units = {known.lower(): known for known in UNITS[name]}
        unit = units.get(unit.lower().lstrip("°"), unit)
        if column.unit is not None and unit not in ("", column.unit):
            raise CellRefused(f"the {what} `{cell}` is in {unit}, and the map says {column.unit}")
        unit = unit or column.unit or ""
        if unit not in UNITS[name]:
            missing = "has no unit, and the map states none" if not unit else f"is in `{unit}`, which is no unit here"
            raise CellRefused(f"the {what} `{cell}` {missing}")
        number = _plain(found.group(), self._form.decimal or ".", self._form.thousands)
        if number.startswith("-") and name != "temperature":
            raise CellRefused(f"the {what} `{cell}` is below nothing")
        text = f"{number} {unit}"
        try:
            return text, MEANINGS[TERMINALS[name]][text].value
        except Refusal as refusal:
            raise CellRefused(f"the {what} `{cell}`: {refusal}") from None

    def _hint(self, cell: str) -> str:
        if "," in cell and self._form.decimal is None and self._form.thousands is None:
            return "; if the comma is a decimal point, or stands between thousands, say so under [file]"
        return ""


def names(column: Column, part: str, declared: Mapping[str, Declared], word: str) -> tuple[Cells, list[str]]:
    """
    Reads cells that name somebody or something that the record declares, by name or by title; and what is wrong with
    the names in the map. `part` is that of the map, `word` what opens such a block.
    """
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
        raise CellRefused(
            f'the record declares no {word} `{meant}`; declare it, or write under [{part}] means = {{ "{cell}" = "..." }}'
        )

    cells = Cells(read)
    stated = column.means.values() if column.always is None else [column.always]
    faults = [
        f"[{part}] names `{meant}`, and the record declares no such {word}"
        for meant in stated
        if isinstance(cells[meant.strip()], CellRefused)
    ]
    return cells, faults


def cylinders_by(record: Record, by: str) -> dict[str, list[str]]:
    """The names of the cylinders by what the export knows them by: one of `WAYS`."""
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


def lost_digits(cell: str, what: str) -> str | None:
    """What is wrong where a spreadsheet has made a number of a mark; None where it has not."""
    if _LOST_DIGITS.fullmatch(cell):
        return f"`{cell}`: a spreadsheet has made a number of the {what}; export it as text"
    return None


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
