"""
The order of entries: what is told of it, and what is not.

An entry happened at its time, or on its day, or in its month. Which of two came first is *told*
where those do not overlap; where both stand in one block, by their standing; and `entered service`
comes first in its day or month unless times say otherwise. Times and days outrank standing: an
entry whose standing contradicts them is not told by it. Any other order is not told. Then what
happened is judged twice; see `Untold`.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from datetime import time as clock
from functools import cached_property
from heapq import heappop, heappush
from itertools import pairwise
from operator import attrgetter, eq, itemgetter
from typing import NamedTuple

from cylfile.record.dates import Month, month_end, second_of_day
from cylfile.record.entries import Entry, plain_form

_DAY = itemgetter(0)
_DAY_S = 86_400
_START = attrgetter("start")

Pair = tuple[Entry, Entry]

_BARS = ("damaged", "out of service", "condemned", "retired")
_CLEARS = (
    "entered service", "returned to service", "visual", "hydro", "life extended", "emptied",
    "cartridge changed", "gauge checked", "air sample",
)  # fmt: skip
# The fields whose words may tell of something bad.
_FOUND = ("outcome", "result", "with_visual", "crack")


class Moment(NamedTuple):
    """A day, and a time where one is known: as good as an entry that stands in no block."""

    day: date
    time: clock | None = None


class Untold(NamedTuple):
    """
    A stretch of an `Order` whose order nothing tells: its entries from `first` up to `last`.

    They are judged in two orders, both of which keep what is told: `bars_first` has first what bars
    or makes unlawful, and last what clears; `clears_first` is the other way round.
    """

    first: int
    last: int
    bars_first: list[Entry]
    clears_first: list[Entry]


class Order(NamedTuple):
    """
    Entries in the order in which they happened.

    Where nothing tells it, `entries` has them as if what bars came first, and `untold` names the
    stretch. `full_days` are the entries of each day, or month, that has more than one.
    """

    entries: list[Entry]
    untold: Sequence[Untold] = ()
    full_days: Sequence[list[Entry]] = ()


def in_order(entries: Iterable[Entry]) -> Order:
    """
    The order of entries of one cylinder or of one source, or of a source and of the fills from it.

    Who must not count, such as an entry that is struck or of a day to come, must not be among them.
    """
    ordered = sorted(entries, key=_DAY)
    days = list(map(_DAY, ordered))
    blocks = _Blocks(ordered)
    untold, full_days = [], []
    for first, last in _months(ordered) if Month in set(map(type, days)) else _days(days):
        group = ordered[first:last]
        arranged, other = _arranged(group, blocks)
        ordered[first:last] = arranged
        full_days.append(arranged)
        if other is not None:
            untold.append(Untold(first, last, arranged, other))
    return Order(ordered, untold, full_days)


def told(one: Entry | Moment, other: Entry | Moment) -> int | None:
    """
    Which of two entries came first: -1 where it was `one`, 1 where it was `other`, None where nothing tells.

    A mere moment, with a day and a time, is as good as an entry that stands in no block. Only the two are looked at: a third entry that shows that the standing of one of them is wrong is
    not; see `in_order`.
    """
    before, after = span_of(one), span_of(other)
    if before[1] < after[0] or after[1] < before[0]:
        return -1 if before[1] < after[0] else 1
    if _is_entering(one) or _is_entering(other):
        sequence, is_told = _Day([one, other], _Blocks([])).sequence()
        return None if not is_told else -1 if sequence[0] == 0 else 1
    if isinstance(one, Moment) or isinstance(other, Moment) or _block(one) is None or _block(one) != _block(other):
        return None
    return -1 if one.start < other.start else 1


def told_pairs(entries: Iterable[Entry]) -> list[Pair]:
    """
    The pairs (earlier, later) of one cylinder's or source's entries whose order only their standing tells.

    Of three that stand below each other the pair of the first and the last is left out: it follows.
    """
    ordered = sorted(entries, key=_DAY)
    return _told_pairs(ordered, _Blocks(ordered))


def _told_pairs(ordered: list[Entry], blocks: "_Blocks | ToldPairs") -> list[Pair]:
    return [pair for first, last in _months(ordered) for pair in _Day(ordered[first:last], blocks).pairs()]


class ToldPairs:
    """
    What `told_pairs` says of one name's entries that are taken in bit by bit.

    Nothing overlaps from one month to the next. So each month speaks for itself, but for what the lines around tell of
    standing out of place, and only those of which more or less may be told are looked at anew.
    """

    def __init__(self) -> None:
        self._of_month: dict[_MonthOf, list[Entry]] = defaultdict(list)
        self._pairs: dict[_MonthOf, list[Pair]] = defaultdict(list)
        self._blocks: dict[tuple | None, _GrowingBlock] = defaultdict(_GrowingBlock)

    def take_in(self, entries: list[Entry]) -> tuple[list[Pair], list[Pair]]:
        """The pairs of the months that were looked at, as they were told before and as they are told with these entries."""
        months = set()
        for entry in entries:
            months.add((entry.day.year, entry.day.month))
            self._of_month[entry.day.year, entry.day.month].append(entry)
            if entry.block is not None:
                months.update(self._blocks[_block(entry)].take_in(entry))
        before = [pair for month in months for pair in self._pairs[month]]
        for month in months:
            self._pairs[month] = _told_pairs(sorted(self._of_month[month], key=_DAY), self)
        return before, [pair for month in months for pair in self._pairs[month]]

    def is_misplaced(self, entry: Entry) -> bool:
        return self._blocks[_block(entry)].is_misplaced(entry)


_MonthOf = tuple[int, int]


class _Line(NamedTuple):
    """Where an entry stands in its block, the first and the last second of its day or month, and which month that is."""

    start: int
    first: float
    last: float
    month: _MonthOf


class _GrowingBlock:
    """What `_Blocks` says of the entries of a block that are taken in bit by bit."""

    def __init__(self) -> None:
        self._lines: list[_Line] = []
        # Those below which one of another day, or month, stands next; and those above which none of a later one stands.
        self._ends: list[_Line] = []
        self._leading: list[_Line] = []

    def take_in(self, entry: Entry) -> Iterator[_MonthOf]:
        """The months of the entries that may stand in or out of place otherwise than before."""
        line = self._line(entry)
        at = bisect_left(self._lines, line)
        self._lines.insert(at, line)
        around = self._lines[max(at - 1, 0) : at + 2]
        for above, below in pairwise(around):
            end = bisect_left(self._ends, above)
            was_end = self._ends[end : end + 1] == [above]
            self._ends[end : end + was_end] = [above] if above[1:] != below[1:] else []
        # What has another next line now is that above it, and what overlaps with that.
        yield around[0].month
        begin = end = bisect_left(self._leading, line)
        if self._latest_above(begin) <= line.last:
            overlapping = []
            while end < len(self._leading) and self._leading[end].first < line.first:
                below = self._leading[end]
                if below.last < line.first:
                    yield below.month
                else:
                    overlapping.append(below)
                end += 1
            self._leading[begin:end] = [line, *overlapping]

    def _latest_above(self, number: int) -> float:
        """The latest first second of the lines above a leading one: none is later than the last second of those."""
        latest = float("-inf")
        while number and self._leading[number - 1].last > latest:
            number -= 1
            latest = max(latest, self._leading[number].first)
        return latest

    def is_misplaced(self, entry: Entry) -> bool:
        line = self._line(entry)
        at = bisect_left(self._leading, line)
        if self._leading[at : at + 1] != [line]:
            return True
        for end in range(bisect_left(self._ends, line), len(self._ends)):
            following = self._lines[bisect_right(self._lines, self._ends[end])]
            if following.last < line.first or line.last < following.first:
                return following.last < line.first
        return False

    @staticmethod
    def _line(entry: Entry) -> _Line:
        return _Line(entry.start, *span_of(entry, timed=False), (entry.day.year, entry.day.month))


def _days(days: list[date]) -> Iterator[tuple[int, int]]:
    """Where the entries of each day begin and end that has more than one."""
    # Of each whether the next one is of its day, a byte each: what is looked for among them is found in no time.
    same = bytes(map(eq, days, days[1:])) + b"\0"
    first = same.find(1)
    while first >= 0:
        last = same.index(0, first) + 1
        yield first, last
        first = same.find(1, last)


def _months(ordered: list[Entry]) -> Iterator[tuple[int, int]]:
    """The same where there are months: what overlaps, by days and months, is one stretch."""
    first, end = 0, date.min
    for number, entry in enumerate(ordered):
        if entry.day > end:
            if number - first > 1:
                yield first, number
            first = number
        end = max(end, month_end(entry.day) if entry.day.__class__ is Month else entry.day)
    if len(ordered) - first > 1:
        yield first, len(ordered)


def span_of(entry: Entry | Moment, timed: bool = True) -> tuple[float, float]:
    """The first and the last second in which an entry may have happened."""
    day, time = entry.day, entry.time
    begin = day.toordinal() * _DAY_S
    if timed and time is not None:
        begin += second_of_day(time)
        return begin, begin
    last = month_end(day) if day.__class__ is Month else day
    return begin, last.toordinal() * _DAY_S + _DAY_S - 1


def _is_entering(entry: Entry | Moment) -> bool:
    return not isinstance(entry, Moment) and entry.verb == "entered service"


def _block(entry: Entry | Moment) -> tuple | None:
    """The block that an entry stands in; None where it stands in none."""
    if isinstance(entry, Moment) or entry.block is None:
        return None
    return entry.source.path, entry.block


def weight(entry: Entry) -> int:
    """-1 for what bars or makes unlawful, 1 for what clears, 0 for all else."""
    if entry.verb in _BARS or any(getattr(entry, field, None) in ("fail", "condemned") for field in _FOUND):
        return -1
    return int(entry.verb in _CLEARS)


def _arranged(group: list[Entry], blocks: "_Blocks") -> tuple[list[Entry], list[Entry] | None]:
    """The entries of a day in their order; where nothing tells it, both orders in which they are judged."""
    times = {entry.time for entry in group}
    if len(times) == len(group) and None not in times and len({entry.day for entry in group}) == 1:
        return sorted(group, key=attrgetter("time")), None
    day = _Day(group, blocks)
    plain, is_told = day.sequence()
    if is_told:
        return [group[number] for number in plain], None
    weights, names = [weight(entry) for entry in group], day.names()
    both = []
    for sign in (1, -1):
        weighed = [sign * weight for weight in weights]
        pressing = day.priorities(plain, weighed)
        sequence, _ = day.sequence([(pressing[at], weighed[at], sign * names[at]) for at in range(len(group))])
        both.append([group[number] for number in sequence])
    return both[0], both[1]


class _Blocks:
    """Which entries stand in their blocks where the days of the lines around them contradict it."""

    def __init__(self, entries: list):
        self._entries = entries
        self._misplaced: dict[tuple, set[int]] = {}

    @cached_property
    def _blocks(self) -> dict[tuple, list[Entry]]:
        blocks = defaultdict(list)
        for entry in self._entries:
            if entry.block is not None:
                blocks[entry.source.path, entry.block].append(entry)
        return blocks

    def is_misplaced(self, entry: Entry) -> bool:
        place = entry.source.path, entry.block
        if place not in self._misplaced:
            block = sorted(self._blocks[place], key=_START)
            in_turn = all(one.day <= other.day for one, other in pairwise(block))
            self._misplaced[place] = set() if in_turn else set(self._out_of_place(block))
        return id(entry) in self._misplaced[place]

    @staticmethod
    def _out_of_place(block: list[Entry]) -> Iterator[int]:
        """Those that stand below a line of a later day, or whose next line of another day is of an earlier one."""
        spans = [span_of(entry, timed=False) for entry in block]
        latest = float("-inf")
        for entry, (first, last) in zip(block, spans):
            if last < latest:
                yield id(entry)
            latest = max(latest, first)
        below: list[tuple[float, float]] = []
        for entry, span in zip(reversed(block), reversed(spans)):
            following = next((other for other in reversed(below) if other[1] < span[0] or span[1] < other[0]), None)
            if following is not None and following < span:
                yield id(entry)
            if not below or below[-1] != span:
                below.append(span)


class _Day:
    """
    The entries of a day, or of a month, and what tells their order.

    `first` and `last` are the seconds between which each happened; `above` and `below` the number of
    the entry next to it in its block, where its standing tells anything.
    """

    def __init__(self, entries: list, blocks: _Blocks | ToldPairs):
        self.entries = entries
        spans = [span_of(entry) for entry in entries]
        earliest: dict[date, float] = {}
        for entry, (first, _) in zip(entries, spans):
            if entry.time is not None:
                earliest[entry.day] = min(first, earliest.get(entry.day, first))
        comes_first = [
            _is_entering(entry) and (entry.time is None or spans[number][0] == earliest[entry.day])
            for number, entry in enumerate(entries)
        ]
        for number, entry in enumerate(entries):
            if comes_first[number]:
                # Before the first second of its day, and after the last one of the day before.
                moment = span_of(entry, timed=False)[0] - 0.5
                spans[number] = moment, moment
        self.first = [first for first, _ in spans]
        self.last = [last for _, last in spans]
        self.above: list[int | None] = [None] * len(entries)
        self.below: list[int | None] = [None] * len(entries)
        chains = defaultdict(list)
        for number, entry in enumerate(entries):
            chains[_block(entry)].append(number)
        chains.pop(None, None)
        for chain in chains.values():
            if len(chain) > 1:
                chain.sort(key=lambda number: entries[number].start)
                wrong = self._contradicting([number for number in chain if not comes_first[number]])
                # What comes first by its kind may stand anywhere; it is no other line that is out of place.
                wrong |= {number for number in self._contradicting(chain) if comes_first[number]}
                self._chain([number for number in chain if number not in wrong], blocks)

    def _contradicting(self, chain: list[int]) -> set[int]:
        """Those of a block's entries whose standing contradicts the times of others."""
        wrong = set()
        latest, earliest = float("-inf"), float("inf")
        for number in chain:
            if self.last[number] < latest:
                wrong.add(number)
            latest = max(latest, self.first[number])
        for number in reversed(chain):
            if self.first[number] > earliest:
                wrong.add(number)
            earliest = min(earliest, self.last[number])
        return wrong

    def _chain(self, chain: list[int], blocks: _Blocks | ToldPairs) -> None:
        right = [number for number in chain if not blocks.is_misplaced(self.entries[number])]
        for above, below in pairwise(right):
            self.below[above], self.above[below] = below, above

    def pairs(self) -> Iterator[Pair]:
        """The pairs (earlier, later) whose order only their standing tells."""
        for number, below in enumerate(self.below):
            if below is not None and self.first[below] <= self.last[number]:
                yield self.entries[number], self.entries[below]

    def sequence(self, keys: Sequence | None = None) -> tuple[list[int], bool]:
        """
        The numbers of the entries in an order that keeps what is told, those of lesser keys first, by default as they stand.

        With it whether there is only one such order.
        """
        count = len(self.entries)
        keys = keys or range(count)
        by_first = sorted(range(count), key=self.first.__getitem__)
        by_last = sorted(range(count), key=self.last.__getitem__)
        done, free = [False] * count, [False] * count
        ready: list[tuple] = []
        sequence: list[int] = []
        begun = ended = 0
        is_told = True

        def look(number: int) -> None:
            above = self.above[number]
            if free[number] and (above is None or done[above]):
                heappush(ready, (keys[number], number))

        while len(sequence) < count:
            while done[by_last[ended]]:
                ended += 1
            while begun < count and self.first[by_first[begun]] <= self.last[by_last[ended]]:
                free[by_first[begun]] = True
                look(by_first[begun])
                begun += 1
            is_told = is_told and len(ready) == 1
            _, number = heappop(ready)
            done[number] = True
            sequence.append(number)
            below = self.below[number]
            if below is not None:
                look(below)
        return sequence, is_told

    def priorities(self, plain: list[int], weights: list[int]) -> list[int]:
        """
        How each entry presses forward: 0 for those of weight -1 and what is told to be before them, 2 for
        those of weight 1 and what is told to be after them, 1 for the others. `plain` is any of the orders.
        """
        pressing = [1] * len(plain)
        soonest = float("inf")
        for number in plain:
            above = self.above[number]
            if weights[number] > 0 or self.first[number] > soonest or (above is not None and pressing[above] == 2):
                pressing[number] = 2
                soonest = min(soonest, self.last[number])
        urgent = [False] * len(plain)
        latest = float("-inf")
        for number in reversed(plain):
            below = self.below[number]
            if weights[number] < 0 or self.last[number] < latest or (below is not None and urgent[below]):
                urgent[number], pressing[number] = True, 0
                latest = max(latest, self.first[number])
        return pressing

    def names(self) -> list[int]:
        """
        A number for each entry by what it says and no file name: so that where nothing tells the order, none guesses it.

        Entries that say the same are told apart by what stands below them.
        """
        words = list(map(plain_form, self.entries))
        if len(set(words)) < len(words):
            words = ["\n".join(words[number] for number in self._downward(start)) for start in range(len(words))]
        places = {word: place for place, word in enumerate(sorted(set(words)))}
        return [places[word] for word in words]

    def _downward(self, number: int | None) -> Iterator[int]:
        while number is not None:
            yield number
            number = self.below[number]
