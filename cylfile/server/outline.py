"""
The shape of a file: its blocks, for an outline and for folding, and the names of the record.
"""

import re
from typing import NamedTuple

from cylfile.server.cursor import headers
from cylfile.server.edited_record import EditedRecord
from cylfile.text.refusals import clip
from cylfile.text.source import Source, Span

_BLOCK = re.compile('([a-z]+(?:[ \t]+sheet)?)[ \t]+([A-Za-z0-9][A-Za-z0-9._/-]*|"[^"\n]*")')
_COMMENT = re.compile(r"[ \t]*#")


class Symbol(NamedTuple):
    """A block: what it is, its name, where its name stands, and where the whole of it does."""

    word: str
    name: str
    start: int
    end: int
    block_start: int
    block_end: int


def symbols(source: Source) -> list[Symbol]:
    """The blocks of a file, loose lines among them."""
    found = []
    for start, end, block_end in headers(source):
        match = _BLOCK.match(source.text, start, end)
        if match:
            word = " ".join(match[1].split())
            name = f"{word} {match[2]}" if word.endswith("sheet") else match[2].strip('"') or word
            found.append(Symbol(word, name, match.start(2), match.end(2), start, block_end))
        else:
            name = clip(source.text[start:end].partition("#")[0].strip() or source.text[start:end])
            found.append(Symbol("line", name, start, end, start, block_end))
    return found


def folds(source: Source) -> list[tuple[int, int, bool]]:
    """First and last offset of each stretch that folds, and whether it is of comments."""
    found = [(start, block_end, False) for start, end, block_end in headers(source) if block_end > end]
    first = last = None
    for start in [*source.line_starts, len(source.text) + 1]:
        if start <= len(source.text) and _COMMENT.match(source.text, start, source.line_end(start)):
            first = start if first is None else first
            last = source.line_end(start)
        elif first is not None:
            if source.text.count("\n", first, last):
                found.append((first, last, True))
            first = None
    return found


def search(edited: EditedRecord, query: str) -> list[tuple[str, str, Span]]:
    """What is declared under a name or title that holds the query: what it is, its name, and its place."""
    query = query.lower()
    return [
        (thing.word, name, thing.span)
        for name, thing in edited.record.declared.items()
        if query in name.lower() or query in thing.title.lower()
    ]
