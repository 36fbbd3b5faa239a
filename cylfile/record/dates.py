"""
Days, months and times: ISO 8601 only, and calendar arithmetic only here.
"""

import calendar
from datetime import date, time
from functools import cache, lru_cache

from dateutil.relativedelta import relativedelta

# A date that never comes: the test of a cylinder that needs none, the end of an unlimited life.
NEVER = date.max


class Month(date):
    """
    A calendar month: a date on its first day that is written without the day.

    It is no day: it comes where its first day does in any order, and equals no day.
    """

    def isoformat(self) -> str:
        # Not by strftime, which writes the year 999 with three digits on some systems.
        return f"{self.year:04}-{self.month:02}"

    __str__ = isoformat

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Month) and date.__eq__(self, other)

    def __ne__(self, other: object) -> bool:
        return not self == other

    __hash__ = date.__hash__


def day(word: str) -> date:
    """The day of a word of the form 2026-03-14; ValueError where the calendar has none."""
    return date(int(word[:4]), int(word[5:7]), int(word[8:]))


def month(word: str) -> Month:
    """The month of a word of the form 2026-03; ValueError where the calendar has none."""
    return Month(int(word[:4]), int(word[5:]), 1)


def clock(word: str) -> time:
    """The time of a word of the form 09:42 or 09:42:10; ValueError where no clock shows it."""
    hour, minute, second = (*map(int, word.split(":")), 0)[:3]
    return time(hour, minute, second)


@cache
def second_of_day(time: time) -> int:
    """The second of its day that a clock shows: 0 at midnight."""
    return time.hour * 3600 + time.minute * 60 + time.second


def month_end(a_day: date) -> date:
    """The last day of the month of `a_day`."""
    return date(a_day.year, a_day.month, calendar.monthrange(a_day.year, a_day.month)[1])


@lru_cache(maxsize=1 << 14)
def months_after(anchor: date, months: int) -> date:
    """
    The same day `months` calendar months later, or the last day of a shorter month.

    Always counted from the anchor date: two steps of a year are not always one of two.
    A date past the calendar's end is `NEVER`.
    """
    try:
        return date(anchor.year, anchor.month, anchor.day) + relativedelta(months=months)
    except (OverflowError, ValueError):
        return NEVER
