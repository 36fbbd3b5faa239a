"""
Seals: a digest that tells whether a closed period still says what it said.

A seal `sealed DAY by PERSON N entries DIGEST` covers what the record had said by the end of
its day. Everything in a record that is an account of the past bears a day, and that day alone
decides, so that anybody can recompute a seal from the record as it is:

- An *entry* is covered where its day is not after the seal's and, if it has a `late` clause,
  the day of that clause is not either: a late line counts from the day it was written. A `late`
  of a day to come counts for nothing.
- A `struck` or `answered` clause is covered where its own day is not after the seal's. An entry
  that is struck or answered later is covered without that, so that it breaks nothing; to alter or
  remove a strike or an answer that was there does. The same holds of struck lines of blocks, and the line that is
  written in place of one that is struck later is not covered.
- The *properties* of each block that a covered entry, a covered clause, a covered source or
  the seal itself names. Spans of authority are covered as far as they run up to the seal's
  day, whatever lines they are written in, so that a renewal breaks nothing.
- The *told order* of a day: of two covered entries of one cylinder or source whose order only
  their standing tells, that the one came before the other. Of what is told of three, the first
  and the last are left out.
- The department: its name and its zone.
- Every seal of an earlier day, so that seals are a chain.

So after a seal there may come: a strike or an answer dated after it, a line with `late` dated after it,
new blocks, and whatever is dated after it. Anything else that touches the period breaks it.

Not covered, since they speak of the present, and no sealed entry rests on them: `owner` and
`tag` of a card, the department's `rules` and `usual-source`, the `contact` of a site, waivers and
recalls, and blocks that no covered entry names.

The digest is SHA-256, in hexadecimal, of UTF-8 lines that each end with a line feed: the line
`sealed DAY by PERSON N entries`, then the covered entries in plain form, `A, then B` for what is
told of two, properties and earlier seals, sorted by their bytes. N is the number of the entries.
"""

import hashlib
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import chain
from operator import itemgetter
from typing import NamedTuple

from cylfile.history.order import told_pairs
from cylfile.history.standing import late_on
from cylfile.record.blocks import (
    AirSource,
    Cylinder,
    Declared,
    Department,
    Person,
    Seal,
    Site,
    StruckProperty,
    Tester,
    last_day,
)
from cylfile.record.entries import Answer, Entry, Signed, plain_form
from cylfile.record.plain_form import header, plain_seal, properties, struck_lines
from cylfile.record.properties import REPEATABLE
from cylfile.record.record import Record
from cylfile.record.vocabulary import NAME

NOT_COVERED = {Cylinder: ("owner", "tag"), Department: ("rules", "usual-source"), Site: ("contact",)}
SPANS = {Person: ("fills", "inspects"), Tester: ("authorized",)}
_DAY = timedelta(days=1)


class Statement(NamedTuple):
    """
    An entry with the day from which a seal covers it.

    `line` is its plain form without a strike and without answers.
    """

    day: date
    line: str
    entry: Entry

    def at(self, day: date) -> str:
        """The line that a seal of `day` covers: with what was written to it by the end of that day."""
        entry = self.entry
        struck = entry.struck if entry.struck is not None and entry.struck.day <= day else None
        answers = tuple(answer for answer in entry.answers or () if answer.day <= day) or None
        if struck is None and answers is None:
            return self.line
        return plain_form(entry._replace(struck=struck, answers=answers))

    def names(self, day: date) -> Iterator[str]:
        """Every name that the line covered by a seal of `day` mentions."""
        entry = self.entry
        yield entry.subject
        for clause in entry.row.own:
            name = getattr(entry, clause.field) if clause.value == NAME else None
            if name is not None:
                yield name
        if entry.late is not None:
            yield entry.late.by
        signatures: tuple[Signed | Answer | None, ...] = (entry.struck, *(entry.answers or ()))
        for signed in signatures:
            if signed is not None and signed.day <= day:
                yield signed.by


class Check(NamedTuple):
    """A seal and what the record says now: whether it `holds`, the number of entries, the digest."""

    seal: Seal
    holds: bool
    entries: int
    digest: str


def statements(record: Record, as_of: date = date.max) -> list[Statement]:
    """Every entry of a record as a statement on a day, in the order of the plain forms."""
    found = [_statement(entry, as_of) for entries in record.entries.values() for entry in entries]
    return sorted(found, key=lambda statement: statement.line)


def stated_day(entry: Entry, as_of: date = date.max) -> date:
    """The day from which an entry counts as said: its own, or that on which it was written late."""
    return entry.late.day if entry.late is not None and late_on(entry, as_of) else entry.day


def _statement(entry: Entry, as_of: date) -> Statement:
    return Statement(stated_day(entry, as_of), _line(entry), entry)


def _line(entry: Entry) -> str:
    has_more = entry.struck is not None or entry.answers is not None
    return plain_form(entry._replace(struck=None, answers=None) if has_more else entry)


class Spelling(NamedTuple):
    """
    What a digest is taken of: the first line, then the lines of the entries and the others, sorted together.

    `others` are what is told of the order of days, properties and earlier seals.
    """

    first: str
    entries: list[str]
    others: list[str]

    @property
    def text(self) -> str:
        # By code points, which is the order of UTF-8 bytes too.
        return "".join(f"{line}\n" for line in (self.first, *sorted([*self.entries, *self.others])))

    @property
    def digest(self) -> str:
        return hashlib.sha256(self.text.encode("utf-8", "surrogatepass")).hexdigest()


