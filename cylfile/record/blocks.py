"""
What a record declares: its department, sites, people, testers, sources and cylinders.
"""

import re
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from cylfile.record.dates import Month, month_end
from cylfile.record.quantities import Quantity
from cylfile.text.source import Span


@dataclass(slots=True)
class Declared:
    """
    Anything that a block gives a name. `span` is the name in its header.

    `where` maps each property that stands in the block, by the word it is written with, to the
    place of its line; one that may stand on several lines also by the word and the first value,
    as in `rules us-dot`. `word` is what the trade calls it.
    """

    name: str
    span: Span
    title: str = ""
    where: dict[str, Span] = field(default_factory=dict)
    word = "block"


@dataclass(slots=True)
class Department(Declared):
    """The owner of the record. `rules` are packs in order: a name, or a path where the flag is true."""

    zone: str | None = None
    rules: list[tuple[str, bool]] = field(default_factory=list)
    word = "department"


@dataclass(slots=True)
class Site(Declared):
    word = "site"


@dataclass(slots=True)
class Person(Declared):
    """`fills` and `inspects` are spans of authority, (first day, last day or None)."""

    fills: list[tuple[date, date | None]] = field(default_factory=list)
    inspects: list[tuple[date, date | None]] = field(default_factory=list)
    word = "person"


@dataclass(slots=True)
class Tester(Declared):
    """A requalifier; the name is its identification number. `authorised` are spans as of a person."""

    authorised: list[tuple[date | None, date | None]] = field(default_factory=list)
    word = "tester"


@dataclass(slots=True)
class AirSource(Declared):
    """A source of air: a compressor or a storage."""

    kind: str | None = None
    rated: Quantity | None = None
    holds: Quantity | None = None
    cartridge: Quantity | None = None
    site: str | None = None
    word = "source"


@dataclass(slots=True)
class Cylinder(Declared):
    """
    The head of a cylinder's card: what is marked on it, and what its permit says in place of
    the class. `made` is a day or a `Month`; `life` and `test_every` are months.
    """

    serial: str | None = None
    maker: str | None = None
    owner: str | None = None
    marked: str | None = None
    class_name: str | None = None
    rated: Quantity | None = None
    made: date | None = None
    holds: Quantity | None = None
    tags: list[str] = field(default_factory=list)
    life: int | None = None
    life_until: Month | None = None
    test_every: int | None = None
    test_pressure: Quantity | None = None
    expansion_limit: Quantity | None = None
    ree: Quantity | None = None
    word = "cylinder"


@dataclass(slots=True)
class Recall(Declared):
    """
    A recall of its `day`: it means the cylinders that fit all of the properties it has.

    `serials` are patterns in which `*` stands for any characters, and ranges, (first, last);
    `made` is a pair of months.
    """

    day: date | None = None
    class_name: str | None = None
    maker: str | None = None
    serials: list[str | tuple[str, str]] = field(default_factory=list)
    made: tuple[Month, Month] | None = None
    word = "recall"


class Waiver(NamedTuple):
    """A signed exemption from a rule for one cylinder, source or person, until a day."""

    span: Span
    rule: str
    name: str
    until: date
    by: str
    text: str


class Seal(NamedTuple):
    """A closed period: everything dated up to `day`, its number of entries and its digest."""

    span: Span
    day: date
    by: str
    entries: int
    digest: str


class People:
    """Who may do what on a day, by what the record declares."""

    def __init__(self, people: dict[str, Person], testers: dict[str, Tester]):
        self._people = people
        self._testers = testers

    def may_fill(self, name: str | None, day: date) -> bool | None:
        """Whether a person had authority to fill; None where nobody is named or declared."""
        person = self._people.get(name)
        return None if person is None else _within(person.fills, day)

    def may_test(self, name: str | None, day: date) -> bool | None:
        """
        Whether a tester was authorised; None where none is named.

        The number has one letter and three digits (49 CFR 180.213(d), by its example A123).
        """
        if name is None:
            return None
        tester = self._testers.get(name)
        if tester is None or not re.fullmatch("[A-Z][0-9]{3}", name):
            return False
        return _within(tester.authorised, day) if tester.authorised else True


def _within(spans, day: date) -> bool:
    return any((first or date.min) <= day <= last_day(last) for first, last in spans)


def last_day(last: date | None) -> date:
    """The last day of a span; a span until a month runs to the end of it."""
    if last is None:
        return date.max
    return month_end(last) if isinstance(last, Month) else last
