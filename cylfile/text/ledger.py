"""
The line structure of a ledger file: blocks, the lines that belong to them, and what is damaged.

A line that starts in column 1 opens a block; an indented line belongs to the block above it.
An indented line that starts like a clause and stands further in than the block's first line
goes on with the line above. Nothing here knows what a sentence means.
"""

import re
from collections.abc import Iterator
from functools import cache
from itertools import islice
from typing import NamedTuple

from cylfile.text.language import LONGEST_LINE, Damaged, Language, Sentence
from cylfile.text.matcher import Matchers
from cylfile.text.source import Fault, Source, Span

# The words of the sheets: each has a header and rows.
SHEETS = ("fill", "visual", "hydro", "gauge")
# Which lines stand in a block: rule of the header -> start rule of the lines. A header that is
# not here takes no lines.
LINES_OF = {
    "department": "department_line",
    "site": "site_line",
    "person": "person_line",
    "tester": "tester_line",
    "source": "source_line",
    "cylinder": "cylinder_line",
    "recall": "recall_line",
    **{f"{sheet}_sheet": f"{sheet}_row" for sheet in SHEETS},
}
TOP = "top"

# What a NamedTuple's own constructor calls, without the call.
_new_tuple = tuple.__new__

LEDGER = Language("ledger.lark", (TOP, *dict.fromkeys(LINES_OF.values())), has_acts=True)

# What begins an indented line of its own, however far in it stands: words that begin no clause.
_BEGIN_A_LINE = ("DAY", "TIME", "NAME", "COUNT", "MONTH", "STRAY", "DIGEST", "BLANK", "COMMENT")
# How many lines above a line are looked at for the one that it might go on with.
_NEAR = 20
# It begins a property of a source, and clauses too.
_AT = "at"

CONFLICT = re.compile(r"(?:<{7}|={7}|>{7}|\|{7})(?: |\r?$)", re.MULTILINE)
_BLANK_LINE = re.compile(r"[ \t]*(?:#[^\n]*)?\r?(?:\n|\Z)")
_INDENT = re.compile(r"[ \t]*")
_NO_LOOSE_LINE = re.compile("\n(?=[A-Za-z])")


def indent_of(text: str, at: int) -> str:
    """The blanks at the beginning of a line."""
    found = _INDENT.match(text, at)
    return found.group() if found else ""


def begins_block(text: str, at: int) -> bool:
    """Whether the line at an offset begins a block, where it is no marker of a conflict."""
    return text[at] not in " \t" and not _BLANK_LINE.match(text, at)


@cache
def clause_start(language: Language) -> re.Pattern:
    """Matches the indent and the first word of a line that starts with a clause, a text or a quantity."""
    properties = property_words(language)
    clauses = [re.escape(word) for word in language.keywords if word not in properties]
    figures = [pattern for name, pattern in language.terminals.items() if name not in _BEGIN_A_LINE]
    return re.compile(f"([ \t]++)((?:{'|'.join(clauses)})(?![A-Za-z0-9._/-])|{'|'.join(figures)})")


@cache
def property_words(language: Language = LEDGER) -> frozenset[str]:
    """The keywords that begin a line of a block and no clause."""
    places = dict.fromkeys(place for place in LINES_OF.values() if place.endswith("_line"))
    begins = set().union(*(language.may_begin(place) for place in places))
    return frozenset(text for text, terminal in language.keywords.items() if terminal in begins) - {_AT}


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
        return self.header.shape.heading if isinstance(self.header, Sentence) else None


