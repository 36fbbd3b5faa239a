"""
Cylinders by what people call them: name, tag or serial number, in any case, and `12` for `012` where only one fits.
"""

import re
from collections.abc import Callable, Iterable
from datetime import date

from cylfile.record.blocks import Cylinder
from cylfile.record.record import Record
from cylfile.text.source import Source

_MARKED = re.compile(
    r'\n(?:cylinder|[ \t]+(?:tag|serial))[ \t]+(?:"([^"\\\n]*)"|([A-Za-z0-9][A-Za-z0-9._/-]*))', re.ASCII
)


def as_on_record(word: str, marks: Iterable[str]) -> str:
    """
    The one of `marks` that somebody means by a word: itself, else the only one that is the same in another case, else
    the only one that is the same but for zeros before a number; the word where none or more than one is.
    """
    known = set(marks)
    if word in known:
        return word
    same: tuple[Callable[[str], str], ...] = (str.casefold, _without_zeros)
    for key in same:
        fitting = [mark for mark in known if key(mark) == key(word)]
        if fitting:
            return fitting[0] if len(fitting) == 1 else word
    return word


def _without_zeros(mark: str) -> str:
    return re.sub("(?<![0-9])0+(?=[0-9])", "", mark.casefold())


def marks_in_texts(sources: Iterable[Source]) -> set[str]:
    """All names, tags and serial numbers of cylinders that texts give, without reading anything else of them."""
    found = (_MARKED.findall("\n" + source.text) for source in sources)
    return {quoted or plain for marks in found for quoted, plain in marks}


def marks_of(record: Record) -> set[str]:
    """All names, tags and serial numbers of the cylinders of a record."""
    cards = record.cylinders.values()
    serials = {card.serial for card in cards if card.serial}
    return {*record.cylinders, *(tag.name for card in cards for tag in card.tags), *serials}


def cylinder_called(record: Record, word: str, day: date = date.max) -> Cylinder | None:
    """The cylinder that somebody means by a word, a tag being the one that it has on a day; None where that is not one."""
    meant = as_on_record(word, marks_of(record))
    card = record.find_cylinder(meant, day)
    if card is not None:
        return card
    of_serial = [card for card in record.cylinders.values() if card.serial == meant]
    return of_serial[0] if len(of_serial) == 1 else None
