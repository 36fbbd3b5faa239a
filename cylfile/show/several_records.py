"""
What several records have to show, put together: pages one after the other, machine forms made into one.
"""

import csv
import json
from collections.abc import Iterable, Iterator

from cylfile.show.machine.calendar import joined
from cylfile.show.machine.json_object import dump
from cylfile.show.machine.spreadsheet import ORIGIN, Identifier, csv_lines
from cylfile.show.terminal.layout import Layout, Line


def joined_pages(pages: Iterable[list[Line]], count: int, total: list[str], layout: Layout) -> Iterator[Line]:
    """The lines of pages with a blank one between, and what all of them come to."""
    for page in pages:
        yield from page
        yield []
    layout.put_facts([(f"All {count:,} records", "strong"), *((fact, "strong") for fact in total)])
    yield from layout.lines


def joined_texts(form: str, each: Iterable[tuple[str, Iterable[str]]]) -> Iterator[str]:
    """The texts of a form for machines as one text, given with the folders of their records."""
    return _JOINS.get(form, _appended)(each)


def _appended(each) -> Iterator[str]:
    for _, texts in each:
        yield from texts


def _rows(each) -> Iterator[str]:
    """
    Tables as one, with the folder of the record in the first column. Where none has a row, what they are of stands after
    the headings, as in one table without a row.
    """
    heading: list[str] = []
    of_empty: list[str] = []
    has_rows = False
    for folder, texts in each:
        first, *lines = texts
        cells = next(csv.reader([first]))
        heading = cells[: cells.index(ORIGIN) + 1]
        of_empty += (f"{folder}: {origin}" for origin in cells[len(heading) :])
        if lines and not has_rows:
            has_rows = True
            yield from csv_lines(["record", *heading], ())
        cell = next(csv_lines((Identifier(folder),), ())).rstrip("\r\n")
        yield from (f"{cell},{line}" for line in lines)
    if not has_rows:
        yield from csv_lines(["record", *heading, *of_empty], ())


def _objects(each) -> Iterator[str]:
    """Objects in a list, each with the folder of its record."""
    between = '{"records": [\n'
    for folder, texts in each:
        yield f'{between}{{"folder": {dump(folder)}, {"".join(texts).lstrip()[1:].rstrip()}'
        between = ",\n"
    yield "\n]}\n"


def _logs(each) -> Iterator[str]:
    """Logs of SARIF as one with a run for each record."""
    logs = [json.loads("".join(texts)) for _, texts in each]
    yield dump({**logs[0], "runs": [run for log in logs for run in log["runs"]]}) + "\n"


def _calendars(each) -> Iterator[str]:
    yield from joined("".join(texts) for _, texts in each)


_JOINS = {"csv": _rows, "json": _objects, "sarif": _logs, "ics": _calendars}
