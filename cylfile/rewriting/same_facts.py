"""
All that a record says, apart from how it is laid out: what rewriting its files must not change.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from cylfile.record.entries import SOURCE, Entry, plain_form
from cylfile.record.file_reader import FileReader
from cylfile.record.plain_form import plain_recall, plain_seal, plain_waiver, property_lines
from cylfile.record.reader import RecordReader
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
    for what, ours, theirs in (
        ("an entry", *_entries(before, after)),
        ("what the blocks declare", _declarations(before), _declarations(after)),
        ("what cannot be read", _faults(before), _faults(after)),
        ("a comment", *_comments(before, after)),
    ):
        said, says = Counter(ours), Counter(theirs)
        meant = missing & says
        missing -= meant
        says -= meant
        if said != says:
            gone, new = (said - says).elements(), (says - said).elements()
            differing = [*(f"`{text}` would be gone" for text in gone), *(f"`{text}` would be new" for text in new)]
            return f"{what}: {differing[0]}"
    return f"`{next(missing.elements())}` would be missing" if missing else ""


def said_in(file: FileReader) -> Record:
    """What a file says. What its names stand for follows from that and from other files."""
    reader = RecordReader(file.record.sources, ())
    reader.take_in(file)
    return reader.record


def comments_of(source: Source) -> Iterator[str]:
    """The comments of a source in its order, without the blanks that end them."""
    text, at = source.text, 0
    # Nothing but a text can hold a hash else, and neither goes over a line's end.
    while (at := text.find("#", at)) >= 0:
        start, end = text.rfind("\n", 0, at) + 1, source.line_end(at)
        for token in LEDGER.tokens(text, start, end):
            if token.type == "COMMENT":
                yield token.text.rstrip(" \t")
        at = end


def _entries(*records: Record) -> list[list[str]]:
    """The plain forms of the entries of two records, without those of names whose entries are the same."""
    names = dict.fromkeys(name for record in records for name in record.entries)
    said: list[list[str]] = [[], []]
    for name in names:
        ours, theirs = (record.entries.get(name, ()) for record in records)
        facts = _facts(ours), _facts(theirs)
        # Mostly in one order, which is seen sooner.
        if facts[0] != facts[1] and Counter(facts[0]) != Counter(facts[1]):
            said[0] += map(plain_form, ours)
            said[1] += map(plain_form, theirs)
    return said


def _facts(entries: Sequence[Entry]) -> list[tuple]:
    """All that each of some entries says: its kind, and its fields before those that tell where."""
    return [(entry.__class__, entry[:SOURCE]) for entry in entries]


def _declarations(record: Record) -> Iterator[str]:
    for thing in filter(None, (record.department, *record.declared.values(), *record.shadowed)):
        yield from property_lines(thing)
    yield from map(plain_recall, record.recalls)
    yield from map(plain_waiver, record.waivers)
    yield from map(plain_seal, record.seals)


def _faults(record: Record) -> Iterator[str]:
    for fault in record.faults:
        yield f"{fault.rule} {fault.subject or ''} {fault.span.text if fault.rule == 'unreadable-line' else ''}"


def _comments(*records: Record) -> list[list[str]]:
    """The comments of two records, without those of the sources that both have."""
    both = set(records[0].sources) & set(records[1].sources)
    return [
        [comment for source in record.sources if source not in both for comment in comments_of(source)]
        for record in records
    ]
