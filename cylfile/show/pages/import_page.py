"""
What became of an export: rows as sentences, rows that cannot be taken and why, and how many there were.
"""

import csv
import io
import re
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.importing.card_rows import CardOutcome
from cylfile.importing.export_table import SEPARATORS, WORKBOOK, RefusedRow, Table
from cylfile.importing.fill_rows import sentence
from cylfile.importing.import_fills import Outcome
from cylfile.show.machine.spreadsheet import as_text
from cylfile.show.terminal.layout import Layout, Line
from cylfile.text.phrases import counted

_SHOWN = 5
# From so many reasons on that say the same of other words, these are told once.
_MANY = 3
_QUOTED = re.compile("`([^`]*)`")


class Import(NamedTuple):
    """
    What became of an export by the name of `name`: `written` and `rejected` are the files written, None for none.

    `outcome` is of fills, or of the cards of an inventory. `end` says what was written, or how to write it.
    """

    name: str
    table: Table
    outcome: Outcome | CardOutcome
    written: str | None
    rejected: str | None
    end: str


def import_page(taken: Import, layout: Layout) -> list[Line]:
    """The page. Every row that cannot be taken is on it, those with one reason together."""
    name, table, outcome, is_entered, _, end = taken
    separator = SEPARATORS.get(table.separator, table.separator)
    read_as = table.encoding if table.encoding == WORKBOOK else f"{table.encoding}, {separator} between the cells"
    layout.put(f"{name}   {counted(len(table.rows), 'row')}, {read_as}", style="strong")
    for remark in table.remarks:
        layout.put(remark, 10, first=[("  NOTICE", "notice")])
    said = _read_as(outcome)
    if said:
        layout.blank()
        layout.put("The first rows, read as" if len(said) > _SHOWN else "Read as", style="strong")
        for row, words in said[:_SHOWN]:
            layout.put(words, 14, first=[(f"  row {row}", "faint")])
    if outcome.refused:
        layout.blank()
        layout.put("Cannot be taken", style="strong")
        for reason, rows in _by_reason(outcome.refused):
            layout.put(f"{reason}", 4, first=[("  -", "")])
            layout.put(rows, 6, style="faint")
    if isinstance(outcome, Outcome) and outcome.likely_doubles:
        layout.blank()
        layout.put("Already in the record without a time; entering these may double them", style="strong")
        layout.put(_rows(outcome.likely_doubles), 6, style="faint")
    layout.blank()
    for text in _counts(outcome, is_entered is not None):
        layout.put(text)
    layout.put(end, style="strong")
    return layout.lines


def _read_as(outcome: Outcome | CardOutcome) -> list[tuple[int, str]]:
    """The number of each row that is taken, and what it says in the words of the ledger."""
    if isinstance(outcome, CardOutcome):
        return [(card.row, "  ".join(line.strip() for line in card.lines)) for card in outcome.cards]
    return [(fill.row, sentence(fill)) for fill in outcome.fills[: _SHOWN + 1]]


def _by_reason(refused: list[RefusedRow]) -> Iterator[tuple[str, str]]:
    """
    Each reason with its rows; several that say the same of other words as one, with `_` for the words that differ, which
    stand before the rows of each.
    """
    alike: dict[str, dict[str, list[int]]] = {}
    for each in refused:
        reasons = alike.setdefault(_QUOTED.sub("``", each.reason), {})
        reasons.setdefault(each.reason, []).append(each.row.number)
    for reasons in alike.values():
        if len(reasons) < _MANY:
            yield from ((reason, _rows(rows)) for reason, rows in reasons.items())
            continue
        quoted = list(zip(*map(_QUOTED.findall, reasons)))
        own = zip(*(words for words in quoted if len(set(words)) > 1))
        pieces = _QUOTED.split(next(iter(reasons)))
        pieces[1::2] = [f"`{words[0]}`" if len(set(words)) == 1 else "`_`" for words in quoted]
        yield (
            "".join(pieces),
            "; ".join(f"{', '.join(words)}: {_rows(rows)}" for words, rows in zip(own, reasons.values())),
        )


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


def _counts(outcome: Outcome | CardOutcome, is_entered: bool) -> Iterator[str]:
    count = len(outcome.cards if isinstance(outcome, CardOutcome) else outcome.fills)
    done = ("is entered" if count == 1 else "are entered") if is_entered else "can be entered"
    has = "the record, or a row before, has the same fill"
    if isinstance(outcome, CardOutcome):
        has = "the record has that cylinder"
        yield f"{counted(count, 'card')} {done}." if count else "No card can be entered."
    elif outcome.fills:
        days = [fill.day for fill in outcome.fills]
        cylinders = counted(len({fill.name for fill in outcome.fills}), "cylinder")
        yield f"{counted(count, 'fill')} of {cylinders}, from {min(days)} to {max(days)}, {done}."
    else:
        yield "No fill can be entered."
    if outcome.refused:
        yield f"{counted(len(outcome.refused), 'row')} cannot be taken."
    if outcome.doubles:
        yield f"{counted(len(outcome.doubles), 'row')} skipped: {has}."
    if outcome.left_out:
        yield f"{counted(outcome.left_out, 'row')} left out by [rows] in the map."


def rejected_rows(table: Table, refused: list[RefusedRow], heading: int) -> str:
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
