"""
Tables as comma-separated values (RFC 4180) for spreadsheets and scripts.

A spreadsheet takes a cell that begins with `=` for a formula, even in quotation marks, and a
serial number of digits for a number, of which it drops the leading zeros. So a text that a
spreadsheet would take for anything else gets an apostrophe before it, which spreadsheets do
not show. Numbers and days are written as such.
"""

import csv
import re
from collections.abc import Iterable, Iterator
from itertools import chain, islice

from cylfile.show.visible import visible

# What a formula begins with (OWASP, CSV injection), and the full-width forms of the same signs.
_FORMULA = re.compile("[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
# A spreadsheet set to another separator would split a cell here and see a formula after it.
_HIDDEN_FORMULA = re.compile("([;|\t])(?=[=+\\-@\uff1d\uff0b\uff0d\uff20])")
# Names that stay what they are: they begin with a letter and read as neither a month nor a truth.
_STAYS_TEXT = re.compile(
    "(?!(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-/._ ]?[0-9]+$)(?!(?:true|false)$)[a-z]",
    re.IGNORECASE,
)


# The heading of the last column.
ORIGIN = "origin"


class Identifier(str):
    """A name, a serial number or a tag: a text that must never become a number or a date."""


def csv_lines(heading: Iterable[str], rows: Iterable[Iterable], origin: str = "") -> Iterator[str]:
    """
    The lines of a table, each with its line end. Cells are texts, identifiers, numbers, days or None. What the table is
    of, where that is given, stands in the last cell of each row, for a row may be cut out; in a table without a row, which
    says something too, it stands after the last heading.
    """
    lines: list[str] = []
    writer = csv.writer(_Lines(lines))
    last = [origin] if origin else []
    rows = iter(rows)
    first = list(islice(rows, 1))
    head = [*heading, *([ORIGIN] if origin else []), *(last if not first else [])]
    for row in chain([head], ([*row, *last] for row in chain(first, rows))):
        writer.writerow([_cell(value) for value in row])
        yield lines.pop()


def as_text(cell: str) -> str:
    """A cell of somebody else's table, with an apostrophe where a spreadsheet would take it for a formula."""
    return f"'{cell}" if _FORMULA.match(cell) else cell


class _Lines:
    """What the writer of the csv module needs to have to write to."""

    def __init__(self, lines: list[str]):
        self.write = lines.append


def _cell(value) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        return str(value)
    text = _HIDDEN_FORMULA.sub(r"\1'", visible(value))
    if _FORMULA.match(text) or (isinstance(value, Identifier) and text and not _STAYS_TEXT.match(text)):
        return f"'{text}"
    return text
