"""
The order of one cylinder's entries: by day, and within a day as the format says.
"""

from bisect import bisect_left
from collections import Counter
from operator import itemgetter

# Untimed entries of one day come in this order: the day's benefit of the doubt goes to the
# cylinder, for a test is taken to come before the fill it allows.
_RANK = {
    verb: rank
    for rank, verb in enumerate(
        (
            "entered service", "returned to service", "visual", "hydro", "serviced", "life extended",
            "cartridge changed", "gauge checked", "air sample", "filled", "gauged", "remarked", "moved",
            "emptied", "damaged", "out of service", "condemned", "retired",
        )
    )
}  # fmt: skip
_DAY = itemgetter(0)


def in_order(entries: list) -> tuple[list, list[list]]:
    """
    The entries in the order in which they happened, and those of each day that has more than one.

    Days come first. Of one day, entries with a time are in the order of their times; each
    without one stands before the first timed entry that comes after it by kind, and among the
    untimed the kind decides, then the place in the files.
    """
    ordered = sorted(entries, key=_DAY)
    days = [entry.day.toordinal() for entry in ordered]
    if len(set(days)) == len(days):
        return ordered, []
    full_days = []
    for day, count in Counter(days).items():
        if count > 1:
            first = bisect_left(days, day)
            ordered[first : first + count] = in_day_order(ordered[first : first + count])
            full_days.append(ordered[first : first + count])
    return ordered, full_days


def in_day_order(run: list) -> list:
    """The entries of one day in their order; see `in_order`."""
    places = {id(entry): _place(entry) for entry in run}
    timed = sorted(
        (entry for entry in run if entry.time is not None), key=lambda entry: (entry.time, places[id(entry)])
    )
    untimed = sorted((entry for entry in run if entry.time is None), key=lambda entry: places[id(entry)])
    ordered, at = [], 0
    for entry in untimed:
        # What comes later by kind stands no earlier among the timed entries either.
        while at < len(timed) and places[id(timed[at])] < places[id(entry)]:
            ordered.append(timed[at])
            at += 1
        ordered.append(entry)
    return ordered + timed[at:]


def _place(entry) -> tuple:
    """Where an untimed entry comes in its day: by its kind, then by its place in the files."""
    return _RANK[entry.verb], entry.source.path, entry.start
