"""
What the arithmetic of the pack language does, by the dimensions of its operands.

Every operation is total: a result that does not exist, such as a share of nothing or a day
beyond the calendar, is None, which is "not known".
"""

from collections.abc import Callable
from datetime import date, timedelta
from functools import lru_cache
from math import isfinite
from typing import NamedTuple

from cylfile.record.dates import NEVER, months_after

_MINUTE = timedelta(minutes=1)
# Dimensions whose values are plain numbers, that may be added, compared and multiplied.
_AMOUNTS = ("pressure", "volume", "share", "count", "rate", "concentration", "density")


class Operation(NamedTuple):
    """The dimension of a result, and the function that gives it; None where Python's operator does as it is."""

    result: str
    function: Callable | None


def _times(left, right):
    product = float(left) * right
    return product if isfinite(product) else None


def _over(left, right):
    return left / right if right else None


def _a_minute(pressure, duration):
    minutes = duration / _MINUTE
    return pressure / minutes if minutes else None


def _gained(rate, duration):
    return _times(rate, duration / _MINUTE)


def _total(function):
    """`function`, giving None for a day or a time span that Python cannot hold."""

    def attempt(left, right):
        try:
            return function(left, right)
        except (OverflowError, ValueError):
            return None

    return attempt


def _plain(day: date) -> date:
    """A month's first day, where a month is added to, becomes a day like any other."""
    return date(day.year, day.month, day.day)


def _later(day, duration):
    return NEVER if day == NEVER else _plain(day) + duration


def _earlier(day, duration):
    return NEVER if day == NEVER else _plain(day) - duration


@lru_cache(maxsize=1 << 14)
def _after_period(day, months):
    # A period of no months is one that never ends.
    return months_after(day, months) if months and day != NEVER else NEVER


def _before_period(day, months):
    if not months:
        return None
    return months_after(day, -months) if day != NEVER else NEVER


def _table():
    yield ("+", "date", "duration"), Operation("date", _total(_later))
    yield ("-", "date", "duration"), Operation("date", _total(_earlier))
    yield ("+", "date", "period"), Operation("date", _after_period)
    yield ("-", "date", "period"), Operation("date", _before_period)
    yield ("-", "date", "date"), Operation("duration", None)
    yield ("+", "duration", "duration"), Operation("duration", _total(lambda left, right: left + right))
    yield ("-", "duration", "duration"), Operation("duration", _total(lambda left, right: left - right))
    yield ("/", "duration", "duration"), Operation("count", _over)
    yield ("/", "duration", "count"), Operation("duration", _total(_over))
    yield ("*", "duration", "count"), Operation("duration", _total(lambda left, right: left * right))
    yield ("*", "count", "duration"), Operation("duration", _total(lambda left, right: left * right))
    yield ("/", "pressure", "duration"), Operation("rate", _a_minute)
    yield ("*", "rate", "duration"), Operation("pressure", _gained)
    for amount in _AMOUNTS:
        yield ("+", amount, amount), Operation(amount, None)
        yield ("-", amount, amount), Operation(amount, None)
        for number in ("count", "share"):
            yield ("*", amount, number), Operation(amount, _times)
            yield ("*", number, amount), Operation(amount, _times)
            yield ("/", amount, number), Operation(amount, _over)
        yield ("/", amount, amount), Operation("share", _over)
    yield ("/", "count", "count"), Operation("count", _over)
    yield ("+", "count", "share"), Operation("count", None)
    yield ("-", "count", "share"), Operation("count", None)


OPERATIONS: dict[tuple[str, str, str], Operation] = dict(_table())

# Comparison signs, by the rule of the grammar that reads them.
COMPARISONS = {"less": "<", "at_most": "<=", "equal": "=", "unequal": "!=", "at_least": ">=", "more": ">"}
ARITHMETIC = {"plus": "+", "minus": "-", "times": "*", "over": "/"}
_UNORDERED = ("text", "flag")


def comparable(sign: str, left: str, right: str) -> bool:
    """Whether values of two dimensions may be compared by `sign`. A share and a count are both numbers."""
    if sign not in ("=", "!=") and left in _UNORDERED:
        return False
    return left == right or {left, right} == {"share", "count"}
