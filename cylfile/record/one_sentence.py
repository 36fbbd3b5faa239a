"""
One entry given as a sentence of its own: what it says, and what of it cannot be read or is not known.
"""

from collections.abc import Iterable

from cylfile.record.entries import Entry
from cylfile.record.reader import FileReader, read_record
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Fault, Source, Span


def read_entry(source: Source) -> tuple[Entry | None, list[Fault]]:
    """The entry that a source of one line says, before any name is looked up; None, and why, where it says none."""
    file = FileReader(source).read()
    entries = [entry for of_one in file.record.entries.values() for entry in of_one]
    if len(entries) == 1 and not file.record.faults:
        return entries[0], []
    words = LEDGER.words(source.text)
    span = Span(source, words[0].start, words[0].end) if words else Span(source, 0, 0)
    not_one = Fault(span, "this is not one entry", "Write one entry as a loose line: day, verb, name, clauses.")
    return None, file.record.faults or [not_one]


def unknown_names(source: Source, files: Iterable[FileReader]) -> list[Fault]:
    """What a record that consists of these files would say of the names in a source of one line."""
    known: dict[Source, FileReader] = {}
    for file in files:
        declares = FileReader(Source(file.record.sources[0].path, ""))
        declares.things = file.things
        known[declares.record.sources[0]] = declares
    record = read_record([*known, source], read_before=known)
    return [fault for fault in record.faults if fault.span.source is source]
