"""
The fills of a cylinder with other entries now of which the rules say what they said: those before which all that is known of
it is what it was, and of which others tell nothing else.

The rules are not asked of them again. All else is: what is judged by more than one entry, and what is counted.
"""

from collections.abc import Callable, Collection, Sequence
from functools import lru_cache
from itertools import zip_longest
from operator import attrgetter
from typing import NamedTuple

from cylfile.history.fold import copy_of, steps_from
from cylfile.history.life import Life
from cylfile.history.order import Order, Untold
from cylfile.judging.subject_judge import CylinderJudge
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry

# A rule that holds of a fill, or may for want of the facts of these names; see `judges.judge_on`.
Hit = tuple[Rule, tuple[str, ...]]

# Every fill after another one is counted anew. Of the rest, these are asked of no fill, or worked out when they are asked.
COUNT = "fill-count"
NOT_COMPARED = ("fill_count", "entries", "_settled_entry", "_settled")
_STATE = attrgetter(*(field for field in Life.__slots__ if field not in NOT_COMPARED))


class Asked(NamedTuple):
    """
    What the rules were asked of a cylinder's fills: its `order`, and for each of its entries what holds of it, but for rules
    that count; None of what is no fill, and where that hangs on an order that nothing tells. `otherwise` are fills of which
    others have told something else since.
    """

    order: Order
    hits: list[tuple[Hit, ...] | None]
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
        # By the identity of each fill.
        self._hits: dict[int, tuple[Hit, ...]] = {}

    @property
    def asked(self) -> Asked:
        return Asked(self._order, [self._hits.get(id(entry)) for entry in self._order.entries])

    def _in_order(self, entries: Sequence[Entry]) -> Order:
        self._order = order = super()._in_order(entries)
        if self._before is not None:
            for entry, hits in zip(order.entries, _as_before(copy_of(self.life), self._before, order)):
                if hits is not None and id(entry) not in self._otherwise:
                    self._hits[id(entry)] = hits
        return order

    def _judge_of_fills(self) -> Callable:
        return self._ask

    def _keep_what_is_told(self, entry: Entry | None, verb: str) -> None:
        known = self._hits.get(id(entry))
        # What is kept hangs on no order that nothing tells.
        if known is None or len(known) != len(self.hits):
            super()._keep_what_is_told(entry, verb)

    def _ask(self, life: Life, fill: Entry, hits: list[Hit]) -> None:
        known = self._hits.get(id(fill))
        if known is not None:
            hits += known
        elif self._by_state is not None:
            self._by_state(life, fill, hits)
            if life.air is None or life.air.is_certain(fill):
                self._hits[id(fill)] = tuple(hits)
        if self._by_count is not None:
            self._by_count(life, fill, hits)


@lru_cache(maxsize=4)
def _apart(rules: Ruleset) -> tuple[Ruleset, Ruleset]:
    """The rules that do not ask how many fills there were, and those that do."""
    counting = {name: rule for name, rule in rules.rules.items() if any(fact.name == COUNT for fact in rule.facts)}
    others = {name: rule for name, rule in rules.rules.items() if name not in counting}
    return rules.with_rules(others), rules.with_rules(counting)


def _as_before(life: Life, before: Asked, order: Order) -> list[tuple[Hit, ...] | None]:
    """For each entry of an order what held of it; None where that is not certain. `life` has taken nothing in yet."""
    hits = before.hits
    if before.otherwise:
        otherwise = {fill.facts for fill in before.otherwise}
        hits = [
            None if known is None or entry.facts in otherwise else known
            for entry, known in zip(before.order.entries, hits)
        ]
    first = _alike(before.order, order)
    others = _alike(_backward(before.order, first), _backward(order, first))
    ends = len(before.order.entries) - others, len(order.entries) - others
    _take_in(life, order, 0, first)
    then = copy_of(life)
    _take_in(then, before.order, first, ends[0])
    _take_in(life, order, first, ends[1])
    same = ends[1] + _until_same(then, life, order, ends[1])
    return [*hits[:first], *[None] * (same - first), *hits[ends[0] + same - ends[1] :]]


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
