"""
Entries for tests: every kind with every clause, written on a card, on a sheet or as a loose line.
"""

from typing import NamedTuple

from hypothesis import strategies as st

from cylfile.record.reader import read_record
from cylfile.record.vocabulary import ANSWERED, CLAUSES, FLAG, NAME, PLACE, SIGNED, SITE, SOURCE, TEXT, VERBS, Clause
from cylfile.text.source import Source

# Everybody and everything that the entries name.
HEAD = """\
site st1 "Ferry Landing"
site 12 "Substation 12"
person wren "Wren"
person 7 "Seven"
tester Z901 "Saltmarsh"
source comp "Compressor"
  kind compressor
source tank "Bank"
  kind storage
"""
_CARD = "cylinder 114\n"
_TEXTS = ['""', '"valve leaks"', '"a \\"b\\" \\\\"', '"# by wren"', '"\u00c4rger \u2028"']
_SITES, _PEOPLE, _VOLUMES = ["st1", "12"], ["wren", "7"], ["92.1 cc", "1.8 mL", "0 cc", "5.6 in3"]
_SIGNED = ['2026-06-01 by wren "why"', '2026-06-02 by 7 ""']
_ANSWERS = [
    'past-test 2026-06-01 by wren "why"',
    'past-test 2026-06-02 by 7 "" answered read-over-limit 2026-06-03 by wren "bled"',
]
_NAMED = {"": _PEOPLE, SITE: _SITES, PLACE: _SITES, SOURCE: ["comp"]}


def _usual(clause: Clause) -> list[str]:
    if clause.words:
        return list(clause.words)
    if clause.value == NAME:
        return _NAMED[clause.names]
    return {FLAG: [""], TEXT: _TEXTS, SIGNED: _SIGNED, ANSWERED: _ANSWERS}.get(clause.value, [clause.example])


# Field of an entry -> values as they are written; a flag has one, of no letters.
VALUES = {clause.field: _usual(clause) for clause in CLAUSES} | {
    "from_pressure": ["900 psi", "62 bar"], "reading": ["4500 psi", "310 bar", "31.0 MPa"],
    "at_pressure": ["7500 psi", "51700 kPa"], "at_temperature": ["88 F", "-5 C", "20.5 C"], "over": ["6 min", "90 s", "1 h"],
    "total": _VOLUMES, "permanent": _VOLUMES, "elastic": _VOLUMES, "until": ["2031-05", "2026-12"],
    "water": ["12 ppm", "5 mg/m3"],
}  # fmt: skip
KINDS = VERBS
SHEETS = {verb: f"{row.sheet} sheet" for verb, row in VERBS.items() if row.sheet}
ONLY_OF_SOURCES = ("air sample", "cartridge changed", "gauge checked")


DAYS = [(day, time) for day in ("2026-05-01", "2024-02-29") for time in ("", "09:42", "23:59:10")]
MONTHS = [*DAYS, ("2026-05", "")]


class Written(NamedTuple):
    """An entry in words: `said` maps its fields to their values, in the order in which the clauses are written."""

    verb: str
    day: str
    time: str
    said: dict[str, str]

    @property
    def subject(self) -> str:
        return "tank" if self.verb in ONLY_OF_SOURCES else "114"

    def clauses(self, fields) -> list[str]:
        """The clauses of some of its fields; what a verb is not complete without stands first, as it must."""
        forms = {clause.field: clause.form for clause in KINDS[self.verb].clauses}
        written = {field: forms[field].format(self.said[field]) for field in self.said if field in fields}
        bound = [
            field for field in written if field in ("outcome", "result") or (self.verb, field) == ("gauged", "reading")
        ]
        return [written[field] for field in (*bound, *(field for field in written if field not in bound))]

    def on_card(self) -> str:
        line = "  ".join(filter(None, [self.day, self.time, self.verb, *self.clauses(self.said)]))
        return f"{HEAD}  {line}\n{_CARD}" if self.subject == "tank" else f"{HEAD}{_CARD}  {line}\n"

    def loose(self) -> str:
        words = [self.day, self.time, self.verb, self.subject, *self.clauses(self.said)]
        return f"{HEAD}{_CARD}{' '.join(filter(None, words))}\n"

    def on_sheet(self, in_header=()) -> str:
        """As the row of a sheet whose header says some of the fields."""
        header = "  ".join([f"{SHEETS[self.verb]} {self.day}", *self.clauses(in_header)])
        own = [field for field in self.said if field not in in_header]
        row = "  ".join(filter(None, [self.time, self.subject, *self.clauses(own)]))
        return f"{HEAD}{_CARD}{header}\n  {row}\n"


def entry_of(text: str):
    """The one entry of a ledger without a fault."""
    record = read_record([Source("a.cyl", text)])
    assert [fault.text for fault in record.faults] == [], text
    (entry,) = (entry for entries in record.entries.values() for entry in entries)
    return entry


def needed_of(verb: str, field: str = "") -> list[str]:
    """The fields that a verb is not complete without, beside one that it has."""
    instead_of = next((clause.instead_of for clause in KINDS[verb].clauses if clause.field == field), "")
    return [clause.field for clause in KINDS[verb].needs if clause.field != instead_of]


@st.composite
def written(draw, verbs=tuple(KINDS)) -> Written:
    """An entry of one of the verbs, with what it needs and some of what it may have, in any order."""
    verb = draw(st.sampled_from(verbs))
    fields = [clause.field for clause in KINDS[verb].clauses]
    chosen = draw(st.sets(st.sampled_from(fields), max_size=6))
    chosen |= {*needed_of(verb, "unread" if "unread" in chosen else "")}
    chosen -= {"unread"} if "reading" in chosen else set()
    order = draw(st.permutations([field for field in fields if field in chosen]))
    said = {field: draw(st.sampled_from(VALUES[field])) for field in order}
    return Written(
        verb,
        *draw(st.sampled_from(MONTHS if KINDS[verb].may_be_month else DAYS)),
        said,
    )
