"""
One person, or one cylinder, at two sites closer together in time than can be.
"""

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from operator import attrgetter, itemgetter
from typing import Any

from cylfile.history.standing import stands
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record

TWO_PLACES = "two-places-at-once"
# Nobody is at two stations within this time. (Common practice: stations are minutes apart.)
TOO_CLOSE = timedelta(minutes=5)
_WHO_AND_WHEN = itemgetter(0, 1, 2)
_TIME = attrgetter("time")


def two_places_at_once(record: Record, as_of: date, days: Container[date] | None = None) -> list[tuple]:
    """
    (fill, text, the other fill) for fills at two sites by one person or of one cylinder within
    `TOO_CLOSE`, of all days or of some. Only fills with a time and a site tell.
    """
    if len(record.sites) < 2:
        return []
    mixed: list[tuple[str, str, date, list]] = []
    by_person: dict[str | None, list[Entry]] = defaultdict(list)
    for name in record.cylinders:
        entries: Iterable[Entry] = record.entries.get(name, ())
        if days is not None:
            entries = (entry for entry in entries if entry.day in days)
        own = [entry for entry in entries if entry.__class__ is Filled and entry.at_site]
        mixed += (("cylinder", name, *each) for each in _days_at_two_sites(own, as_of))
        for fill in own:
            by_person[fill.by].append(fill)
    for person, own in by_person.items():
        if person is not None:
            mixed += (("person", person, *each) for each in _days_at_two_sites(own, as_of))
    found = []
    for kind, name, _, fills in sorted(mixed, key=_WHO_AND_WHEN):
        fills.sort(key=_TIME)
        for earlier, later in pairwise(fills):
            if earlier.at_site != later.at_site and _gap(earlier, later) < TOO_CLOSE:
                subject = f"{name} fills" if kind == "person" else f"{name} is filled"
                text = f"{subject} at {later.at_site} at {later.time:%H:%M} and at {earlier.at_site} at {earlier.time:%H:%M}"
                found.append((later, text, earlier))
    return found


def _gap(earlier: Any, later: Any) -> timedelta:
    return datetime.combine(date.min, later.time) - datetime.combine(date.min, earlier.time)


def _days_at_two_sites(own: list[Entry], as_of: date) -> Iterator[tuple[date, list[Entry]]]:
    """The days on which some fills, all by one person or of one cylinder, are at more than one site; those with a time."""
    site_of = {fill.day: fill.at_site for fill in own}
    days = {fill.day for fill in own if fill.at_site != site_of[fill.day]}
    # Hardly anybody has one.
    if days:
        by_day = defaultdict(list)
        for fill in own:
            if fill.day in days and fill.time is not None and stands(fill, as_of):
                by_day[fill.day].append(fill)
        yield from by_day.items()
