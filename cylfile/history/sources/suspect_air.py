"""
Suspect air: what came from a source around a failed sample, wherever it went, until it was let out.

A failed sample makes suspect all air of its source since the last good sample before it and until
the next good one after it. The source's air is followed through storages into cylinders. A storage
is clear of it again once it was emptied, was filled from 0 psi, or gave a good sample of its own; a
cylinder once it was emptied, tested with water, or filled from 0 psi. Adding good air to suspect
air leaves it suspect.
"""

from collections.abc import Callable
from datetime import date
from operator import itemgetter

from cylfile.history.sources.air_path import Ends, Holding, Stretch, holdings, in_time, lets_out, spread, standing
from cylfile.history.sources.order_of_air import Reading, last_day
from cylfile.record.entries import Entry
from cylfile.record.record import Record

_DAY = itemgetter(0)


class SuspectAir:
    """
    The suspect air of a record on a day: `stretches` by the name of the source that gave it.

    `fails(sample)` tells whether an air sample is a failed one.
    """

    def __init__(self, record: Record, as_of: date, fails: Callable[[Entry], bool], reading: Reading):
        self._record = record
        self._as_of = as_of
        self._reading = reading

        def clears(entry: Entry) -> bool:
            """Whether an entry of a source ends what a failed sample says of its air."""
            return not fails(entry) if entry.verb == "air sample" else lets_out(entry)

        roots = {}
        for name in record.air_sources:
            entries = standing(record, name, as_of)
            failed = [entry for entry in entries if entry.verb == "air sample" and fails(entry)]
            if failed:
                roots[name] = self._around(failed, entries, clears)
        self.stretches = spread(record, as_of, roots, clears, reading)
        # Each stretch with the days from which and until which it may be known that its air is suspect.
        self._known = {
            name: [(each, each.sample.day, each.end.day if each.end else date.max) for each in stretches]
            for name, stretches in self.stretches.items()
        }

    def _around(self, failed: list[Entry], entries: list[Entry], clears: Callable[[Entry], bool]) -> list[Stretch]:
        """What each failed sample makes suspect at its own source; of several in a row, the first speaks for all."""
        good = [entry for entry in entries if entry.verb == "air sample" and clears(entry)]
        good.sort(key=in_time)
        ends = Ends(entries, clears, self._reading)
        stretches: list[Stretch] = []
        for sample in sorted(failed, key=in_time):
            begin = next((each for each in reversed(good) if self._reading.clears(each, sample)), None)
            end = ends.after(sample)
            if not stretches or (stretches[-1].begin, stretches[-1].end) != (begin, end):
                stretches.append(Stretch(begin, end, (), sample))
        return stretches

    def of_cylinder(self, name: str) -> Holding | None:
        """The first fill with suspect air that the cylinder still holds; None where it holds none."""
        if not self.stretches:
            return None
        entries = standing(self._record, name, self._as_of)
        # What was in it before it was let out last is not in it any more.
        since = max(map(_DAY, filter(lets_out, entries)), default=date.min)
        found = holdings([entry for entry in entries if last_day(entry) >= since], self.stretches, self._reading)
        return next((holding for holding in found if holding.let_out is None), None)

    def of_storage(self, name: str) -> Holding | None:
        """The suspect air that a storage still holds; None where it holds none."""
        held = (stretch for stretch in self.stretches.get(name, ()) if stretch.end is None)
        return next((Holding(None, stretch) for stretch in held), None)

    def known_at(self, fill: Entry) -> Stretch | None:
        """The air of a fill that was suspect by what was known when it was filled; None where it was not."""
        day = fill.day
        for stretch, known, end in self._known.get(fill.on, ()):
            if (
                known <= day <= end
                and self._reading.harms(stretch.sample, fill)
                and stretch.covers(fill, self._reading)
            ):
                return stretch
        return None


def way_of(holding: Holding) -> str:
    """How suspect air came from the source that was sampled to where it is, in words: by the storages and the fill."""
    fill, stretch, _ = holding
    steps = [f"{entry.subject} filled from {entry.on} on {entry.day}" for entry in stretch.way]
    if fill is not None:
        steps.append(f"filled from {fill.on} on {fill.day}")
    return "; ".join(steps) or "its own sample"
