"""
How close the lists of a wall sheet have to stand so that it is one sheet of paper, be it Letter or A4.

A browser sets the sheet in whatever letters it has. Heights are reckoned for wide ones, so that there is rather room left.
"""

from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

# What is common to both papers within their margins, in points: the width of A4, the height of Letter.
_WIDE, _HIGH = 527, 720
# The height of the heads, of what the list of all others says, and of the foot.
_HEADS = 260
# The widths of a name and of other letters, as shares of their size; a list gives 1.4 times its size to the names.
_NAME, _LETTER = 0.68, 0.56
# What stands between the columns, and between a name and why it must not be filled, as a share of the size.
_BETWEEN = 2.0
# The shares of the width that what is due has and who may fill, with what stands around them.
_DUE, _PEOPLE = 0.6, 0.27
_LINE = 1.5


class Density(NamedTuple):
    """A style of the sheet: its columns, the size of letters in its list and below that, in points; whether it tells why."""

    name: str
    columns: int
    size: float
    below: float
    tells_why: bool = True


# As in site.css, the widest first.
DENSITIES = (
    Density("few", 1, 17.6, 11),
    Density("usual", 2, 11, 11),
    Density("many", 3, 9.35, 8.8),
    Density("dense", 6, 11, 8.8, tells_why=False),
)


def density(
    barred: Sequence[tuple[str, str]], due: Sequence[tuple[str, Sequence[str]]], people: Sequence[str]
) -> Density:
    """
    The widest style in which all of it is one sheet, else the closest.

    `barred` are names with why they must not be filled; `due` are titles with the texts below each.
    """
    *looser, closest = DENSITIES
    for each in looser:
        if _height(each, barred, due, people) <= _HIGH:
            return each
    longest = max((len(name) for name, _ in barred), default=1) * _NAME + _BETWEEN / 2
    return closest._replace(columns=max(1, min(closest.columns, int(_WIDE / closest.size / longest))))


def _height(
    style: Density, barred: Sequence[tuple[str, str]], due: Sequence[tuple[str, Sequence[str]]], people: Sequence[str]
) -> float:
    rows = [_row(style, name, why) for name, why in barred]
    # Columns are as high as each other but for a row.
    of_list = sum(rows) / style.columns + (max(rows) if style.columns > 1 and rows else 0)
    of_due = sum(1 + sum(_lines(text, style.below, _DUE) for text in texts) for _, texts in due)
    of_people = sum(_lines(name, style.below, _PEOPLE) for name in people)
    return _HEADS + of_list + max(of_due, of_people) * style.below * _LINE


def _row(style: Density, name: str, why: str) -> float:
    """The height of a row of the list in points; no end of it where name and reason do not stand side by side."""
    left = _WIDE / style.columns / style.size - _BETWEEN - len(name) * _NAME * 1.4
    if left < max((len(word) for word in why.split()), default=0) * _LETTER:
        return float("inf")
    lines = ceil(len(why) * _LETTER / left)
    return (max(1.4, lines) * 1.3 + 0.4) * style.size + 1


def _lines(text: str, size: float, share: float) -> int:
    return max(1, ceil(len(text) * _LETTER * size / (_WIDE * share)))
