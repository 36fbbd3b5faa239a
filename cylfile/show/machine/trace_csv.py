"""
A trace as a table for a spreadsheet with a row a fill.
"""

from collections.abc import Iterator

from cylfile.history.sources.air_trace import Reached
from cylfile.record.entries import write_time
from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.machine.trace_json import place_of_fill
from cylfile.show.pages.trace_page import Traced, in_urgency, left_by, state_of, through_of
from cylfile.show.terminal.heading import origin_line

_HEADING = (
    "cylinder", "day", "time", "on", "through", "by", "site", "state", "in service", "holds it", "let out", "file", "line",
)  # fmt: skip


def trace_csv(traced: Traced) -> Iterator[str]:
    """The lines of the table. Whatever a spreadsheet could take for a formula is disarmed, and names stay text."""
    rows = (row for one in in_urgency(traced.trace.reached) for row in _rows(one))
    return csv_lines(_HEADING, rows, origin_line(traced.record, traced.rules, traced.trace.as_of))


def _rows(one: Reached) -> Iterator[tuple]:
    life = one.life
    for holding in one.fills:
        fill = holding.fill_of_cylinder
        held = holding.let_out is None
        yield (
            Identifier(one.name), fill.day, write_time(fill.time) if fill.time else None, Identifier(fill.on),
            Identifier(through_of(holding)), Identifier(fill.by or ""), Identifier(life.site or ""), state_of(one),
            "yes" if life.in_service else "no", "yes" if held else "no", left_by(holding), *place_of_fill(fill).values(),
        )  # fmt: skip
