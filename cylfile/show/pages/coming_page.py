"""
Tests and replacements to budget for: a picture and tables by year and class, and rows for machines.
"""

from collections import Counter
from datetime import date
from typing import NamedTuple

from cylfile.history.due import KINDS, REPLACEMENT, TEST, Outlay
from cylfile.judging.heads import natural
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.show.terminal.bars import put_bars
from cylfile.show.terminal.heading import put_foot, put_heading
from cylfile.show.terminal.layout import Layout, Line
from cylfile.show.terminal.table import Column, put_table

_KINDS = (TEST, REPLACEMENT)
_TITLES = {TEST: "Hydrostatic tests", REPLACEMENT: "Replacements"}
_UNKNOWN = "not known"
# What a column of a year takes, and the class and the sum beside them.
_YEAR_WIDTH, _BESIDE = 6, 30


class Coming(NamedTuple):
    """
    The outlays of a record from the as-of day to the end of the last of `years`.

    `untold` are the cylinders in service of which nobody can tell when they are due.
    """

    record: Record
    rules: Ruleset
    as_of: date
    years: list[int]
    outlays: list[Outlay]
    untold: list[str]


def coming_page(coming: Coming, layout: Layout) -> list[Line]:
    years = coming.years
    put_heading(layout, coming.record, coming.rules, [f"{years[0]} to {years[-1]}", f"as of {coming.as_of}"])
    layout.blank()
    if not coming.outlays:
        layout.put("No test and no replacement falls due.", style="strong")
    bars = [
        (_year_words(year, coming), Counter(each.kind for each in coming.outlays if each.year == year))
        for year in years
    ]
    put_bars(layout, {kind: KINDS[kind] for kind in _KINDS}, bars)
    for kind in _KINDS:
        of_kind = [outlay for outlay in coming.outlays if outlay.kind == kind]
        if of_kind:
            _put_counts(layout, _TITLES[kind], of_kind, years)
    overdue = [outlay for outlay in coming.outlays if outlay.is_overdue]
    layout.blank()
    if overdue:
        names = sorted({outlay.subject for outlay in overdue}, key=natural)
        layout.put(f"Overdue already, and counted in {years[0]}: {', '.join(names)}", style="warning")
    if coming.untold:
        untold = ", ".join(sorted(coming.untold, key=natural))
        layout.put(f"Not counted, because their due days are not known: {untold}. See `cylfile due`.", style="caution")
    layout.put("Each test is taken to be made in the year it falls due. What a new cylinder will need is not counted.")
    put_foot(layout, coming.record, coming.rules)
    return layout.lines


def _year_words(year: int, coming: Coming) -> str:
    return f"rest of {year}" if year == coming.as_of.year else f"{year}"


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
