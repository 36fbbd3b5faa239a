"""
The way of suspect air as a drawing: from the source of a failed sample through storages into cylinders.
"""

from collections.abc import Iterator
from typing import NamedTuple

from markupsafe import Markup, escape

from cylfile.history.sources.air_path import Holding, Stretch, holdings, standing
from cylfile.judging.heads import natural
from cylfile.judging.judge import Judgement
from cylfile.record.entries import Entry, Filled
from cylfile.show.visible import visible

_BOX, _HIGH, _APART, _BETWEEN = 210, 36, 10, 70
# Cylinders that hold the air still have a box each up to this many from one source; the list below names all.
_MOST = 24
_LONGEST = 24


class AirWay(NamedTuple):
    """
    The suspect air around a failed sample: `storages` that took it, each with its stretch, and the `cylinders` that
    did, each with its fills.
    """

    sample: Entry
    storages: list[tuple[str, Stretch]]
    cylinders: list[tuple[str, list[Holding]]]

    @property
    def holders(self) -> list[tuple[str, list[Holding]]]:
        """The cylinders that hold it still."""
        return [(name, fills) for name, fills in self.cylinders if any(fill.let_out is None for fill in fills)]


def suspect_ways(judgement: Judgement) -> list[AirWay]:
    """The ways of all suspect air of a record, those of one failed sample together, the latest first."""
    record, as_of = judgement.record, judgement.as_of
    reached = judgement.air.suspect_air.stretches
    by_sample: dict[int, AirWay] = {}
    for name, stretches in reached.items():
        for stretch in stretches:
            if stretch.origin is None:
                continue
            way = by_sample.setdefault(id(stretch.origin), AirWay(stretch.origin, [], []))
            if stretch.way:
                way.storages.append((name, stretch))
    if not by_sample:
        return []
    for name in sorted(record.cylinders, key=natural):
        fills: dict[int, list[Holding]] = {}
        for holding in holdings(standing(record, name, as_of), reached):
            fills.setdefault(id(holding.stretch.origin), []).append(holding)
        for origin, of_origin in fills.items():
            by_sample[origin].cylinders.append((name, of_origin))
    return sorted(by_sample.values(), key=lambda way: way.sample.day, reverse=True)


class _Box(NamedTuple):
    words: str
    under: str
    kind: str
    came_from: str


def air_picture(way: AirWay) -> Markup:
    """The drawing as an SVG element: what was filled from something stands in a column to the right of it."""
    root = way.sample.subject
    columns: list[dict[str, _Box]] = [{root: _Box(root, f"sample failed {way.sample.day}", "failed", "")}]
    levels = {root: 0}
    for name, stretch in sorted(way.storages, key=lambda each: len(each[1].way)):
        level = len(stretch.way)
        while len(columns) <= level:
            columns.append({})
        end = f"held it until {stretch.end.day}" if stretch.end else "holds it still"
        kind = "clear" if stretch.end else "holds"
        if name not in levels:
            levels[name] = level
            columns[level][name] = _Box(name, end, kind, stretch.way[-1].on)
    columns.append({})
    for number, box in enumerate(_cylinders(way)):
        columns[levels[box.came_from] + 1][f" {number}"] = box
    columns = [column for column in columns if column]
    tallest = max(map(len, columns))
    height = tallest * (_HIGH + _APART) + 2
    width = len(columns) * _BOX + (len(columns) - 1) * _BETWEEN + 2
    places: dict[str, tuple[float, float]] = {}
    lines, boxes = [], []
    for number, column in enumerate(columns):
        x = number * (_BOX + _BETWEEN) + 1
        top = (height - len(column) * (_HIGH + _APART)) / 2 + _APART / 2
        for row, (key, box) in enumerate(column.items()):
            y = top + row * (_HIGH + _APART)
            if box.came_from in places:
                lines.append(_line(places[box.came_from], (x, y + _HIGH / 2)))
            if key in levels:
                places[key] = (x + _BOX, y + _HIGH / 2)
            boxes.append(_drawn(box, x, y))
    said = escape(visible(f"The way of the air of {way.sample.subject}; the list below tells it in words."))
    return Markup(
        f'<svg class="way" viewBox="0 0 {width} {height}" style="max-width:{width}px" role="img" aria-label="{said}">'
        f"{''.join(lines)}{''.join(boxes)}</svg>"
    )


def _cylinders(way: AirWay) -> Iterator[_Box]:
    """A box for each cylinder that holds the air still, and one for all of a source that do no longer."""
    still: dict[str, list[str]] = {}
    clear: dict[str, list[str]] = {}
    for name, fills in way.cylinders:
        held = [fill for fill in fills if fill.let_out is None]
        (still if held else clear).setdefault((held or fills)[0].fill_of_cylinder.on, []).append(name)
    for source, names in still.items():
        yield from (_Box(name, "holds it still", "holds", source) for name in names[:_MOST])
        if len(names) > _MOST:
            yield _Box(f"{len(names) - _MOST} more cylinders", "hold it still", "holds", source)
    for source, names in clear.items():
        words = names[0] if len(names) == 1 else f"{len(names)} cylinders"
        yield _Box(words, "let out since", "clear", source)


def _line(begin: tuple[float, float], end: tuple[float, float]) -> str:
    (x, y), (to_x, to_y) = begin, end
    half = (x + to_x) / 2
    return (
        f'<path class="flow" d="M{x:g} {y:g}C{half:g} {y:g} {half:g} {to_y:g} {to_x - 8:g} {to_y:g}h8m-7 -4l7 4l-7 4"/>'
    )


def _drawn(box: _Box, x: float, y: float) -> str:
    words = visible(box.words)
    words = words if len(words) <= _LONGEST else words[: _LONGEST - 3] + "..."
    return (
        f'<rect class="{box.kind}" x="{x:g}" y="{y:g}" width="{_BOX}" height="{_HIGH}" rx="3"/>'
        f'<text class="strong" x="{x + 10:g}" y="{y + 15:g}">{escape(words)}</text>'
        f'<text class="small" x="{x + 10:g}" y="{y + 30:g}">{escape(box.under)}</text>'
    )


def filled_from(judgement: Judgement, source: str) -> list[Entry]:
    """The fills that stand with air of a source, in the order of their days."""
    found = [
        entry
        for name in judgement.record.entries
        for entry in standing(judgement.record, name, judgement.as_of)
        if entry.__class__ is Filled and entry.on == source
    ]
    return sorted(found, key=lambda entry: entry.day)
