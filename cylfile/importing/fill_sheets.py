"""
Fills as fill sheets by day, and which of them the record has already.
"""

from collections.abc import Iterable, Iterator
from datetime import time
from itertools import groupby

from cylfile.importing.fill_rows import CLAUSES, Fill
from cylfile.record.entries import Filled, write_time
from cylfile.record.record import Record

# What a sheet's header says for all its rows, where it is the same on each.
_OF_THE_DAY = ("site", "source", "person")


def already_there(record: Record) -> tuple[set, set]:
    """
    What tells a fill from every other, for each that the record has, and for those without a time.

    Struck ones are among them: whoever struck one out does not want it back.
    """
    timed: set[tuple] = set()
    untimed: set[tuple] = set()
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
    """The text of fills sheet by sheet, a sheet a day, in the order of days and times; not laid out yet."""
    ordered = sorted(fills, key=lambda fill: (fill.day, fill.time is not None, fill.time or time.min, fill.row))
    for day, of_day in groupby(ordered, key=lambda fill: fill.day):
        rows = list(of_day)
        shared = [part for part in _OF_THE_DAY if _is_common(rows, part)]
        header = " ".join(["fill sheet", str(day), *_clauses(rows[0], shared)])
        parts = [part for part in CLAUSES if part not in shared]
        yield newline.join((header, *(_row(fill, parts) for fill in rows), ""))


def _is_common(rows: list[Fill], part: str) -> bool:
    values = {getattr(fill, part) for fill in rows}
    return len(values) == 1 and values != {None}


def _row(fill: Fill, parts: list[str]) -> str:
    time = [write_time(fill.time)] if fill.time is not None else []
    return " ".join([" ", *time, fill.name, *_clauses(fill, parts)])


def _clauses(fill: Fill, parts: list[str]) -> Iterator[str]:
    for part in parts:
        value = getattr(fill, part)
        if value is not None:
            yield f"{CLAUSES[part]} {value}"
