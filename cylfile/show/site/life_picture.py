"""
A cylinder's life as a drawing: pressures against the limit, tests, inspections and service along a line of years.

Every mark has a shape of its own, so that the drawing says the same without color.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from markupsafe import Markup, escape

from cylfile.history.life import Life
from cylfile.packs.wording import in_words
from cylfile.record.dates import NEVER
from cylfile.show.terminal.life_line import LifeLine

# Units of the drawing; a page scales it to its width.
WIDTH = 960
_LEFT, _RIGHT = 104, 16
_CHART, _ROW = 170, 30
# More pressures before a fill than this would be a plain ground, and more readings than that have no words of their own.
_MOST_RISES, _MOST_NAMED = 300, 100
# Nothing further off than this is drawn: the years before would be too narrow.
_FARTHEST_YEARS = 15
_MEANINGS = {
    "M": "made", "T": "test passed", "X": "test failed", "D": "next test due", "E": "end of life",
    "v": "inspection passed", "x": "inspection failed", "d": "next inspection due",
}  # fmt: skip
_SERVICE = {"": "in service", ".": "out of service", "!": "failed, damaged or overdue"}
_OF_SERVICE = {"": "in", ".": "out", "!": "bad"}


class Reached(NamedTuple):
    """
    A pressure that was read, psi: settled to the reference temperature where `is_settled`, else as it was read.

    `is_over` tells that a finding speaks of it; of a fill, `before` is what was read before it.
    """

    day: date
    psi: float
    is_settled: bool
    is_over: bool
    before: float | None = None


class _Scale:
    """Where a day stands."""

    def __init__(self, first: date, last: date):
        self.first, self.last = first, last
        self._days = max((last - first).days, 1)

    def __call__(self, day: date) -> float:
        share = (day - self.first).days / self._days
        return round(_LEFT + min(max(share, 0), 1) * (WIDTH - _LEFT - _RIGHT), 1)


def life_picture(life: Life, line: LifeLine, reached: Sequence[Reached]) -> Markup:
    """The drawing as an SVG element; empty where no day is known."""
    farthest = date(min(line.as_of.year + _FARTHEST_YEARS, NEVER.year), 12, 31)
    marks = [each for each in (*line.tests, *line.visuals) if each[0] <= farthest]
    days = [day for day, _ in marks] + line.fills + [day for each in line.stretches for day in each[:2]]
    if not days:
        return Markup("")
    scale = _Scale(min(days), max(*days, line.as_of))
    parts: list[str] = []
    top = 18.0
    if reached:
        parts += _chart(life, reached, scale, top)
        top += _CHART + 22
    for label, row in (("tests", line.tests), ("visuals", line.visuals)):
        shown = [each for each in row if each[0] <= farthest]
        if shown:
            parts += _row(label, top)
            parts += (_mark(kind, scale(day), top, f"{_MEANINGS[kind]} {day}") for day, kind in sorted(shown))
            top += _ROW
    parts += _row("service", top)
    parts += _bands(line, scale, top)
    top += _ROW
    parts += _years(scale, top)
    parts.append(_today(scale(line.as_of), line.as_of, top))
    said = _said(life, line, reached)
    height = round(top + 24)
    return Markup(
        f'<svg class="life" viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{escape(said)}">'
        f"{''.join(parts)}</svg>"
    )


def legend(line: LifeLine, reached: Sequence[Reached]) -> Iterator[tuple[Markup, str]]:
    """Each shape that is in the drawing, and what it stands for."""
    used = {kind for _, kind in (*line.tests, *line.visuals)}
    if any(each.is_settled and not each.is_over for each in reached):
        yield _icon(_dot("settled", 10, 10)), "a reading, settled to the reference temperature"
    if any(not each.is_settled and not each.is_over for each in reached):
        yield _icon(_dot("read", 10, 10)), "a reading without a gas temperature, as it was read"
    if any(each.is_over for each in reached):
        yield _icon(_triangle(10, 10)), "a reading of which a finding speaks"
    if 0 < sum(each.before is not None for each in reached) <= _MOST_RISES:
        yield _icon('<path class="rise" d="M10 2V18"/>'), "from the pressure before the fill, as it was read"
    yield from ((_icon(_mark(kind, 10, 10)), meaning) for kind, meaning in _MEANINGS.items() if kind in used)
    signs = {sign for _, _, sign in line.stretches}
    for sign, meaning in _SERVICE.items():
        if sign in signs:
            yield _icon(_band(_OF_SERVICE[sign], 0, 20, 10)), meaning


def _icon(shape: str) -> Markup:
    return Markup(f'<svg class="life key" viewBox="0 0 20 20" aria-hidden="true">{shape}</svg>')


def _said(life: Life, line: LifeLine, reached: Sequence[Reached]) -> str:
    """The drawing in words, for those who hear it; the tables below it say all."""
    words = [f"The life of {life.name} as a line of years."]
    words += (f"{_MEANINGS[kind]} {day}." for day, kind in sorted([*line.tests, *line.visuals]))
    if reached:
        most = max(reached, key=lambda each: each.psi)
        words.append(f"{len(reached)} readings, the highest {in_words(most.psi, 'pressure', life.pressure_unit)}.")
    return " ".join(words)


def _chart(life: Life, reached: Sequence[Reached], scale: _Scale, top: float) -> Iterator[str]:
    limit = life.fill_limit
    most = max([each.psi for each in reached] + ([limit * 1.12] if limit else [])) * 1.04 or 1.0

    def height(psi: float) -> float:
        return round(top + _CHART * (1 - psi / most), 1)

    yield f'<path class="frame" d="M{_LEFT} {top}V{top + _CHART}H{WIDTH - _RIGHT}"/>'
    yield _text("pressure", 0, top + _CHART * 0.4, "label")
    unit = life.pressure_unit
    if limit:
        at = height(limit)
        yield f'<path class="limit" d="M{_LEFT} {at}H{WIDTH - _RIGHT}"/>'
        yield _text(in_words(limit, "pressure", unit), _LEFT - 8, at + 4, "end strong")
        yield _text("fill limit", _LEFT - 8, at + 19, "end small")
        half = height(limit / 2)
        yield f'<path class="grid" d="M{_LEFT} {half}H{WIDTH - _RIGHT}"/>'
        yield _text(in_words(limit / 2, "pressure", unit), _LEFT - 8, half + 4, "end small")
    yield _text(f"0 {unit}", _LEFT - 8, top + _CHART, "end small")
    rises = dict.fromkeys(
        f"M{scale(each.day):g} {height(each.before):g}V{height(each.psi):g}"
        for each in reached
        if each.before is not None
    )
    if 0 < len(rises) <= _MOST_RISES:
        yield f'<path class="rise" d="{"".join(rises)}"/>'
    for name, group in (
        ("settled", [each for each in reached if each.is_settled and not each.is_over]),
        ("read", [each for each in reached if not each.is_settled and not each.is_over]),
    ):
        # Each a stroke of no length with round ends: a dot. The same place is drawn once.
        dots = dict.fromkeys(f"M{scale(each.day):g} {height(each.psi):g}h0" for each in group)
        if dots:
            yield f'<path class="dot" d="{"".join(dots)}"/>'
            if name == "read":
                yield f'<path class="hole" d="{"".join(dots)}"/>'
    over = [each for each in reached if each.is_over]
    if len(over) > _MOST_NAMED:
        yield f'<path class="over" d="{"".join(dict.fromkeys(_triangle_at(scale(each.day), height(each.psi)) for each in over))}"/>'
    else:
        for each in over:
            words = f"{in_words(each.psi, 'pressure', unit)} on {each.day}"
            yield _titled(_triangle(scale(each.day), height(each.psi)), words)


def _row(label: str, top: float) -> Iterator[str]:
    yield _text(label, 0, top + 4, "label")
    yield f'<path class="grid" d="M{_LEFT} {top}H{WIDTH - _RIGHT}"/>'


def _bands(line: LifeLine, scale: _Scale, top: float) -> Iterator[str]:
    for first, last, sign in _joined(line.stretches):
        begin, end = scale(first), scale(last)
        band = _band(_OF_SERVICE[sign], begin, max(end - begin, 3), top)
        yield _titled(band, f"{_SERVICE[sign]} {first} to {last}")


def _joined(stretches: list[tuple[date, date, str]]) -> list[tuple[date, date, str]]:
    """Stretches of one sign that follow each other as one."""
    joined: list[tuple[date, date, str]] = []
    for first, last, sign in stretches:
        if joined and joined[-1][2] == sign and joined[-1][1] == first:
            first = joined.pop()[0]
        joined.append((first, last, sign))
    return joined


def _band(kind: str, x: float, width: float, y: float) -> str:
    """A bar: full where in service, empty where out of it, crossed by strokes where it must not be used."""
    if kind == "in":
        return f'<rect class="in" x="{x:g}" y="{y - 5:g}" width="{width:g}" height="10"/>'
    shape = f'<rect class="{kind}" x="{x:g}" y="{y - 6:g}" width="{width:g}" height="12"/>'
    if kind == "bad":
        strokes = "".join(f"M{x + at:g} {y + 6:g}l6 -12" for at in range(2, max(int(width) - 6, 1), 8))
        shape += f'<path class="stroke" d="{strokes}"/>' if strokes else ""
    return shape


def _years(scale: _Scale, top: float) -> Iterator[str]:
    first, last = scale.first.year, scale.last.year
    every = next(each for each in (1, 2, 5, 10, 20, 50, 100, 1_000, 10_000) if (last - first + 1) / each <= 14)
    for year in range(first, last + 1):
        if year % every == 0 and date(year, 1, 1) >= scale.first:
            at = scale(date(year, 1, 1))
            yield f'<path class="tick" d="M{at} {top - 10}v5"/>'
            if at < WIDTH - _RIGHT - 16:
                yield _text(str(year), at, top + 8, "middle small")


def _today(at: float, day: date, bottom: float) -> str:
    anchor = "end" if at > WIDTH - 120 else "start"
    x = at - 5 if anchor == "end" else at + 5
    return f'<path class="today" d="M{at} 6V{bottom - 10}"/>' + _text(str(day), x, 12, f"{anchor} today-said")


def _mark(kind: str, x: float, y: float, title: str = "") -> str:
    return _titled(f'<path class="{_CLASS[kind]}" d="{_SHAPES[kind].format(x=x, y=y)}"/>', title)


# Shapes of about 14 units around a point.
_SHAPES = {
    "M": "M{x} {y}m-6 -6h12v12h-12z",
    "T": "M{x} {y}m0 -8l8 8l-8 8l-8 -8z",
    "X": "M{x} {y}m-6 -6l12 12m0 -12l-12 12",
    "D": "M{x} {y}m0 -7l7 7l-7 7l-7 -7z",
    "E": "M{x} {y}m-3 -9v18m6 -18v18",
    "v": "M{x} {y}m-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0z",
    "x": "M{x} {y}m-5 -5l10 10m0 -10l-10 10",
    "d": "M{x} {y}m-5 0a5 5 0 1 0 10 0a5 5 0 1 0 -10 0z",
}
_CLASS = {"M": "open", "T": "full", "X": "cross", "D": "open", "E": "end-mark", "v": "full", "x": "cross", "d": "open"}


def _triangle(x: float, y: float) -> str:
    return f'<path class="over" d="{_triangle_at(x, y)}"/>'


def _triangle_at(x: float, y: float) -> str:
    return f"M{x:g} {y:g}m0 -7l7 12h-14z"


def _dot(kind: str, x: float, y: float) -> str:
    hole = f'<path class="hole" d="M{x} {y}h0"/>' if kind == "read" else ""
    return f'<path class="dot" d="M{x} {y}h0"/>{hole}'


def _titled(shape: str, title: str) -> str:
    return f"<g><title>{escape(title)}</title>{shape}</g>" if title else shape


def _text(words: str, x: float, y: float, classes: str) -> str:
    return f'<text class="{classes}" x="{x:g}" y="{y:g}">{escape(words)}</text>'


def readings(life: Life, entries: Iterable, flagged: set) -> list[Reached]:
    """The pressures of fills and gauge readings, of entries that stand; `flagged` are the places of findings."""
    found = []
    for entry, place in entries:
        if entry.reading is not None:
            settled = life.settled(entry)
            psi = entry.reading.value if settled is None else settled
            before = getattr(entry, "from_pressure", None)
            found.append(Reached(entry.day, psi, settled is not None, place in flagged, before and before.value))
    return found
