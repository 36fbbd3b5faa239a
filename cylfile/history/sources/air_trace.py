"""
Tracing: which cylinders took air from a source within some days, through storage too, and where they are now.
"""

from datetime import date
from typing import NamedTuple

from cylfile.history.figures import Figures, figures_of
from cylfile.history.fold import steps_through
from cylfile.history.life import Life
from cylfile.history.order import Moment
from cylfile.history.sources.air_path import Holding, Stretch, holdings, in_time, spread, standing
from cylfile.record.blocks import AirSource
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record
from cylfile.text.source import Fault


class Reached(NamedTuple):
    """A cylinder that took the air: its fills with it, in order, and its life on the as-of day."""

    life: Life
    fills: list[Holding]

    @property
    def name(self) -> str:
        return self.life.name

    @property
    def holds_it(self) -> bool:
        """Whether it holds some of that air still."""
        return any(holding.let_out is None for holding in self.fills)


class Trace(NamedTuple):
    """
    What became of the air of a source between two days.

    `storages` maps the name of each storage that took some to its stretches; the first fill with
    it is the last one of a stretch's `way`. `unnamed` are the fills of those days that name no
    source, and `unread` is what cannot be read: any of it may have been of it.
    """

    source: AirSource
    first: date
    last: date
    as_of: date
    storages: dict[str, list[Stretch]]
    reached: list[Reached]
    unnamed: list[Entry]
    unread: list[Fault]

    @property
    def still_in_service(self) -> list[Reached]:
        """The cylinders in service that hold that air still."""
        return [one for one in self.reached if one.holds_it and one.life.in_service]


def trace_air(record: Record, source: str, first: date, last: date, as_of: date) -> Trace:
    """Follow the air that a source gave from the first to the last day, both of them included."""
    root = Stretch(Moment(first), Moment(last))
    stretches = spread(record, as_of, {source: [root]})
    reached, unnamed = [], []
    for name in record.cylinders:
        entries = standing(record, name, as_of)
        found = holdings(entries, stretches)
        if found:
            found.sort(key=lambda holding: in_time(holding.fill_of_cylinder))
            reached.append(Reached(_life(record, name, entries, as_of), found))
        unnamed += [
            entry for entry in entries if entry.__class__ is Filled and entry.on is None and first <= entry.day <= last
        ]
    through = {name: [one for one in found if one is not root] for name, found in stretches.items()}
    storages = {name: found for name, found in through.items() if found}
    return Trace(record.air_sources[source], first, last, as_of, storages, reached, unnamed, record.unread)


def _life(record: Record, name: str, entries: list[Entry], as_of: date) -> Life:
    """The state of a cylinder, for which no rules are needed."""
    card = record.cylinders[name]
    life = Life(card, figures_of(card, Figures())[0], record.authority, as_of)
    for _ in steps_through(life, entries):
        pass
    return life
