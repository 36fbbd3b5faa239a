"""
Suspect air: what came from a source around a failed sample, wherever it went, until it was let out.

A failed sample makes suspect all air of its source since the last good sample before it and until
the next good one after it. The source's air is followed through storages into cylinders. A storage
is clear of it again once it was emptied, was filled from 0 psi, or gave a good sample of its own; a
cylinder once it was emptied, tested with water, or filled from 0 psi. Adding good air to suspect
air leaves it suspect.
"""

from datetime import date

from cylfile.history.sources.air_path import (
    Ends,
    Holding,
    Stretch,
    holdings,
    lets_out,
    spread,
    standing,
    surely_before,
)
from cylfile.record.record import Record


class SuspectAir:
    """The suspect air of a record on a day: `stretches` by the name of the source that gave it."""

    def __init__(self, record: Record, as_of: date):
        self._record = record
        self._as_of = as_of
        roots = {name: _around_failures(standing(record, name, as_of)) for name in record.air_sources}
        roots = {name: stretches for name, stretches in roots.items() if stretches}
        self.stretches = spread(record, as_of, roots, _clears_storage)

    def of_cylinder(self, name: str) -> Holding | None:
        """The first fill with suspect air that the cylinder still holds; None where it holds none."""
        if not self.stretches:
            return None
        found = holdings(standing(self._record, name, self._as_of), self.stretches)
        return next((holding for holding in found if holding.let_out is None), None)

    def of_storage(self, name: str) -> Holding | None:
        """The suspect air that a storage still holds; None where it holds none."""
        held = (stretch for stretch in self.stretches.get(name, ()) if stretch.end is None)
        return next((Holding(None, stretch) for stretch in held), None)

    def known_at(self, fill) -> Stretch | None:
        """The air of a fill from a storage that was suspect by what was known when it was filled."""
        for stretch in self.stretches.get(fill.on, ()):
            if stretch.way and stretch.covers(fill) and not surely_before(fill, stretch.origin):
                return stretch
        return None


def way_of(holding: Holding) -> str:
    """How suspect air came to where it is, in words: the sample, the storages, the fill."""
    fill, stretch, _ = holding
    sample = stretch.origin
    steps = [f"air sample of {sample.subject} failed on {sample.day}"]
    steps += [f"{entry.subject} filled from {entry.on} on {entry.day}" for entry in stretch.way]
    if fill is not None:
        steps.append(f"this cylinder filled from {fill.on} on {fill.day}")
    return "; ".join(steps)


def _around_failures(entries: list) -> list[Stretch]:
    """What each failed sample makes suspect at its own source; of several in a row, the first speaks for all."""
    stretches = []
    failed = sorted(
        (entry for entry in entries if entry.verb == "air sample" and entry.outcome == "fail"),
        key=lambda entry: (entry.day, entry.time is not None, entry.time),
    )
    if not failed:
        return []
    passed = [entry for entry in entries if _is_good_sample(entry)]
    ends = Ends(entries, _clears_storage)
    for sample in failed:
        before = [good for good in passed if surely_before(good, sample)]
        begin = max(before, key=lambda good: (good.day, good.time is not None, good.time), default=None)
        end = ends.after(sample)
        if not stretches or (stretches[-1].begin, stretches[-1].end) != (begin, end):
            stretches.append(Stretch(begin, end, (), sample))
    return stretches


def _is_good_sample(entry) -> bool:
    return entry.verb == "air sample" and entry.outcome == "pass"


def _clears_storage(entry) -> bool:
    return _is_good_sample(entry) or lets_out(entry)
