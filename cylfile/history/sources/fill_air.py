"""
What may be asked of the air of one fill.
"""

from datetime import date
from typing import TYPE_CHECKING

from cylfile.record.entries import Entry

if TYPE_CHECKING:
    from cylfile.history.sources.source_log import AirLog, SourceLog, SourceState


class FillAir:
    """
    What the log says of one fill: of its source, and of the air it took. A fact that is not known is None.

    Of the source of a storage's air, the compressor that filled it last, the samples stand for those
    of a storage that has none of its own: a sample is taken before the storage.
    """

    __slots__ = ("log", "fill", "source", "state", "suspect")

    def __init__(self, log: "AirLog", fill: Entry):
        self.log = log
        self.fill = fill
        self.source = source = log.sources.get(fill.on)
        # What was known of the source, and what made its air suspect by what was known.
        self.state = None if source is None else source.before(fill, log.reading)
        self.suspect = None if source is None else log.suspect_air.known_at(fill)

    @property
    def name(self) -> str | None:
        return None if self.source is None else self.source.block.name

    @property
    def kind(self) -> str | None:
        return None if self.source is None else self.source.block.kind

    @property
    def rated(self) -> float | None:
        rated = None if self.source is None else self.source.block.rated
        return None if rated is None else rated.value

    @property
    def pressure(self) -> float | None:
        """The last pressure written of a storage before the fill; nothing for a compressor."""
        level = self.state and self.state.level
        if level is None or self.kind != "storage":
            return None
        if level.verb == "emptied":
            return 0.0
        return level.reading and level.reading.value

    @property
    def delivers(self) -> float | None:
        """The most that the source can give: what a storage was filled to, and no more than its rating."""
        pressure, rated = self.pressure, self.rated
        if pressure is None or rated is None:
            return rated if pressure is None else pressure
        return min(pressure, rated)

    @property
    def out_of_service_day(self) -> date | None:
        return self.state and _day(self.state.out)

    @property
    def gauge_check_day(self) -> date | None:
        return self.state and _day(self.state.gauge_check)

    # Samples.

    def sampled(self) -> list[tuple["SourceLog", "SourceState"]]:
        """The source and those above it, up to the one whose samples stand for it, each with what was known of it."""
        chain = [(self.source, self.state)]
        while self.source is not None:
            _, state = chain[-1]
            if state.sample is not None or state.level is None or state.level.verb != "filled":
                break
            above = self.log.sources.get(state.level.on)
            if above is None or any(above is each for each, _ in chain):
                break
            chain.append((above, above.before(self.fill, self.log.reading)))
        return chain

    @property
    def sample_day(self) -> date | None:
        state = self.state
        if state is None or state.sample is not None:
            return state and _day(state.good_sample)
        return _day(self.sampled()[-1][1].good_sample)

    @property
    def sampled_source(self) -> str | None:
        source, _ = self.sampled()[-1]
        return None if source is None else source.block.name

    @property
    def sample_failed_day(self) -> date | None:
        return self.suspect and self.suspect.origin.day

    @property
    def sample_failed_source(self) -> str | None:
        return self.suspect and self.suspect.origin.subject

    # Cartridges.

    @property
    def cartridge_day(self) -> date | None:
        return self.state and _day(self.state.change)

    @property
    def cartridge_rated(self) -> float | None:
        rated = None if self.source is None else self.source.block.cartridge
        return None if rated is None else rated.value

    @property
    def cartridge_used(self) -> float | None:
        """The free air since the last change of the cartridge, this fill included, in mL."""
        change = self.state and self.state.change
        if change is None:
            return None
        used = self.source.given(change, self.fill)
        if used is None or self.log.is_written(self.fill):
            return used
        added = self.free_air
        return None if added is None else used + max(added, 0.0)

    @property
    def cartridge_assumed(self) -> int | None:
        """Of how many fills since then something was assumed, None where there are none."""
        change = self.state and self.state.change
        if change is None:
            return None
        in_mind = not self.log.is_written(self.fill) and self.log.free_air_of(self.fill).is_assumed
        return (self.source.assumed(change, self.fill) + in_mind) or None

    # What a storage gave since it was filled.

    @property
    def storage_given(self) -> float | None:
        """
        The free air that the storage has given since it was filled, this fill included, in mL.

        Of fills of which nothing is assumed, so that it is no more than was taken.
        """
        filled = self._storage_fill
        if filled is None:
            return None
        given = self.source.given_as_written(filled, self.fill)
        air = None if self.log.is_written(self.fill) else self.log.free_air_of(self.fill)
        return given if air is None or air.is_assumed else given + max(air.volume or 0.0, 0.0)

    @property
    def storage_held(self) -> float | None:
        filled = self._storage_fill
        return None if filled is None else self.log.free_air_held(filled)

    @property
    def storage_filled_day(self) -> date | None:
        return _day(self._storage_fill)

    @property
    def _storage_fill(self) -> Entry | None:
        level = self.state and self.state.level
        return level if level is not None and level.verb == "filled" else None

    @property
    def free_air(self) -> float | None:
        """The free air that the fill put in, in mL."""
        return self.log.free_air_of(self.fill).volume


def _day(entry: Entry | None) -> date | None:
    return None if entry is None else entry.day
