"""
Fills as fill sheets by day, and which of them the record has already.
"""

from collections.abc import Iterable, Iterator
from datetime import time
from itertools import groupby

from cylfile.intake.fills import CLAUSES, Fill
from cylfile.record.entries import Filled, write_time
from cylfile.record.record import Record

# What a sheet's header says for all its rows, where it is the same on each.
_OF_THE_DAY = ("site", "source", "person")


def already_there(record: Record) -> tuple[set, set]:
    """
    What tells a fill from every other, for each that the record has, and for those without a time.

    Struck ones are among them: whoever struck one out does not want it back.
    """
    timed, untimed = set(), set()
    for name in record.cylinders:
        for entry in record.entries.get(name, ()):
            if entry.__class__ is Filled:
                key = _key(entry.day, entry.time, name, entry.reading.value)
                (untimed if entry.time is None else timed).add(key)
    return timed | untimed, untimed


def key_of(fill: Fill) -> tuple:
    """The same for two fills that are one: day, minute, cylinder and pressure reached."""
    return _key(fill.day, fill.time, fill.name, fill.psi)


def untimed_key_of(fill: Fill) -> tuple:
    """That of the same fill written down without its time."""
    return _key(fill.day, None, fill.name, fill.psi)


def _key(day, time, name, psi) -> tuple:
    return day, time and (time.hour, time.minute), name, round(psi, 1)


def sheets_of(fills: Iterable[Fill], newline: str = "\n") -> Iterator[str]:
    """The text of fills sheet by sheet, a sheet a day, in the order of days and times."""
    ordered = sorted(fills, key=lambda fill: (fill.day, fill.time is not None, fill.time or time.min, fill.row))
    for day, of_day in groupby(ordered, key=lambda fill: fill.day):
        rows = list(of_day)
        shared = [part for part in _OF_THE_DAY if _is_common(rows, part)]
        header = "".join(f"  {CLAUSES[part]} {getattr(rows[0], part)}" for part in shared)
        lines = [f"fill sheet {day}{header}", *_lines(rows, shared)]
        yield newline.join((*lines, ""))


def _is_common(rows: list[Fill], part: str) -> bool:
    values = {getattr(fill, part) for fill in rows}
    return len(values) == 1 and values != {None}


def _lines(rows: list[Fill], shared: list[str]) -> Iterator[str]:
    """The rows of a sheet with their columns lined up."""
    table = [_cells(fill, shared) for fill in rows]
    used = [index for index in range(len(table[0])) if any(cells[index] for cells in table)]
    widths = {index: max(len(cells[index]) for cells in table) for index in used}
    for cells in table:
        yield "  " + "  ".join(cells[index].ljust(widths[index]) for index in used).rstrip(" ")


def _cells(fill: Fill, shared: list[str]) -> list[str]:
    cells = [write_time(fill.time) if fill.time is not None else "", fill.name]
    for part, word in CLAUSES.items():
        value = None if part in shared else getattr(fill, part)
        cells.append(f"{word} {value}" if value is not None else "")
    return cells
