"""
Whose history an unresolved merge conflict puts in doubt.

The lines of both sides are read, for nobody can tell which are true. So whoever has a line
there, or under a header that stands there, has one that may be false.
"""

import re

from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, Span

_MARKS = ("<<<<<<<", "=======", ">>>>>>>", "|||||||")
_END = re.compile(r"^>{7}(?: |\r?$)[^\n]*\n?", re.MULTILINE)
# In column 1, neither blank, comment nor marker: the header of a block.
_HEADER = re.compile(r"^(?![ \t#\n]|\r?(?:\n|\Z)|<{7}|={7}|>{7}|\|{7})", re.MULTILINE)


def conflicts_about(record: Record, name: str) -> list[Fault]:
    """The faults of the merge conflicts in which a line of a cylinder stands, be it of its card or an entry."""
    conflicts = [fault for fault in record.faults if _is_conflict(fault)]
    if not conflicts:
        return []
    card = record.cylinders.get(name)
    places = [(entry.source, entry.start) for entry in record.entries.get(name, ())]
    if card is not None:
        places += ((span.source, span.start) for span in (card.span, *card.where.values()))
    return [fault for fault in conflicts if any(_holds(stretch_of(fault.span), place) for place in places)]


def stretch_of(marker: Span) -> Span:
    """
    What a conflict leaves in doubt, by the span of the marker that its fault is about.

    From the first marker to the last; on to the end of the block that a header in between
    opens; and the whole block where a marker is left over without the others.
    """
    source, start = marker.source, marker.start
    text = source.text
    end = _END.search(text, start) if text.startswith("<", start) else None
    if end is None:
        return Span(source, _last_header(source, start), _next_header(source, marker.end))
    if _HEADER.search(text, start, end.start()):
        return Span(source, start, _next_header(source, end.end()))
    return Span(source, start, end.end())


def _is_conflict(fault: Fault) -> bool:
    return fault.subject is None and fault.rule == "unreadable-line" and fault.span.text.startswith(_MARKS)


def _holds(stretch: Span, place: tuple[Source, int]) -> bool:
    source, start = place
    return source is stretch.source and stretch.start <= start < stretch.end


def _next_header(source: Source, at: int) -> int:
    found = _HEADER.search(source.text, at)
    return found.start() if found else len(source.text)


def _last_header(source: Source, at: int) -> int:
    return max((found.start() for found in _HEADER.finditer(source.text, 0, at)), default=0)