def stretches(source: Source, size: int) -> Iterator[tuple[int, int]]:
    """
    Where a source may be cut so that each part says by itself what it says in the whole: parts of about so many characters.

    One begins where a block does that is no loose line, for loose lines are of one run with those above them.
    """
    start, end = 0, len(source.text)
    if end > size and source.is_clean() and not any(f"\n{sign * 7}" in source.text for sign in "<=>|"):
        while end - start > size and (found := _NO_LOOSE_LINE.search(source.text, start + size)):
            yield start, found.end()
            start = found.end()
    yield start, end


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

    `by_acts` sentences that are met often are given by their acts. `faults` are whole when `blocks` is done.
    """

    def __init__(self, source: Source, language: Language = LEDGER, by_acts: bool = False):
        self.source = source
        self.text = source.text
        self.language = language
        self.faults: list[Fault] = []
        self.block = Block(source, None, None, [])
        # Where the last marker of a merge conflict stands, and whether its conflict goes on.
        self.last_marker = -1
        self.is_in_conflict = False
        # The block before, once the next one has begun.
        self._whole: Block | None = None
        self.is_clean = source.is_clean()
        self._matchers = language.act_matchers if by_acts else language.matchers
        if not self.is_clean:
            # Each line is looked through for what is forbidden.
            self._matchers = Matchers(lambda place: ())

    def blocks(self, start: int = 0, end: int | None = None) -> Iterator[Block]:
        """The blocks of the source in its order, or those between two offsets at which blocks begin."""
        # This loop runs once for every line of every file. A line of a shape met often is matched
        # here; all else is the business of `_line`. No line that goes on with another one is matched,
        # for none of those shapes begins as such a line does.
        source, text, at, end = self.source, self.text, start, len(self.text) if end is None else end
        matchers, no_keyword = self._matchers, frozenset(self.language.keywords).isdisjoint
        outside, inside, append = matchers[TOP], (), self.block.lines.append
        while at < end:
            is_indented = text[at] in " \t"
            values = None
            for match, shape, shapes in inside if is_indented else outside:
                found = match(text, at, end)
                if found is not None:
                    if shape is None:
                        shape, groups = shapes[found.lastindex]
                        values = found.group(*groups)
                    else:
                        values = found.groups()
                    after = found.end()
                    break
            if values is not None and no_keyword(values) and after - at <= LONGEST_LINE:
                line = _new_tuple(Sentence, (shape, values, at))
                at = after
                if is_indented:
                    append(line)
                else:
                    if self.block.header is not None or self.block.lines:
                        yield self.block
                    place = LINES_OF.get(shape.heading)
                    self.block = block = _new_tuple(Block, (source, line, place, []))
                    inside, append = matchers[place], block.lines.append
                continue
            at = self._line(at)
            if self._whole is not None:
                yield self._whole
                self._whole = None
            outside, inside, append = matchers[TOP], matchers[self.block.place], self.block.lines.append
        if self.block.header is not None or self.block.lines:
            yield self.block

    def lines_between(self, header: int, start: int, end: int) -> Block | None:
        """
        Of the block whose header stands at an offset, those lines that stand between two others; `start` is that of one of them.

        None where another block begins among them.
        """
        at = self._line(header)
        # The first line of a block tells how far in its lines stand.
        while at < start and not self.block.lines:
            at = self._line(at)
        above, self.faults = len(self.block.lines), []
        block, *others = self.blocks(start, end)
        del block.lines[:above]
        return None if others else block

    def _line(self, at: int) -> int:
        """Read the physical line at `at`, and those that go on with it; the offset of the next one."""
        text = self.text
        after = self._after(at)
        end = self.source.line_end(at)
        if _BLANK_LINE.match(text, at):
            fault = self._forbidden_fault(at, after)
            if fault:
                self.faults.append(fault)
        elif text[at] in " \t":
            clause = self._clause(at, end)
            if self._goes_on(clause):
                return self._continuation(at)
            self._own_line(at, end, clause)
        elif CONFLICT.match(text, at):
            self._marker(at, end)
        else:
            if self.block.header is not None or self.block.lines:
                self._whole = self.block
            self._begin(self._sentence(at, end, TOP))
        return after

    def _after(self, at: int) -> int:
        """The offset of the line after the one at `at`."""
        return self.text.find("\n", at) + 1 or len(self.text)

    def _begin(self, header: Sentence | Damaged) -> None:
        place = LINES_OF.get(header.shape.heading or "") if isinstance(header, Sentence) else None
        self.block = _new_tuple(Block, (self.source, header, place, []))

    def _marker(self, at: int, end: int) -> None:
        """
        Take note of a marker of a merge conflict: one fault a conflict.

        The lines on both sides of a marker read as if the marker were absent.
        """
        begins = self.text.startswith("<", at)
        if begins or not self.is_in_conflict:
            text = "an unresolved merge conflict begins here" if begins else "a marker of a merge conflict is left over"
            cure = "Keep the true lines of both sides, remove the marker lines, lint again."
            self.faults.append(Fault(Span(self.source, at, end), text, cure))
        self.is_in_conflict = begins or (self.is_in_conflict and not self.text.startswith(">", at))
        self.last_marker = at

    def _own_line(self, at: int, end: int, clause: re.Match | None) -> None:
        indent = indent_of(self.text, at)
        place = self.block.place
        if place is not None:
            line = self._mixed_indent(at, end, clause) or self._sentence(at, end, place)
            if isinstance(line, Damaged) and self._might_go_on(clause):
                cure = f"{line.fault.cure} To go on with the line above, indent it further."
                line = line._replace(fault=line.fault._replace(cure=cure))
            self.block.lines.append(line)
            return
        start = at + len(indent)
        span = Span(self.source, start, end)
        header = self.block.header
        if header is None:
            fault = Fault(
                span, "an indented line with no header above it", "Write the header of its card or sheet above it."
            )
        elif isinstance(header, Damaged):
            fault = Fault(
                span,
                "the header above this line cannot be read, so it is not known whose line this is",
                "Correct the header first.",
                because=header.fault.span,
            )
        else:
            fault = Fault(
                span,
                "the line above opens no card or sheet, so no line belongs under it",
                "Move this line into the card or sheet it belongs to, or write it in column 1 with its cylinder's name.",
            )
        first = next(iter(self.block.lines), None)
        if fault.because is None and isinstance(first, Damaged):
            # Of several that stand alike the first speaks for all.
            fault = fault._replace(because=first.fault.span)
        self.block.lines.append(Damaged(start, end, fault))

    def _indent(self) -> str:
        """The indent of the first line of the block: what stands further in may go on with a line."""
        return indent_of(self.text, self.text.rfind("\n", 0, self.block.lines[0].start) + 1) if self.block.lines else ""

    def _mixed_indent(self, at: int, end: int, found: re.Match | None) -> Damaged | None:
        """A line that starts with the clause `found`, where tabs and spaces hide how far in it stands."""
        own = self._indent()
        if not found or found[1].startswith(own) or own.startswith(found[1]):
            return None
        text = (
            "tabs and spaces are mixed in the indent, so it is not clear whether this line goes on with the one above"
        )
        span = Span(self.source, at + len(found[1]), found.end())
        return Damaged(at, end, Fault(span, text, "Indent all lines of a block with spaces, or all with tabs."))

    def _might_go_on(self, found: re.Match | None) -> bool:
        """Whether a line is no further in than its block, and starts with a clause `found` that could go on with the one above."""
        near = islice(reversed(self.block.lines), _NEAR)
        above = next((line for line in near if isinstance(line, Sentence)), None)
        if not found or found[1] != self._indent() or above is None:
            return False
        return self._may_follow(above, found[2])

    def _goes_on(self, found: re.Match | None) -> bool:
        """Whether an indented line that starts with the clause `found`, if with any, goes on with the line above it."""
        if not found:
            return False
        if not self.block.lines:
            return self.block.header is not None and self._goes_on_from_header(found[2])
        indent = self._indent()
        return found[1] != indent and found[1].startswith(indent)

    def _clause(self, at: int, end: int) -> re.Match | None:
        """The indent and the first word of the indented line at `at`, if it starts as a line that goes on."""
        found = clause_start(self.language).match(self.text, at, end)
        if found and found[2] == _AT and self.block.kind == "source":
            lines = self.block.lines
            return found if lines and self._is_entry(lines[-1].start) else None
        return found

    def _goes_on_from_header(self, word: str) -> bool:
        """
        Whether the header, with no line under it yet, can go on with this word.

        A header that cannot be read may be one whose end is still to come.
        """
        header = self.block.header
        if not isinstance(header, Sentence):
            return True
        return self._may_follow(header, word)

    def _may_follow(self, line: Sentence, word: str) -> bool:
        """Whether a sentence can go on with a word."""
        shape = self.language.in_order(self.source, line).shape
        return self._type_of(word) in self.language.may_follow(shape.place, shape.terminals)

    def _type_of(self, word: str) -> str:
        """The terminal of a word; a text that is not closed counts as one."""
        kind = self.language.words(word)[0].type
        return "TEXT" if kind == "OPEN_TEXT" else kind

    def _is_entry(self, at: int) -> bool:
        return self.language.words(self.text, at, self.source.line_end(at))[0].type in ("DAY", "MONTH")

    def _continuation(self, at: int) -> int:
        """
        Read the last line again, together with all lines from `at` on that go on with it.

        The offset of the line after them.
        """
        after = end = at
        while at < len(self.text):
            line_end = self.source.line_end(at)
            if not _BLANK_LINE.match(self.text, at):
                if self.text[at] not in " \t" or not self._goes_on(self._clause(at, line_end)):
                    break
                after, end = self._after(at), line_end
            at = self._after(at)
        block = self.block
        last = block.lines[-1] if block.lines else block.header
        assert last is not None, "there is something to go on with"
        place = block.place if block.lines else TOP
        if place is None:
            # Where no line can stand, neither can what goes on with it.
            assert isinstance(last, Damaged)
            line: Sentence | Damaged = last._replace(end=end)
        elif self.last_marker > last.start:
            text = "a merge conflict runs through this entry"
            first = last.start + len(indent_of(self.text, last.start))
            span = Span(self.source, first, self.source.line_end(first))
            line = Damaged(last.start, end, Fault(span, text, "Resolve the conflict first."))
        else:
            line = self._sentence(last.start, end, place)
        if block.lines:
            block.lines[-1] = line
        else:
            self._begin(line)
        return after

    def _sentence(self, at: int, end: int, place: str) -> Sentence | Damaged:
        # A line too long to be read is not looked through either.
        fault = self._forbidden_fault(at, end) if end - at <= LONGEST_LINE else None
        return Damaged(at, end, fault) if fault else self.language.read(self.source, at, end, place)

    def _forbidden_fault(self, at: int, end: int) -> Fault | None:
        """The fault of the first control or bidirectional character of a stretch, if there is one."""
        place = None if self.is_clean else next(self.source.forbidden(at, end), None)
        if place is None:
            return None
        code = ord(self.text[place])
        kind = "a control character" if code < 0xA0 else "a character that reorders text"
        text = f"U+{code:04X}, {kind}, which can hide what the line says"
        return Fault(Span(self.source, place, place + 1), text, "Remove it; it shows in no editor.")
