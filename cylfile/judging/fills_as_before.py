"""
The fills of a cylinder with other entries now of which the rules say what they said: those before which all that is known of
it is what it was, and of which others tell nothing else.

The rules are not asked of them again. All else is: what is judged by more than one entry, and what is counted.
"""

from collections import deque
from collections.abc import Callable, Collection, Sequence
from datetime import date
from functools import lru_cache
from itertools import chain, islice, zip_longest
from operator import attrgetter, is_
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.findings.order_of_life import Conduct
from cylfile.history.fold import copy_of, steps_from
from cylfile.history.life import Life
from cylfile.history.order import Order, Untold
from cylfile.history.sources.supply import Supply
from cylfile.judging.subject_judge import BothWays, CylinderJudge
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry, Filled

# A rule that holds of a fill, or may for want of the facts of these names; see `judges.judge_on`.
Hit = tuple[Rule, tuple[str, ...]]

# Every fill after another one is counted anew. Of the rest, these are asked of no fill, or worked out when they are asked.
COUNT = "fill-count"
NOT_COMPARED = ("fill_count", "entries", "_settled_entry", "_settled")
_STATE = attrgetter(*(field for field in Life.__slots__ if field not in NOT_COMPARED))


class Said(NamedTuple):
    """What holds of a fill, but for rules that count, and what was found by that, by its rule."""

    hits: tuple[Hit, ...]
    findings: dict[Rule, Finding]


_NOTHING = Said((), {})
# The same of one that stands where it did, since only lines tell what its source had done by then.
_NOTHING_BY_LINES = Said((), {})


class Stretch(NamedTuple):
    """What was said of a stretch whose order nothing tells, which hangs on what was lacking before it and how all was conducted."""

    untold: Untold
    lacks_seen: set[tuple]
    conduct: Conduct
    said: BothWays

    def is_of(self, untold: Untold) -> bool:
        """Whether it is the very same, where it stood."""
        mine, its = ([*each.bars_first, *each.clears_first] for each in (self.untold, untold))
        return all(map(is_, mine, its))

    @property
    def rules(self) -> set[str]:
        """The names of the rules that say anything of it."""
        ways, found, once, lacking, _ = self.said
        names = {finding.rule for each in (found, *(way.alone for way in ways)) for finding in each}
        return names.union((rule.name for rule in once), *(rules for _, rules, _ in lacking))


class Asked(NamedTuple):
    """
    What the rules were asked of a cylinder's fills: its `order`, and what was `said` of each of its entries; None of what is
    no fill, and where that hangs on an order that nothing tells. `stretches` are those of which it was asked both ways.
    `otherwise` are fills of which others have told something else since.
    """

    order: Order
    said: list[Said | None]
    stretches: list[Stretch]
    otherwise: tuple[Entry, ...] = ()


class JudgeAgain(CylinderJudge):
    """
    Judges a cylinder, and keeps what it asked of its fills.

    `before` is what was asked of them when they were judged last, by the same card, rules and day, None where nothing is
    known of that; `otherwise` are the identities of fills of which others may tell something else now.
    """

    def __init__(
        self,
        rules: Ruleset,
        life: Life,
        block: Cylinder,
        before: Asked | None = None,
        otherwise: Collection[int] = (),
    ):
        super().__init__(rules, life, block)
        self._before = before
        self._otherwise = otherwise
        self._order = Order([])
        by_state, by_count = _apart(rules)
        self._by_state, self._by_count = by_state.judge_of("filled"), by_count.judge_of("filled")
        self._counting = by_count.rules.keys()
        # By the identity of each fill, and of the first entry of each stretch.
        self._said: dict[int, Said] = {}
        self._known: dict[int, Stretch] = {}
        self._stretches: list[Stretch] = []

    @property
    def asked(self) -> Asked:
        return Asked(self._order, [self._said.get(id(entry)) for entry in self._order.entries], self._stretches)

    def _in_order(self, entries: Sequence[Entry]) -> Order:
        self._order = order = super()._in_order(entries)
        if self._before is not None:
            self._recall(self._before, order)
        return order

    def _recall(self, before: Asked, order: Order) -> None:
        """Have in mind what was said before of those entries of which the same has to be said again."""
        first, last = _as_before(copy_of(self.life), before.order, order)
        otherwise = {fill.facts for fill in before.otherwise}
        further = len(order.entries) - len(before.order.entries)
        entries = zip(order.entries, before.order.entries, before.said)
        behind = zip(order.entries[last:], before.order.entries[last - further :], before.said[last - further :])
        for entry, then, said in chain(islice(entries, first), behind):
            if (
                said is not None
                and not self._is_told_otherwise(entry, otherwise)
                and (said is not _NOTHING_BY_LINES or entry is then)
            ):
                self._said[id(entry)] = said
        known = {id(stretch.untold.bars_first[0]): stretch for stretch in before.stretches}
        for untold in order.untold:
            stretch = known.get(id(untold.bars_first[0]))
            if (
                stretch is not None
                and (untold.last <= first or untold.first >= last)
                and stretch.is_of(untold)
                and not any(self._is_told_otherwise(entry, otherwise) for entry in untold.bars_first)
            ):
                self._known[id(untold.bars_first[0])] = stretch

    def _is_told_otherwise(self, entry: Entry, otherwise: set[tuple]) -> bool:
        """Whether others tell something else of an entry than they did when it was judged; `otherwise` is what some say."""
        return id(entry) in self._otherwise or (bool(otherwise) and entry.facts in otherwise)

    def _judge_of_fills(self) -> Callable:
        return self._ask

    def _ask(self, life: Life, fill: Entry, hits: list[Hit]) -> Supply | None:
        said, supply = self._said.get(id(fill)), None
        if said is not None:
            hits += said.hits
        elif self._by_state is not None:
            supply = self._by_state(life, fill, hits)
            # What is kept hangs on no order that nothing tells.
            if supply is None or supply.is_certain:
                self._said[id(fill)] = Said(tuple(hits), {}) if hits else _NOTHING
            elif not hits:
                self._said[id(fill)] = _NOTHING_BY_LINES
        if self._by_count is not None:
            supply = self._by_count(life, fill, hits) or supply
        return supply

    def find(self, rule: Rule, entry: Entry | None, times: int = 1, last_day: date | None = None) -> None:
        said = None if rule.once or rule.name in self._counting else self._said.get(id(entry))
        found = said and said.findings.get(rule)
        if entry is not None and found is not None:
            self.findings.append(found.said_at(entry.span))
            return
        super().find(rule, entry, times, last_day)
        if said is not None:
            said.findings[rule] = self.findings[-1]

    def _both_ways(self, untold: Untold) -> tuple[BothWays, list[Life], Conduct]:
        stretch = self._known.get(id(untold.bars_first[0]))
        lives = self._lives(untold) if stretch is not None and self._is_as_before(stretch) else None
        if stretch is not None and lives is not None:
            conduct = self.conduct.copy()
            for entry in untold.bars_first:
                if entry.__class__ is not Filled or not conduct.settled:
                    deque(conduct.look(entry), maxlen=0)
            self._stretches.append(stretch)
            return stretch.said, lives, conduct
        lacks_seen, conduct = set(self.lacks_seen), self.conduct
        outcome = super()._both_ways(untold)
        stretch = Stretch(untold, lacks_seen, conduct, outcome[0])
        if self._counting.isdisjoint(stretch.rules) and all(_is_certain(self.life, each) for each in untold.bars_first):
            self._stretches.append(stretch)
        return outcome

    def _is_as_before(self, stretch: Stretch) -> bool:
        """Whether that is so which is said of the stretch before it, so far as its life does not tell it."""
        return self.lacks_seen == stretch.lacks_seen and vars(self.conduct) == vars(stretch.conduct)

    def _lives(self, untold: Untold) -> list[Life] | None:
        """The lives after a stretch in both its orders; None where a rule that counts says anything of its fills."""
        lives, hits = [], list[Hit]()
        for entries in (untold.bars_first, untold.clears_first):
            life = copy_of(self.life)
            for entry in entries:
                if entry.__class__ is Filled and self._by_count is not None:
                    self._by_count(life, entry, hits)
                life.take_in(entry)
            lives.append(life)
        return None if hits else lives


