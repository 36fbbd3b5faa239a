"""
Whose history an unresolved merge conflict puts in doubt.

The lines of both sides are read, for nobody can tell which are true. So whoever has a line
there, or under a header that stands there, has one that may be false.
"""

import re
from bisect import bisect_left, bisect_right
from itertools import accumulate
from operator import itemgetter

from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, Span

_MARKS = ("<<<<<<<", "=======", ">>>>>>>", "|||||||")
_END = re.compile(r"^>{7}(?: |\r?$)[^\n]*\n?", re.MULTILINE)
# In column 1, neither blank, comment nor marker: the header of a block.
_HEADER = re.compile(r"^(?![ \t#\n]|\r?(?:\n|\Z)|<{7}|={7}|>{7}|\|{7})", re.MULTILINE)
_START = itemgetter(0)


def conflicts_about(record: Record, name: str) -> list[Fault]:
    """The faults of the merge conflicts in which a line of a cylinder stands, be it of its card or an entry."""
    if record.conflicts is None:
        record.conflicts = _conflicts(record)
    if not record.conflicts:
        return []
    card = record.cylinders.get(name)
    places = [(entry.source, entry.start) for entry in record.entries.get(name, ())]
    if card is not None:
        places += ((span.source, span.start) for span in (card.span, *card.where.values()))
    found: dict[int, Fault] = {}
    for source, start in places:
        if source in record.conflicts:
            found |= record.conflicts[source].at(start)
    return [fault for _, fault in sorted(found.items(), key=_START)]


def _conflicts(record: Record) -> "dict[Source, Conflicts]":
    of_source: dict[Source, list[tuple[int, Fault]]] = {}
    for number, fault in enumerate(record.faults):
        if fault.subject is None and fault.rule == "unreadable-line" and fault.span.text.startswith(_MARKS):
            of_source.setdefault(fault.span.source, []).append((number, fault))
    return {source: Conflicts(source, numbered) for source, numbered in of_source.items()}


class Conflicts:
    """The merge conflicts of one source, by what each leaves in doubt; their faults have numbers in the record's order."""

    def __init__(self, source: Source, numbered: list[tuple[int, Fault]]):
        self._length = len(source.text)
        self._headers = [found.start() for found in _HEADER.finditer(source.text)]
        self._ends = [found.span() for found in _END.finditer(source.text)]
        self._stretches = sorted((*self._stretch_of(fault.span), number) for number, fault in numbered)
        self._furthest = list(accumulate((end for _, end, _ in self._stretches), max))
        self._faults = dict(numbered)

    def at(self, place: int) -> dict[int, Fault]:
        """The conflicts that leave what stands at an offset in doubt, by their numbers."""
        found = {}
        index = bisect_right(self._stretches, place, key=_START) - 1
        while index >= 0 and self._furthest[index] > place:
            _, end, number = self._stretches[index]
            if place < end:
                found[number] = self._faults[number]
            index -= 1
        return found

    def _stretch_of(self, marker: Span) -> tuple[int, int]:
        """
        What a conflict leaves in doubt, by the span of the marker that its fault is about.

        From the first marker to the last; on to the end of the block that a header in between
        opens; and the whole block where a marker is left over without the others.
        """
        start = marker.start
        index = bisect_left(self._ends, start, key=_START)
        if not marker.text.startswith("<") or index == len(self._ends):
            before = bisect_left(self._headers, start)
            return self._headers[before - 1] if before else 0, self._next_header(marker.end)
        last, end = self._ends[index]
        if self._next_header(start) < last:
            return start, self._next_header(end)
        return start, end

    def _next_header(self, at: int) -> int:
        index = bisect_left(self._headers, at)
        return self._headers[index] if index < len(self._headers) else self._length