def spell_out(record: Record, day: date, by: str) -> Spelling:
    """All that a seal of `day` by the person `by` covers, of the record as it is now."""
    return _Covered(record, statements(record)).up_to(day, by)


def check_seals(record: Record, as_of: date = date.max) -> list[Check]:
    """Every seal of a record, by day, and whether it holds on the as-of day."""
    if not record.seals:
        return []
    covered, checks = _Covered(record, statements(record, as_of)), []
    for seal in sorted(record.seals, key=lambda seal: (seal.day, seal.span.source.path, seal.span.start)):
        now = covered.up_to(seal.day, seal.by)
        count, digest = len(now.entries), now.digest
        checks.append(Check(seal, (seal.entries, seal.digest) == (count, digest), count, digest))
    return checks


class _Covered:
    """What seals cover, asked by their days: each covers what those before it do, so only what is more is looked at anew."""

    def __init__(self, record: Record, said: list[Statement]):
        self._record = record
        self._declared = record.declared
        self._to_come = sorted(said, key=lambda statement: statement.day, reverse=True)
        # The lines that no signature changes, and the statements of those that one may.
        self._lines: list[str] = []
        self._signed: list[Statement] = []
        self._names: set[str] = set()
        # By cylinder or source: the entries with their lines, and what only their standing tells of their order.
        self._of_name: dict[str, list[tuple[str, Entry]]] = defaultdict(list)
        self._told: dict[str, list[str]] = {}
        self._unchanging: dict[Declared, list[str]] = {}
        self._seals = sorted((seal.day, plain_seal(seal)) for seal in record.seals)

    def up_to(self, day: date, by: str) -> Spelling:
        """What a seal of a day covers, which is not before that of the last one."""
        more = set()
        while self._to_come and self._to_come[-1].day <= day:
            statement = self._to_come.pop()
            entry = statement.entry
            more.add(entry.subject)
            self._of_name[entry.subject].append((statement.line, entry))
            if entry.struck is None and entry.answers is None:
                self._lines.append(statement.line)
                self._names.update(statement.names(day))
            else:
                self._signed.append(statement)
        self._lines.sort()
        for name in more:
            of_name = self._of_name[name]
            of_name.sort(key=itemgetter(0))
            pairs = told_pairs(entry for _, entry in of_name)
            self._told[name] = [f"{_line(one)}, then {_line(other)}" for one, other in pairs]
        names = self._names.union({by}, *(statement.names(day) for statement in self._signed))
        others = [*self._property_lines(names, day)]
        others += (line for _, line in self._seals[: bisect_left(self._seals, day, key=itemgetter(0))])
        others += chain.from_iterable(self._told.values())
        entries = [*self._lines, *(statement.at(day) for statement in self._signed)]
        return Spelling(f"sealed {day} by {by} {len(entries)} entries", entries, others)

    def _property_lines(self, names: Iterable[str], day: date) -> Iterator[str]:
        declared = self._declared
        things = {name: declared[name] for name in names if name in declared}
        for thing in list(things.values()):
            if isinstance(thing, AirSource) and thing.site in declared:
                things[thing.site] = declared[thing.site]
        for thing in (*things.values(), *filter(None, [self._record.department])):
            if thing in self._unchanging:
                yield from self._unchanging[thing]
                continue
            lines = list(_lines_of(thing, day))
            if type(thing) not in SPANS and not thing.struck_properties:
                self._unchanging[thing] = lines
            yield from lines


def _lines_of(thing: Declared, day: date) -> Iterator[str]:
    """What a seal of a day covers of a block."""
    yield header(thing)
    left_out, spans = NOT_COVERED.get(type(thing), ()), SPANS.get(type(thing), ())
    later = sorted((each for each in thing.struck_properties if each.struck.day > day), key=_strike_day)
    for word, values in _as_it_stood(thing, later).items():
        if word not in left_out and word not in spans:
            yield from (f"{header(thing)} {word} {value}" for value in values)
    for word in spans:
        of_all = [span for one in (thing, *(each.thing for each in later)) for span in getattr(one, word)]
        yield from (f"{header(thing)} {word} {value}" for value in days_up_to(of_all, day))
    for struck in thing.struck_properties:
        if struck.struck.day <= day and properties(struck.thing).keys().isdisjoint(left_out):
            yield from (f"{header(thing)} {line}" for line in struck_lines(struck))


def _strike_day(struck: StruckProperty) -> date:
    return struck.struck.day


def _as_it_stood(thing: Declared, later: list[StruckProperty]) -> dict[str, list[str]]:
    """
    The properties of a block before those lines were struck, which are in the order of their strikes. Of what stands
    once in a block, the first that was struck stood; those after it were written in its place.
    """
    stood = dict(properties(thing))
    for struck in reversed(later):
        for word, values in properties(struck.thing).items():
            stood[word] = [*stood.get(word, ()), *values] if word in REPEATABLE else values
    return stood


def days_up_to(spans: list[tuple], day: date) -> list[str]:
    """
    What spans of authority, (first day, last day or month), say of the days up to `day`.

    Spans that meet or overlap are one. That a span ends after the day is not said.
    """
    pieces = sorted((first or date.min, min(last_day(last), day)) for first, last in spans)
    joined: list[list[date]] = []
    for first, last in pieces:
        if first > day or first > last:
            continue
        if joined and first - joined[-1][1] <= _DAY:
            joined[-1][1] = max(joined[-1][1], last)
        else:
            joined.append([first, last])
    if joined == [[date.min, day]]:
        # A tester without dates is as good as one with dates that the period lies within.
        return []
    return [f"{first} until {last}" for first, last in joined] or ["never"] * bool(spans)
