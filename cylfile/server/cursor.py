"""
What stands at a place of a ledger: the word, the line it is part of, and the block above it.

Everything here takes the text as it is being typed, so nothing rests on a line that can be read.
"""

import re
from collections.abc import Iterator
from datetime import date
from functools import cache
from typing import NamedTuple

from cylfile.record import dates
from cylfile.record.record import Record
from cylfile.record.vocabulary import NAME, PERSON, SHEETS, SITE, SOURCE, VERBS, Verb
from cylfile.text.language import Token
from cylfile.text.ledger import LEDGER, LINES_OF, TOP
from cylfile.text.source import Source

_INDENT = re.compile(r"[ \t]*")
_BEGINS_LINE = ("DAY", "TIME", "NAME", "COUNT", "MONTH", "STRAY", "OPEN_TEXT")
# Keywords whose word is no name that a block declares.
_NO_NAME_AFTER = ("zone", "rules", "class", "serial", "maker", "owner", "tag", "waived", "answered")
_COUNTED = ("year", "years", "entries")
# What a word of a line of a head, of a waiver or of a seal names, beside the clauses of entries.
_NAMED_BY = {"by": PERSON, "at": SITE, "usual-source": SOURCE}
# Of what somebody signs on a line: what stands between `by` and the word that it belongs to.
_SIGNED = {"struck": ["DAY"], "late": ["DAY"], "answered": ["NAME", "DAY"]}
# Longer lines are not read, so nothing is offered in them.
LONGEST_LINE = 20_000


class Line(NamedTuple):
    """
    A logical line up to some offset: its start, its start rule, and its words.

    `place` is None where no line can stand. `header` are the words of the block's header, none
    for a line in column 1.
    """

    start: int
    place: str | None
    words: list[Token]
    header: list[Token]

    @property
    def block(self) -> str:
        """The rule of the header: `cylinder`, `fill_sheet`, ..., empty where there is none."""
        return block_of(self.header)

    @property
    def verb(self) -> Verb | None:
        """What kind of entry the line is, or its rows are; None where it is none yet."""
        heading = block_of(self.words) if self.place == TOP else self.block
        if heading in SHEETS:
            return SHEETS[heading]
        said = " ".join(word.text for word in self.words if word.type not in ("DAY", "MONTH", "TIME")) + " "
        for verb, row in VERBS.items():
            if self.words and self.words[0].type in ("DAY", "MONTH") and said.startswith(verb + " "):
                return row
        return None

    @property
    def lacks(self) -> list[str]:
        """The words of the clauses that its entry needs and has not."""
        verb = None if block_of(self.words) in SHEETS else self.verb
        written = {word.text for word in self.words}
        return [clause.word for clause in verb.needs if clause.word and clause.word not in written] if verb else []

    @property
    def named(self) -> str | None:
        """What its last word is followed by the name of, as the table of clauses has it; None where it is none of those."""
        if not self.words:
            return None
        *words, last = self.words
        if last.text == "by":
            for word, between in _SIGNED.items():
                before = words[-1 - len(between) :]
                if [each.type for each in before[1:]] == between and before[0].text == word:
                    return PERSON
        verb = self.verb
        if verb is not None:
            for clause in verb.own:
                if clause.value == NAME and clause.word == last.text:
                    return clause.names or verb.signer
        return _NAMED_BY.get(last.text)

    @property
    def day(self) -> date | None:
        """The day that the line is of, by itself or by its sheet."""
        for word in (*self.words[:3], *self.header):
            if word.type == "DAY":
                try:
                    return dates.day(word.text)
                except ValueError:
                    return None
        return None


def block_of(words: list[Token]) -> str:
    """The rule of a header by its first words; a start of one counts as it."""
    if not words:
        return ""
    first = words[0].text
    if len(words) > 1 and words[1].text == "sheet" and f"{first}_sheet" in SHEETS:
        return f"{first}_sheet"
    return first if first in LINES_OF else ""


def line_start(source: Source, offset: int) -> int:
    return source.text.rfind("\n", 0, offset) + 1


def words_between(source: Source, start: int, end: int) -> list[Token]:
    if end - start > LONGEST_LINE:
        return []
    return LEDGER.words(source.text, start, end)


