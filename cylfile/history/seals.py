"""
Seals: a digest that tells whether a closed period still says what it said.

A seal `sealed DAY by PERSON N entries DIGEST` covers what the record had said by the end of
its day. Everything in a record that is an account of the past bears a day, and that day alone
decides, so that anybody can recompute a seal from the record as it is. What *stands* at a day:

- An *entry* stands where its day is not after that day and, if it has a `late` clause,
  the day of that clause is not either: a late line counts from the day it was written. A `late`
  of a day to come counts for nothing.
- A `struck` or `answered` clause stands where its own day is not after that day. An entry
  that is struck or answered later stands without that, so that it breaks nothing; to alter or
  remove a strike or an answer that was there does. The same holds of struck lines of blocks, and the line that is
  written in place of one that is struck later does not stand.
- The *properties* of each block that such an entry, such a clause, such a source or a seal of an
  earlier day names. Spans of authority stand as far as they run up to the day, whatever lines they
  are written in, so that a renewal breaks nothing.
- The *told order* of a day: of two such entries of one cylinder or source whose order only
  their standing tells, that the one came before the other. Of what is told of three, the first
  and the last are left out.
- The department: its name and its zone.

Seals are a chain. The first covers all that stands at its day. Each later one covers what it adds:
the lines that stand at its day and did not at the day of the seal before, those that did and stand no
longer, the properties of who seals where no line names them yet, and the seal before, with its digest.
So whatever is altered breaks the seal of its period, that digest answers for all digests before it,
and a seal holds only where those before it do too.

So after a seal there may come: a strike or an answer dated after it, a line with `late` dated after it,
new blocks, and whatever is dated after it. Anything else that touches the period breaks it.

Not covered, since they speak of the present, and no sealed entry rests on them: `owner` and
`tag` of a card, the department's `rules` and `usual-source`, the `contact` of a site, waivers and
recalls, and blocks that no covered entry names.

The digest is SHA-256, in hexadecimal, of UTF-8 lines that each end with a line feed: the line
`sealed DAY by PERSON N entries`, then, sorted by their bytes, the entries in plain form, `A, then B` for what is
told of two, properties, `no longer: ` and the line for each that stands no longer, and the seal before; where
there are several of its day, all of them. N is the number of the entries so far: that of the seal before and those
that are new.
"""

import hashlib
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from heapq import heappop, heappush
from itertools import chain, groupby
from operator import attrgetter, itemgetter
from typing import NamedTuple

from cylfile.history.order import ToldPairs
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
_FIRST, _ENDLESS = date.min.toordinal(), date.max.toordinal() + 1
_GONE = "no longer: "
_SEALED = attrgetter("day")


class Check(NamedTuple):
    """
    A seal and what the record says now: the number of entries and the digest.

    `is_kept` tells whether what the seal itself covers is as it was, and `rests_on` is the first seal before it of
    which that cannot be said.
    """

    seal: Seal
    is_kept: bool
    rests_on: Seal | None
    entries: int
    digest: str

    @property
    def holds(self) -> bool:
        """Whether all that was said up to the day of the seal is as it was."""
        return self.is_kept and self.rests_on is None


class Spelling(NamedTuple):
    """What a digest is taken of: the first line, and the others in any order. `entries` is the N of the first line."""

    first: str
    entries: int
    lines: list[str]

    @property
    def text(self) -> str:
        # By code points, which is the order of UTF-8 bytes too.
        return "".join(f"{line}\n" for line in (self.first, *sorted(self.lines)))

    @property
    def digest(self) -> str:
        return hashlib.sha256(self.text.encode("utf-8", "surrogatepass")).hexdigest()


def spell_out(record: Record, day: date, by: str, as_of: date = date.max) -> Spelling:
    """All that a seal of `day` by the person `by` covers, of the record as it is now."""
    return Chain(record, as_of).spelled(day, by)


def check_seals(record: Record, as_of: date = date.max) -> list[Check]:
    """Every seal of a record, by day, and whether it holds on the as-of day."""
    return Chain(record, as_of).checks() if record.seals else []


def what_entries_rest_on(record: Record, day: date) -> Counter:
    """The lines that stand at a day beside the entries: properties, and what is told of the order of days."""
    return _Standing(record).change_to(day).of_others


