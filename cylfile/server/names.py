"""
Names: where they are declared, where they are used, and giving one another name in every file.
"""

from cylfile.record.plans import LONGEST_NAME
from cylfile.server.cursor import line_start, names_between
from cylfile.server.edited_record import EditedRecord
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Span


def definitions(edited: EditedRecord, name: str) -> list[Span]:
    """Where a name is declared: once in a good record."""
    record = edited.record
    tables = (record.cylinders, record.air_sources, record.testers, record.people, record.sites)
    return [table[name].span for table in tables if name in table]


def references(edited: EditedRecord, name: str) -> list[Span]:
    """Every place of every file that says a name, where it is declared among them."""
    found = []
    for source in edited.record.sources:
        text = source.text
        at = text.find(name)
        while at >= 0:
            start, end = line_start(source, at), source.line_end(at)
            found += [
                Span(source, word.start, word.end) for word in names_between(source, start, end) if word.text == name
            ]
            at = text.find(name, end)
    return found


class Refused(Exception):
    """A name cannot be that; the message says why."""


def renamed(edited: EditedRecord, name: str, new: str) -> list[Span]:
    """The places where `new` is to be put in place of a name. Raises Refused."""
    words = LEDGER.words(new) if len(new) <= LONGEST_NAME else []
    if [word.text for word in words] != [new] or words[0].type not in ("NAME", "COUNT"):
        if new in LEDGER.keywords:
            raise Refused(f"`{new}` is a word of the language and cannot be a name")
        raise Refused(
            f"a name is letters, digits and . _ / - with no blank, {LONGEST_NAME} at most, and reads as no date or figure"
        )
    if new != name and definitions(edited, new):
        raise Refused(f"`{new}` is taken")
    return references(edited, name)
