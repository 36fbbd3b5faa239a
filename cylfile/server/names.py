"""
Names: where they are declared, where they are used, and giving one another name in every file.
"""

from collections.abc import Iterator

from cylfile.record.plans import LONGEST_NAME
from cylfile.server.cursor import line_start, names_between
from cylfile.server.edited_record import EditedRecord
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source, Span


def definitions(edited: EditedRecord, name: str) -> list[Span]:
    """Where a name is declared: once in a good record."""
    record = edited.record
    tables = (record.cylinders, record.air_sources, record.testers, record.people, record.sites)
    return [table[name].span for table in tables if name in table]


def references(edited: EditedRecord, name: str) -> list[Span]:
    """Every place of every file that says a name, where it is declared among them."""
    return [span for source in edited.record.sources for span in _in_file(source, name)]


def _in_file(source: Source, name: str) -> Iterator[Span]:
    text = source.text
    at = text.find(name)
    while at >= 0:
        start, end = line_start(source, at), source.line_end(at)
        for word in names_between(source, start, end):
            if word.text == name:
                yield Span(source, word.start, word.end)
        at = text.find(name, end)


def highlights(edited: EditedRecord, source: Source, name: str) -> list[tuple[Span, bool]]:
    """The places of one file that say a name, and whether it is declared there."""
    declared = definitions(edited, name)
    return [(span, span in declared) for span in _in_file(source, name)]


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