def stated_day(entry: Entry, as_of: date = date.max) -> date:
    """The day from which an entry counts as said: its own, or that on which it was written late."""
    return entry.late.day if entry.late is not None and late_on(entry, as_of) else entry.day


def _by_day(seals: list[Seal]) -> list[Seal]:
    return sorted(seals, key=lambda seal: (seal.day, seal.span.source.path, seal.span.start))


class Chain:
    """What the seals of a record cover, asked for day by day: first all `checks`, then what is `spelled` of later days."""

    def __init__(self, record: Record, as_of: date):
        self._seals = sorted(record.seals, key=_SEALED)
        self._standing = _Standing(record, as_of)
        self._day: date | None = None
        self._change = _Change(0, Counter(), Counter())

    def checks(self) -> list[Check]:
        """See `check_seals`."""
        checks = []
        first_broken: Seal | None = None
        for _, of_day in groupby(_by_day(self._seals), _SEALED):
            rests_on = first_broken
            for seal in of_day:
                now = self.spelled(seal.day, seal.by)
                count, digest = now.entries, now.digest
                is_kept = (seal.entries, seal.digest) == (count, digest)
                checks.append(Check(seal, is_kept, rests_on, count, digest))
                if not is_kept:
                    first_broken = first_broken or seal
        return checks

    def spelled(self, day: date, by: str) -> Spelling:
        """What a seal covers, which is of no earlier day than the one that was asked for before."""
        before = self._of_the_day_before(day)
        if day != self._day:
            if before and before[0].day != self._day:
                self._standing.change_to(before[0].day)
            self._day, self._change = day, self._standing.change_to(day)
        count = max((seal.entries for seal in before), default=0) + self._change.entries
        lines = [*map(plain_seal, before), *self._standing.not_yet_named(by, day)]
        for changed in (self._change.of_entries, self._change.of_others):
            lines += (+changed).elements()
            lines += (f"{_GONE}{line}" for line in (-changed).elements())
        return Spelling(f"sealed {day} by {by} {count} entries", count, lines)

    def _of_the_day_before(self, day: date) -> list[Seal]:
        """The last seal of an earlier day, or all that there are of its day."""
        end = bisect_left(self._seals, day, key=_SEALED)
        return self._seals[bisect_left(self._seals, self._seals[end - 1].day, key=_SEALED) : end] if end else []


class _Change(NamedTuple):
    """
    From one day to another: how many entries are new, and how often more each line stands; less often than 0 where it
    stands no longer.
    """

    entries: int
    of_entries: Counter[str]
    of_others: Counter[str]


class _Standing:
    """Which lines stand, from day to day: only what changes between two days is looked at."""

    def __init__(self, record: Record, as_of: date = date.max):
        said = [_Said(entry, stated_day(entry, as_of)) for entries in record.entries.values() for entry in entries]
        self._declared = record.declared
        self._named = _days_named(self._declared, said, record.seals)
        changing: list[_Said | _Stretch] = [*said]
        for name, since in self._named.items():
            changing += _lines_of(self._declared[name], since)
        if record.department is not None:
            changing += _lines_of(record.department)
        self._to_come = [(day, each) for each in changing for day in each.days()]
        self._to_come.sort(key=itemgetter(0), reverse=True)
        self._told: dict[str, ToldPairs] = defaultdict(ToldPairs)
        self._day: date | None = None

    def change_to(self, day: date) -> _Change:
        """What is other at a day than at the one that was asked for before, or than at none."""
        changing: dict[_Said | _Stretch, None] = {}
        while self._to_come and self._to_come[-1][0] <= day:
            changing[self._to_come.pop()[1]] = None
        change = _Change(0, Counter(), Counter())
        new: dict[str, list[Entry]] = defaultdict(list)
        for each in changing:
            lines = change.of_entries if isinstance(each, _Said) else change.of_others
            lines.update(each.lines(day))
            if self._day is not None and each.since <= self._day:
                lines.subtract(each.lines(self._day))
            elif isinstance(each, _Said):
                new[each.entry.subject].append(each.entry)
        for name, entries in new.items():
            before, after = self._told[name].take_in(entries)
            change.of_others.update(map(_in_words, after))
            change.of_others.subtract(map(_in_words, before))
        self._day = day
        return change._replace(entries=sum(map(len, new.values())))

    def not_yet_named(self, name: str, day: date) -> Iterator[str]:
        """The lines of a block, where nothing that stands at a day names it."""
        if name in self._declared and (name not in self._named or self._named[name] > day):
            for each in _lines_of(self._declared[name]):
                yield from each.lines(day) if each.since <= day else ()


