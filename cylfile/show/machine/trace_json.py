"""
A trace as one JSON object.
"""

from collections.abc import Iterator

from cylfile.history.sources.air_path import Holding, Stretch
from cylfile.history.sources.air_trace import Reached
from cylfile.record.entries import Entry, plain_form, write_time
from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.pages.trace_page import Traced, in_urgency, state_of


def trace_json(traced: Traced) -> Iterator[str]:
    """The text of the object. Keys always stand in the same order; all of it is ASCII."""
    trace = traced.trace
    head = {
        **list_head(traced.record, traced.rules, trace.as_of),
        "source": trace.source.name,
        "from": str(trace.first),
        "to": str(trace.last),
        "counts": {
            "cylinders": len(trace.reached),
            "holding": sum(one.holds_it for one in trace.reached),
            "holding_in_service": len(trace.still_in_service),
            "fills_without_source": len(trace.unnamed),
            "unreadable_lines": len(trace.unread),
        },
        "storages": [_storage(name, stretch) for name, found in trace.storages.items() for stretch in found],
    }
    yield "{" + ",\n ".join(f"{dump(key)}: {dump(value)}" for key, value in head.items()) + ',\n "cylinders": ['
    for index, one in enumerate(in_urgency(trace.reached)):
        yield (",\n  " if index else "\n  ") + dump(_cylinder(one))
    yield "\n ]}\n" if trace.reached else "]}\n"


def _storage(name: str, stretch: Stretch) -> dict:
    fill, end = stretch.way[-1], stretch.end
    return {
        "storage": name,
        "filled": plain_form(fill),
        "until": plain_form(end) if isinstance(end, Entry) else None,
        **place_of_fill(fill),
    }


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
    fill = holding.fill_of_cylinder
    return {
        "day": str(fill.day),
        "time": write_time(fill.time) if fill.time else None,
        "on": fill.on,
        "through": [entry.subject for entry in holding.stretch.way],
        "by": fill.by,
        "let_out": plain_form(holding.let_out) if holding.let_out else None,
        **place_of_fill(fill),
    }


def place_of_fill(entry: Entry) -> dict:
    return {"file": entry.source.path, "line": entry.span.line}
