"""
The air of a record, source by source, and what a fill may ask of it.

It is built when it is first asked for anything. Units are those of `figures`; free air is in mL at
one standard atmosphere and 70 F, worked out as a real gas.

What is asked of a source hardly ever changes, and is asked for every fill from it. So what is known
of it and its air is kept for each stretch between the entries of it and of the sources above it, and
worked out for a fill by itself only where its time does not tell which stretch it is of.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from cylfile.air import free_air, free_air_added
from cylfile.history.order import span_of
from cylfile.history.sources.air_path import Holding, lets_out, standing
from cylfile.history.sources.order_of_air import LENIENT, STRICT, untold
from cylfile.history.sources.source_log import SourceLog, counted_anew, rounded
from cylfile.history.sources.supply import NO_SUPPLY, Supply
from cylfile.history.sources.suspect_air import SuspectAir
from cylfile.history.standing import standing as standing_on
from cylfile.history.standing import stands
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record


class Assumptions(NamedTuple):
    """
    What is taken for a fill that does not say it: the pressure before, the gas temperature, the
    water volume of a cylinder, and the pressure reached where nobody read it. None is nothing: the
    free air of such a fill is not known then.
    """

    psi_before: float | None = None
    kelvin: float | None = None
    water_ml: float | None = None
    psi_after: float | None = None


NOTHING_ASSUMED = Assumptions()


class _Supplies:
    """
    What a source had to give, by the stretches between some entries, in which nothing happened.

    The entries are its own and those of all sources that its air came from. The stretches are numbered in the order of time.
    `of_day` has it by each day of a fill that is within one of them.
    """

    def __init__(self, log: "AirLog", source: SourceLog, entries: list[Entry]):
        self._log = log
        self._source = source
        spans = list(map(span_of, entries))
        self._days = sorted(entry.day for entry in entries)
        self._first_seconds = array("d", sorted(first for first, _ in spans))
        self._last_seconds = array("d", sorted(last for _, last in spans))
        # That of each stretch, once somebody has asked for it.
        self._known: list[Supply | None] = [None] * (len(entries) + 1)
        self.of_day: dict[date, Supply] = {}
        # That of the last fill that is of no stretch, for several rules ask of a fill in turn.
        self._alone: tuple[Entry, Supply] | None = None

    def at(self, fill: Entry) -> Supply:
        """What it had to give for a fill: known by the stretch, unless an entry was not told by its time to be before or after."""
        day, days = fill.day, self._days
        before = bisect_left(days, day)
        is_within = before == len(days) or days[before] != day
        if not is_within:
            first, last = span_of(fill)
            before = bisect_left(self._last_seconds, first)
            if before != bisect_right(self._first_seconds, last):
                alone = self._alone
                if alone is None or alone[0] is not fill:
                    alone = self._alone = fill, Supply(self._log, self._source, fill)
                return alone[1]
        supply = self._known[before]
        if supply is None:
            supply = self._known[before] = Supply(self._log, self._source, fill, is_told=True)
        if is_within:
            self.of_day[day] = supply
        return supply


class AirLog:
    """
    The logs of all sources of a record up to a day.

    `fails(sample)` tells whether an air sample is a failed one. Nothing is worked out before it is
    asked for, so it costs nothing where no rule asks.

    Where nothing tells whether an entry of a source came before a fill from it, this log reads it to
    the harm of the fill, and `lenient` the other way round; `untold` tells where the two may differ.

    Who will ask of some fills alone gives these as `fills`: of all others only those are counted that count with one of them.
    `before` is the log of an earlier record, most of which is in this one too: what its sources gave is not added up again.
    """

    def __init__(
        self,
        record: Record,
        as_of: date,
        assumed: Assumptions = NOTHING_ASSUMED,
        fails: Callable[[Entry], bool] | None = None,
        fills: Sequence[Entry] | None = None,
        before: "AirLog | None" = None,
    ):
        self.record = record
        self.as_of = as_of
        self.assumed = assumed
        self.reading = STRICT
        self._fails = _Once(fails or marked_failed)
        self._fills = fills
        self._texts = set(record.sources)
        # By the name of each cylinder that was asked for.
        self._suspicions: dict[str, Holding | None] = {}
        # The logs that were made of the sources before, where all that was filled is of the same size now.
        self._made: dict[str, SourceLog] = {}
        if before is not None and before._sizes == self._sizes:
            self._made = before.__dict__.get("sources", {})

    @cached_property
    def lenient(self) -> "AirLog":
        """The same, with what nothing tells the order of read to the good of the fills."""
        other = object.__new__(AirLog)
        anew: dict[str, Any] = {"reading": LENIENT, "_suspicions": {}}
        other.__dict__.update(self.__dict__, sources=self.sources, **anew)
        for name in ("suspect_air", "_supplies"):
            other.__dict__.pop(name, None)
        return other

    @cached_property
    def sources(self) -> dict[str, SourceLog]:
        """The log of every source, by its name."""
        record = self.record
        own = {name: standing(record, name, self.as_of) for name in record.air_sources}
        drawn: dict[str, list[Entry]] = {name: [] for name in own}
        days = None if self._fills is None else _days_counted(own, self._fills)
        for entries in record.entries.values():
            fills = [entry for entry in entries if entry.__class__ is Filled and entry.on in drawn]
            if days is not None:
                fills = [fill for fill in fills if fill.day in days[fill.on]]
            for fill in standing_on(fills, self.as_of):
                drawn[fill.on].append(fill)
        made, self._made = self._made, {}
        return {
            name: SourceLog(
                block,
                own[name],
                drawn[name],
                self._fails,
                self.free_air_of,
                self.is_assumed,
                self.free_air_held,
                made.get(name),
            )
            for name, block in record.air_sources.items()
        }

    @cached_property
    def suspect_air(self) -> SuspectAir:
        return SuspectAir(self.record, self.as_of, self._fails, self.reading)

    @contextmanager
    def with_entry(self, entry: Entry, entries: dict[str, list[Entry]]) -> Iterator[None]:
        """
        For a while the log of the record with one more entry of a cylinder, and with these `entries` of the names that they are of.

        No other entry of them says anything else than it did.
        """
        there = self.record.entries
        self.record.entries = there | entries
        self.take_in(entry)
        try:
            yield
        finally:
            self.record.entries = there
            self._texts.discard(entry.source)
            self._change(entry, SourceLog.take_out)

    def take_in(self, entry: Entry) -> None:
        """
        Count in an entry of a cylinder that is about to stand in the record, so that all need not be gone through again.

        Nothing but the cartridge and the storage that a fill is from hangs on it; what a cylinder holds is looked up each time.
        """
        self._texts.add(entry.source)
        self._change(entry, SourceLog.take_in)

    def _change(self, entry: Entry, change: Callable[[SourceLog, Entry], None]) -> None:
        for log in (self, self.__dict__.get("lenient")):
            if log is not None:
                log._suspicions.clear()
        # What is not gone through yet will be with the record as it is then.
        if entry.__class__ is Filled and "sources" in self.__dict__:
            source = self.sources.get(entry.on)
            if source is not None and stands(entry, self.as_of):
                change(source, entry)

    def at(self, fill: Entry) -> Supply:
        """What the source of a fill had to give, whether it stands in the record or is only in mind."""
        supplies = self._supplies.get(fill.on)
        if supplies is None:
            return NO_SUPPLY
        return supplies.of_day.get(fill.day) or supplies.at(fill)

    @cached_property
    def _supplies(self) -> dict[str, _Supplies]:
        """What each source had to give, by its name."""
        return {
            name: _Supplies(self, log, [entry for each in self._ways_to(log) for entry in each.entries])
            for name, log in self.sources.items()
        }

    def _ways_to(self, source: SourceLog) -> list[SourceLog]:
        """A source and all that its air may have come from."""
        found = [source]
        for each in found:
            above = (self.sources.get(name) for name in sorted(each.filled_from))
            found += (log for log in above if log is not None and log not in found)
        return found

    def untold(self, fill: Entry) -> tuple[Entry, ...]:
        """The entries of which nothing tells whether they came before a fill, where that may matter to its air."""
        supply = self.at(fill)
        if supply.is_certain:
            return ()
        found = tuple(each for then in supply.sampled for each in then.log.of_day(fill.day) if untold(each, fill))
        if found or supply.suspect is None or self.lenient.at(fill).suspect is not None:
            return found
        return self.untold_of(Holding(None, supply.suspect))

    def is_certain(self, fill: Entry) -> bool:
        """Whether what is asked of a fill hangs on no order of lines, or nobody has asked after any air."""
        return "sources" not in self.__dict__ or self.at(fill).is_certain

    def untold_of(self, held: Holding) -> tuple[Entry, ...]:
        """Entries of which nothing tells the order, where that decides whether air is held that is in doubt."""
        for fill in (*held.stretch.way, *filter(None, [held.fill])):
            entries = (each for name in (fill.on, fill.subject) for each in self._around(name, fill.day))
            found = [each for each in entries if (each.verb == "air sample" or lets_out(each)) and untold(each, fill)]
            if found:
                return fill, *found
        return (held.stretch.sample,)

    def _around(self, name: str, day: date) -> list[Entry]:
        """The entries of a cylinder or a source among which are all that may be of a day."""
        source = self.sources.get(name)
        return standing(self.record, name, self.as_of) if source is None else source.of_day(day)

    def suspicion(self, name: str) -> Holding | None:
        """The suspect air that a cylinder holds; see `SuspectAir.of_cylinder`."""
        if name not in self._suspicions:
            self._suspicions[name] = self.suspect_air.of_cylinder(name)
        return self._suspicions[name]

    def is_written(self, fill: Entry) -> bool:
        """Whether a fill stands in the record; one in mind does not."""
        return fill.source in self._texts

    def is_assumed(self, fill: Entry) -> bool:
        """Whether anything had to be assumed of the free air that a fill put in."""
        return (
            fill.from_pressure is None
            or fill.at_temperature is None
            or fill.reading is None
            or fill.subject not in self._water_volumes
        )

    def free_air_of(self, fill: Entry) -> float | None:
        """
        The free air that a fill put in, in mL; below nothing where air left, and None where it is not known.

        The pressure after it is at its own gas temperature, the one before it at the assumed one.
        """
        assumed, water = self.assumed, self._water_volumes.get(fill.subject)
        before, at, reading = fill.from_pressure, fill.at_temperature, fill.reading
        psi_before = assumed.psi_before if before is None else before.value
        kelvin = assumed.kelvin if at is None else at.value
        psi_after = self.likely_reached(fill.subject) if reading is None else reading.value
        # No figure of a cylinder stands for the volume of a storage.
        if water is None and fill.subject not in self.record.air_sources:
            water = assumed.water_ml
        if psi_before is None or psi_after is None or kelvin is None or water is None or assumed.kelvin is None:
            return None
        try:
            return free_air_added(psi_before, assumed.kelvin, psi_after, kelvin, water)
        except ValueError:
            return None

    def likely_reached(self, name: str) -> float | None:
        """The pressure that a fill reached that nobody read: the rating of a storage, and what is assumed of a cylinder."""
        storage = self.record.air_sources.get(name)
        if storage is None:
            return self.assumed.psi_after
        return storage.rated and storage.rated.value

    def free_air_held(self, fill: Entry) -> float | None:
        """The free air that a storage held after a fill of it, in mL; None where nobody read the gauge."""
        water = self.water_volume(fill.subject)
        kelvin = fill.at_temperature.value if fill.at_temperature else self.assumed.kelvin
        if water is None or kelvin is None or fill.reading is None:
            return None
        try:
            return rounded(free_air(fill.reading.value, kelvin, water))
        except ValueError:
            return None

    def water_volume(self, name: str) -> float | None:
        """The water that a cylinder or a source holds, in mL."""
        return self._water_volumes.get(name)

    @property
    def _sizes(self) -> tuple:
        """All that the free air of a fill hangs on but what it says itself."""
        entries, sources = self.record.entries, self.record.air_sources
        unread = (
            name
            for name in sources
            if any(entry.verb == "filled" and entry.reading is None for entry in entries.get(name, ()))
        )
        return self.assumed, self._water_volumes, sources.keys(), {name: self.likely_reached(name) for name in unread}

    @cached_property
    def _water_volumes(self) -> dict[str, float]:
        both = self.record.air_sources.items(), self.record.cylinders.items()
        held = {name: block.holds for blocks in both for name, block in blocks}
        return {name: holds.value for name, holds in held.items() if holds is not None}


def _days_counted(own: dict[str, list[Entry]], fills: Iterable[Entry]) -> dict[str, set[date]]:
    """By the name of a source, whose own entries these are, the days of which a fill from it may count with one of some fills."""
    anew = {name: counted_anew(entries) for name, entries in own.items()}
    # The last day that counts with a first one.
    lasts: dict[str, dict[date, date]] = {name: {} for name in own}
    for fill in fills:
        if fill.__class__ is Filled and fill.on in own:
            # An entry of the same day may have come after it.
            firsts = (each[at - 1] for each in anew[fill.on] if (at := bisect_left(each, fill.day)))
            first, of_source = min(firsts, default=fill.day), lasts[fill.on]
            of_source[first] = max(fill.day, of_source.get(first, fill.day))
    return {
        name: {
            date.fromordinal(day)
            for first, last in of_source.items()
            for day in range(first.toordinal(), last.toordinal() + 1)
        }
        for name, of_source in lasts.items()
    }


def marked_failed(sample: Entry) -> bool:
    """Whether an air sample is marked as failed, whatever its readings are."""
    return sample.outcome == "fail"


class _Once:
    """A question about an entry that is asked once of each."""

    def __init__(self, question: Callable[[Entry], bool]):
        self._question = question
        self._answers: dict[int, bool] = {}

    def __call__(self, entry: Entry) -> bool:
        answer = self._answers.get(id(entry))
        if answer is None:
            answer = self._answers[id(entry)] = self._question(entry)
        return answer
