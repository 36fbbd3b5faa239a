"""
All that a record says, apart from how it is laid out: what rewriting its files must not change.
"""

from collections import Counter
from collections.abc import Iterable, Iterator

from cylfile.record.entries import plain_form
from cylfile.record.plain import plain_recall, plain_seal, plain_waiver, property_lines
from cylfile.record.record import Record
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source


def difference(before: Record, after: Record, added: Iterable[str] = ()) -> str:
    """
    Something that one record says and the other does not, in words; empty where there is nothing.

    Compared are all entries, all that blocks declare, waivers, seals, what cannot be read, and
    the comments: each as often as it stands, and none by its place. `added` are the plain forms
    of entries and waivers that the later record, and only that, is meant to say.
    """
    missing = Counter(added)
    for what, said in (
        ("an entry", _entries),
        ("what the blocks declare", _declarations),
        ("what cannot be read", _faults),
        ("a comment", _comments),
    ):
        ours, theirs = Counter(said(before)), Counter(said(after))
        meant = missing & theirs
        missing -= meant
        theirs -= meant
        if ours != theirs:
            gone, new = (ours - theirs).elements(), (theirs - ours).elements()
            differing = [*(f"`{text}` would be gone" for text in gone), *(f"`{text}` would be new" for text in new)]
            return f"{what}: {differing[0]}"
    return f"`{next(missing.elements())}` would be missing" if missing else ""


def comments_of(source: Source) -> Iterator[str]:
    """The comments of a source in its order, without the blanks that end them."""
    return (token.text.rstrip(" \t") for token in LEDGER.tokens(source.text) if token.type == "COMMENT")


def _entries(record: Record) -> Iterator[str]:
    return (plain_form(entry) for entries in record.entries.values() for entry in entries)


def _declarations(record: Record) -> Iterator[str]:
    for thing in filter(None, (record.department, *record.declared.values())):
        yield from property_lines(thing)
    yield from map(plain_recall, record.recalls)
    yield from map(plain_waiver, record.waivers)
    yield from map(plain_seal, record.seals)


def _faults(record: Record) -> Iterator[str]:
    for fault in record.faults:
        yield f"{fault.rule} {fault.subject or ''} {fault.span.text if fault.rule == 'unreadable-line' else ''}"


def _comments(record: Record) -> Iterator[str]:
    return (comment for source in record.sources for comment in comments_of(source))
