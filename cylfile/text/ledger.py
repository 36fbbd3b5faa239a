"""
The line structure of a ledger file: blocks, the lines that belong to them, and what is damaged.

A line that starts in column 1 opens a block; an indented line belongs to the block above it.
An indented line that starts like a clause and stands further in than the block's first line
continues the line above. Nothing here knows what a sentence means.
"""

import re
from bisect import bisect_left
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from cylfile.text.language import Damaged, Language, Sentence
from cylfile.text.source import Fault, Source, Span

# Which lines stand in a block: rule of the header -> start rule of the lines. A header that is
# not here takes no lines.
LINES_OF = {
    "department": "department_line",
    "person": "person_line",
    "tester": "tester_line",
    "source": "source_line",
    "cylinder": "cylinder_line",
    "recall": "recall_line",
    "fill_sheet": "fill_row",
    "visual_sheet": "visual_row",
    "hydro_sheet": "hydro_row",
    "gauge_sheet": "gauge_row",
}
TOP = "top"

# What a NamedTuple's own constructor calls, without the call.
_new_tuple = tuple.__new__

LEDGER = Language("ledger.lark", (TOP, *dict.fromkeys(LINES_OF.values())))

# Words that begin an indented line of their own, however far in it stands. No clause begins
# with one of them, but for `at`, which is a property of a source too.
_BEGIN_A_LINE = ("DAY", "TIME", "NAME", "COUNT", "MONTH", "STRAY", "DIGEST", "BLANK", "COMMENT")
_PROPERTIES = (
    "zone rules fills inspects authorised kind rated holds cartridge serial maker owner marked class made tag life "
    "test-every test-pressure expansion-limit ree"
).split()

_CONFLICT = re.compile(r"(?:<{7}|={7}|>{7}|\|{7})(?: |\r?$)", re.MULTILINE)
_BLANK_LINE = re.compile(r"[ \t]*(?:#[^\n]*)?\r?(?:\n|\Z)")
_INDENT = re.compile(r"[ \t]*")


@cache
def _goes_on(language: Language) -> re.Pattern:
    """Matches an indented line that starts as no sentence can: with a clause, a text or a quantity."""
    clauses = [re.escape(word) for word in language.keywords if word not in _PROPERTIES]
    figures = [pattern for name, pattern in language.terminals.items() if name not in _BEGIN_A_LINE]
    return re.compile(f"([ \t]++)(?:({'|'.join(clauses)})(?![A-Za-z0-9._/-])|{'|'.join(figures)})")


class Block(NamedTuple):
    """
    A header and its lines in the order of the file.

    The header is None for lines that stand under no header at all. `place` is the start rule
    of the lines, None where the header takes none or cannot be read.
    """

    source: Source
    header: Sentence | Damaged | None
    place: str | None
    lines: list[Sentence | Damaged]

    @property
    def kind(self) -> str | None:
        """The rule of the header: `cylinder`, `fill_sheet`, ...; None for loose lines and damaged headers."""
        return _heading(self.header) if isinstance(self.header, Sentence) else None


def _heading(header: Sentence) -> str | None:
    first = header.shape.tree.children[0]
    return first.data if hasattr(first, "data") else None


def read_blocks(source: Source, language: Language = LEDGER) -> tuple[list[Block], list[Fault]]:
    """
    Read a source into blocks. The faults are those of no line in particular: conflict markers,
    and forbidden characters in comments. A line that cannot be read is `Damaged` in its place.
    """
    reader = LedgerReader(source, language)
    return list(reader.blocks()), reader.faults


