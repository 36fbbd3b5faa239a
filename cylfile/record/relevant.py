"""
The part of a record that an answer about one cylinder can depend on.

Case it gives the same card, entries and doubts of the cylinder as reading all; of others it
may give less. See `cylfile.text.excerpt`.
"""

import re
from collections.abc import Sequence

from cylfile.record.blocks import Cylinder
from cylfile.record.called import Marks, marks_in_texts
from cylfile.record.entries import write_text
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.excerpt import Searchable
from cylfile.text.plain_lines import NAME, PlainLines, are_names
from cylfile.text.source import Fault, Source

# What has a name, and a line feed where no more stands behind it.
_NAMED = re.compile(rf"\n(cylinder|source|person|site|tester)[ \t]+({NAME})(?:[ \t]*(?:#[^\n]*)?\r?(?=(\n)))?")

# Fewer characters are all read sooner than it is found out which ones matter.
_SMALL = 60_000


def read_about(sources: list[Source], word: str, faults: Sequence[Fault] = (), marks: Marks | None = None) -> Record:
    """
    A record that answers for the cylinders that have a word for their name or a tag as that of all sources does.

    `faults` are those met while the sources were had, `marks` those in the sources, where somebody has them already.
    """
    if sum(len(source.text) for source in sources) < _SMALL:
        return read_record(sources, faults)
    return read_part(sources, word, faults, marks)


def read_part(sources: list[Source], word: str, faults: Sequence[Fault] = (), marks: Marks | None = None) -> Record:
    """The record of what the sources say of those cylinders, and of all that may bear on any."""
    searchable = [Searchable(source) for source in sources]
    marks = marks or marks_in_texts(sources)
    names = {_as_written(word)}
    while True:
        found = read_record([each.cards(names) for each in searchable])
        more = names.union(*(_marks(card, marks) for card in cylinders_of(found, word)))
        if more == names:
            break
        names = more
    named = [found for source in sources for found in _NAMED.findall("\n" + source.text)]
    others = are_names(name for kind, name, ends in named if kind == "cylinder" and ends)
    others -= names.union(name for kind, name, _ in named if kind != "cylinder")
    plain = PlainLines(others, names.union(name for kind, name, _ in named if kind == "source"))
    # The other cards found are those that mention the cylinder or bear a mark of it. Which of two
    # has a mark by right can depend on a third card of the same name.
    parts = [each.excerpt(plain, found.cylinders) for each in searchable]
    return read_record(parts, faults, elsewhere=others, marks=marks)


def cylinders_of(record: Record, word: str) -> list[Cylinder]:
    """The cards that have a word for their name or for one of their tags; where none has, those of that serial number."""
    cards = record.cylinders.values()
    named = [card for card in cards if word == card.name or any(word == tag.name for tag in card.tags)]
    return named or [card for card in cards if card.serial is not None and word == card.serial]


def card_names(sources: list[Source]) -> list[str]:
    """The names that the headers of cards give, without a look at anything else."""
    named = (found for source in sources for found in _NAMED.findall("\n" + source.text))
    return [name for kind, name, _ in named if kind == "cylinder"]


def _marks(card: Cylinder, marks: Marks) -> set[str]:
    """What else a cylinder is known by: two cards may bear one serial number, in capitals or not, or tag by mistake."""
    serial = (card.serial or "").casefold()
    serials = {_as_written(mark) for mark in marks.holders if serial and mark.casefold() == serial}
    return {card.name, *(tag.name for tag in card.tags), *serials}


def _as_written(mark: str) -> str:
    """A name, a tag or a serial number as it stands in a ledger, without the quotation marks of a text."""
    return write_text(mark)[1:-1]
