"""
What may be asked of the air of one fill.
"""

from datetime import date
from typing import NamedTuple


class Given(NamedTuple):
    """
    The free air of some fills in mL, None where that of one is not known; how many of them were
    assumed; and the free air of those that were not.
    """

    volume: float | None
    assumed: int
    written: float


class FillAir:
    """
    What the log says of one fill: of its source, and of the air it took. A fact that is not known is None.

    Of the source of a storage's air, the compressor that filled it last, the samples stand for those
    of a storage that has none of its own: a sample is taken before the storage.
    """

    __slots__ = ("log", "fill", "source", "state")

    def __init__(self, log, fill):
        self.log = log
        self.fill = fill
        self.source = source = log.sources.get(fill.on)
        self.state = None if source is None else source.before(fill, log.reading)

    @property
    def source_name(self) -> str | None:
        return self.source and self.source.block.name

    @property
    def kind(self) -> str | None:
        return self.source and self.source.block.kind

    @property
    def rated(self) -> float | None:
        rated = self.source and self.source.block.rated
        return rated and rated.value

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

    @property
    def _sampled(self) -> tuple:
        """Whose samples stand for the source's, and what was known of it when the fill was made."""
        log, source, state, seen = self.log, self.source, self.state, set()
        while state is not None and state.sample is None and source.block.name not in seen:
            seen.add(source.block.name)
            above = (
                log.sources.get(state.level.on) if state.level is not None and state.level.verb == "filled" else None
            )
            if above is None:
                break
            source, state = above, above.before(self.fill, log.reading)
        return source, state

    @property
    def sample_day(self) -> date | None:
        _, state = self._sampled
        return state and _day(state.good_sample)

    @property
    def sampled_source(self) -> str | None:
        source, _ = self._sampled
        return source and source.block.name

    @property
    def _failed_sample(self):
        stretch = self.log.suspect_air.known_at(self.fill)
        return stretch and stretch.origin

    @property
    def sample_failed_day(self) -> date | None:
        return _day(self._failed_sample)

    @property
    def sample_failed_source(self) -> str | None:
        return self._failed_sample and self._failed_sample.subject

    # Cartridges.

    @property
    def cartridge_day(self) -> date | None:
        return self.state and _day(self.state.change)

    @property
    def cartridge_rated(self) -> float | None:
        rated = self.source and self.source.block.cartridge
        return rated and rated.value

    @property
    def cartridge_used(self) -> float | None:
        change = self.state and self.state.change
        return change and self._given(change).volume

    @property
    def cartridge_assumed(self) -> int | None:
        change = self.state and self.state.change
        return (change and self._given(change).assumed) or None

    # What a storage gave since it was filled.

    @property
    def storage_given(self) -> float | None:
        """Of fills of which nothing is assumed, so that it is no more than was taken."""
        filled = self._storage_fill
        return filled and self._given(filled).written

    @property
    def storage_held(self) -> float | None:
        filled = self._storage_fill
        return None if filled is None else self.log.free_air_held(filled)

    @property
    def storage_filled_day(self) -> date | None:
        return _day(self._storage_fill)

    @property
    def _storage_fill(self):
        level = self.state and self.state.level
        return level if level is not None and level.verb == "filled" else None

    def _given(self, since) -> Given:
        """What the source has given since an entry of it, this fill included."""
        given = self.source.given(since, self.fill)
        if self.log.is_written(self.fill):
            return given
        air = self.free_air
        added = max(air.volume or 0.0, 0.0)
        return Given(
            None if given.volume is None or air.volume is None else given.volume + added,
            given.assumed + air.is_assumed,
            given.written + (0.0 if air.is_assumed else added),
        )

    # The air of the fill.

    @property
    def free_air(self):
        return self.log.free_air_of(self.fill)

    @property
    def free_air_volume(self) -> float | None:
        return self.free_air.volume


def _day(entry) -> date | None:
    return entry and entry.day
