"""
The air of a record, source by source: samples, cartridges and fills in order, and what a fill may ask of them.

It is built when it is first asked for anything. Units are those of `figures`; free air is in mL at
one standard atmosphere and 70 F, worked out as a real gas.

Of one day, a sample, a change of cartridge and a fill of the storage itself without a time are
taken to come first, as a test does; a fill of a cylinder without a time comes last.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from datetime import date
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

from cylfile.air import free_air, free_air_added
from cylfile.history.sources.air_path import standing
from cylfile.history.sources.suspect_air import SuspectAir
from cylfile.record.blocks import AirSource
from cylfile.record.dates import months_after
from cylfile.record.entries import Filled
from cylfile.record.record import Record

_DAY_S = 86_400


class Assumptions(NamedTuple):
    """
    What is taken for a fill that does not say it: the pressure before, the gas temperature, the
    water volume of a cylinder. None is nothing: the free air of such a fill is not known then.
    """

    psi_before: float | None = None
    kelvin: float | None = None
    water_ml: float | None = None


NOTHING_ASSUMED = Assumptions()


class FreeAir(NamedTuple):
    """The free air of a fill in mL, None where it is not known, and whether any of it was assumed."""

    volume: float | None
    is_assumed: bool


class _Order:
    """Entries in the order of their moments, and where another moment falls among them."""

    def __init__(self, entries: list, key: Callable):
        self.entries = sorted(entries, key=key)
        self.keys = [key(entry) for entry in self.entries]

    def until(self, moment: int) -> int:
        """How many of them came up to a moment, those of the moment itself included."""
        return bisect_right(self.keys, moment)

    def last(self, moment: int):
        """The last of them up to a moment, None where there is none."""
        count = self.until(moment)
        return self.entries[count - 1] if count else None


def _comes_first(entry) -> int:
    """The moment of an entry in seconds; without a time, the beginning of its day."""
    return _moment(entry, 0)


def _comes_last(entry) -> int:
    """The moment of an entry in seconds; without a time, the end of its day."""
    return _moment(entry, _DAY_S)


def _moment(entry, without_time: int) -> int:
    time = entry.time
    of_day = without_time if time is None else time.hour * 3600 + time.minute * 60 + time.second
    return entry.day.toordinal() * (_DAY_S + 1) + of_day


class SourceLog:
    """What happened to one source of air, and all fills from it, `drawn`."""

    def __init__(self, block: AirSource, entries: list, drawn: list, air_of: Callable):
        self.block = block
        self._air_of = air_of
        samples = [entry for entry in entries if entry.verb == "air sample"]
        self.samples = _Order(samples, _comes_first)
        self.good_samples = _Order([sample for sample in samples if sample.outcome == "pass"], _comes_first)
        self.changes = _Order([entry for entry in entries if entry.verb == "cartridge changed"], _comes_first)
        # What tells the pressure of a storage: a fill of it, or that it was emptied.
        self.levels = _Order([entry for entry in entries if entry.verb in ("filled", "emptied")], _comes_first)
        self.drawn = _Order(drawn, _comes_last)

    @cached_property
    def _free_air(self) -> list[FreeAir]:
        return [self._air_of(fill) for fill in self.drawn.entries]

    @cached_property
    def _sums(self) -> tuple[list[float], list[int], list[int], list[float]]:
        """Up to each fill drawn: free air, how many were assumed, how many are not known, free air not assumed."""
        volumes = [max(air.volume or 0.0, 0.0) for air in self._free_air]
        assumed = [int(air.is_assumed) for air in self._free_air]
        unknown = [int(air.volume is None) for air in self._free_air]
        written = [0.0 if air.is_assumed else volume for air, volume in zip(self._free_air, volumes)]
        return tuple(list(accumulate(column, initial=0)) for column in (volumes, assumed, unknown, written))

    def given(self, since: int, until: int) -> tuple[float | None, int, float]:
        """
        The free air drawn between two moments, None where that of a fill is not known; how many of
        the fills were assumed; and the free air of those that were not.
        """
        first, last = bisect_left(self.drawn.keys, since), self.drawn.until(until)
        volume, assumed, unknown, written = (column[last] - column[first] for column in self._sums)
        return (None if unknown else volume), assumed, written

    def is_logged(self, fill) -> bool:
        """Whether a fill is one of those drawn; a fill in mind is not."""
        moment = _comes_last(fill)
        first, last = bisect_left(self.drawn.keys, moment), self.drawn.until(moment)
        return any(entry is fill for entry in self.drawn.entries[first:last])


class AirLog:
    """
    The logs of all sources of a record up to a day.

    Nothing is worked out before it is asked for, so it costs nothing where no rule asks.
    """

    def __init__(self, record: Record, as_of: date, assumed: Assumptions = NOTHING_ASSUMED):
        self._record = record
        self.as_of = as_of
        self.assumed = assumed
        self._last: FillAir | None = None
        self._last_suspicion: tuple = ()

    @cached_property
    def sources(self) -> dict[str, SourceLog]:
        """The log of every source, by its name."""
        record = self._record
        drawn: dict[str, list] = {name: [] for name in record.air_sources}
        for entries in record.entries.values():
            for entry in entries:
                # Asked in the order that ends soonest for what most entries are.
                if entry.__class__ is Filled and entry.on in drawn and entry.struck is None and entry.day <= self.as_of:
                    drawn[entry.on].append(entry)
        return {
            name: SourceLog(block, standing(record, name, self.as_of), drawn[name], self.free_air_of)
            for name, block in record.air_sources.items()
        }

    @cached_property
    def suspect_air(self) -> SuspectAir:
        return SuspectAir(self._record, self.as_of)

    def at(self, fill) -> "FillAir":
        """What the log says of a fill, whether it stands in the record or is only in mind."""
        if self._last is None or self._last.fill is not fill:
            self._last = FillAir(self, fill)
        return self._last

    def suspicion(self, name: str):
        """The suspect air that a cylinder holds; see `SuspectAir.of_cylinder`."""
        if not self._last_suspicion or self._last_suspicion[0] != name:
            self._last_suspicion = name, self.suspect_air.of_cylinder(name)
        return self._last_suspicion[1]

    def free_air_of(self, fill) -> FreeAir:
        """
        The free air that a fill put in; below nothing where air left.

        The pressure after it is at its own gas temperature, the one before it at the assumed one.
        """
        assumed, water = self.assumed, self._water_volume(fill.subject)
        is_storage = fill.subject in self._record.air_sources
        before = fill.from_pressure and fill.from_pressure.value
        kelvin = fill.at_temperature and fill.at_temperature.value
        is_assumed = None in (before, kelvin, water)
        before = assumed.psi_before if before is None else before
        kelvin = assumed.kelvin if kelvin is None else kelvin
        # No figure of a cylinder stands for the volume of a storage.
        water = assumed.water_ml if water is None and not is_storage else water
        if None in (before, kelvin, water, assumed.kelvin):
            return FreeAir(None, is_assumed)
        try:
            return FreeAir(free_air_added(before, assumed.kelvin, fill.reading.value, kelvin, water), is_assumed)
        except ValueError:
            return FreeAir(None, is_assumed)

    def free_air_held(self, fill) -> float | None:
        """The free air that a storage held after a fill of it, in mL."""
        water = self._water_volume(fill.subject)
        kelvin = fill.at_temperature.value if fill.at_temperature else self.assumed.kelvin
        if water is None or kelvin is None:
            return None
        try:
            return free_air(fill.reading.value, kelvin, water)
        except ValueError:
            return None

    def _water_volume(self, name: str) -> float | None:
        block = self._record.cylinders.get(name) or self._record.air_sources.get(name)
        return block.holds.value if block is not None and block.holds is not None else None


class FillAir:
    """
    What the log says of one fill: of its source, and of the air it took. A fact that is not known is None.

    Of the source of a storage's air, the compressor that filled it last, the samples stand for those
    of a storage that has none of its own: a sample is taken before the storage.
    """

    def __init__(self, log: AirLog, fill):
        self.log = log
        self.fill = fill
        self.source: SourceLog | None = log.sources.get(fill.on)
        self._until = _comes_last(fill)

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
        level = self._level
        if level is None or self.kind != "storage":
            return None
        return level.reading.value if level.verb == "filled" else 0.0

    @property
    def delivers(self) -> float | None:
        """The most that the source can give: what a storage was filled to, and no more than its rating."""
        return min((psi for psi in (self.pressure, self.rated) if psi is not None), default=None)

    @property
    def _level(self):
        return self.source and self.source.levels.last(self._until)

    # Samples.

    @cached_property
    def _sampled(self) -> SourceLog | None:
        source, seen = self.source, set()
        while source is not None and source.samples.last(self._until) is None and source.block.name not in seen:
            seen.add(source.block.name)
            filled = source.levels.last(self._until)
            above = self.log.sources.get(filled.on) if filled is not None and filled.verb == "filled" else None
            if above is None:
                break
            source = above
        return source

    @property
    def sample_day(self) -> date | None:
        sample = self._sampled and self._sampled.good_samples.last(self._until)
        return sample and sample.day

    @property
    def sampled_source(self) -> str | None:
        return self._sampled and self._sampled.block.name

    @cached_property
    def _failed_sample(self):
        sample = self.source and self.source.samples.last(self._until)
        if sample is not None and sample.outcome == "fail":
            return sample
        stretch = self.log.suspect_air.known_at(self.fill)
        return stretch and stretch.origin

    @property
    def sample_failed_day(self) -> date | None:
        return self._failed_sample and self._failed_sample.day

    @property
    def sample_failed_source(self) -> str | None:
        return self._failed_sample and self._failed_sample.subject

    # Cartridges.

    @property
    def _change(self):
        return self.source and self.source.changes.last(self._until)

    @property
    def cartridge_day(self) -> date | None:
        return self._change and self._change.day

    @property
    def cartridge_rated(self) -> float | None:
        rated = self.source and self.source.block.cartridge
        return rated and rated.value

    @property
    def cartridge_used(self) -> float | None:
        used = self._given_since(self._change)
        return used and used[0]

    @property
    def cartridge_assumed(self) -> int | None:
        used = self._given_since(self._change)
        return (used and used[1]) or None

    # What a storage gave since it was filled.

    @property
    def storage_given(self) -> float | None:
        """Of fills of which nothing is assumed, so that it is no more than was taken."""
        given = self._given_since(self._storage_fill)
        return given and given[2]

    @property
    def storage_held(self) -> float | None:
        filled = self._storage_fill
        return None if filled is None else self.log.free_air_held(filled)

    @property
    def storage_filled_day(self) -> date | None:
        return self._storage_fill and self._storage_fill.day

    @property
    def _storage_fill(self):
        level = self._level
        return level if level is not None and level.verb == "filled" else None

    def _given_since(self, entry) -> tuple[float | None, int, float] | None:
        """What the source has given since an entry of it, this fill included."""
        if self.source is None or entry is None:
            return None
        volume, assumed, written = self.source.given(_comes_first(entry), self._until)
        if not self.source.is_logged(self.fill):
            air = self.free_air
            volume = None if volume is None or air.volume is None else volume + max(air.volume, 0.0)
            assumed += air.is_assumed
            written += 0.0 if air.is_assumed or air.volume is None else max(air.volume, 0.0)
        return volume, assumed, written

    # The air of the fill.

    @cached_property
    def free_air(self) -> FreeAir:
        return self.log.free_air_of(self.fill)


class AirDue(NamedTuple):
    """
    What a source needs next. `sample` and `cartridge` are the last days on which they are in date,
    None where there is nothing to count from; a source whose last sample failed needs one now.
    `used` and `rated` are free air of the cartridge in mL.
    """

    source: str
    sample: date | None = None
    cartridge: date | None = None
    used: float | None = None
    rated: float | None = None


def air_due(log: AirLog, sample_every: int | None, cartridge_age_limit: int | None) -> list[AirDue]:
    """
    The next sample and the next cartridge of every source on the day of the log; periods in months.

    A source that was sampled never needs no sample by this: a storage without samples goes by its
    compressor's.
    """
    found = []
    for name, source in log.sources.items():
        last, good = (_latest(samples) for samples in (source.samples, source.good_samples))
        sample = months_after(good.day, sample_every) if good and sample_every else None
        if last is not None and last.outcome == "fail":
            sample = last.day
        change, rated = _latest(source.changes), source.block.cartridge
        due = months_after(change.day, cartridge_age_limit) if change and cartridge_age_limit else None
        used = source.given(_comes_first(change), _comes_last_of(log.as_of))[0] if change else None
        found.append(AirDue(name, sample, due, used, rated and rated.value))
    return found


def _latest(order: _Order):
    return order.entries[-1] if order.entries else None


def _comes_last_of(day: date) -> int:
    return day.toordinal() * (_DAY_S + 1) + _DAY_S
