"""
Days as the pages for people write them.
"""

from datetime import date

from cylfile.packs.wording import NOT_KNOWN, in_words
from cylfile.record.dates import NEVER
from cylfile.text.phrases import counted


def day_or(day: date | None, never: str) -> str:
    """A day, `never` for one that does not come, and that it is not known."""
    if day is None:
        return NOT_KNOWN
    return never if day == NEVER else str(day)


def days_away(day: date, as_of: date) -> str:
    """How far off a day is, in days."""
    days = (day - as_of).days
    if days == 0:
        return "today"
    return f"in {counted(days, 'day')}" if days > 0 else f"{counted(-days, 'day')} ago"


def counted_from(since: date, every: int) -> str:
    """What a due day is counted from: 2021-06-14 + 5 years."""
    return f"{since} + {in_words(every, 'period', 'psi')}"
