"""
A cylinder's life drawn along a line of years: tests, inspections, fills, and when it could be used.

Every mark is a letter or a height, so that the picture says the same without color and in ASCII.
"""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from cylfile.history.life import Life
from cylfile.record.dates import NEVER
from cylfile.record.entries import Entry
from cylfile.show.terminal.layout import Layout

_LABEL = 10
_LEAST_WIDTH = 20
# Marks of one row, the one that hides others first, and what they stand for.
_TESTS = {"X": "test failed", "T": "test passed", "M": "made", "E": "end of life", "D": "next test due"}
_VISUALS = {"x": "inspection failed", "v": "inspection passed", "d": "next inspection due"}
_BARRED, _OUT = "!", "."
_STATES = {_BARRED: "failed, damaged or overdue", _OUT: "out of service"}


class LifeLine(NamedTuple):
    """
    What is drawn: (day, mark) of tests and of visual inspections, days of fills, and stretches
    (first day, last day, sign) of service, the sign empty for going about its life.
    """

    tests: list[tuple[date, str]]
    visuals: list[tuple[date, str]]
    fills: list[date]
    stretches: list[tuple[date, date, str]]
    as_of: date


def life_line_of(steps: Iterable[tuple[Life, Entry | None]]) -> LifeLine:
    """The line of a life, from the steps in which it is folded; see `folding.steps_of`."""
    tests, visuals, fills, stretches = [], [], [], []
    before = None
    for life, entry in steps:
        if entry is None:
            if life.made is not None:
                tests.append((life.made, "M"))
            before = None
            continue
        if before is not None:
            stretches += _stretch(*before, entry.day)
        if entry.verb == "filled":
            fills.append(entry.day)
        elif entry.verb == "hydro":
            tests.append((entry.day, "T" if entry.result == "pass" else "X"))
            if entry.with_visual is not None:
                visuals.append((entry.day, "v" if entry.with_visual == "pass" else "x"))
        elif entry.verb == "visual":
            visuals.append((entry.day, "v" if entry.outcome == "pass" else "x"))
        before = entry.day, _sign_of(life), _overdue_from(life)
    if before is not None:
        stretches += _stretch(*before, life.as_of)
    if life.in_service:
        tests += ((day, mark) for day, mark in ((life.test_due, "D"), (life.life_end, "E")) if day not in (None, NEVER))
        if life.visual_due not in (None, NEVER):
            visuals.append((life.visual_due, "d"))
    return LifeLine(tests, visuals, fills, stretches, life.as_of)


def _sign_of(life: Life) -> str | None:
    """How its service is drawn from here on; None where it is in nobody's hands."""
    if life.retired_day or life.condemned_day:
        return None
    if life.out_of_service_day:
        return _OUT
    if life.failed_day or life.damaged_day or life.over_pressurized_day:
        return _BARRED
    return "" if life.in_service else None


def _overdue_from(life: Life) -> date:
    """The last day on which it may be filled by its dates."""
    return min(day for day in (life.test_due, life.life_end, NEVER) if day is not None)


def _stretch(first: date, sign: str | None, good_until: date, last: date):
    if sign is None:
        return
    if sign == "" and good_until < last:
        if good_until >= first:
            yield first, good_until, sign
        yield max(first, good_until), last, _BARRED
    else:
        yield first, last, sign


def put_life_line(layout: Layout, line: LifeLine) -> None:
    """Put the picture; nothing where no day is known."""
    days = (
        [day for day, _ in (*line.tests, *line.visuals)]
        + line.fills
        + [day for each in line.stretches for day in each[:2]]
    )
    if not days:
        return
    signs = layout.signs
    first, last = min(days), max(*days, line.as_of)
    width = max(layout.width - _LABEL, _LEAST_WIDTH)
    span = max((last - first).days, 1)

    def column(day: date) -> int:
        return (day - first).days * (width - 1) // span

    _put_row(layout, "", _years(first, last, width, column))
    if line.tests:
        _put_row(layout, "tests", _marks(line.tests, list(_TESTS), width, column))
    if line.visuals:
        _put_row(layout, "visuals", _marks(line.visuals, list(_VISUALS), width, column))
    if line.fills:
        _put_row(layout, "fills", _heights(line.fills, signs.heights, width, column))
    _put_row(layout, "service", _states(line.stretches, signs.line, width, column))
    _put_row(layout, "", _today(column(line.as_of), line.as_of, width))
    used = {mark for _, mark in (*line.tests, *line.visuals)} | {sign for _, _, sign in line.stretches}
    legend = [f"{mark} {meaning}" for mark, meaning in {**_TESTS, **_VISUALS, **_STATES}.items() if mark in used]
    if line.stretches:
        legend.append(f"{signs.line} in service")
    layout.put("", _LABEL, right=legend, right_style="faint")


def _put_row(layout: Layout, label: str, signs: list[str]) -> None:
    layout.put_pieces([(f"  {label}".ljust(_LABEL), "faint"), ("".join(signs), "")])


def _years(first: date, last: date, width: int, column) -> list[str]:
    """The years, each where it begins, as many as there is room for."""
    row = [" "] * width
    years = last.year - first.year + 1
    every = next(each for each in (1, 2, 5, 10, 20, 50, 100, 1_000, 10_000) if years / each * 7 <= width)
    taken = 0
    for year in range(first.year, last.year + 1):
        at = column(max(date(year, 1, 1), first))
        if year % every == 0 and at >= taken and at + 4 <= width:
            row[at : at + 4] = str(year)
            taken = at + 6
    return row


def _marks(marks: list[tuple[date, str]], order: list[str], width: int, column) -> list[str]:
    row = [" "] * width
    for day, mark in sorted(marks, key=lambda each: -order.index(each[1])):
        row[column(day)] = mark
    return row


def _heights(fills: list[date], heights: str, width: int, column) -> list[str]:
    """How many fills there were, the most as the greatest height."""
    counts = [0] * width
    for day in fills:
        counts[column(day)] += 1
    most = max(counts)
    return [heights[-(-count * len(heights) // most) - 1] if count else " " for count in counts]


def _states(stretches: list[tuple[date, date, str]], line: str, width: int, column) -> list[str]:
    row = [" "] * width
    for sign in ("", _OUT, _BARRED):
        for first, last, its_sign in stretches:
            if its_sign == sign:
                for at in range(column(first), column(last) + 1):
                    row[at] = sign or line
    return row


def _today(at: int, as_of: date, width: int) -> list[str]:
    words = f"^ {as_of}"
    if at + len(words) > width:
        words = f"{as_of} ^"
        at = max(at - len(words) + 1, 0)
    row = [" "] * width
    row[at : at + len(words)] = words
    return row[:width]
