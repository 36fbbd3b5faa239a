"""
A trace for machines: one JSON object, or a table for a spreadsheet with a row a fill.
"""

from collections.abc import Iterator

from cylfile import __version__
from cylfile.history.sources.air_path import Holding, Stretch
from cylfile.history.sources.air_trace import Reached, Trace
from cylfile.record.entries import plain_form, write_time
from cylfile.record.record import Record
from cylfile.show.machine.json_object import dump
from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.pages.trace_page import in_urgency, left_by, state_of, through_of

_HEADING = (
    "cylinder", "day", "time", "on", "through", "by", "site", "state", "in service", "holds it", "let out", "file", "line",
)  # fmt: skip


def trace_json(trace: Trace, record: Record) -> Iterator[str]:
    """The text of the object. Keys always stand in the same order; all of it is ASCII."""
    head = {
        "cylfile": __version__,
        "source": trace.source.name,
        "from": str(trace.first),
        "to": str(trace.last),
        "as_of": str(trace.as_of),
        "counts": {
            "cylinders": len(trace.reached),
            "holding": sum(one.holds_it for one in trace.reached),
            "holding_in_service": len(trace.still_in_service),
            "fills_without_source": len(trace.unnamed),
            "unreadable_lines": trace.unread,
        },
        "storages": [_storage(name, stretch) for name, found in trace.storages.items() for stretch in found],
    }
    yield "{" + ",\n ".join(f"{dump(key)}: {dump(value)}" for key, value in head.items()) + ',\n "cylinders": ['
    for index, one in enumerate(in_urgency(trace.reached)):
        yield (",\n  " if index else "\n  ") + dump(_cylinder(one))
    yield "\n ]}\n" if trace.reached else "]}\n"


def _storage(name: str, stretch: Stretch) -> dict:
    fill, end = stretch.way[-1], stretch.end
    return {"storage": name, "filled": plain_form(fill), "until": plain_form(end) if end else None, **_place(fill)}


def _cylinder(one: Reached) -> dict:
    return {
        "cylinder": one.name,
        "holds_it": one.holds_it,
        "in_service": one.life.in_service,
        "state": state_of(one),
        "site": one.life.site,
        "fills": [_fill(holding) for holding in one.fills],
    }


def _fill(holding: Holding) -> dict:
    fill = holding.fill
    return {
        "day": str(fill.day),
        "time": write_time(fill.time) if fill.time else None,
        "on": fill.on,
        "through": [entry.subject for entry in holding.stretch.way],
        "by": fill.by,
        "let_out": plain_form(holding.let_out) if holding.let_out else None,
        **_place(fill),
    }


def _place(entry) -> dict:
    return {"file": entry.source.path, "line": entry.span.line}


def trace_csv(trace: Trace, record: Record) -> Iterator[str]:
    """The lines of the table. Whatever a spreadsheet could take for a formula is disarmed, and names stay text."""
    return csv_lines(_HEADING, (row for one in in_urgency(trace.reached) for row in _rows(one)))


def _rows(one: Reached) -> Iterator[tuple]:
    life = one.life
    for holding in one.fills:
        fill = holding.fill
        held = holding.let_out is None
        yield (
            Identifier(one.name), fill.day, write_time(fill.time) if fill.time else None, Identifier(fill.on),
            Identifier(through_of(holding)), Identifier(fill.by or ""), Identifier(life.site or ""), state_of(one),
            "yes" if life.in_service else "no", "yes" if held else "no", left_by(holding), *_place(fill).values(),
        )  # fmt: skip
