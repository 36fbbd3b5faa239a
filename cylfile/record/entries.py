"""
Entries: what happened to a cylinder or a source, one flat tuple each, whatever paper it stood on.

A line of a card, a row of a sheet and a loose line give the same kind of entry. Its *plain
form* is the loose line with every inherited clause written out; two entries say the same
exactly when their plain forms are equal.
"""

from collections import namedtuple
from datetime import date
from typing import NamedTuple

from cylfile.record.quantities import Quantity
from cylfile.text.source import Span


class Signed(NamedTuple):
    """The day, the person and the reason of a correction: `struck` and `late` clauses."""

    day: date
    by: str
    text: str


class Clause(NamedTuple):
    """
    How a field of an entry is written: `form` with `{}` for the value, `what` for a message.

    The fields are named for the rules of grammar/ledger.lark that fill them.
    """

    field: str
    form: str
    needed: bool = False
    what: str = ""


FROM = Clause("from_pressure", "from {}")
TO = Clause("reading", "to {}", True, "`to` with the pressure reached")
GAUGE = Clause("reading", "{}", True, "the pressure that was read")
TEMPERATURE = Clause("at_temperature", "at {}")
OVER = Clause("over", "over {}")
BY = Clause("by", "by {}")
ON = Clause("on", "on {}")
SITE = Clause("at_site", "at {}")
OUTCOME = Clause("outcome", "{}", True, "`pass` or `fail`")
RESULT = Clause("result", "{}", True, "`pass`, `fail` or `condemned`")
TEXT = Clause("text", "{}")
REASON = Clause("text", "{}", True, 'a text such as "valve leaks"')
TAIL = (Clause("remark", "remark {}"), Clause("struck", "struck {}"), Clause("late", "late {}"))
READINGS = (
    Clause("co", "CO {}"), Clause("co2", "CO2 {}"), Clause("o2", "O2 {}"), Clause("n2", "N2 {}"),
    Clause("h2s", "H2S {}"), Clause("oil", "oil {}"), Clause("water", "water {}"),
    Clause("dew_point", "dew point {}"), Clause("organics", "organics {}"),
    Clause("particulate", "particulate {}"), Clause("odor", "odor {}"),
)  # fmt: skip

# What every entry has, in the order of the tuple. `source`, `start` and `shape` say where and
# as what it was written; they are no part of what it says.
_HEAD = ("day", "time", "subject")
_TAIL = ("remark", "struck", "late", "source", "start", "shape")


class _Entry:
    """What the kinds of entry share; see `ENTRY_KINDS`."""

    __slots__ = ()
    verb = ""
    clauses: tuple[Clause, ...] = ()
    # Of each clause in turn: the index of its field, the word it begins with, the field.
    written: tuple[tuple[int, str, str], ...] = ()

    @property
    def span(self) -> Span:
        """From the first to the last word of the line that says this entry."""
        from cylfile.text.ledger import LEDGER

        words = LEDGER.words_of(self.source.text, self.start, len(self.shape.terminals))
        return Span(self.source, words[0].start, words[-1].end)

    @property
    def facts(self) -> tuple:
        """All that the entry says, without where it is written."""
        return (self.verb, *self[:-3])


def _kind(rule: str, *clauses: Clause):
    """The tuple type of one kind of entry: `rule` is its rule in the grammar and, with spaces, its verb."""
    own = tuple(clause.field for clause in clauses)
    fields = namedtuple(rule, (*_HEAD, *own, *_TAIL))
    all_clauses = (*clauses, *TAIL)
    written = tuple((fields._fields.index(c.field), c.form.replace("{}", "").strip(), c.field) for c in all_clauses)
    says = {"__slots__": (), "verb": rule.replace("_", " "), "clauses": all_clauses, "written": written}
    kind = type(rule, (_Entry, fields), says)
    kind.__doc__ = f"A `{kind.verb}` entry: day, time, subject, {', '.join(own) or 'no clause of its own'}."
    return kind


# fmt: off
_CYLINDER = (
    _kind("entered_service", SITE, BY),
    _kind("filled", FROM, TO, TEMPERATURE, OVER, BY, ON, SITE),
    _kind("gauged", GAUGE, TEMPERATURE, BY, SITE),
    _kind("visual", OUTCOME, BY, SITE),
    _kind("hydro", RESULT, BY, Clause("at_pressure", "at {}"), Clause("total", "total {}"),
          Clause("permanent", "permanent {}"), Clause("elastic", "elastic {}"), Clause("plus", "plus"),
          Clause("star", "star"), Clause("with_visual", "visual {}"), SITE),
    _kind("moved", Clause("to_site", "to {}", True, "`to` with the site"), Clause("from_site", "from {}"), BY),
    _kind("emptied", BY, SITE),
    _kind("damaged", REASON, Clause("heat", "heat"), BY, SITE),
    _kind("out_of_service", REASON, BY, SITE),
    _kind("returned_to_service", BY, SITE),
    _kind("life_extended", Clause("until", "until {}", True, "`until` with the new month"), REASON, BY),
    _kind("condemned", REASON, BY),
    _kind("retired", TEXT, BY),
    _kind("remarked", REASON, BY),
)
# fmt: on
_SOURCE_ONLY = (
    _kind("air_sample", OUTCOME, *READINGS, TEXT, BY),
    _kind("cartridge_changed", TEXT, BY),
    _kind("gauge_checked", TEXT, BY),
)

# Rule of the grammar -> kind of entry.
ENTRY_KINDS = {kind.__name__: kind for kind in (*_CYLINDER, *_SOURCE_ONLY)}
CYLINDER_VERBS = tuple(kind.verb for kind in _CYLINDER)
_COMPRESSOR_VERBS = ("out of service", "returned to service", "remarked", *(kind.verb for kind in _SOURCE_ONLY))
# Kind of source -> the verbs of its entries. A compressor makes air and holds none; of a source of no
# known kind nobody can say that it does not.
SOURCE_VERBS = {
    "compressor": _COMPRESSOR_VERBS,
    "storage": ("filled", "emptied", *_COMPRESSOR_VERBS),
    None: ("filled", "emptied", *_COMPRESSOR_VERBS),
}
# Kind of sheet -> the verb of its rows.
SHEET_VERBS = {"fill_sheet": "filled", "visual_sheet": "visual", "hydro_sheet": "hydro", "gauge_sheet": "gauged"}
Filled = ENTRY_KINDS["filled"]


def plain_form(entry) -> str:
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


def write_time(time) -> str:
    """A time as the language writes it; seconds only where there are any."""
    written = time.isoformat()
    return written if time.second else written[:5]


def write_text(text: str) -> str:
    """A text in quotation marks, with what is special in it escaped."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def write_value(field: str, value) -> str:
    """The value of an entry's field as the language writes it."""
    if value.__class__ is Quantity:
        return value.text
    if value.__class__ is Signed:
        return f"{value.day} by {value.by} {write_text(value.text)}"
    return write_text(value) if field in ("text", "remark") else str(value)
