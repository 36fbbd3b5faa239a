"""
An export taken in: what of it can be written, what cannot and why, and what the record has already.
"""

from collections.abc import Callable, Iterable
from typing import NamedTuple

from cylfile.importing.export_table import RefusedRow, Row
from cylfile.importing.fill_rows import Fill, FillReader, sentence
from cylfile.importing.fill_sheets import already_there, key_of, sheets_of, untimed_key_of
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.rewriting.neat_layout import lay_out
from cylfile.text.source import Source


class Outcome(NamedTuple):
    """
    What became of the rows of an export.

    `fills` can be written; `doubles` are the numbers of rows that the record, or a row before
    them, has already; `likely_doubles` those of fills that the record has without a time;
    `left_out` counts the rows that do not count by the map.
    """

    fills: list[Fill]
    refused: list[RefusedRow]
    doubles: list[int]
    likely_doubles: list[int]
    left_out: int


def take_in(
    rows: Iterable[Row],
    reader: FillReader,
    record: Record,
    late: str | None = None,
    tell: Callable[[], None] = lambda: None,
) -> Outcome:
    """
    Read the rows of an export, and set aside what the record has.

    Rows of a sealed period are refused, unless `late` says what a `late` clause on them says:
    a day, a person and a text. `tell` is called for every row.
    """
    fills, refused, doubles, likely_doubles, left_out = [], [], [], [], 0
    there, untimed = already_there(record)
    sealed = max((seal.day for seal in record.seals), default=None)
    for row in rows:
        tell()
        outcome = reader.read(row)
        if outcome is None:
            left_out += 1
        elif isinstance(outcome, RefusedRow):
            refused.append(outcome)
        elif key_of(outcome) in there:
            doubles.append(row.number)
        elif sealed is not None and outcome.day <= sealed and late is None:
            refused.append(RefusedRow(row, f"{outcome.day} is in the period sealed through {sealed}; use --late"))
        else:
            there.add(key_of(outcome))
            if untimed_key_of(outcome) in untimed:
                likely_doubles.append(row.number)
            is_late = sealed is not None and outcome.day <= sealed
            fills.append(outcome._replace(late=late) if is_late else outcome)
    return Outcome(fills, refused, doubles, likely_doubles, left_out)


class NotReadBack(Exception):
    """
    What would be written does not read as what is meant: a fault of the program, and nothing may be written.

    `row` is the number of the row that it is about.
    """

    def __init__(self, row: int):
        super().__init__(row)
        self.row = row


def written(fills: list[Fill], newline: str = "\n") -> str:
    """
    The sheets of fills, laid out as all ledgers are. They are read back first, for a record must not be trusted to a writer.

    Raises NotReadBack.
    """
    text = lay_out(Source("new", newline.join(sheets_of(fills, newline))))
    record = read_record([Source("new", text)])
    read = sorted(plain_form(entry) for entries in record.entries.values() for entry in entries)
    if read != sorted(map(sentence, fills)) or any(fault.rule == "unreadable-line" for fault in record.faults):
        raise NotReadBack(_first_row(fills))
    return text


def _first_row(fills: list[Fill]) -> int:
    """The row of the first fill that does not read as what is meant by itself; of the first, where all do."""
    for fill in fills:
        record = read_record([Source("new", lay_out(Source("new", "\n".join(sheets_of([fill], "\n")))))])
        read = [plain_form(entry) for entries in record.entries.values() for entry in entries]
        if read != [sentence(fill)]:
            return fill.row
    return fills[0].row