class _Said:
    """An entry from the day on which it was said, which is not always its own."""

    __slots__ = ("entry", "since")

    def __init__(self, entry: Entry, since: date):
        self.entry, self.since = entry, since

    @property
    def signatures(self) -> Iterator[Signed | Answer]:
        if self.entry.struck is not None:
            yield self.entry.struck
        yield from self.entry.answers or ()

    def days(self) -> Iterator[date]:
        """The days since which it says other things than before."""
        yield self.since
        yield from (signed.day for signed in self.signatures if signed.day > self.since)

    def lines(self, day: date) -> list[str]:
        """Its line with what was written to it by the end of a day."""
        entry = self.entry
        struck = entry.struck if entry.struck is not None and entry.struck.day <= day else None
        answers = tuple(answer for answer in entry.answers or () if answer.day <= day) or None
        return [plain_form(entry._replace(struck=struck, answers=answers) if entry.struck or entry.answers else entry)]

    def names(self) -> Iterator[tuple[str, date]]:
        """Every name that its line mentions, and since when."""
        entry = self.entry
        yield entry.subject, self.since
        for clause in entry.row.own:
            name = getattr(entry, clause.field) if clause.value == NAME else None
            if name is not None:
                yield name, self.since
        if entry.late is not None:
            yield entry.late.by, self.since
        yield from ((signed.by, max(signed.day, self.since)) for signed in self.signatures)


class _Stretch:
    """A line of a block from one day on and, where there is one, until another."""

    __slots__ = ("line", "since", "until")

    def __init__(self, line: str, since: date, until: date | None):
        self.line, self.since, self.until = line, since, until

    def days(self) -> Iterator[date]:
        yield self.since
        if self.until is not None and self.until > self.since:
            yield self.until

    def lines(self, day: date) -> list[str]:
        return [self.line] if self.until is None or day < self.until else []


def _days_named(declared: dict[str, Declared], said: list[_Said], seals: list[Seal]) -> dict[str, date]:
    """The first day on which something that stands names a block, by the name; the seal of a day stands on the next."""
    names = chain.from_iterable(each.names() for each in said)
    signed = ((seal.by, _day_after(seal.day)) for seal in seals)
    days: dict[str, date] = {}
    for name, day in chain(names, signed):
        if day is not None and name in declared:
            days[name] = min(day, days.get(name, day))
    for name, day in list(days.items()):
        source = declared[name]
        if isinstance(source, AirSource):
            for site, since in _sites(source):
                if site in declared:
                    days[site] = min(max(day, since), days.get(site, date.max))
    return days


def _sites(source: AirSource) -> Iterator[tuple[str, date]]:
    """Where a source was, and since when; each but the first was written in the place of a line that was struck."""
    since = date.min
    for struck in sorted(source.struck_properties, key=_strike_day):
        if isinstance(struck.thing, AirSource) and struck.thing.site is not None:
            yield struck.thing.site, since
            since = struck.struck.day
    if source.site is not None:
        yield source.site, since


def _day_after(day: date) -> date | None:
    return day + _DAY if day < date.max else None


def _in_words(pair: tuple[Entry, Entry]) -> str:
    """What is told of two entries, whatever was written to them later."""
    return ", then ".join(plain_form(entry._replace(struck=None, answers=None)) for entry in pair)


