"""
One person, or one cylinder, at two sites closer together in time than can be.
"""

from datetime import date, datetime, timedelta

from cylfile.history.standing import stands
from cylfile.record.entries import Filled
from cylfile.record.record import Record

# Nobody is at two stations within this time. (Common practice: stations are minutes apart.)
TOO_CLOSE = timedelta(minutes=5)


def two_places_at_once(record: Record, as_of: date) -> list[tuple]:
    """
    (fill, text, the other fill) for fills at two sites by one person or of one cylinder within
    `TOO_CLOSE`. Only fills with a time and a site tell.
    """
    if len(record.sites) < 2:
        return []
    # Per person or cylinder and day, the fills; looked at closely only where the sites differ.
    by_day: dict[tuple, list] = {}
    mixed: set[tuple] = set()
    for name in record.cylinders:
        for fill in record.entries.get(name, ()):
            if fill.__class__ is Filled and fill.time and fill.at_site and stands(fill, as_of):
                for who in (("person", fill.by), ("cylinder", name)):
                    if who[1] is not None:
                        fills = by_day.setdefault((who, fill.day), [])
                        if fills and fills[0].at_site != fill.at_site:
                            mixed.add((who, fill.day))
                        fills.append(fill)
    found = []
    for key in sorted(mixed):
        (kind, name), day = key
        fills = sorted(by_day[key], key=lambda fill: fill.time)
        for earlier, later in zip(fills, fills[1:]):
            gap = datetime.combine(day, later.time) - datetime.combine(day, earlier.time)
            if earlier.at_site != later.at_site and gap < TOO_CLOSE:
                subject = f"{name} fills" if kind == "person" else f"{name} is filled"
                text = f"{subject} at {later.at_site} at {later.time:%H:%M} and at {earlier.at_site} at {earlier.time:%H:%M}"
                found.append((later, text, earlier))
    return found
