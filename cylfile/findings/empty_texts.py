"""
Texts that say nothing: empty ones, and those of blanks alone. An audit trail whose why is empty is none.
"""

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date

from cylfile.findings.finding import Finding, known_by
from cylfile.history.standing import struck_on
from cylfile.record.entries import Entry
from cylfile.record.record import Record
from cylfile.record.vocabulary import TAIL
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source, Span

EMPTY_TEXT = "empty-text"
# Quotation marks with neither a letter nor a figure between them: few are looked at closely, and hardly any file has one.
_NO_WORD = re.compile(r'"[^"\\\w\n]*"')
_HEADER = re.compile(r"^(?![ \t\r\n#])", re.MULTILINE)
# The clauses that anything may have; every other text is told by the first word of its line.
_CLAUSES = {clause.word for clause in TAIL}
_REMARK, _STRUCK = (clause.word for clause in TAIL[:2])


class _Empty:
    """An empty text: its place, the line that it stands on, and the words of that before and after it."""

    def __init__(self, source: Source, start: int, end: int):
        self.source, self.start = source, start
        self.span = Span(source, start, end)
        text = source.text
        words = LEDGER.words(text, text.rfind("\n", 0, start) + 1, source.line_end(start))
        self.before = [word.text for word in words if word.start < start]
        self.after = [word.text for word in words if word.start > start]
        self.is_text = any(word.type == "TEXT" and (word.start, word.end) == (start, end) for word in words)

    @property
    def clause(self) -> str:
        """The clause of an entry that it belongs to, empty where it is the entry's own text."""
        return next((word for word in reversed(self.before) if word in _CLAUSES), "")


def empty_texts(record: Record, as_of: date, level_of: Callable[[str], str]) -> Iterator[Finding]:
    """A finding for each text that says nothing, unless it is struck with what it belongs to."""
    by_path = {source.path: found for source in record.sources if (found := list(_empty_in(source)))}
    if not by_path:
        return
    entries: dict[str, list[Entry]] = defaultdict(list)
    for entry in (each for of_name in record.entries.values() for each in of_name if each.source.path in by_path):
        entries[entry.source.path].append(entry)
    for path, found in by_path.items():
        lines = sorted(entries[path], key=lambda entry: entry.start)
        starts = [entry.start for entry in lines]
        for empty in found:
            index = bisect_right(starts, empty.start) - 1
            if index >= 0 and empty.start < lines[index].span.end:
                yield from _of_entry(empty, lines[index], as_of, level_of)
            elif _STRUCK not in empty.after:
                yield _of_block(empty, record, level_of)


def _empty_in(source: Source) -> Iterator[_Empty]:
    for found in _NO_WORD.finditer(source.text):
        # What nobody would see in print is nothing either.
        if not any(sign.isprintable() and not sign.isspace() for sign in found[0][1:-1]):
            empty = _Empty(source, found.start(), found.end())
            if empty.is_text:
                yield empty


def _of_entry(empty: _Empty, entry: Entry, as_of: date, level_of: Callable[[str], str]) -> Iterator[Finding]:
    clause = empty.clause
    if clause in ("", _REMARK) and struck_on(entry, as_of):
        return
    text = f"the text of `{clause or entry.verb}` says nothing"
    advice = "Write what it should say; where the line is sealed, answer it."
    yield Finding(
        EMPTY_TEXT, level_of(EMPTY_TEXT), entry.subject, entry.span, text, [], advice, [], entry.day, known_by(entry)
    )


def _of_block(empty: _Empty, record: Record, level_of: Callable[[str], str]) -> Finding:
    source, what = empty.source, empty.clause or (empty.before or ["it"])[0]
    header = max(found.start() for found in _HEADER.finditer(source.text, 0, empty.start + 1))
    of_file = (thing for thing in record.declared.values() if thing.span.source.path == source.path)
    name = next((thing.name for thing in of_file if _line_start(thing.span) == header), "")
    text = f"the text of `{what}` says nothing"
    return Finding(EMPTY_TEXT, level_of(EMPTY_TEXT), name, empty.span, text, [], "Write what it should say.")


def _line_start(span: Span) -> int:
    return span.source.text.rfind("\n", 0, span.start) + 1