def _lines_of(thing: Declared, named: date = date.min) -> Iterator[_Stretch]:
    """
    What a seal covers of a block that is named since a day.

    Of what stands once in a block, a line that was struck stood until then, and the one after it was written in its place.
    """
    head = header(thing)
    left_out, spans = NOT_COVERED.get(type(thing), ()), SPANS.get(type(thing), ())
    yield _Stretch(head, named, None)
    written: dict[str, date] = {}
    ever: dict[str, list[tuple[tuple, date | None]]] = {
        word: [(span, None) for span in getattr(thing, word)] for word in spans
    }
    for struck in sorted(thing.struck_properties, key=_strike_day):
        day = struck.struck.day
        for word, values in properties(struck.thing).items():
            if word in left_out:
                continue
            if word in spans:
                ever[word] += ((span, day) for span in getattr(struck.thing, word))
            else:
                since = written.get(word, date.min)
                yield from (_Stretch(f"{head} {word} {value}", max(named, since), day) for value in values)
                if word not in REPEATABLE:
                    written[word] = day
            yield from (_Stretch(f"{head} {line}", max(named, day), None) for line in struck_lines(struck))
    for word, values in properties(thing).items():
        if word not in left_out and word not in spans:
            since = max(named, written.get(word, date.min))
            yield from (_Stretch(f"{head} {word} {value}", since, None) for value in values)
    for word in spans:
        for value, since, until in _said_of(ever[word]):
            yield _Stretch(f"{head} {word} {value}", max(named, since), until)


def _strike_day(struck: StruckProperty) -> date:
    return struck.struck.day


def days_up_to(spans: list[tuple], day: date) -> list[str]:
    """
    What spans of authority, (first day, last day or month), say of the days up to `day`.

    Spans that meet or overlap are one. An end is said where it was before that day: so what goes on says the same each day.
    """
    said = _said_of([(span, None) for span in spans])
    return [value for value, since, until in said if since <= day and (until is None or day < until)]


def _said_of(spans: list[tuple[tuple, date | None]]) -> Iterator[tuple[str, date, date | None]]:
    """
    Each thing that spans of authority say up to some day, since which day they say it and until which.

    With each span comes the day on which its line was struck; until then it stands.
    """
    # As numbers of days: the first, the one after the last, the strike; what has no end is over after the last day there is.
    ever = sorted(
        ((first or date.min).toordinal(), last_day(last).toordinal() + 1, struck.toordinal() if struck else _ENDLESS)
        for (first, last), struck in spans
    )
    forward = [span for span in ever if span[0] < span[1]]
    # There never was any until one that stands has begun, and again where all that have begun are struck.
    since, end = _FIRST, max((struck for *_, struck in ever), default=_FIRST)
    for first, until in [*((first, struck) for first, _, struck in forward if first < struck), (end, end)]:
        if since < first:
            yield "never", date.fromordinal(since), _date(first)
        since = max(since, until)
    for first, over, since, until in _joined(forward):
        # A tester without dates is as good as one with dates that the period lies within.
        if first > _FIRST and max(since, first) < min(until, over):
            yield str(_date(first)), date.fromordinal(max(since, first)), _date(min(until, over))
        if max(since, over) < until:
            yield f"{_date(first)} until {_date(over - 1)}", date.fromordinal(max(since, over)), _date(until)


def _joined(spans: list[tuple[int, int, int]]) -> Iterator[tuple[int, int, int, int]]:
    """
    Spans that meet or overlap as one: its first day, the day after its last, since when it is one and until when.

    Spans come as such days too, with that of the strike, in order. A strike may cut what is one into pieces, and nothing
    joins them again: so n spans make 2n at most.
    """
    # When the last span of the days from one on, up to the next that is named, is struck; 0 where there is none.
    last_strikes: list[tuple[int, int]] = []
    to_come, open_spans = list(reversed(spans)), list[tuple[int, int]]()
    for day in sorted({day for first, over, _ in spans for day in (first, over)}):
        while to_come and to_come[-1][0] == day:
            _, over, struck = to_come.pop()
            heappush(open_spans, (-struck, over))
        while open_spans and open_spans[0][1] <= day:
            heappop(open_spans)
        last_strikes.append((day, -open_spans[0][0] if open_spans else 0))
    # Those that reach up to a day, as first day and last strike: each lies within the one before it and outlives it.
    within: list[tuple[int, int]] = []
    for day, strike in last_strikes:
        first = day
        while within and within[-1][1] > strike:
            first, until = within.pop()
            yield first, day, max(strike, within[-1][1] if within else 0), until
        if strike and not (within and within[-1][1] == strike):
            within.append((first, strike))


def _date(number: int) -> date | None:
    """The day of a number; none comes after the last that there is."""
    return date.fromordinal(number) if number < _ENDLESS else None