def _is_certain(life: Life, entry: Entry) -> bool:
    """Whether what others tell of an entry hangs on no order that nothing tells."""
    return life.air is None or entry.__class__ is not Filled or life.air.is_certain(entry)


@lru_cache(maxsize=4)
def _apart(rules: Ruleset) -> tuple[Ruleset, Ruleset]:
    """The rules that do not ask how many fills there were, and those that do."""
    counting = {name: rule for name, rule in rules.rules.items() if any(fact.name == COUNT for fact in rule.facts)}
    others = {name: rule for name, rule in rules.rules.items() if name not in counting}
    return rules.with_rules(others), rules.with_rules(counting)


def _as_before(life: Life, before: Order, order: Order) -> tuple[int, int]:
    """
    Up to which entry of an order, and again from which on, the same is known before each that was known in the order before.

    `life` has taken nothing in yet.
    """
    first = _alike(before, order)
    others = _alike(_backward(before, first), _backward(order, first))
    ends = len(before.entries) - others, len(order.entries) - others
    _take_in(life, order, 0, first)
    then = copy_of(life)
    _take_in(then, before, first, ends[0])
    _take_in(life, order, first, ends[1])
    return first, ends[1] + _until_same(then, life, order, ends[1])


def _take_in(life: Life, order: Order, first: int, last: int) -> None:
    for _ in steps_from(life, order, first, last):
        pass


def _until_same(one: Life, other: Life, order: Order, first: int) -> int:
    """How many of the entries of an order from one on two lives take in until the same is known of both."""
    last, count = len(order.entries), 0
    steps = zip(steps_from(one, order, first, last), steps_from(other, order, first, last))
    while _STATE(one) != _STATE(other) and next(steps, None) is not None:
        count += 1
    return count


def _alike(one: Order, other: Order) -> int:
    """How many of the first entries of two orders are the same, in the same order as far as that is told."""
    alike = next(
        (number for number, pair in enumerate(zip(one.entries, other.entries)) if not _is_same(*pair)),
        min(len(one.entries), len(other.entries)),
    )
    for pair in zip_longest(one.untold, other.untold):
        if None in pair or not _is_as_untold(*pair):
            return min(alike, *(stretch.first for stretch in pair if stretch is not None))
    return alike


def _is_same(one: Entry, other: Entry) -> bool:
    return one is other or one.facts == other.facts


def _is_as_untold(one: Untold, other: Untold) -> bool:
    return one[:2] == other[:2] and all(
        map(_is_same, one.bars_first + one.clears_first, other.bars_first + other.clears_first)
    )


def _backward(order: Order, first: int) -> Order:
    """The entries of an order from one on, the last of them first."""
    count = len(order.entries)
    untold = [
        each._replace(first=count - each.last, last=count - each.first)
        for each in reversed(order.untold)
        if each.first >= first
    ]
    return Order(order.entries[first:][::-1], untold)
