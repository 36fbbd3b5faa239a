"""
Where air went: from a source into what was filled from it, through storages, until it was let out.

What nothing tells the order of is read in one of two ways: in the strict one, air is in a cylinder
unless it is told that it is not.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable
from datetime import date
from datetime import time as clock
from typing import NamedTuple

from cylfile.history.sources.order_of_air import STRICT, Reading, When, last_day
from cylfile.history.standing import standing as standing_on
from cylfile.record.blocks import AirSource
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record


class Stretch(NamedTuple):
    """
    The air that a source gave from one moment to another; None where that is open.

    `way` are the fills of storages through which it came there, the first one first. `origin` is
    what it is followed for: a failed sample, or None.
    """

    begin: When | None
    end: When | None
    way: tuple[Entry, ...] = ()
    origin: Entry | None = None

    @property
    def sample(self) -> Entry:
        """The failed sample that it is followed for, where it is."""
        assert self.origin is not None
        return self.origin

    @property
    def facts(self) -> tuple:
        """What the entries say that make it, without where they are written."""
        entries = (self.begin, self.end, self.origin, *self.way)
        return tuple(entry.facts if isinstance(entry, Entry) else entry for entry in entries)

    def covers(self, fill: Entry, reading: Reading = STRICT) -> bool:
        """Whether a fill from the source was of this air."""
        # Nearly every fill is of another day than the begin and the end, and needs no more than that.
        begin, end, day = self.begin, self.end, fill.day
        if begin is not None and (day < begin.day or (day == begin.day and not reading.harms(begin, fill))):
            return False
        return end is None or (day <= end.day and (end.day != day or not reading.clears(end, fill)))


class Holding(NamedTuple):
    """
    A fill of a cylinder with air that is followed, and what let that air out, None while it is held.
    Of a storage there is no `fill`: its stretch tells.
    """

    fill: Entry | None
    stretch: Stretch
    let_out: Entry | None = None

    @property
    def fill_of_cylinder(self) -> Entry:
        """The fill, which is there of a cylinder."""
        assert self.fill is not None
        return self.fill


def lets_out(entry: Entry) -> bool:
    """
    Whether nothing is left after an entry of the air from before it.

    A hydrostatic test fills the cylinder with water. A fill that begins at 0 psi begins empty,
    but for what stays behind at the pressure of the atmosphere.
    """
    if entry.__class__ is Filled:
        return entry.from_pressure is not None and entry.from_pressure.value <= 0
    return entry.verb in ("emptied", "hydro")


def in_time(entry: Entry) -> tuple:
    """Sort key by which entries stand in the order of their days and times, those without a time first."""
    return entry.day, entry.time is not None, entry.time


class Ends:
    """Those of some entries that end a stretch or a holding."""

    def __init__(self, entries: Iterable[Entry], wanted: Callable[[Entry], bool] = lets_out, reading: Reading = STRICT):
        found = [entry for entry in entries if wanted(entry)]
        self._entries = sorted(found, key=lambda entry: (last_day(entry), entry.time or clock.max))
        self._days = list(map(last_day, self._entries))
        self._reading = reading

    def after(self, moment: When) -> Entry | None:
        """The first of them that came after a moment; None where there is none."""
        later = self._entries[bisect_left(self._days, moment.day) :]
        clears = self._reading.clears
        return next((entry for entry in later if entry is not moment and clears(moment, entry)), None)


def standing(record: Record, name: str, as_of: date) -> list[Entry]:
    """The entries of a cylinder or a source up to a day, those that are struck left out."""
    return standing_on(record.entries.get(name, ()), as_of)


def spread(
    record: Record,
    as_of: date,
    roots: dict[str, list[Stretch]],
    ends: Callable[[Entry], bool] = lets_out,
    reading: Reading = STRICT,
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
    ending = {name: Ends(entries, ends, reading) for name, entries in storages.items()}
    fills = [entry for entries in storages.values() for entry in entries if entry.__class__ is Filled]
    fills.sort(key=in_time)
    for fill in fills:
        reached.setdefault(fill.subject, [])
    # Those that the last round found may cover fills that it had passed by then.
    last_found = roots
    while last_found:
        found: dict[str, list[Stretch]] = {}
        for fill in fills:
            for stretch in (*last_found.get(fill.on, ()), *found.get(fill.on, ())):
                if stretch.covers(fill, reading):
                    there, end = reached[fill.subject], ending[fill.subject].after(fill)
                    if not any(_is_among(fill, end, stretch.origin, other, reading) for other in there):
                        more = Stretch(fill, end, (*stretch.way, fill), stretch.origin)
                        there.append(more)
                        found.setdefault(fill.subject, []).append(more)
        last_found = found
    return {name: stretches for name, stretches in reached.items() if stretches}


def _is_among(fill: Entry, end: Entry | None, origin: Entry | None, stretch: Stretch, reading: Reading) -> bool:
    """Whether air that came with a fill of a storage is within a stretch that is known already."""
    if stretch.origin is not origin or stretch.end is not end:
        return False
    return stretch.begin is None or stretch.begin is fill or reading.harms(stretch.begin, fill)


def holds_air(source: AirSource) -> bool:
    """Whether a source can be filled: a compressor cannot, and of one of no known kind nobody knows."""
    return source.kind != "compressor"


def holdings(entries: list[Entry], reached: dict[str, list[Stretch]], reading: Reading = STRICT) -> list[Holding]:
    """Every fill of a cylinder with air of the stretches, and what let it out; `entries` are those that stand."""
    found, ends = [], None
    for fill in entries:
        if fill.__class__ is Filled and fill.on in reached:
            stretch = next((stretch for stretch in reached[fill.on] if stretch.covers(fill, reading)), None)
            if stretch is not None:
                ends = ends or Ends(entries, lets_out, reading)
                found.append(Holding(fill, stretch, ends.after(fill)))
    return found
