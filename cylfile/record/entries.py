"""
Entries: what happened to a cylinder or a source, one flat tuple each, whatever paper it stood on.

A line of a card, a row of a sheet and a loose line give the same kind of entry. Its *plain
form* is the loose line with every inherited clause written out; two entries say the same
exactly when their plain forms are equal.
"""

from collections import namedtuple
from collections.abc import Iterator
from datetime import date, time
from functools import cache
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

from cylfile.record.quantities import Quantity
from cylfile.record.vocabulary import ANSWERS, CLAUSES, CORRECTIONS, ENTRY_RULES, TAIL, TEXT, Verb
from cylfile.text.acts import Act
from cylfile.text.language import Shape
from cylfile.text.source import Source, Span


class Signed(NamedTuple):
    """The day, the person and the reason of a correction: `struck` and `late` clauses."""

    day: date
    by: str
    text: str


class Answer(NamedTuple):
    """What was done about a finding of a rule, on which day, by whom: an `answered` clause."""

    rule: str
    day: date
    by: str
    text: str


# What every entry has, in the order of the tuple. The last four say where and as what it was
# written; they are no part of what it says.
_HEAD = ("day", "time", "subject")
_TAIL = (*(clause.field for clause in TAIL), "source", "start", "block", "shape")
_WHERE = -4
# What a named tuple's own constructor calls, without the call.
_new_tuple: Any = tuple.__new__
SOURCE, START, BLOCK = _WHERE, _WHERE + 1, _WHERE + 2
_CORRECTED = _WHERE - len(CORRECTIONS)


class Entry:
    """
    What the kinds of entry share; see `entry_kind`. Its fields are those of its clauses, None where it has none.

    `day` is a `Month` where only the month is known. Entries of one `block` stand in the order of
    their `start`: a card or a sheet, by the offset of its header, or loose lines with nothing but
    loose lines between them, by that of the first.
    """

    __slots__ = ()
    row: Verb
    verb = ""
    # None for every field between `subject` and `source`.
    unsaid: tuple[None, ...] = ()
    # Of each clause in turn: the index of its field, the word it begins with, the field.
    written: tuple[tuple[int, str, str], ...] = ()

    if TYPE_CHECKING:
        day: date
        time: time | None
        subject: str
        remark: str | None
        struck: Signed | None
        late: Signed | None
        answers: tuple[Answer, ...] | None
        source: Source
        start: int
        block: int | None
        shape: Shape | Act
        _fields: ClassVar[tuple[str, ...]]

        # The fields of its own clauses.
        def __getattr__(self, field: str) -> Any: ...
        def __getitem__(self, index: Any) -> Any: ...
        def __iter__(self) -> Iterator: ...
        def _replace(self, **fields: Any) -> "Entry": ...
        def _asdict(self) -> dict[str, Any]: ...

    @property
    def span(self) -> Span:
        """From the first to the last word of the line that says this entry."""
        from cylfile.text.ledger import LEDGER

        return Span(self.source, *LEDGER.extent(self.source, self.start, self.shape))

    @property
    def place(self) -> str:
        """Its file and its line, see `Source.place`."""
        return self.source.place(self.start)

    def moved(self, source: Source, start: int, block: int | None) -> "Entry":
        """The same entry at another place."""
        return _new_tuple(self.__class__, (*self[:_WHERE], source, start, block, self[-1]))

    @property
    def facts(self) -> tuple:
        """All that the entry says, without where it is written."""
        return (self.verb, *self[:_WHERE])

    @property
    def uncorrected(self) -> tuple:
        """All that the entry says but for its corrections."""
        return (self.verb, *self[:_CORRECTED])

    @property
    def corrections(self) -> tuple:
        """What was written to its line afterwards."""
        return self[_CORRECTED:_WHERE]

    @property
    def is_bad_news(self) -> bool:
        """Whether it tells what somebody found, and not what somebody did: it is true however bad it is."""
        return self.row.is_news or self.has_bad_outcome

    @property
    def has_bad_outcome(self) -> bool:
        """Whether something that was looked at or tested did not pass."""
        return any(getattr(self, clause.field) in clause.bad for clause in self.row.own)


@cache
def entry_kind(rule: str) -> type[Entry]:
    """The tuple type of one kind of entry, by its rule of the grammar; made when it is first met, for a small record has few."""
    row = ENTRY_RULES[rule]
    own = tuple(dict.fromkeys(clause.field for clause in row.own))
    fields = namedtuple(row.rule, (*_HEAD, *own, *_TAIL))  # type: ignore[misc]  # its fields are known when it runs
    written = tuple((fields._fields.index(c.field), c.word, c.field) for c in row.clauses)
    unsaid = (None,) * (len(fields._fields) + _WHERE - len(_HEAD))
    of_all = {"__slots__": (), "row": row, "verb": row.verb, "unsaid": unsaid, "written": written}
    kind: Any = type(row.rule, (Entry, fields), of_all)
    kind.__doc__ = f"A `{kind.verb}` entry: day, time, subject, {', '.join(own) or 'no clause of its own'}."
    return kind


_TEXTS = {clause.field for clause in CLAUSES if clause.value == TEXT}
Filled = entry_kind("filled")


def plain_form(entry: Entry) -> str:
    """The entry as one loose line: what it says and nothing of where it stood."""
    day, time, subject = entry[:3]
    words = [day.isoformat(), entry.verb, subject]
    if time is not None:
        words.insert(1, write_time(time))
    for index, word, field in entry.written:
        value = entry[index]
        if value is not None:
            if word:
                words.append(word)
            if value is not True:
                words.append(write_value(field, value))
    return " ".join(words)


def write_time(time: time) -> str:
    """A time as the language writes it; seconds only where there are any."""
    written = time.isoformat()
    return written if time.second else written[:5]


def write_text(text: str) -> str:
    """A text in quotation marks, with what is special in it escaped."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def write_value(field: str, value: object) -> str:
    """The value of an entry's field as the language writes it."""
    if value.__class__ is Quantity:
        return value.text
    if value.__class__ is Signed:
        return f"{value.day} by {value.by} {write_text(value.text)}"
    if value.__class__ is tuple:
        each = (f"{rule} {day} by {by} {write_text(text)}" for rule, day, by, text in value)
        return f" {ANSWERS.word} ".join(each)
    written = str(value)
    return write_text(written) if field in _TEXTS else written
