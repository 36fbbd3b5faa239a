"""
Tests and replacements to budget for: a picture and tables by year and class, and rows for machines.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from cylfile import __version__
from cylfile.history.due import KINDS, REPLACEMENT, TEST, Outlay
from cylfile.judging.heads import natural
from cylfile.record.record import Record
from cylfile.show.machine.json_object import dump
from cylfile.show.machine.spreadsheet import csv_lines
from cylfile.show.pages.lint_page import CAUTION_LINE
from cylfile.show.terminal.bars import put_bars
from cylfile.show.terminal.heading import put_heading
from cylfile.show.terminal.layout import Layout, Line
from cylfile.show.terminal.signs import Signs
from cylfile.show.terminal.table import Column, put_table

_KINDS = (TEST, REPLACEMENT)
_TITLES = {TEST: "Hydrostatic tests", REPLACEMENT: "Replacements"}
_UNKNOWN = "not known"
# What a column of a year takes, and the class and the sum beside them.
_YEAR_WIDTH, _BESIDE = 6, 30


@dataclass
class Outlook:
    """
    The outlays of a record from the as-of day to the end of the last of `years`.

    `untold` are the cylinders in service of which nobody can tell when they are due.
    """

    record: Record
    rules: object
    as_of: date
    years: list[int]
    outlays: list[Outlay]
    untold: list[str]


def outlook_page(outlook: Outlook, layout: Layout, signs: Signs) -> list[Line]:
    years = outlook.years
    put_heading(layout, outlook.record, outlook.rules, [f"{years[0]} to {years[-1]}", f"as of {outlook.as_of}"])
    layout.blank()
    if not outlook.outlays:
        layout.put("No test and no replacement falls due.", style="strong")
    bars = [
        (_year_words(year, outlook), Counter(each.kind for each in outlook.outlays if each.year == year))
        for year in years
    ]
    put_bars(layout, signs, {kind: KINDS[kind] for kind in _KINDS}, bars)
    for kind in _KINDS:
        of_kind = [outlay for outlay in outlook.outlays if outlay.kind == kind]
        if of_kind:
            _put_counts(layout, _TITLES[kind], of_kind, years)
    overdue = [outlay for outlay in outlook.outlays if outlay.is_overdue]
    layout.blank()
    if overdue:
        names = sorted({outlay.subject for outlay in overdue}, key=natural)
        layout.put(f"Overdue already, and counted in {years[0]}: {', '.join(names)}", style="warning")
    if outlook.untold:
        untold = ", ".join(sorted(outlook.untold, key=natural))
        layout.put(f"Not counted, for their days cannot be told: {untold}. See `cylfile due`.", style="caution")
    layout.put("Each test is taken to be made in the year it falls due. What a new cylinder will need is not counted.")
    layout.put(CAUTION_LINE)
    return layout.lines


def _year_words(year: int, outlook: Outlook) -> str:
    return f"rest of {year}" if year == outlook.as_of.year else f"{year}"


def _put_counts(layout: Layout, title: str, outlays: list[Outlay], years: list[int]) -> None:
    """How many a class and year; in several tables where one has no room for all years."""
    counts = Counter((outlay.class_name, outlay.year) for outlay in outlays)
    classes = sorted({outlay.class_name for outlay in outlays}, key=lambda name: (name is None, name or ""))
    a_table = max((layout.width - _BESIDE) // _YEAR_WIDTH, 1) if layout.wraps else len(years)
    layout.blank()
    layout.put(f"{title}   {len(outlays):,}", style="strong")
    for first in range(0, len(years), a_table):
        shown = years[first : first + a_table]
        columns = [Column("class"), *(Column(str(year), is_right=True) for year in shown)]
        rows = [[(name or _UNKNOWN, ""), *((_number(counts[name, year]), "") for year in shown)] for name in classes]
        if len(classes) > 1:
            sums = (sum(counts[name, year] for name in classes) for year in shown)
            rows.append([("all", "strong"), *((_number(each), "strong") for each in sums)])
        put_table(layout, columns, rows)


def _number(count: int) -> str:
    return f"{count:,}" if count else "-"


# For machines.


def outlook_csv(outlook: Outlook) -> Iterator[str]:
    """A row for each year, class and kind that has any."""
    return csv_lines(
        ("year", "class", "what", "count", "of these overdue"), (list(row.values())[:5] for row in _rows(outlook))
    )


def outlook_json(outlook: Outlook) -> Iterator[str]:
    """One object, with one year, class and kind a line."""
    head = {
        "cylfile": __version__,
        "as_of": str(outlook.as_of),
        "rules": list(outlook.rules.names),
        "years": outlook.years,
        "untold": sorted(outlook.untold, key=natural),
    }
    yield dump(head)[:-1] + ', "outlays": [' + ",".join(f"\n {dump(row)}" for row in _rows(outlook)) + "]}\n"


def _rows(outlook: Outlook) -> Iterator[dict]:
    groups: dict[tuple, list[Outlay]] = {}
    for outlay in outlook.outlays:
        groups.setdefault((outlay.year, outlay.class_name or "", outlay.kind), []).append(outlay)
    for (year, class_name, kind), outlays in sorted(groups.items()):
        yield {
            "year": year,
            "class": class_name or None,
            "what": kind,
            "count": len(outlays),
            "overdue": sum(outlay.is_overdue for outlay in outlays),
            "cylinders": sorted((outlay.subject for outlay in outlays), key=natural),
        }
