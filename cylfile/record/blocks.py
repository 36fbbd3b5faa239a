"""
What a record declares: its department, sites, people, testers, sources and cylinders.
"""

import re
from bisect import bisect_right
from collections.abc import Callable
from datetime import date
from itertools import accumulate
from typing import NamedTuple

from cylfile.record.dates import Month, month_end
from cylfile.record.entries import Signed
from cylfile.record.quantities import Quantity
from cylfile.text.source import Span


class Declared:
    """
    Anything that a block gives a name. `span` is the name in its header.

    `where` maps each property that stands in the block, by the word it is written with, to the
    place of its line; one that may stand on several lines also by the word and the first value,
    as in `rules us-dot`. `struck_properties` are its struck lines, which have no effect. `word` is
    what the trade calls it.
    """

    word = "block"

    def __init__(self, name: str, span: Span, title: str = ""):
        self.name = name
        self.span = span
        self.title = title
        self.where: dict[str, Span] = {}
        self.struck_properties: list[StruckProperty] = []


class StruckProperty(NamedTuple):
    """A struck line of a block: a block that has this property and no other, the strike, and the place of the line."""

    thing: Declared
    struck: Signed
    span: Span


# Spans of authority, each its first day and its last day or month; None where it is open.
Spans = list[tuple[date | None, date | None]]


class Department(Declared):
    """
    The owner of the record. `rules` are packs in order: a name, or a path where the flag is true.
    `usual_source` is the source that fills are from where a sheet is asked for.
    """

    word = "department"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.zone: str | None = None
        self.rules: list[tuple[str, bool]] = []
        self.usual_source: str | None = None


class Site(Declared):
    """A place; `contact` is whom to call there."""

    word = "site"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.contact: str | None = None


class Person(Declared):
    """`fills` and `inspects` are spans of authority, (first day, last day or None)."""

    word = "person"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.fills: Spans = []
        self.inspects: Spans = []


class Tester(Declared):
    """A requalifier; the name is its identification number. `authorized` are spans as of a person."""

    word = "tester"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.authorized: Spans = []


class AirSource(Declared):
    """A source of air: a compressor or a storage."""

    word = "source"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.kind: str | None = None
        self.rated: Quantity | None = None
        self.holds: Quantity | None = None
        self.cartridge: Quantity | None = None
        self.site: str | None = None


class Tag(NamedTuple):
    """A tag that a reader can scan, and the days that it was on a cylinder, both of them included; None where that is open."""

    name: str
    since: date | None = None
    until: date | None = None


class Cylinder(Declared):
    """
    The head of a cylinder's card: what is marked on it, and what its permit says in place of
    the class. `made` is a day or a `Month`; `life` and `test_every` are months; `liner` is aluminum,
    steel or plastic.
    """

    word = "cylinder"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.serial: str | None = None
        self.maker: str | None = None
        self.owner: str | None = None
        self.marked: list[str] = []
        self.class_name: str | None = None
        self.rated: Quantity | None = None
        self.made: date | None = None
        self.holds: Quantity | None = None
        self.tags: list[Tag] = []
        self.liner: str | None = None
        self.life: int | None = None
        self.life_until: Month | None = None
        self.test_every: int | None = None
        self.test_pressure: Quantity | None = None
        self.expansion_limit: Quantity | None = None
        self.ree: Quantity | None = None

    def tags_on(self, day: date) -> list[str]:
        """The names of the tags that are on it on a day."""
        return [tag.name for tag in self.tags if (tag.since or date.min) <= day <= (tag.until or date.max)]


class Recall(Declared):
    """
    A recall of its `day`: it means the cylinders that fit all of the properties it has.

    `serials` are patterns in which `*` stands for any characters, and ranges, (first, last);
    `made` is a pair of months.
    """

    word = "recall"

    def __init__(self, name: str, span: Span, title: str = ""):
        super().__init__(name, span, title)
        self.day: date = date.min
        self.class_name: str | None = None
        self.maker: str | None = None
        self.serials: list[str | tuple[str, str]] = []
        self.made: tuple[Month, Month] | None = None


class Waiver(NamedTuple):
    """
    A signed exemption from a rule for one cylinder, source or person, until a day; `since` is the day of the
    signature, None where it is not written.
    """

    span: Span
    rule: str
    name: str
    since: date | None
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
    """
    Who may do what on a day, by what the record declares.

    Of those who are in doubt, since a line of theirs cannot be read, nobody can say that they may not.
    """

    def __init__(
        self,
        people: dict[str, Person],
        testers: dict[str, Tester],
        is_in_doubt: Callable[[str], bool] = lambda _: False,
    ):
        self._people = people
        self._testers = testers
        self._is_in_doubt = is_in_doubt
        self._authority: dict[tuple[str, str], _Authority] = {}

    def may_fill(self, name: str | None, day: date) -> bool | None:
        """Whether a person had authority to fill; None where nobody is named or declared."""
        person = None if name is None else self._people.get(name)
        return None if person is None else self._had(person, "fills", day) or self._not_known_to(person.name)

    def may_inspect(self, name: str | None, day: date) -> bool | None:
        """Whether a person had authority to inspect, at some time of a month; None where nobody is named or declared."""
        person = None if name is None else self._people.get(name)
        return None if person is None else self._had(person, "inspects", day) or self._not_known_to(person.name)

    def may_test(self, name: str | None, day: date) -> bool | None:
        """
        Whether a tester was authorized, at some time of a month; None where none is named.

        The number has one letter and three digits (49 CFR 180.213(d), by its example A123).
        """
        if name is None:
            return None
        tester = self._testers.get(name)
        if tester is None or not re.fullmatch("[A-Z][0-9]{3}", name):
            return self._not_known_to(name)
        return not tester.authorized or self._had(tester, "authorized", day) or self._not_known_to(name)

    def had_authority(self, name: str | None, day: date) -> bool | None:
        """Whether a tester's approval was in force on a day, or at some time in a month; None where no dates are known."""
        tester = None if name is None else self._testers.get(name)
        if tester is None or not tester.authorized:
            return None
        return self._had(tester, "authorized", day)

    def _had(self, thing: Person | Tester, word: str, day: date) -> bool:
        key = thing.name, word
        authority = self._authority.get(key)
        if authority is None:
            authority = self._authority[key] = _Authority(getattr(thing, word))
        return authority.meets(day)

    def _not_known_to(self, name: str) -> bool | None:
        """What is said where no line that was read gives somebody an authority."""
        return None if self._is_in_doubt(name) else False


class _Authority:
    """Spans in the order of their first days, so that a day is found among many of them."""

    def __init__(self, spans: Spans):
        in_order = sorted((first or date.min, last_day(last)) for first, last in spans)
        self._first = [first for first, _ in in_order]
        # The latest day up to which the spans so far run.
        self._last = list(accumulate((last for _, last in in_order), max))

    def meets(self, day: date) -> bool:
        """Whether a day lies within one of the spans; of a month, whether any of its days does."""
        begun = bisect_right(self._first, last_day(day))
        return begun > 0 and day <= self._last[begun - 1]


def last_day(last: date | None) -> date:
    """The last day of a span; a span until a month runs to the end of it."""
    if last is None:
        return date.max
    return month_end(last) if isinstance(last, Month) else last
