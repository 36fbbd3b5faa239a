"""
One person, or one cylinder, at two sites closer together in time than can be.
"""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from operator import attrgetter

from cylfile.history.standing import stands
from cylfile.record.entries import Filled
from cylfile.record.record import Record

# Nobody is at two stations within this time. (Common practice: stations are minutes apart.)
TOO_CLOSE = timedelta(minutes=5)
_BY, _SUBJECT, _TIME = attrgetter("by"), attrgetter("subject"), attrgetter("time")


def two_places_at_once(record: Record, as_of: date) -> list[tuple]:
    """
    (fill, text, the other fill) for fills at two sites by one person or of one cylinder within
    `TOO_CLOSE`. Only fills with a time and a site tell.
    """
    if len(record.sites) < 2:
        return []
    fills = [
        fill
        for name in record.cylinders
        for fill in record.entries.get(name, ())
        if fill.__class__ is Filled and fill.time and fill.at_site and stands(fill, as_of)
    ]
    found = []
    for kind, name, day, of_day in sorted([*_mixed("person", fills, _BY), *_mixed("cylinder", fills, _SUBJECT)]):
        of_day.sort(key=_TIME)
        for earlier, later in pairwise(of_day):
            gap = datetime.combine(day, later.time) - datetime.combine(day, earlier.time)
            if earlier.at_site != later.at_site and gap < TOO_CLOSE:
                subject = f"{name} fills" if kind == "person" else f"{name} is filled"
                text = f"{subject} at {later.at_site} at {later.time:%H:%M} and at {earlier.at_site} at {earlier.time:%H:%M}"
                found.append((later, text, earlier))
    return found


def _mixed(kind: str, fills: list, whose: Callable) -> Iterator[tuple[str, str, date, list]]:
    """Of every person or cylinder: the days with fills at more than one site, and those fills."""
    site_of: dict[tuple[str, date], str] = {}
    mixed: dict[tuple[str, date], list] = {}
    for fill in fills:
        key = whose(fill), fill.day
        if site_of.setdefault(key, fill.at_site) != fill.at_site:
            mixed[key] = []
    # Hardly any day is one, so what is of the others is not kept.
    for fill in fills if mixed else ():
        of_day = mixed.get((whose(fill), fill.day))
        if of_day is not None:
            of_day.append(fill)
    return ((kind, name, day, of_day) for (name, day), of_day in mixed.items() if name is not None)