def line_at(source: Source, offset: int) -> Line:
    """The logical line that `offset` is in, up to there."""
    text, start = source.text, line_start(source, offset)
    if start == offset or text[start] not in " \t":
        return Line(start, TOP, words_between(source, start, offset), [])
    while True:
        first = next(iter(words_between(source, start, source.line_end(start))), None)
        above = _line_above(source, start)
        if first is None or above is None or first.type in _BEGINS_LINE or _is_property(first):
            break
        start = above
        if text[start] not in " \t":
            return Line(start, TOP, words_between(source, start, offset), [])
    header = _header_above(source, start)
    return Line(start, LINES_OF.get(block_of(header)), words_between(source, start, offset), header)


def _is_property(word: Token) -> bool:
    return word.type in property_terminals()


@cache
def property_terminals() -> frozenset[str]:
    """The keywords that begin a line of a head, but for `at`, which begins a clause as well."""
    places = [place for place in LINES_OF.values() if place.endswith("_line")]
    accepted = set().union(*(LEDGER.may_begin(place) for place in places))
    return frozenset(accepted & LEDGER.keyword_terminals.keys()) - {LEDGER.keywords["at"]}


def _line_above(source: Source, start: int) -> int | None:
    """The start of the nearest line above that is neither blank nor a comment."""
    text = source.text
    while start:
        start = text.rfind("\n", 0, start - 1) + 1
        content = text[start : source.line_end(start)].strip(" \t")
        if content and not content.startswith("#"):
            return start
    return None


def _header_above(source: Source, start: int) -> list[Token]:
    above = _line_above(source, start)
    while above is not None:
        if source.text[above] not in " \t<=>|":
            return words_between(source, above, source.line_end(above))
        above = _line_above(source, above)
    return []


def names_on_sheet(source: Source, line: Line) -> list[str]:
    """What the rows of the sheet that a line stands on are about, but for the line itself."""
    text, found = source.text, []
    start = source.line_end(line.header[0].start) + 1 if line.header else len(text)
    while start < len(text) and text[start] in " \t\r\n#":
        end = source.line_end(start)
        words = words_between(source, start, end)
        name = next((word.text for word in words[:2] if word.type in ("NAME", "COUNT")), None)
        if name is not None and start != line.start:
            found.append(name)
        start = text.find("\n", end) + 1 or len(text)
    return found


def word_at(source: Source, offset: int) -> Token | None:
    """The word that holds an offset or ends there; not one of a comment."""
    start = line_start(source, offset)
    found = None
    for word in words_between(source, start, source.line_end(start)):
        if word.start <= offset <= word.end:
            found = word
    return found


def names_between(source: Source, start: int, end: int) -> Iterator[Token]:
    """The words of a stretch of lines that name something which a block declares."""
    words = words_between(source, start, end)
    for index, word in enumerate(words):
        before = words[index - 1].text if index else ""
        after = words[index + 1].text if index + 1 < len(words) else ""
        if word.type in ("NAME", "COUNT") and before not in _NO_NAME_AFTER and after not in _COUNTED:
            yield word


def name_at(source: Source, offset: int) -> Token | None:
    """The name that holds an offset or ends there."""
    start = line_start(source, offset)
    names = names_between(source, start, source.line_end(start))
    return next((name for name in names if name.start <= offset <= name.end), None)


def entry_at(record: Record, source: Source, offset: int):
    """The entry whose line holds an offset; None where there is none."""
    line = line_at(source, source.line_end(offset))
    subjects = {word.text for word in (*line.words, *line.header[:2]) if word.type in ("NAME", "COUNT")}
    for subject in subjects:
        for entry in record.entries.get(subject, ()):
            if entry.source is source and entry.start == line.start:
                return entry
    return None


def headers(source: Source) -> Iterator[tuple[int, int, int]]:
    """Start and end of every line in column 1 that is no comment, and the end of what stands under it."""
    text, starts = source.text, source.line_starts
    found: list[list[int]] = []
    for start in starts:
        end = source.line_end(start)
        content = text[start:end]
        if not content.strip(" \t"):
            continue
        if content[0] not in " \t#":
            found.append([start, end, end])
        elif found and content[0] != "#":
            found[-1][2] = end
    return ((start, end, block_end) for start, end, block_end in found)
