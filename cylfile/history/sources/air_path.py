"""
Where air went: from a source into what was filled from it, through storages, until it was let out.

Nobody can tell apart what happened on one day without times. Here such things are taken in the
order that leaves more air in doubt: air is in a cylinder unless it is sure that it is not.
"""

from bisect import bisect_left
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


class Ends:
    """Those of some entries that end a stretch or a holding."""

    def __init__(self, entries: Iterable, wanted: Callable = lets_out):
        found = [entry for entry in entries if wanted(entry)]
        self._entries = sorted(found, key=lambda entry: (entry.day, entry.time or clock.max))
        self._days = [entry.day for entry in self._entries]

    def after(self, moment):
        """The first of them that came surely after a moment; None where there is none."""
        later = self._entries[bisect_left(self._days, moment.day) :]
        return next((entry for entry in later if surely_before(moment, entry)), None)


def standing(record: Record, name: str, as_of: date) -> list:
    """The entries of a cylinder or a source up to a day, those that are struck left out."""
    return [entry for entry in record.entries.get(name, ()) if entry.struck is None and entry.day <= as_of]


def spread(
    record: Record, as_of: date, roots: dict[str, list[Stretch]], ends: Callable = lets_out
) -> dict[str, list[Stretch]]:
    """
    The stretches of all sources that the air of `roots` came to, those of the roots among them.

    `ends(entry)` tells which entries of a storage end a stretch there. A storage that is filled
    from another one is followed like one that is filled from a compressor. Of several fills
    between two ends, the first speaks for all: from then on that air is in the storage.
    """
    reached = {name: list(stretches) for name, stretches in roots.items()}
    if not roots:
        return reached
    storages = {name: standing(record, name, as_of) for name, block in record.air_sources.items() if holds_air(block)}
    ending = {name: Ends(entries, ends) for name, entries in storages.items()}
    fills = [entry for entries in storages.values() for entry in entries if entry.__class__ is Filled]
    fills.sort(key=lambda fill: (fill.day, fill.time or clock.min))
    grows = True
    while grows:
        grows = False
        for fill in fills:
            there = reached.setdefault(fill.subject, [])
            for stretch in list(reached.get(fill.on, ())):
                if stretch.covers(fill):
                    end = ending[fill.subject].after(fill)
                    if not any(_is_among(fill, end, stretch.origin, other) for other in there):
                        there.append(Stretch(fill, end, (*stretch.way, fill), stretch.origin))
                        grows = True
    return {name: stretches for name, stretches in reached.items() if stretches}


def _is_among(fill, end, origin, stretch: Stretch) -> bool:
    """Whether air that came with a fill of a storage is within a stretch that is known already."""
    if stretch.origin is not origin or stretch.end is not end:
        return False
    return stretch.begin is None or not surely_before(fill, stretch.begin)


def holds_air(source: AirSource) -> bool:
    """Whether a source can be filled: a compressor cannot, and of one of no known kind nobody knows."""
    return source.kind != "compressor"


def holdings(entries: list, reached: dict[str, list[Stretch]]) -> list[Holding]:
    """Every fill of a cylinder with air of the stretches, and what let it out; `entries` are those that stand."""
    found, ends = [], None
    for fill in entries:
        if fill.__class__ is Filled and fill.on in reached:
            stretch = next((stretch for stretch in reached[fill.on] if stretch.covers(fill)), None)
            if stretch is not None:
                ends = ends or Ends(entries)
                found.append(Holding(fill, stretch, ends.after(fill)))
    return found
