"""
What a source had to give for a fill, and what it had given by then.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from cylfile.record.entries import Entry

if TYPE_CHECKING:
    from cylfile.history.sources.air_log import AirLog
    from cylfile.history.sources.source_log import SourceLog, SourceState


class SourceThen:
    """
    A source as it was known at a moment, whoever was filled then. What is not known is None.

    `state` are its last entries. `change` is the last of its cartridge, `storage_fill` that of a storage where it was
    not emptied since, and `storage_held` the free air in it then, in mL.
    """

    __slots__ = (
        "log", "state", "name", "kind", "rated", "pressure", "delivers", "out_of_service_day", "gauge_check_day",
        "good_sample_day", "change", "cartridge_day", "cartridge_rated", "storage_fill", "storage_held", "storage_filled_day",
    )  # fmt: skip

    def __init__(self, log: "SourceLog", state: "SourceState", held: Callable[[Entry], float | None]):
        block, level = log.block, state.level
        self.log = log
        self.state = state
        self.name = block.name
        self.kind = block.kind
        self.rated = block.rated and block.rated.value
        # The last pressure written of a storage; nothing for a compressor.
        self.pressure = None
        if level is not None and block.kind == "storage":
            self.pressure = 0.0 if level.verb == "emptied" else level.reading and level.reading.value
        # The most that the source can give: what a storage was filled to, and no more than its rating.
        self.delivers = self.rated if self.pressure is None else self.pressure
        if self.delivers is not None and self.rated is not None:
            self.delivers = min(self.delivers, self.rated)
        self.out_of_service_day = state.out and state.out.day
        self.gauge_check_day = state.gauge_check and state.gauge_check.day
        self.good_sample_day = state.good_sample and state.good_sample.day
        self.change = state.change
        self.cartridge_day = state.change and state.change.day
        self.cartridge_rated = block.cartridge and block.cartridge.value
        self.storage_fill = level if level is not None and level.verb == "filled" else None
        self.storage_held = self.storage_fill and held(self.storage_fill)
        self.storage_filled_day = self.storage_fill and self.storage_fill.day

    def counts_from(self, other: "SourceThen") -> bool:
        """Whether what it gave is counted from the same entries as what another gave."""
        pairs = (self.change, other.change), (self.storage_fill, other.storage_fill)
        return all(one is its or (one and its and one.facts == its.facts) for one, its in pairs)


class Supply:
    """
    The air that a source had to give at a moment, by what was known then: the same for all fills of that moment.

    `is_told` is whether times tell that moment from those of all entries of the sources that the air came from.
    `then` is the source, `suspect` what made its air suspect. Of the source of a storage's air, the compressor that
    filled it last, the samples stand for those of a storage that has none of its own: a sample is taken before the
    storage. `sampled` are the source and those above it, up to the one whose samples stand for it.
    What it had given by then is asked with the fill, which counts among it.
    """

    __slots__ = (
        "_log", "is_told", "then", "suspect", "sampled", "sampled_source", "sample_day", "sample_failed_day",
        "sample_failed_source",
    )  # fmt: skip

    def __init__(self, log: "AirLog", source: "SourceLog", fill: Entry, is_told: bool = False):
        self._log = log
        self.is_told = is_told
        self.then = source.before(fill, log.reading)
        self.suspect = suspect = log.suspect_air.known_at(fill)
        self.sampled = chain = [self.then]
        while chain[-1].storage_fill is not None and chain[-1].state.sample is None:
            above = log.sources.get(chain[-1].storage_fill.on)
            if above is None or any(above is each.log for each in chain):
                break
            chain.append(above.before(fill, log.reading))
        self.sampled_source = chain[-1].name
        self.sample_day = chain[-1].good_sample_day
        self.sample_failed_day = suspect and suspect.sample.day
        self.sample_failed_source = suspect and suspect.sample.subject

    @property
    def is_certain(self) -> bool:
        """Whether what is asked of it hangs on no order of lines, since times tell it and no air of it is suspect."""
        return self.is_told and self.suspect is None

    # Cartridges.

    def cartridge_used(self, fill: Entry) -> float | None:
        """The free air since the last change of the cartridge, this fill included, in mL."""
        change = self.then.change
        if change is None:
            return None
        used = self.then.log.given(change, fill)
        if used is None or self._log.is_written(fill):
            return used
        added = self._log.free_air_of(fill)
        return None if added is None else used + max(added, 0.0)

    def cartridge_assumed(self, fill: Entry) -> int | None:
        """Of how many fills since then something was assumed, None where there are none."""
        change = self.then.change
        if change is None:
            return None
        in_mind = not self._log.is_written(fill) and self._log.is_assumed(fill)
        return (self.then.log.assumed(change, fill) + in_mind) or None

    # What a storage gave since it was filled.

    def storage_given(self, fill: Entry) -> float | None:
        """
        The free air that the storage has given since it was filled, this fill included, in mL.

        Of fills of which nothing is assumed, so that it is no more than was taken.
        """
        filled = self.then.storage_fill
        if filled is None:
            return None
        given = self.then.log.given_as_written(filled, fill)
        if self._log.is_written(fill) or self._log.is_assumed(fill):
            return given
        return given + max(self._log.free_air_of(fill) or 0.0, 0.0)


def _nothing(kind: Any) -> Any:
    """One of a kind of which nothing is known."""
    thing: Any = object.__new__(kind)
    for name in kind.__slots__:
        setattr(thing, name, None)
    return thing


# What is known where a fill names no source.
NO_SUPPLY: Any = _nothing(Supply)
NO_SUPPLY.is_told, NO_SUPPLY.then = True, _nothing(SourceThen)
