"""
A trace for people: who holds the air and whom to call; every fill, a row each; or drawn as a tree.
"""

from collections.abc import Iterator
from typing import NamedTuple

from cylfile.history.sources.air_path import Holding
from cylfile.history.sources.air_trace import Reached, Trace
from cylfile.judging.heads import natural
from cylfile.packs.ruleset import Ruleset
from cylfile.record.entries import Entry, write_time
from cylfile.record.record import Record
from cylfile.show.terminal.heading import put_foot, whom_to_call
from cylfile.show.terminal.layout import Layout, Line, Piece, cells
from cylfile.show.visible import visible
from cylfile.text.phrases import counted

HOLDS = "HOLDS IT"
_HEADING = ("cylinder", "filled", "through", "by", "now at", "state", "this air")
_GAP = "   "
_UNDER = 4
# How many places of what cannot be read are told.
_PLACES = 5


class Traced(NamedTuple):
    """A trace and the record it was made in; `each` is whether every fill is to be listed."""

    trace: Trace
    record: Record
    rules: Ruleset
    each: bool = False


def state_of(one: Reached) -> str:
    """Whether a cylinder is in service, else why not."""
    blocked_by = (one.life.blocked_by or "").partition(":")[0]
    if one.life.in_service:
        return f"in service, {blocked_by}" if blocked_by else "in service"
    return blocked_by or "not in service"


def site_of(one: Reached, record: Record) -> str:
    """Where it is: at a site, or away with a tester."""
    name = one.life.site
    place = (record.sites.get(name) or record.testers.get(name)) if name is not None else None
    return place.title if place is not None else name or "not known"


def through_of(holding: Holding) -> str:
    """The storages that the air of a fill came through, empty where it came straight from the source."""
    return ", ".join(dict.fromkeys(fill.subject for fill in holding.stretch.way))


def moment_of(entry: Entry) -> str:
    return f"{entry.day} {write_time(entry.time)}" if entry.time else str(entry.day)


def left_by(holding: Holding) -> str:
    """What let the air out, empty while it is held."""
    entry = holding.let_out
    if entry is None:
        return ""
    what = {"emptied": "emptied", "hydro": "tested with water"}.get(entry.verb, "filled from empty")
    return f"{what} {entry.day}"


def in_urgency(reached: list[Reached]) -> list[Reached]:
    """Those in service that hold the air first, then the others that do, then the rest, each by name."""
    return sorted(reached, key=lambda one: (not one.holds_it, not one.life.in_service, natural(one.name)))


def trace_page(traced: Traced, layout: Layout) -> Iterator[Line]:
    """
    What has to be done first: the cylinders that hold the air, by where they are, with whom to call
    there and who filled them; or, where that was asked for, every fill.
    """
    trace, record, rules = traced.trace, traced.record, traced.rules
    _head(trace, layout)
    if traced.each:
        _each_fill(trace, record, layout)
    else:
        in_service = trace.still_in_service
        _holders("In service, and holding this air", in_service, record, layout, "danger")
        others = [one for one in trace.reached if one.holds_it and not one.life.in_service]
        _holders("Holding this air, not in service", others, record, layout, "strong")
    _foot(trace, layout, record, rules)
    yield from layout.lines


