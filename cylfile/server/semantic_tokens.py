"""
What colors by words alone cannot show: what cannot be read looks wrong, and what is struck is dimmed to its last line.
"""

import re
from collections.abc import Iterable, Iterator

from cylfile.packs.pack_lines import margin_of, records
from cylfile.server.edited_record import EditedRecord
from cylfile.server.written_lines import written_lines
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source

# A kind of its own, which an editor's file here gives a color, and one that every editor dims.
WRONG, STRUCK = "wrong", "comment"
# (start, end, kind): stretches of one line each, in their order, none over another.
Stretches = list[tuple[int, int, str]]
_PIECE = re.compile(r"[^ \t\r\n][^\r\n]*")


def ledger_tokens(edited: EditedRecord, source: Source) -> Stretches:
    """The stretches of a ledger that look wrong, or struck."""
    return _in_lines(source, _wrong(edited, source), _struck(source))


def pack_tokens(edited: EditedRecord, source: Source) -> Stretches:
    """The same of a pack, and of the example records in it."""
    struck = [found for start, end in records(source) for found in _struck_in_example(source, start, end)]
    return _in_lines(source, _wrong(edited, source), struck)


def _wrong(edited: EditedRecord, source: Source) -> list[tuple[int, int]]:
    found = edited.findings().get(source.path, ())
    return sorted({(each.span.start, each.span.end) for each in found if each.rule == "unreadable-line"})


def _struck(source: Source) -> Iterator[tuple[int, int]]:
    """What is struck of the lines that are, from their first word up to `struck`: who struck it and why stays legible."""
    struck = LEDGER.keywords["struck"]
    if "struck" in source.text:
        for line in written_lines(source):
            if struck in line.terminals:
                words = LEDGER.words(source.text, line.start, line.end)
                yield line.start, words[line.terminals.index(struck) - 1].end


def _struck_in_example(source: Source, start: int, end: int) -> Iterator[tuple[int, int]]:
    """The same of an example record, whose lines stand further in than those of a ledger."""
    lines = source.text[start:end].split("\n")
    margin = margin_of(lines)
    record = Source(source.path, "\n".join(line.removeprefix(margin) for line in lines))
    for place in _struck(record):
        first, last = (start + at + len(margin) * (record.text.count("\n", 0, at) + 1) for at in place)
        yield first, last


def _in_lines(source: Source, wrong: list[tuple[int, int]], struck: Iterable[tuple[int, int]]) -> Stretches:
    """Both line by line; a line of which something is refused is not struck."""
    found = [(start, end, WRONG) for start, end in wrong]
    found += [
        (start, end, STRUCK) for start, end in struck if not any(first < end and last > start for first, last in wrong)
    ]
    pieces: Stretches = []
    for start, end, kind in sorted(found):
        for piece in _PIECE.finditer(source.text, start, end):
            if not pieces or piece.start() >= pieces[-1][1]:
                pieces.append((piece.start(), piece.end(), kind))
    return pieces
