"""
What a change of a record changes in the air of fills that it did not touch: which, of all fills, may be told otherwise.

Rather too many are named than too few. A change reaches, at its source and at the storages filled from that, from its
own day to the day from which on all is as it was.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import date
from typing import NamedTuple

from cylfile.history.sources.air_log import AirLog
from cylfile.history.sources.order_of_air import last_day
from cylfile.history.sources.source_log import SourceLog
from cylfile.history.standing import stands
from cylfile.record.entries import Entry, Filled

# The first and the last day of what is told otherwise of a source.
Days = tuple[date, date]
_ALWAYS = (date.min, date.max)


class ToldOtherwise(NamedTuple):
    """
    What may be told otherwise: by the name of what was filled, fills as they stand in the record before a change and after
    it; and whether what air is suspect may be, so that it has to be asked who holds any.
    """

    fills: dict[str, tuple[list[Entry], list[Entry]]]
    of_suspect_air: bool


def told_otherwise(
    before: AirLog,
    after: AirLog,
    differing: dict[str, list[Entry]],
    names: Collection[str],
    heads: Collection[str] = (),
    regrouped: Collection[str] = (),
) -> ToldOtherwise:
    """
    The fills that may be told otherwise.

    `names` are those of which the record has other entries or cards now, `heads` those of whose blocks it says
    anything else, and `regrouped` those of whose entries it has some in other blocks; `differing` are the `differing_fills`.
    """
    changed = [name for name in before.sources.keys() | after.sources.keys() if name in names]
    days: dict[str, list[Days]] = defaultdict(list)
    of_suspect_air = False
    for name in changed:
        one, other = before.sources.get(name), after.sources.get(name)
        if one is None or other is None or name in regrouped:
            days[name].append(_ALWAYS)
            of_suspect_air = True
        else:
            days[name] += _of_entries(one, other)
    if changed:
        of_suspect_air = _suspect(before, after, days) or of_suspect_air
        _through_storages(before, after, days)
    # What else the block of a source says is asked of the fills from it alone.
    for name in changed:
        if name in heads:
            days[name].append(_ALWAYS)
    for fills_of_name in differing.values():
        for fill in fills_of_name:
            if fill.on in after.sources:
                until = max(
                    log.sources[fill.on].counts_until(fill.day) for log in (before, after) if fill.on in log.sources
                )
                days[fill.on].append((fill.day, until))
    fills: dict[str, tuple[list[Entry], list[Entry]]] = defaultdict(lambda: ([], []))
    for number, log in enumerate((before, after)):
        for name, stretches in days.items():
            if name in log.sources:
                for first, last in _apart(stretches):
                    for fill in log.sources[name].drawn_on(first, last):
                        fills[fill.subject][number].append(fill)
    return ToldOtherwise(fills, of_suspect_air)


def _apart(stretches: Iterable[Days]) -> list[Days]:
    """The same days, each of them in one stretch only."""
    apart: list[Days] = []
    for first, last in sorted(set(stretches)):
        if apart and first <= apart[-1][1]:
            apart[-1] = apart[-1][0], max(last, apart[-1][1])
        else:
            apart.append((first, last))
    return apart


def _of_entries(before: SourceLog, after: SourceLog) -> Iterator[Days]:
    """The days from the first entry that differs to the one from which on all that is known is the same."""
    one, other = before.entries, after.entries
    first, shorter = 0, min(len(one), len(other))
    while first < shorter and _is_same(one[first], other[first]):
        first += 1
    if first == len(one) == len(other):
        return
    last = 0
    while last < shorter - first and _is_same(one[-1 - last], other[-1 - last]) and before.is_as(after, last):
        last += 1
    begin = min(entry.day for entries in (one, other) for entry in entries[first : first + 1])
    yield begin, one[-last].day if last else date.max


def _is_same(one: Entry, other: Entry) -> bool:
    """Whether two entries say the same in the same file: in another one, it is among other lines that may tell what came first."""
    return one is other or (one.facts == other.facts and one.source.path == other.source.path)


def differing_fills(before: AirLog, after: AirLog, names: Iterable[str]) -> dict[str, list[Entry]]:
    """Of some names the fills that are of one of the records only, or of another size."""
    return {name: _differing_fills(before, after, name) for name in names}


def _differing_fills(before: AirLog, after: AirLog, name: str) -> list[Entry]:
    both = [log.record.entries.get(name, []) for log in (before, after)]
    is_all = before.water_volume(name) != after.water_volume(name)
    is_unread = before.likely_reached(name) != after.likely_reached(name)
    if not is_all and not is_unread:
        # Most are the very same, since their file is.
        one, other = (dict(zip(map(id, entries), entries)) for entries in both)
        both = [[one[each] for each in one.keys() - other.keys()], [other[each] for each in other.keys() - one.keys()]]
    fills = [
        [entry for entry in entries if entry.__class__ is Filled and stands(entry, after.as_of)] for entries in both
    ]
    if is_all:
        return fills[0] + fills[1]
    counts = [Counter(entry.facts for entry in each) for each in fills]
    return [
        entry
        for each in fills
        for entry in each
        if counts[0][entry.facts] != counts[1][entry.facts] or (is_unread and entry.reading is None)
    ]


def _suspect(before: AirLog, after: AirLog, days: dict[str, list[Days]]) -> bool:
    """Add the days of suspect air that is of one of the records only, or came by what differs; whether there is any."""
    found_any = False
    for one, other in ((before, after), (before.lenient, after.lenient)):
        stretches = [log.suspect_air.stretches for log in (one, other)]
        keys = [{name: [stretch.facts for stretch in found] for name, found in each.items()} for each in stretches]
        for each, others in zip(stretches, reversed(keys)):
            for name, found in each.items():
                for stretch in found:
                    if stretch.facts not in others.get(name, ()) or any(
                        first <= fill.day <= last
                        for fill in stretch.way
                        for at in (fill.on, fill.subject)
                        for first, last in tuple(days.get(at, ()))
                    ):
                        begin, end = stretch.begin, stretch.end
                        first, last = begin.day if begin else date.min, last_day(end) if end else date.max
                        days[name].append((first, last))
                        found_any = True
    return found_any


def _through_storages(before: AirLog, after: AirLog, days: dict[str, list[Days]]) -> None:
    """Add to each storage the days of all sources that it was ever filled from, over other storages too."""
    above: dict[str, set[str]] = defaultdict(set)
    for log in (before, after):
        for name, source in log.sources.items():
            above[name] |= source.filled_from
    grows = True
    while grows:
        grows = False
        for name, sources in above.items():
            more = {each for source in sources for each in days.get(source, ())} - set(days.get(name, ()))
            if more:
                days[name] += more
                grows = True
