"""
What became of an export: rows as sentences, rows that cannot be taken and why, and how many there were.
"""

import csv
import io
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.importing.export_table import SEPARATORS, Table
from cylfile.importing.fill_rows import Refused, sentence
from cylfile.importing.import_fills import Outcome
from cylfile.packs.wording import counted
from cylfile.show.machine.spreadsheet import as_text
from cylfile.show.terminal.layout import Layout, Line

_SHOWN = 5


class Import(NamedTuple):
    """
    What became of an export by the name of `name`: `written` and `rejected` are the files written, None for none.

    `end` says what was written, or how to write it.
    """

    name: str
    table: Table
    outcome: Outcome
    written: str | None
    rejected: str | None
    end: str


def import_page(taken: Import, layout: Layout) -> list[Line]:
    """The page. Every row that cannot be taken is on it, those with one reason together."""
    name, table, outcome, is_entered, _, end = taken
    separator = SEPARATORS.get(table.separator, table.separator)
    facts = f"{counted(len(table.rows), 'row')}, {table.encoding}, {separator} between the cells"
    layout.put(f"{name}   {facts}", style="strong")
    for remark in table.remarks:
        layout.put(remark, 10, first=[("  NOTICE", "notice")])
    if outcome.fills:
        layout.blank()
        layout.put("The first rows, read as" if len(outcome.fills) > _SHOWN else "Read as", style="strong")
        for fill in outcome.fills[:_SHOWN]:
            layout.put(sentence(fill), 14, first=[(f"  row {fill.row}", "faint")])
    if outcome.refused:
        layout.blank()
        layout.put("Cannot be taken", style="strong")
        for reason, rows in _by_reason(outcome.refused):
            layout.put(f"{reason}", 4, first=[("  -", "")])
            layout.put(_rows(rows), 6, style="faint")
    if outcome.likely_doubles:
        layout.blank()
        layout.put("Already in the record without a time; entering these may double them", style="strong")
        layout.put(_rows(outcome.likely_doubles), 6, style="faint")
    layout.blank()
    for text in _counts(outcome, "are entered" if is_entered else "can be entered"):
        layout.put(text)
    layout.put(end, style="strong")
    return layout.lines


def _by_reason(refused: list[Refused]) -> Iterator[tuple[str, list[int]]]:
    reasons: dict[str, list[int]] = {}
    for each in refused:
        reasons.setdefault(each.reason, []).append(each.row.number)
    return iter(reasons.items())


def _rows(numbers: list[int]) -> str:
    """Row numbers in words, runs of them as `7 to 12`."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    words = [str(first) if first == last else f"{first} to {last}" for first, last in runs]
    return f"{'row' if len(numbers) == 1 else 'rows'} {', '.join(words)}"


def _counts(outcome: Outcome, done: str) -> Iterator[str]:
    fills = outcome.fills
    if fills:
        days = [fill.day for fill in fills]
        names = {fill.name for fill in fills}
        yield f"{counted(len(fills), 'fill')} of {counted(len(names), 'cylinder')}, from {min(days)} to {max(days)}, {done}."
    else:
        yield "No fill can be entered."
    if outcome.refused:
        yield f"{counted(len(outcome.refused), 'row')} cannot be taken."
    if outcome.doubles:
        yield f"{counted(len(outcome.doubles), 'row')} skipped: the record, or a row before, has the same fill."
    if outcome.left_out:
        yield f"{counted(outcome.left_out, 'row')} left out by [rows] in the map."


def rejected_rows(table: Table, refused: list[Refused], heading: int) -> str:
    """
    The rows that were not taken as a table of the same form, so that the same map reads it once it
    is put right, with the number of each row and the reason in two columns more.
    """
    text = io.StringIO()
    writer = csv.writer(text, delimiter=table.separator)
    width = max([len(table.heading), *(len(each.row.cells) for each in refused)])
    if heading:
        # The heading stands in the same row as in the export.
        text.write("\r\n" * (heading - 1))
        writer.writerow([as_text(cell) for cell in _filled_up(table.heading, width)] + ["row", "why not taken"])
    for each in refused:
        cells = [as_text(cell) for cell in _filled_up(each.row.cells, width)]
        writer.writerow([*cells, each.row.number, each.reason])
    return text.getvalue()


def _filled_up(cells: list[str], width: int) -> list[str]:
    return cells + [""] * (width - len(cells))
