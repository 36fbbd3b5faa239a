"""
Texts that say nothing: empty ones, and those of blanks alone. An audit trail whose why is empty is none.
"""

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from itertools import groupby
from typing import NamedTuple

from cylfile.findings.finding import Finding, known_by
from cylfile.history.standing import struck_on
from cylfile.record.entries import Entry
from cylfile.record.record import Record
from cylfile.record.vocabulary import TAIL
from cylfile.text.language import Token
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source, Span

EMPTY_TEXT = "empty-text"
# Quotation marks with neither a letter nor a figure between them: hardly any file has one, and only those are looked at.
_NO_WORD = re.compile(r'"[^"\\\w\n]*"')
_HEADER = re.compile(r"^(?![ \t\r\n#])", re.MULTILINE)
# The clauses that any entry may have; every other text is told by the first word of its line.
_CLAUSES = {clause.word for clause in TAIL}
_REMARK, _STRUCK = (clause.word for clause in TAIL[:2])


class _Empty(NamedTuple):
    """An empty text: its word, the clause that it belongs to, empty where that is none, and whether a strike follows it."""

    word: Token
    clause: str
    first: str
    is_struck: bool


def may_be_empty(words: str) -> bool:
    """Whether among some words there may be a text that says nothing."""
    return _NO_WORD.search(words) is not None


def empty_texts(record: Record, as_of: date, level_of: Callable[[str], str]) -> Iterator[Finding]:
    """A finding for each text that says nothing, unless it is struck with what it belongs to, or cannot be read."""
    maybe = {source.path: source for source in record.sources if may_be_empty(source.text)}
    if not maybe:
        return
    unread: dict[str, set[int]] = defaultdict(set)
    for fault in record.unread:
        unread[fault.span.source.path].add(fault.span.line)
    entries: dict[str, list[Entry]] = defaultdict(list)
    for entry in (each for of_name in record.entries.values() for each in of_name if each.source.path in maybe):
        entries[entry.source.path].append(entry)
    for path, source in maybe.items():
        lines = sorted(entries[path], key=lambda entry: entry.start)
        starts = [entry.start for entry in lines]
        of_blocks = []
        for empty in _empty_in(source, unread[path]):
            index = bisect_right(starts, empty.word.start) - 1
            if index >= 0 and empty.word.start < lines[index].span.end:
                yield from _of_entry(empty, lines[index], as_of, level_of)
            elif not empty.is_struck:
                of_blocks.append(empty)
        yield from _of_blocks(of_blocks, source, record, level_of)


def _empty_in(source: Source, unread: set[int]) -> Iterator[_Empty]:
    text = source.text
    # What nobody would see in print is nothing either.
    found = (each for each in _NO_WORD.finditer(text) if not any(map(_is_seen, each[0][1:-1])))
    for line, on_line in groupby(found, lambda each: source.position(each.start())[0]):
        if line in unread:
            continue
        places = {each.start() for each in on_line}
        words = LEDGER.words(text, source.line_starts[line - 1], source.line_end(min(places)))
        last_strike = max((word.start for word in words if word.text == _STRUCK), default=-1)
        clause = ""
        for word in words:
            clause = word.text if word.text in _CLAUSES else clause
            if word.type == "TEXT" and word.start in places:
                yield _Empty(word, clause, words[0].text, word.start < last_strike)


def _is_seen(sign: str) -> bool:
    return sign.isprintable() and not sign.isspace()


def _of_entry(empty: _Empty, entry: Entry, as_of: date, level_of: Callable[[str], str]) -> Iterator[Finding]:
    if empty.clause in ("", _REMARK) and struck_on(entry, as_of):
        return
    text = f"the text of `{empty.clause or entry.verb}` says nothing"
    advice = "Write what it should say; where the line is sealed, answer it."
    level, about = level_of(EMPTY_TEXT), known_by(entry)
    yield Finding(EMPTY_TEXT, level, entry.subject, entry.span, text, advice=advice, day=entry.day, about=about)


def _of_blocks(
    found: Iterable[_Empty], source: Source, record: Record, level_of: Callable[[str], str]
) -> Iterator[Finding]:
    """The findings of texts that no entry has: of the block that they stand in, where that declares something."""
    headers = [each.start() for each in _HEADER.finditer(source.text)]
    named = {
        bisect_right(headers, thing.span.start): thing.name
        for thing in record.declared.values()
        if thing.span.source.path == source.path
    }
    for empty in found:
        name = named.get(bisect_right(headers, empty.word.start), "")
        span = Span(source, empty.word.start, empty.word.end)
        text = f"the text of `{empty.clause or empty.first}` says nothing"
        yield Finding(EMPTY_TEXT, level_of(EMPTY_TEXT), name, span, text, advice="Write what it should say.")
