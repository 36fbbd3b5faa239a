"""
One source of air: samples, cartridges and all fills from it in order, and what may be asked of them.

Units are those of `figures`; free air is in mL at one standard atmosphere and 70 F.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable
from datetime import date
from functools import cached_property, reduce
from itertools import accumulate, compress
from operator import is_not
from typing import NamedTuple

from cylfile.history.order import in_order
from cylfile.history.sources.order_of_air import Reading
from cylfile.history.sources.supply import SourceThen
from cylfile.record.blocks import AirSource
from cylfile.record.dates import months_after, second_of_day
from cylfile.record.entries import Entry, Filled

_DAY_S = 86_400
# So many fills after an entry of its own, one of them is looked for among these first.
_NEAR = 16


class SourceState(NamedTuple):
    """
    What is known of a source after some of its entries, each None where there was none: its last air
    sample and the last good one, the last change of its cartridge and check of its gauge; what tells
    the pressure of a storage last, that it was filled or emptied; and what took it out of service.
    """

    sample: Entry | None = None
    good_sample: Entry | None = None
    change: Entry | None = None
    gauge_check: Entry | None = None
    level: Entry | None = None
    out: Entry | None = None


# Verb -> the field of the state that an entry of it becomes. Samples are told apart by `fails`.
_BECOMES = {
    "air sample": "sample",
    "cartridge changed": "change",
    "gauge checked": "gauge_check",
    "filled": "level",
    "emptied": "level",
    "out of service": "out",
    "returned to service": "out",
}
# Of what can count twice over, the verbs that are to a fill's harm; a sample is where it failed.
_HARMS = ("out of service", "emptied")


class SourceLog:
    """
    What happened to one source of air, and all fills from it, `drawn`.

    `fails(sample)` tells whether an air sample is a failed one, `air_of(fill)` the free air of a fill and
    `is_assumed(fill)` whether any of it was assumed, `held(fill)` that which a storage held after it. `entries`
    are those of its own that tell what it had to give, `fills` is the number of those drawn. `before` is the log of it in an
    earlier record, in which all that was filled was of the same size.
    """

    def __init__(
        self,
        block: AirSource,
        entries: list[Entry],
        drawn: list[Entry],
        fails: Callable[[Entry], bool],
        air_of: Callable[[Entry], float | None],
        is_assumed: Callable[[Entry], bool],
        held: Callable[[Entry], float | None],
        before: "SourceLog | None" = None,
    ):
        self.block = block
        self._fails = fails
        self._air_of = air_of
        self._is_assumed = is_assumed
        self._held = held
        self.fills = len(drawn)
        self.entries = in_order(entry for entry in entries if entry.verb in _BECOMES).entries
        self._days = [entry.day for entry in self.entries]
        self._states = list(accumulate(self.entries, self._after, initial=SourceState()))
        # The source as it was known after so many of its entries, once somebody has asked for it.
        self._then: list[SourceThen | None] = [None] * len(self._states)
        # How many of the fills are told to be before an entry of its own, by the identity of that.
        self._firsts: dict[int, int] = {}
        # Those drawn as they came, until somebody asks for them in order.
        self._in_any_order = drawn
        self._sums: dict[_Weigh, _Sums] = {}
        if before is not None:
            self._take_over(before)

    def _take_over(self, before: "SourceLog") -> None:
        """Take over what was counted of the fills from it, if they say what they said; neither log takes any in after that."""
        drawn, order = self._in_any_order, before._order
        if len(drawn) != len(order.numbers):
            return
        in_order = [drawn[number] for number in order.numbers]
        # Most are the very same, since their file is.
        others = compress(zip(before._drawn, in_order), map(is_not, before._drawn, in_order))
        if all(one.facts == other.facts for one, other in others):
            self._order, self._drawn, self._in_any_order, self._sums = order, in_order, [], before._sums

    @cached_property
    def _order(self) -> "_Order":
        moments = list(map(_comes_last, self._in_any_order))
        numbers = array("I", sorted(range(len(moments)), key=moments.__getitem__))
        return _Order(numbers, array("q", map(moments.__getitem__, numbers)))

    @cached_property
    def _moments(self) -> "array[int]":
        return self._order.moments

    @cached_property
    def _drawn(self) -> list[Entry]:
        """All fills from it, in order."""
        drawn = [self._in_any_order[number] for number in self._order.numbers]
        self._in_any_order = []
        return drawn

    def _after(self, state: SourceState, entry: Entry) -> SourceState:
        if entry.verb == "air sample":
            return state._replace(sample=entry, good_sample=state.good_sample if self._fails(entry) else entry)
        return state._replace(**{_BECOMES[entry.verb]: None if entry.verb == "returned to service" else entry})

    @property
    def filled_from(self) -> set[str]:
        """The sources that it was ever filled from, where it is a storage."""
        return {entry.on for entry in self.entries if entry.__class__ is Filled and entry.on is not None}

    def is_as(self, other: "SourceLog", back: int) -> bool:
        """Whether both know the same after all their entries but so many of the last."""
        one, another = self._states[-1 - back], other._states[-1 - back]
        return all(mine == its or (mine and its and mine.facts == its.facts) for mine, its in zip(one, another))

    def gave_as(self, other: "SourceLog") -> bool:
        """Whether both gave the same air at the same moments."""
        return self._moments == other._moments and all(
            self._summed(weigh) == other._summed(weigh)
            for field, weighs in _COUNTED_FROM.items()
            if any(getattr(state, field) for log in (self, other) for state in log._states)
            for weigh in weighs
        )

    def counts_until(self, day: date) -> date:
        """The last day on which a fill of a day may count."""
        return counts_until(self._counted_anew, day)

    @cached_property
    def _counted_anew(self) -> list[list[date]]:
        return counted_anew(self.entries)

    def drawn_on(self, first: date, last: date) -> list[Entry]:
        """The fills from it from one day to another, both of them included."""
        begin = bisect_left(self._moments, first.toordinal() * (_DAY_S + 1))
        return self._drawn[begin : bisect_left(self._moments, (last.toordinal() + 1) * (_DAY_S + 1))]

    @property
    def latest(self) -> SourceState:
        """What is known of it after all its entries."""
        return self._states[-1]

    def before(self, fill: Entry, reading: Reading) -> SourceThen:
        """The source as it was known when a fill was made."""
        at, days = bisect_left(self._days, fill.day), self._days
        if at < len(days) and days[at] == fill.day:
            of_day = self._of_day(fill.day, at)
            before = [entry for entry in of_day if self._counts_before(entry, fill, reading)]
            if before != of_day[: len(before)]:
                return SourceThen(self, reduce(self._after, before, self._states[at]), self._held)
            at += len(before)
        then = self._then[at]
        if then is None:
            then = self._then[at] = SourceThen(self, self._states[at], self._held)
        return then

    def _counts_before(self, entry: Entry, fill: Entry, reading: Reading) -> bool:
        """Whether an entry of the source counts as before a fill."""
        return (reading.harms if self._is_harm(entry) else reading.clears)(entry, fill)

    def of_day(self, day: date) -> list[Entry]:
        """Its own entries of a day."""
        return self._of_day(day, bisect_left(self._days, day))

    def _of_day(self, day: date, first: int) -> list[Entry]:
        last, days = first, self._days
        while last < len(days) and days[last] == day:
            last += 1
        return self.entries[first:last]

    def _is_harm(self, entry: Entry) -> bool:
        return self._fails(entry) if entry.verb == "air sample" else entry.verb in _HARMS

    def take_in(self, fill: Entry) -> None:
        """Count in a fill from it that was written meanwhile."""
        at = bisect_right(self._moments, _comes_last(fill))
        self._drawn.insert(at, fill)
        self._moments.insert(at, _comes_last(fill))
        self._count(at, 1)

    def take_out(self, fill: Entry) -> None:
        """Leave a fill out again that was taken in."""
        at = bisect_right(self._moments, _comes_last(fill)) - 1
        while self._drawn[at] is not fill:
            at -= 1
        self._count(at, -1)
        del self._drawn[at], self._moments[at]

    def _count(self, at: int, times: int) -> None:
        """Add the fill of this number to the sums, or take it off where `times` is -1."""
        self._firsts.clear()
        for weigh, summed in self._sums.items():
            for sums, (weight,) in zip(summed, weigh(self, [self._drawn[at]])):
                if times > 0:
                    sums.insert(at, sums[at])
                sums[at + 1 :] = array("d", [each + times * weight for each in sums[at + 1 :]])
                if times < 0:
                    del sums[at]

    # What falls due.

    def sample_due(self, every: int) -> date | None:
        """
        The last day for its next sample, `every` so many months: at once where the last one failed.

        None where it was never sampled.
        """
        last = self.latest.sample
        if last is None:
            return None
        return last.day if self._fails(last) else months_after(last.day, every)

    def cartridge_due(self, every: int) -> date | None:
        """The last day for its next cartridge by age, so many months; None where none was ever changed."""
        change = self.latest.change
        return months_after(change.day, every) if change else None

    # The air that it gave.

    # A fill that is not told to be before the one or after the other counts.

    def given(self, since: Entry, until: Entry) -> float | None:
        """The free air drawn since an entry of it up to a fill, in mL; None where that of a fill is not known."""
        volumes, unknown = self._sums.get(SourceLog._all) or self._summed(SourceLog._all)
        first, last = self._between(since, until)
        return None if unknown[last] != unknown[first] else rounded(volumes[last] - volumes[first])

    def assumed(self, since: Entry, until: Entry) -> int:
        """Of how many of those fills something was assumed."""
        (assumed,) = self._summed(SourceLog._assumed)
        first, last = self._between(since, until)
        return int(assumed[last] - assumed[first])

    def given_as_written(self, since: Entry, until: Entry) -> float:
        """The free air of those of which nothing was assumed, in mL."""
        (volumes,) = self._sums.get(SourceLog._written) or self._summed(SourceLog._written)
        first, last = self._between(since, until)
        return rounded(volumes[last] - volumes[first])

    def _between(self, since: Entry, until: Entry) -> tuple[int, int]:
        moments, moment = self._moments, _comes_last(until)
        first = self._firsts.get(id(since))
        if first is None:
            first = self._firsts[id(since)] = bisect_left(moments, _comes_first(since))
        # Between two fills of itself a storage gives few, so that most are near. Their numbers are not kept: there is one for every fill.
        near = first + _NEAR
        is_near = near < len(moments) and moment < moments[near]
        return first, bisect_right(moments, moment, first, near if is_near else len(moments))

    def _summed(self, weigh: "_Weigh") -> "_Sums":
        """The sums of what the first none, one, two, ... of the fills drawn add; arrays, for there is one for every fill."""
        sums = self._sums.get(weigh)
        if sums is None:
            weights = weigh(self, self._drawn)
            sums = self._sums[weigh] = tuple(array("d", accumulate(each, initial=0)) for each in weights)
        return sums

    def _all(self, fills: list[Entry]) -> tuple[list[float], ...]:
        """The free air of each of some fills, nothing where air left, and whether it is not known."""
        volumes = list(map(self._air_of, fills))
        return [volume if volume and volume > 0.0 else 0.0 for volume in volumes], [
            volume is None for volume in volumes
        ]

    def _written(self, fills: list[Entry]) -> tuple[list[float], ...]:
        """The free air of each of which nothing is assumed."""
        return ([0.0 if self._is_assumed(fill) else max(self._air_of(fill) or 0.0, 0.0) for fill in fills],)

    def _assumed(self, fills: list[Entry]) -> tuple[list[float], ...]:
        """Whether anything is assumed of each."""
        return (list(map(self._is_assumed, fills)),)

    def added_up(self) -> "_AddedUp":
        """What will be asked of the air that it gave, which takes long to add up, for `take_added_up` of another process."""
        return self._order, {
            weigh: self._summed(weigh)
            for field, weighs in _COUNTED_FROM.items()
            if getattr(self.latest, field) is not None
            for weigh in weighs
        }

    def take_added_up(self, added_up: "_AddedUp") -> None:
        self._order, self._sums = added_up


class _Order(NamedTuple):
    """The fills from a source in order: the number of each among those it was made of, and the moment of each, in seconds."""

    numbers: "array[int]"
    moments: "array[int]"


# What some fills add to one sum or two, and those sums up to each fill.
_Weigh = Callable[[SourceLog, list[Entry]], tuple[list[float], ...]]
_Sums = tuple["array[float]", ...]
_AddedUp = tuple[_Order, dict[_Weigh, _Sums]]


# The sums that are asked of the fills since an entry, by what that is in the state of the source.
_COUNTED_FROM = {"change": (SourceLog._all, SourceLog._assumed), "level": (SourceLog._written,)}


def counted_anew(entries: list[Entry]) -> list[list[date]]:
    """Of the entries of a source, the days of its cartridges, and those that tell the pressure of a storage."""
    return [sorted(entry.day for entry in entries if _BECOMES.get(entry.verb) == field) for field in _COUNTED_FROM]


def counts_until(anew: list[list[date]], day: date) -> date:
    """The last day on which a fill of a day may count, by what is `counted_anew`: until its cartridge is changed and the storage is filled."""
    last = day
    for days in anew:
        if days:
            at = bisect_right(days, day)
            last = max(last, days[at] if at < len(days) else date.max)
    return last


def rounded(milliliters: float) -> float:
    """A volume to the milliliter, without what adding up leaves, so that all that was held is no more than was held."""
    return float(round(milliliters))


def _comes_last(entry: Entry) -> int:
    """The moment of an entry in seconds; without a time, the end of its day."""
    time = entry.time
    of_day = _DAY_S if time is None else second_of_day(time)
    return entry.day.toordinal() * (_DAY_S + 1) + of_day


def _comes_first(entry: Entry) -> int:
    """The same; without a time, the beginning of its day."""
    return _comes_last(entry) - (_DAY_S if entry.time is None else 0)
