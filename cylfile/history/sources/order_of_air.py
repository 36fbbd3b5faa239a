"""
What came before what, of entries of different cylinders and sources: the one place where that is asked of the air.

Where nothing tells it, it is read in both ways; see `Reading`.
"""

from collections.abc import Callable
from datetime import date
from typing import NamedTuple

from cylfile.history.order import Moment, told
from cylfile.record.dates import Month, month_end
from cylfile.record.entries import Entry

When = Entry | Moment


def surely_before(one: When, other: When) -> bool:
    """
    Whether it is told that a moment came before another one: by days and times, where those do not
    overlap, else by their standing in one block.
    """
    return told(one, other) == -1


def maybe_before(one: When, other: When) -> bool:
    """Whether a moment may have come before another one: nothing tells that it came after it."""
    return not surely_before(other, one)


def untold(one: When, other: When) -> bool:
    """Whether nothing tells which of two entries came first."""
    return one is not other and maybe_before(one, other) and maybe_before(other, one)


def last_day(moment: When) -> date:
    """The last day on which it may have been: a month lasts until its end."""
    day = moment.day
    return month_end(day) if day.__class__ is Month else day


class Reading(NamedTuple):
    """
    A way to read what nothing tells the order of.

    `harms(one, other)` is whether something that makes air bad, or bars a source, counts as before
    another thing; `clears(one, other)` the same of something that ends that.
    """

    harms: Callable[[When, When], bool]
    clears: Callable[[When, When], bool]


# What harms comes first where it may have, and what clears only where that is told; and the other way round.
STRICT = Reading(maybe_before, surely_before)
LENIENT = Reading(surely_before, maybe_before)