class LedgerReader:
    """
    One pass over one source, block by block: a large file's sentences are never all held.

    `faults` are whole when `blocks` is done.
    """

    def __init__(self, source: Source, language: Language = LEDGER):
        self.source = source
        self.text = source.text
        self.language = language
        self.faults: list[Fault] = []
        self.block = Block(source, None, None, [])
        self.block_indent: str | None = None
        # The block before, once the next one has begun.
        self._whole: Block | None = None
        self.forbidden = source.forbidden()

    def blocks(self) -> Iterator[Block]:
        """The blocks of the source in its order."""
        # This loop runs once for every line of every file. An indented line of a shape met often
        # is matched here; all else is the business of `_line`.
        text, at, end = self.text, 0, len(self.text)
        matchers = self.language.matchers
        while at < end:
            if text[at] in " \t" and self.block_indent is not None and self.block.place and not self.forbidden:
                matcher = matchers[self.block.place]
                match, shapes, append = matcher.match, matcher.shapes, self.block.lines.append
                while found := match(text, at):
                    shape, groups = shapes[found.lastindex]
                    append(_new_tuple(Sentence, (shape, found.group(*groups), at)))
                    at = found.end()
                if at >= end:
                    break
            at = self._line(at)
            if self._whole is not None:
                yield self._whole
                self._whole = None
        if self.block.header is not None or self.block.lines:
            yield self.block

    def _line(self, at: int) -> int:
        """Read the physical line at `at`; the offset of the next one."""
        text = self.text
        after = text.find("\n", at) + 1 or len(text)
        end = self.source.line_end(at)
        if _BLANK_LINE.match(text, at):
            fault = self._forbidden_fault(at, after)
            if fault:
                self.faults.append(fault)
        elif text[at] not in " \t":
            self._header(at, end)
        elif self._continues(at, end):
            self._continuation(end)
        else:
            self._own_line(at, end)
        return after

    def _header(self, at: int, end: int) -> None:
        conflict = _CONFLICT.match(self.text, at)
        if conflict:
            # The lines on both sides of a marker read as if the marker were absent.
            self._conflict(at, end)
            return
        if self.block.header is not None or self.block.lines:
            self._whole = self.block
        self._begin(self._sentence(at, end, TOP))

    def _begin(self, header: Sentence | Damaged) -> None:
        place = LINES_OF.get(_heading(header) or "") if isinstance(header, Sentence) else None
        self.block = Block(self.source, header, place, [])
        self.block_indent = None

    def _conflict(self, at: int, end: int) -> None:
        if self.text.startswith("<<<<<<<", at):
            text = "an unresolved merge conflict begins here"
            cure = "Keep the lines of both sides that are true, remove the marker lines, and lint again."
            self.faults.append(Fault(Span(self.source, at, end), text, cure))

    def _own_line(self, at: int, end: int) -> None:
        indent = _INDENT.match(self.text, at).group()
        if self.block_indent is None:
            self.block_indent = indent
        place = self.block.place
        if place is not None:
            self.block.lines.append(self._sentence(at, end, place))
            return
        start = at + len(indent)
        span = Span(self.source, start, end)
        header = self.block.header
        if header is None:
            fault = Fault(
                span, "an indented line that stands under no header", "Write the header of its card or sheet above it."
            )
        elif isinstance(header, Damaged):
            fault = Fault(
                span,
                "the header above this line cannot be read, so nobody can tell whose it is",
                "Mend the header first.",
            )
        else:
            fault = Fault(
                span,
                "the line above heads no card or sheet, so nothing can stand under it",
                "Move this line into the card or sheet it belongs to, or write it in column 1 with its cylinder's name.",
            )
        self.block.lines.append(Damaged(start, end, fault))

    def _continues(self, at: int, end: int) -> bool:
        """Whether the indented line at `at` goes on with the line above it."""
        found = _goes_on(self.language).match(self.text, at, end)
        if not found:
            return False
        if not self.block.lines:
            return self.block.header is not None and not (self.block.kind == "source" and found[2] == "at")
        return found[1] != self.block_indent and found[1].startswith(self.block_indent or "")

    def _continuation(self, end: int) -> None:
        """Read the last line again, with the line that ends at `end` as part of it."""
        if self.block.lines:
            last = self.block.lines.pop()
            self.block.lines.append(self._sentence(last.start, end, self.block.place))
        else:
            self._begin(self._sentence(self.block.header.start, end, TOP))

    def _sentence(self, at: int, end: int, place: str) -> Sentence | Damaged:
        fault = self._forbidden_fault(at, end)
        return Damaged(at, end, fault) if fault else self.language.read(self.source, at, end, place)

    def _forbidden_fault(self, at: int, end: int) -> Fault | None:
        """The fault of the first control or bidirectional character of a stretch, if there is one."""
        index = bisect_left(self.forbidden, at)
        if index == len(self.forbidden) or self.forbidden[index] >= end:
            return None
        place = self.forbidden[index]
        code = ord(self.text[place])
        kind = "a control character" if code < 0xA0 else "a character that reorders text"
        text = f"U+{code:04X}, {kind}, which can hide what the line says"
        return Fault(Span(self.source, place, place + 1), text, "Remove it; it shows in no editor.")
