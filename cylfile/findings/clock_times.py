"""
Times that the clocks of a zone did not show, since they went forward, or showed twice, since they went back.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache
from operator import itemgetter

from cylfile.history.standing import struck_on
from cylfile.record.entries import Entry, write_time
from cylfile.record.record import Record
from cylfile.text.source import Fault

_DAY = itemgetter(0)

NO_SUCH_TIME, TIME_CAME_TWICE = "no-such-time", "time-came-twice"


# The rules of such times.
CLOCK_RULES = (NO_SUCH_TIME, TIME_CAME_TWICE)


def clock_times(record: Record, as_of: date, names: Iterable[str] | None = None) -> Iterator[Fault]:
    """A fault for each entry with such a time, of all names or of some; none where no zone is known."""
    zone, department = record.clock(), record.department
    if zone is None or department is None or department.zone is None:
        return
    name = department.zone
    lists = [record.entries[each] for each in (record.entries if names is None else names) if each in record.entries]
    all_days = set().union(*(map(_DAY, entries) for entries in lists))
    days = {day for day in all_days if _change(zone, day)}
    for entries in lists:
        if not days.isdisjoint(map(_DAY, entries)):
            for entry in entries:
                if entry[0] in days and entry[1] is not None and not struck_on(entry, as_of):
                    yield from _about(entry, name, zone)


@lru_cache(maxsize=1 << 15)
def _change(zone: tzinfo, day: date) -> bool:
    """Whether the clocks of a zone are put forward or back on a day."""
    start = datetime(day.year, day.month, day.day, tzinfo=zone)
    return day < date.max and start.utcoffset() != (start + timedelta(1)).utcoffset()


def _about(entry: Entry, name: str, zone: tzinfo) -> Iterator[Fault]:
    assert entry.time is not None
    first = datetime.combine(entry.day, entry.time, zone)
    before, after = first.utcoffset(), first.replace(fold=1).utcoffset()
    assert before is not None and after is not None
    said = f"{write_time(entry.time)} on {entry.day}"
    if before < after:
        text = f"no clock in {name} showed {said}: they were put forward by {_length(after - before)}"
        yield Fault(entry.span, text, "Correct the time or the day.", rule=NO_SUCH_TIME, subject=entry.subject)
    elif before > after:
        text = f"the clocks in {name} showed {said} twice: they were put back by {_length(before - after)}"
        cure = "Say in a remark which of the two it was, where that matters."
        yield Fault(entry.span, text, cure, rule=TIME_CAME_TWICE, subject=entry.subject)


def _length(change: timedelta) -> str:
    hours, rest = divmod(int(change.total_seconds()), 3600)
    return " ".join(part for part in (f"{hours} h" if hours else "", f"{rest // 60} min" if rest else "") if part)
