"""
Tables of styled cells. Columns that a narrow terminal has no room for stand under their row.
"""

from collections.abc import Sequence
from typing import NamedTuple

from cylfile.show.terminal.layout import Layout, Piece, cells
from cylfile.show.visible import visible

_GAP = 2


class Column(NamedTuple):
    """
    A column: its heading, whether it is set to the right, and how soon it gives way.

    Of the columns that give way the one with the greatest number goes first; 0 never does.
    """

    heading: str
    is_right: bool = False
    gives_way: int = 0


def put_table(layout: Layout, columns: Sequence[Column], rows: Sequence[Sequence[Piece]], indent: int = 2) -> None:
    """Put a heading and rows with a cell for each column. A column without a single text is left out."""
    rows = [[(visible(text), style) for text, style in row] for row in rows]
    shown = [index for index, _ in enumerate(columns) if any(row[index][0] for row in rows)]
    widths = {
        index: max(cells(text) for text in (columns[index].heading, *(row[index][0] for row in rows)))
        for index in shown
    }
    below: list[int] = []
    while layout.wraps and indent + sum(widths[index] + _GAP for index in shown) - _GAP > layout.width:
        yielding = max(shown, key=lambda index: columns[index].gives_way)
        if not columns[yielding].gives_way:
            break
        shown.remove(yielding)
        below.insert(0, yielding)
    heading = [(columns[index].heading, "faint") for index, _ in enumerate(columns)]
    layout.put_pieces(_line(heading, columns, shown, widths, indent))
    for row in rows:
        layout.put_pieces(_line(row, columns, shown, widths, indent))
        under = ", ".join(f"{columns[index].heading} {row[index][0]}" for index in below if row[index][0])
        if under:
            layout.put(under, indent + 4, style="faint")


def _line(row: Sequence[Piece], columns: Sequence[Column], shown: list[int], widths: dict, indent: int) -> list[Piece]:
    line: list[Piece] = [(" " * indent, "")]
    for number, index in enumerate(shown):
        text, style = row[index]
        pad = " " * (widths[index] - cells(text))
        gap = " " * _GAP if number < len(shown) - 1 else ""
        line += [(pad, ""), (text, style), (gap, "")] if columns[index].is_right else [(text, style), (pad + gap, "")]
    return line
