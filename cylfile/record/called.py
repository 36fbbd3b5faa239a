"""
Cylinders by what people call them: name, tag or serial number, in any case, and `12` for `012` where only one fits.
"""

import re
from collections.abc import Callable, Collection, Iterable
from datetime import date
from typing import TYPE_CHECKING

from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry
from cylfile.record.vocabulary import MAY_BE, SOURCE
from cylfile.record.vocabulary import NAME as NAMES
from cylfile.text.source import Source

if TYPE_CHECKING:
    from cylfile.record.record import Record

# What can be a name in a ledger.
NAME = re.compile("[A-Za-z0-9][A-Za-z0-9._/-]{0,63}")
_CARD, _TAG, _SERIAL = "cylinder", "tag", "serial"
_MARKED = re.compile(
    r'\n(cylinder|[ \t]+(?:tag|serial))[ \t]+(?:"((?:[^"\\\n]|\\.)*)"|([A-Za-z0-9][A-Za-z0-9._/-]*))', re.ASCII
)
_WHAT = {_TAG: "tag", _SERIAL: "serial number"}


class Marks:
    """Names, tags and serial numbers of cylinders: `holders` has what each mark is, and of which cards, in their order."""

    def __init__(self, holders: dict[str, list[tuple[str, str]]]):
        self.holders = holders
        self._alike: dict[Callable[[str], str], dict[str, list[str]]] = {}

    def meant(self, word: str) -> str:
        """The mark that somebody means by a word; the word itself where that is none, or more than one; see `as_on_record`."""
        fitting = self.fitting(word)
        return fitting[0] if len(fitting) == 1 else word

    def fitting(self, word: str) -> list[str]:
        """The marks that a word may mean."""
        if word in self.holders:
            return [word]
        for key in _SAME:
            if key not in self._alike:
                alike = self._alike[key] = {}
                for mark in self.holders:
                    alike.setdefault(key(mark), []).append(mark)
            if fitting := self._alike[key].get(key(word)):
                return fitting
        return []

    def misnamed(self, name: str) -> tuple[str, str]:
        """What to say of a line that gives a name which no card declares, and what to do."""
        mark = self.meant(name)
        holders = self.holders.get(mark, [])
        cards = list(dict.fromkeys(card for _, card in holders))
        which = " and ".join(cards)
        what = next((what for what, _ in holders), "")
        if not holders and (fitting := self.fitting(name)):
            return f"no card declares `{name}`, which may be {' or '.join(sorted(fitting))}", "Write which one it is."
        if not holders:
            return f"no card declares `{name}`", f"Correct the name, or open a card: cylinder {name}"
        if what == _CARD:
            return f"no card declares `{name}`, and there is {mark}", f"Write {mark}."
        as_written = "" if mark == name else f"{mark} "
        text = f"`{name}` is the {_WHAT[what]} {as_written}of {which}, and a line names the cylinder"
        return text, f"Write {' or '.join(cards)}."


def as_on_record(word: str, marks: Collection[str]) -> str:
    """
    The one of `marks` that somebody means by a word: itself, else the only one that is the same in another case, else
    the only one that is the same but for zeros before a number; the word where none or more than one is.
    """
    return Marks(dict.fromkeys(marks, [])).meant(word)


def _without_zeros(mark: str) -> str:
    return re.sub("(?<![0-9])0+(?=[0-9])", "", mark.casefold())


_SAME: tuple[Callable[[str], str], ...] = (str.casefold, _without_zeros)


def marks_in_texts(sources: Iterable[Source]) -> Marks:
    """The marks that texts give, without reading anything else of them."""
    holders: dict[str, list[tuple[str, str]]] = {}
    for source in sources:
        card = ""
        for what, quoted, plain in _MARKED.findall("\n" + source.text):
            mark = re.sub(r"\\(.)", r"\1", quoted) if "\\" in quoted else quoted or plain
            card = mark if what == _CARD else card
            holders.setdefault(mark, []).append((what.strip(), card))
    return Marks(holders)


def marks_of(record: "Record") -> Marks:
    """The marks of the cylinders of a record."""
    holders: dict[str, list[tuple[str, str]]] = {}
    for card in record.cylinders.values():
        serial = [(_SERIAL, card.serial)] if card.serial else []
        for what, mark in ((_CARD, card.name), *((_TAG, tag.name) for tag in card.tags), *serial):
            holders.setdefault(mark, []).append((what, card.name))
    return Marks(holders)


def cylinder_called(record: "Record", word: str, day: date = date.max, marks: Marks | None = None) -> Cylinder | None:
    """
    The cylinder that somebody means by a word, a tag being the one that it has on a day; None where that is not one.

    `marks` are those of the record, where somebody has them already.
    """
    meant = (marks or marks_of(record)).meant(word)
    card = record.find_cylinder(meant, day)
    if card is not None:
        return card
    of_serial = [card for card in record.cylinders.values() if card.serial == meant]
    return of_serial[0] if len(of_serial) == 1 else None


def with_names_as_declared(record: "Record", entry: Entry) -> Entry:
    """An entry with its source, people and places as they are declared, where it gives them in other cases."""
    named = {
        "subject": (SOURCE,),
        **{
            clause.field: MAY_BE[clause.names or entry.row.signer]
            for clause in entry.row.clauses
            if clause.value == NAMES
        },
    }
    meant = {}
    for field, kinds in named.items():
        name = getattr(entry, field)
        if name is not None and name not in record.declared:
            meant[field] = as_on_record(name, [each.name for each in record.declared.values() if each.word in kinds])
    return entry._replace(**meant) if meant else entry
