"""
The order of one cylinder's entries: by day, and within a day as the format says.
"""

from operator import itemgetter

# Untimed entries of one day come in this order: the day's benefit of the doubt goes to the
# cylinder, for a test is taken to come before the fill it allows.
_RANK = {
    verb: rank
    for rank, verb in enumerate(
        (
            "entered service", "returned to service", "visual", "hydro", "life extended", "filled", "gauged", "noted", "moved",
            "emptied", "damaged", "out of service", "condemned", "retired",
            "air sample", "cartridge changed", "gauge checked",
        )
    )
}  # fmt: skip
_DAY = itemgetter(0)


def in_order(entries: list) -> list:
    """
    The entries in the order in which they happened.

    Days come first. Of one day, entries with a time are in the order of their times; each
    without one stands before the first timed entry that comes after it by kind, and among the
    untimed the kind decides, then the place in the files.
    """
    days = list(map(_DAY, entries))
    if len(set(days)) == len(days):
        return entries if days == sorted(days) else sorted(entries, key=_DAY)
    ordered, run = [], []
    for entry in sorted(entries, key=_DAY):
        if run and entry.day != run[0].day:
            ordered += _in_day_order(run)
            run = []
        run.append(entry)
    ordered += _in_day_order(run)
    return ordered


def _in_day_order(run: list) -> list:
    if len(run) == 1:
        return run
    place = {id(entry): index for index, entry in enumerate(run)}
    ordered = sorted((entry for entry in run if entry.time is not None), key=lambda entry: entry.time)
    untimed = sorted((entry for entry in run if entry.time is None), key=lambda entry: _RANK[entry.verb])
    for entry in untimed:
        rank = _RANK[entry.verb], place[id(entry)]
        after = (
            i
            for i, other in enumerate(ordered)
            if (_RANK[other.verb], place[id(other)]) > rank and other.time is not None
        )
        ordered.insert(next(after, len(ordered)), entry)
    return ordered
