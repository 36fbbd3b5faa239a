"""
One person, or one cylinder, at two sites closer together in time than can be.
"""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from operator import attrgetter, itemgetter

from cylfile.history.standing import standing
from cylfile.record.entries import Filled
from cylfile.record.record import Record

# Nobody is at two stations within this time. (Common practice: stations are minutes apart.)
TOO_CLOSE = timedelta(minutes=5)
# Who may be at two places, and which field of a fill names them.
_WHO = {"cylinder": "subject", "person": "by"}
_WHO_AND_WHEN = itemgetter(0, 1, 2)


def two_places_at_once(record: Record, as_of: date) -> list[tuple]:
    """
    (fill, text, the other fill) for fills at two sites by one person or of one cylinder within
    `TOO_CLOSE`. Only fills with a time and a site tell.
    """
    if len(record.sites) < 2:
        return []
    by_day: dict[date, list] = defaultdict(list)
    for name in record.cylinders:
        for fill in standing(record.entries.get(name, ()), as_of):
            if fill.__class__ is Filled and fill.time and fill.at_site:
                by_day[fill.day].append(fill)
    found = []
    mixed: list[tuple[str, str, date, list]] = [
        (kind, *each) for kind, field in _WHO.items() for each in _at_two_sites(by_day, field)
    ]
    for kind, name, day, fills in sorted(mixed, key=_WHO_AND_WHEN):
        fills.sort(key=attrgetter("time"))
        for earlier, later in pairwise(fills):
            gap = datetime.combine(day, later.time) - datetime.combine(day, earlier.time)
            if earlier.at_site != later.at_site and gap < TOO_CLOSE:
                subject = f"{name} fills" if kind == "person" else f"{name} is filled"
                text = f"{subject} at {later.at_site} at {later.time:%H:%M} and at {earlier.at_site} at {earlier.time:%H:%M}"
                found.append((later, text, earlier))
    return found


def _at_two_sites(by_day: dict[date, list], who: str) -> Iterator[tuple[str, date, list]]:
    """Everybody who fills, or is filled, at more than one site on a day, by name; the day, and the fills then."""
    name_of, with_site = attrgetter(who), attrgetter(who, "at_site")
    for day, fills in by_day.items():
        # Hardly any day has one, and on most a name stands once.
        names = set(map(name_of, fills))
        if len(names) < len(fills) and len(set(map(with_site, fills))) > len(names):
            by_name: dict[str | None, list] = defaultdict(list)
            for fill in fills:
                by_name[name_of(fill)].append(fill)
            for name, own in by_name.items():
                if name is not None and len({fill.at_site for fill in own}) > 1:
                    yield name, day, own
