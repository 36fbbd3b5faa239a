"""
Where air went: from a source into what was filled from it, through storages, until it was let out.

Nobody can tell apart what happened on one day without times. Here such things are taken in the
order that leaves more air in doubt: air is in a cylinder unless it is sure that it is not.
"""

from collections.abc import Callable, Iterable
from datetime import date
from datetime import time as clock
from typing import NamedTuple

from cylfile.record.blocks import AirSource
from cylfile.record.entries import Filled
from cylfile.record.record import Record


class Moment(NamedTuple):
    """A day, and a time where one is known. Entries are moments too."""

    day: date
    time: clock | None = None


class Stretch(NamedTuple):
    """
    The air that a source gave from one moment to another; None where that is open.

    `way` are the fills of storages through which it came there, the first one first. `origin` is
    what it is followed for: a failed sample, or None.
    """

    begin: Moment | None
    end: Moment | None
    way: tuple = ()
    origin: object = None

    def covers(self, fill) -> bool:
        """Whether a fill from the source may have been of this air."""
        return not (self.begin and surely_before(fill, self.begin)) and not (self.end and surely_before(self.end, fill))


class Holding(NamedTuple):
    """
    A fill of a cylinder with air that is followed, and what let that air out, None while it is held.
    Of a storage there is no `fill`: its stretch tells.
    """

    fill: object
    stretch: Stretch
    let_out: object = None


def surely_before(one, other) -> bool:
    """Whether a moment came before another one, beyond doubt."""
    if one.day != other.day:
        return one.day < other.day
    return one.time is not None and other.time is not None and one.time < other.time


def lets_out(entry) -> bool:
    """
    Whether nothing is left after an entry of the air from before it.

    A hydrostatic test fills the cylinder with water. A fill that begins at 0 psi begins empty,
    but for what stays behind at the pressure of the atmosphere.
    """
    if entry.__class__ is Filled:
        return entry.from_pressure is not None and entry.from_pressure.value <= 0
    return entry.verb in ("emptied", "hydro")


def first_after(moment, entries: Iterable, wanted: Callable = lets_out):
    """The first of the entries that are wanted and came surely after a moment; None where there is none."""
    after = [entry for entry in entries if wanted(entry) and surely_before(moment, entry)]
    return min(after, key=lambda entry: (entry.day, entry.time or clock.max), default=None)


def standing(record: Record, name: str, as_of: date) -> list:
    """The entries of a cylinder or a source up to a day, those that are struck left out."""
    return [entry for entry in record.entries.get(name, ()) if entry.struck is None and entry.day <= as_of]


def spread(
    record: Record, as_of: date, roots: dict[str, list[Stretch]], ends: Callable = lets_out
) -> dict[str, list[Stretch]]:
    """
    The stretches of all sources that the air of `roots` came to, those of the roots among them.

    `ends(entry)` tells which entries of a storage end a stretch there. A storage that is filled
    from another one is followed like one that is filled from a compressor.
    """
    reached = {name: list(stretches) for name, stretches in roots.items()}
    storages = {name: standing(record, name, as_of) for name, block in record.air_sources.items() if holds_air(block)}
    known: set[tuple[int, int]] = set()
    grows = bool(roots)
    while grows:
        grows = False
        for name, entries in storages.items():
            for fill in entries:
                if fill.__class__ is not Filled:
                    continue
                for stretch in list(reached.get(fill.on, ())):
                    key = id(fill), id(stretch.origin)
                    if key not in known and stretch.covers(fill):
                        known.add(key)
                        end = first_after(fill, entries, ends)
                        arrived = Stretch(Moment(fill.day, fill.time), end, (*stretch.way, fill), stretch.origin)
                        reached.setdefault(name, []).append(arrived)
                        grows = True
    return reached


def holds_air(source: AirSource) -> bool:
    """Whether a source can be filled: a compressor cannot, and of one of no known kind nobody knows."""
    return source.kind != "compressor"


def holdings(entries: list, reached: dict[str, list[Stretch]]) -> list[Holding]:
    """Every fill of a cylinder with air of the stretches, and what let it out; `entries` are those that stand."""
    found = []
    for fill in entries:
        if fill.__class__ is Filled and fill.on in reached:
            stretch = next((stretch for stretch in reached[fill.on] if stretch.covers(fill)), None)
            if stretch is not None:
                found.append(Holding(fill, stretch, first_after(fill, entries)))
    return found
