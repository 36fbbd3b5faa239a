"""
One person, or one cylinder, at two sites closer together in time than can be.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from operator import itemgetter, sub

from cylfile.history.standing import standing
from cylfile.record.dates import second_of_day
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record

TWO_PLACES = "two-places-at-once"
# Nobody is at two stations within so many seconds. (Common practice: stations are minutes apart.)
TOO_CLOSE_S = 300
# Of one day and the next no moments are close.
_DAY_APART = 2 * 86_400
# A fill with its moment in seconds, those of each day counted from its beginning.
_Timed = tuple[int, Entry]
_MOMENT = itemgetter(0)


def two_places_at_once(record: Record, as_of: date, entries: Mapping[str, Sequence[Entry]]) -> list[tuple]:
    """
    (fill, text, the other fill) for fills at two sites by one person or of one cylinder within
    `TOO_CLOSE_S` on one day. Only fills with a time and a site tell.

    `entries` are those of the record by their cylinders: all of them, or all of some days.
    """
    if len(record.sites) < 2:
        return []
    of_cylinder: dict[str, list[_Timed]] = {}
    by_person: dict[str, list[_Timed]] = defaultdict(list)
    for name in record.cylinders:
        of_cylinder[name] = own = [
            (fill.day.toordinal() * _DAY_APART + second_of_day(fill.time), fill)
            for fill in standing(entries.get(name, ()), as_of)
            if fill.__class__ is Filled and fill.time is not None and fill.at_site is not None
        ]
        for timed in own:
            by = timed[1].by
            if by is not None:
                by_person[by].append(timed)
    found = []
    for says, fills_of in (("is filled", of_cylinder), ("fills", by_person)):
        for name, fills in sorted(fills_of.items()):
            for earlier, later in _too_close(fills):
                text = f"{name} {says} at {later.at_site} at {later.time:%H:%M} and at {earlier.at_site} at {earlier.time:%H:%M}"
                found.append((later, text, earlier))
    return found


def _too_close(fills: list[_Timed]) -> Iterator[tuple[Entry, Entry]]:
    """The pairs of fills, one of which is the next in time after the other, that are too close for their sites."""
    fills.sort(key=_MOMENT)
    moments = list(map(_MOMENT, fills))
    for number, apart in enumerate(map(sub, moments[1:], moments)):
        # Nearly all are farther apart.
        if apart < TOO_CLOSE_S:
            (_, earlier), (_, later) = fills[number : number + 2]
            if earlier.at_site != later.at_site:
                yield earlier, later
