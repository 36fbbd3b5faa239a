"""
The shape of a file: its blocks, for an outline and for folding, and the names of the record.
"""

import re
from typing import NamedTuple

from cylfile.packs.pack_lines import read_lines
from cylfile.record.blocks import Cylinder, Declared
from cylfile.server.cursor import headers
from cylfile.server.edited_record import EditedRecord
from cylfile.server.written_lines import WrittenLine, written_lines
from cylfile.text.source import Source, Span, clip

_BLOCK = re.compile('([a-z]+(?:[ \t]+sheet)?)[ \t]+([A-Za-z0-9][A-Za-z0-9._/-]*|"[^"\n]*")')
_COMMENT = re.compile(r"[ \t]*#")


class Symbol(NamedTuple):
    """A block or a line: what it is, its name, where its name stands, and where the whole of it does."""

    word: str
    name: str
    start: int
    end: int
    block_start: int
    block_end: int
    inside: "tuple[Symbol, ...]" = ()


def symbols(source: Source) -> list[Symbol]:
    """The blocks of a ledger, loose lines among them, and in each block its entries or rows."""
    inside: dict[int, list[Symbol]] = {}
    for line in written_lines(source):
        if line.header is not None and not line.is_header and _is_entry(line):
            inside.setdefault(line.header, []).append(_entry(source, line))
    return [block._replace(inside=tuple(inside.get(block.block_start, ()))) for block in _blocks(source)]


def pack_symbols(source: Source) -> list[Symbol]:
    """The blocks of a pack, and in a rule its examples."""
    found = []
    lines = {block.header.start: block.lines for block in read_lines(source)[0]}
    for block in _blocks(source):
        examples = []
        for line in lines.get(block.block_start, ()):
            if line.record is not None:
                name = clip(source.text[line.start : line.end].strip())
                examples.append(Symbol(line.word, name, line.start, line.end, line.start, line.record[1]))
        found.append(block._replace(inside=tuple(examples)))
    return found


def _is_entry(line: WrittenLine) -> bool:
    return line.place is not None and (line.place.endswith("_row") or bool({"DAY", "MONTH"} & set(line.terminals[:1])))


def _entry(source: Source, line: WrittenLine) -> Symbol:
    name = clip(" ".join(source.text[line.start : line.end].split()))
    return Symbol("entry", name, line.start, line.end, line.start, line.end)


def _blocks(source: Source) -> list[Symbol]:
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
    first: int | None = None
    last = 0
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
    """
    What is declared under a name, a title, a serial number or a tag that holds the query: what it is, its name, and its place.
    """
    query = query.lower()
    return [
        (thing.word, name, thing.span)
        for name, thing in edited.record.declared.items()
        if any(query in text.lower() for text in _known_by(name, thing))
    ]


def _known_by(name: str, thing: Declared) -> list[str]:
    if isinstance(thing, Cylinder):
        return [name, thing.serial or "", *(tag.name for tag in thing.tags)]
    return [name, thing.title]
