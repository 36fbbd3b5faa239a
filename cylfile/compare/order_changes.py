"""
What happened between two states to the told order of a day.

Only where both states tell how two entries follow each other by their standing alone can it be turned round; where
order is not told, standing means nothing.
"""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.history.order import told_pairs
from cylfile.record.entries import Entry


class OrderChange(NamedTuple):
    """`first` stood before `second`, both as they are now; `turned` is whether they stand the other way round now."""

    subject: str
    first: Entry
    second: Entry
    turned: bool


def compare_order(subject: str, old: list[Entry], new: list[Entry]) -> Iterator[OrderChange]:
    """Each pair that the old state told by standing, and the new tells otherwise or no longer."""
    if [(id(one.source), one.start) for one in old] == [(id(one.source), one.start) for one in new]:
        return
    now = {entry.uncorrected: entry for entry in new}
    after: dict[tuple, set[tuple]] | None = None
    for one, other in told_pairs(old):
        first, second = one.uncorrected, other.uncorrected
        if first == second or first not in now or second not in now:
            continue
        if after is None:
            after = defaultdict(set)
            for earlier, later in told_pairs(new):
                after[earlier.uncorrected].add(later.uncorrected)
        if not _reaches(after, first, second):
            yield OrderChange(subject, now[first], now[second], _reaches(after, second, first))


def _reaches(after: dict[tuple, set[tuple]], start: tuple, end: tuple) -> bool:
    seen, waiting = {start}, [start]
    while waiting:
        for each in after.get(waiting.pop(), ()):
            if each == end:
                return True
            if each not in seen:
                seen.add(each)
                waiting.append(each)
    return False
