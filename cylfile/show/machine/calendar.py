"""
Due days as a calendar that other programs subscribe to or read in (RFC 5545).

Written by hand and to the letter: lines end with CR and LF, none is longer than 75 octets, and
the same record gives the same bytes on the same day, for no clock is asked.
"""

import hashlib
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import NamedTuple

from cylfile import __version__
from cylfile.show.visible import visible

_LONGEST_LINE = 75
_BEGIN_EVENT, _END = "BEGIN:VEVENT", "END:VCALENDAR"
# The properties of a whole calendar that tell whose it is, and what is said of it all.
_NAMES, _ABOUT = ("NAME", "X-WR-CALNAME"), "DESCRIPTION"


class Event(NamedTuple):
    """
    Something that is due on a day. `subject` and `kind` tell it from all others of the record.

    Moved to another day it stays the same event, so that a calendar moves it too.
    """

    kind: str
    subject: str
    day: date
    summary: str
    description: str


def calendar_lines(name: str, events: Iterable[Event], as_of: date, about: str = "") -> Iterator[str]:
    """The lines of a calendar with their line ends. `name` is that of the record, `about` what is said of it all."""
    record = hashlib.sha256(name.encode()).hexdigest()[:12]
    yield from _folded("BEGIN:VCALENDAR")
    yield from _folded("VERSION:2.0")
    yield from _folded(f"PRODID:-//cylfile//cylfile {__version__}//EN")
    yield from _folded("CALSCALE:GREGORIAN")
    for property_name in _NAMES:
        yield from _folded(f"{property_name}:{_escaped(name)}")
    # Of a whole calendar by RFC 7986.
    if about:
        yield from _folded(f"{_ABOUT}:{_escaped(about)}")
    for event in events:
        yield from _folded(_BEGIN_EVENT)
        yield from _folded(f"UID:{event.kind}.{event.subject}.{record}@cylfile")
        yield from _folded(f"DTSTAMP:{as_of:%Y%m%d}T000000Z")
        yield from _folded(f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}")
        # The end of an event of whole days is the day after it.
        if event.day < date.max:
            yield from _folded(f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}")
        yield from _folded(f"SUMMARY:{_escaped(event.summary)}")
        yield from _folded(f"DESCRIPTION:{_escaped(event.description)}")
        yield from _folded(f"CATEGORIES:{_escaped(event.kind)}")
        yield from _folded("TRANSP:TRANSPARENT")
        yield from _folded("END:VEVENT")
    yield from _folded(_END)


def joined(calendars: Iterable[str]) -> Iterator[str]:
    """Calendars as one: the names of all in its head and what is said of each, then the events, of which each says whose it is."""
    heads: list[dict[str, str]] = []
    events: list[str] = []
    for calendar in calendars:
        head, *more = calendar.removesuffix(f"{_END}\r\n").split(f"{_BEGIN_EVENT}\r\n")
        heads.append(dict(line.split(":", 1) for line in head.replace("\r\n ", "").removesuffix("\r\n").split("\r\n")))
        events += more
    names = [head[_NAMES[0]] for head in heads]
    about = "\\n".join(f"{name}: {head[_ABOUT]}" for name, head in zip(names, heads))
    together = {**heads[0], **dict.fromkeys(_NAMES, "\\, ".join(names)), _ABOUT: about}
    for name, value in together.items():
        yield from _folded(f"{name}:{value}")
    yield from (f"{_BEGIN_EVENT}\r\n{event}" for event in events)
    yield from _folded(_END)


def _escaped(text: str) -> str:
    """A text as the value of a property; the backslash first, for the others bring more of them."""
    lines = [visible(line).replace("\t", " ") for line in text.split("\n")]
    return "\\n".join(line.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,") for line in lines)


def _folded(line: str) -> Iterator[str]:
    """A line cut so that no part has more than 75 octets, and no character is cut."""
    part, size = "", 0
    for sign in line:
        octets = len(sign.encode())
        if size + octets > _LONGEST_LINE:
            yield part + "\r\n"
            # The blank before the rest counts too.
            part, size = " ", 1
        part += sign
        size += octets
    yield part + "\r\n"