def _holders(title: str, holders: list[Reached], record: Record, layout: Layout, style: str) -> None:
    if not holders:
        return
    layout.blank()
    layout.put(f"{title}: {counted(len(holders), 'cylinder')}", style=style)
    places: dict[str | None, list[Reached]] = {}
    for one in sorted(holders, key=lambda one: natural(one.name)):
        places.setdefault(one.life.site, []).append(one)
    for name, there in sorted(places.items(), key=lambda item: natural(item[0] or "~")):
        call = whom_to_call(record, name) or "nobody to call is written"
        layout.put(f"{site_of(there[0], record)}; {call}", _UNDER // 2)
        layout.put(", ".join(one.name for one in there), _UNDER, style="strong")
        fills = [holding.fill_of_cylinder for one in there for holding in one.fills if holding.let_out is None]
        layout.put(_filled_by(fills), _UNDER)


def _filled_by(fills: list) -> str:
    """Who filled, and on which days."""
    people = ", ".join(dict.fromkeys(fill.by for fill in fills if fill.by)) or "nobody who is named"
    first, last = min(fill.day for fill in fills), max(fill.day for fill in fills)
    return f"filled by {people}, {first}" + (f" to {last}" if last != first else "")


def _each_fill(trace: Trace, record: Record, layout: Layout) -> None:
    rows: list[tuple[str, ...]] = []
    for one in in_urgency(trace.reached):
        for index, holding in enumerate(one.fills):
            own = (one.name, site_of(one, record), state_of(one)) if index == 0 else ("", "", "")
            air = left_by(holding) or HOLDS
            fill = holding.fill_of_cylinder
            rows.append((own[0], moment_of(fill), through_of(holding) or "-", fill.by or "-", own[1], own[2], air))
    if rows:
        layout.blank()
        _rows(rows, layout)


def _rows(rows: list[tuple[str, ...]], layout: Layout) -> None:
    """Rows in columns; on a terminal too narrow for them, each as a name with the rest under it."""
    rows = [tuple(map(visible, row)) for row in rows]
    widths = [max(map(cells, column)) for column in zip(_HEADING, *rows)]
    if layout.wraps and sum(widths) + len(_GAP) * (len(widths) - 1) > layout.width:
        for row in rows:
            if row[0]:
                layout.put_pieces([(row[0], "strong")])
            said = (f"{word} {cell}" for word, cell in zip(_HEADING[1:-1], row[1:-1]) if cell not in ("", "-"))
            layout.put(f"{', '.join(said)}: {row[-1]}", _UNDER)
        return
    for row in (_HEADING, *rows):
        pieces = []
        for index, (cell, width) in enumerate(zip(row, widths)):
            style = "danger" if cell == HOLDS else "strong" if index == 0 or row is _HEADING else ""
            pieces += [(cell, style), (" " * (width - cells(cell)) + _GAP, "")]
        layout.put_pieces(pieces[:-1])


def trace_tree(traced: Traced, layout: Layout) -> Iterator[Line]:
    """The source, what was filled from it, and under each storage what was filled from that."""
    trace, record, rules = traced.trace, traced.record, traced.rules
    _head(trace, layout)
    children: dict[str, list] = {}
    for one in in_urgency(trace.reached):
        for holding in one.fills:
            children.setdefault(holding.fill_of_cylinder.on, []).append((one, holding))
    for name, stretches in trace.storages.items():
        for stretch in stretches:
            children.setdefault(stretch.way[-1].on, []).append((name, stretch))
    layout.blank()
    layout.put_pieces([(trace.source.name, "strong")])
    _Tree(record, children, layout).draw(trace.source.name, "", {trace.source.name})
    _foot(trace, layout, record, rules)
    yield from layout.lines


class _Tree:
    def __init__(self, record: Record, children: dict[str, list], layout: Layout):
        self.record = record
        self.children = children
        self.layout = layout

    def draw(self, name: str, before: str, above: set[str]) -> None:
        """What was filled from a source, each on a line. A storage that stands above itself is not drawn again."""
        tee, corner, through, nothing = self.layout.signs.branches
        below = self.children.get(name, [])
        for index, (thing, how) in enumerate(below):
            is_last = index == len(below) - 1
            stem, under = before + (corner if is_last else tee), before + (nothing if is_last else through)
            if isinstance(thing, Reached):
                self._cylinder(thing, how, stem, under)
                continue
            first = how.way[-1]
            end = f", until {how.end.day}" if how.end else ", and has it still"
            self._put(stem, under, [(thing, "strong"), (f"   filled {moment_of(first)}{end}", "")])
            # Of the stretches of a storage, the last one listed has under it what came from any of them.
            more = any(other == thing for other, _ in below[index + 1 :])
            if thing not in above and not more:
                self.draw(thing, under, above | {thing})

    def _cylinder(self, one: Reached, holding: Holding, stem: str, under: str) -> None:
        fill = holding.fill_of_cylinder
        by = f" by {fill.by}" if fill.by else ""
        air = left_by(holding)
        told = [
            (one.name, "strong"),
            (f"   filled {moment_of(fill)}{by}", ""),
            (f"   {site_of(one, self.record)}, {state_of(one)}", ""),
            ("   ", ""),
            (air or HOLDS, "" if air else "danger"),
        ]
        self._put(stem, under, told)

    def _put(self, stem: str, under: str, pieces: list[Piece]) -> None:
        """Put pieces behind a stem, and `under` it, behind what goes on of the tree, those that there is no room for."""
        layout = self.layout
        line, taken = [(stem, "faint")], cells(stem)
        for text, style in pieces:
            if layout.wraps and len(line) > 1 and taken + cells(text) > layout.width:
                layout.put_pieces(line)
                line, taken = [(under, "faint"), (_GAP, "")], cells(under) + len(_GAP)
                text = text.lstrip(" ")
            line.append((text, style))
            taken += cells(text)
        layout.put_pieces(line)


def _head(trace: Trace, layout: Layout) -> None:
    source = trace.source
    days = f"air of {trace.first}" if trace.first == trace.last else f"air of {trace.first} to {trace.last}"
    if trace.unread:
        places = [fault.span.place for fault in trace.unread]
        more = f" and {len(places) - _PLACES} more" if len(places) > _PLACES else ""
        text = f"Not all of the record can be read, and more cylinders may have this air: {', '.join(places[:_PLACES])}{more}"
        layout.put(text, style="danger")
        layout.blank()
    text = f"{source.title}, a {source.kind or 'source of air'}; {days}, as of {trace.as_of}"
    layout.put(text, len(source.name) + 3, first=[(source.name, "strong")])
    holding = sum(one.holds_it for one in trace.reached)
    in_service = f", {_of(len(trace.still_in_service))} of them in service" if holding else ""
    layout.put(f"{counted(len(trace.reached), 'cylinder')} took this air; {_of(holding)} hold it still{in_service}.")


def _foot(trace: Trace, layout: Layout, record: Record, rules: Ruleset) -> None:
    layout.blank()
    for name, stretches in trace.storages.items():
        ends = [stretch.end.day for stretch in stretches if stretch.end is not None]
        holds_it = len(ends) < len(stretches)
        kept = "holds it still" if holds_it else f"held it until {max(ends)}"
        layout.put(f"Storage {name} took this air and {kept}.", style="strong" if holds_it else "")
    if not trace.still_in_service:
        layout.put("No cylinder in service holds it.")
    if trace.unnamed:
        name = "names" if len(trace.unnamed) == 1 else "name"
        layout.put(f"{counted(len(trace.unnamed), 'fill')} of these days {name} no source, and may have been of it.")
    put_foot(layout, record, rules)


def _of(number: int) -> str:
    return f"{number:,}" if number else "none"
