"""
The fold of a life: a cylinder's entries, one after the other, to what is known of it.

Where nothing tells the order of some entries, they are taken in both ways, and of the two lives
that come of it the stricter in each respect is gone on with.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Protocol

from cylfile.history.barring import Bar
from cylfile.history.figures import Figures
from cylfile.history.life import Life
from cylfile.history.order import Order, in_order
from cylfile.history.standing import standing, unanswered_strikes
from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry, plain_form
from cylfile.record.record import Record


class Resolved(Protocol):
    """What kind of cylinder one is, as far as its life asks."""

    @property
    def figures(self) -> Figures: ...


class Rules(Protocol):
    """Rules of a department, as far as a life asks: they tell what kind of cylinder one is."""

    def resolve(self, card: Cylinder, /) -> Resolved: ...


def life_of(record: Record, rules: Rules, card: Cylinder, as_of: date) -> Life:
    """What is known of a cylinder on the as-of day."""
    steps = steps_of(record, rules, card, as_of)
    life, _ = next(steps)
    for _ in steps:
        pass
    return life


def steps_of(record: Record, rules: Rules, card: Cylinder, as_of: date) -> Iterator[tuple[Life, Entry | None]]:
    """
    The one life of a cylinder, changing, with None before its first entry and then with each
    entry that it has taken in, up to the as-of day. Struck entries are left out.

    With entries whose order nothing tells it is the life after all of them.
    """
    life = Life(card, rules.resolve(card).figures, record.authority, as_of)
    yield life, None
    entries = record.entries.get(card.name, ())
    yield from steps_through(life, standing(entries, as_of))
    bar_for_strikes(life, entries)


def steps_through(life: Life, entries: list[Entry]) -> Iterator[tuple[Life, Entry]]:
    """The life as it takes in entries that stand, each with the life after it."""
    order = in_order(entries)
    return steps_from(life, order, 0, len(order.entries))


def steps_from(life: Life, order: Order, first: int, last: int) -> Iterator[tuple[Life, Entry]]:
    """The same of the entries of an order from one up to another, neither of them within a stretch that nothing tells."""
    done = first
    for untold in order.untold:
        if not first <= untold.first < last:
            continue
        for entry in order.entries[done : untold.first]:
            life.take_in(entry)
            yield life, entry
        ways = copy_of(life), copy_of(life)
        for way, in_turn in zip(ways, (untold.bars_first, untold.clears_first)):
            for entry in in_turn:
                way.take_in(entry)
        let_be(life, stricter(*ways))
        for entry in untold.bars_first:
            yield life, entry
        done = untold.last
    for entry in order.entries[done:last]:
        life.take_in(entry)
        yield life, entry


def bar_for_strikes(life: Life, entries: Iterable[Entry]) -> None:
    """Let a life that has taken in all its entries be barred by what was struck of them and barred it."""
    struck = unanswered_strikes(entries, life.as_of)
    if struck:
        strikes = [(entry.struck, entry) for entry in struck if entry.struck is not None]
        strike, first = min(strikes, key=lambda one: (one[0].day, plain_form(one[1])))
        what = f"{first.verb} of {first.day}, by {strike.by}, and nobody else has answered for it"
        life.set_bars([*life.bars, Bar("struck", strike.day, what, first, False)])


# Lives of which one is gone on with.

# What two orders of the same entries may leave different, in groups of which the first member tells which life has the
# stricter: that of the earlier day, or of the lesser limit; and what is not known is the strictest of all.
_STRICTEST = (
    ("test_due", "test_day", "test_every", "due_month", "last_test"),
    ("visual_due", "visual_day"),
    ("life_end",),
    ("fill_limit", "fill_limit_rounding", "hot_limit", "settled_at_hot_limit"),
)
# What stands where only one of them has it.
_EITHER = ("entered_day", "in_service_since", "used_though_out")


def copy_of(life: Life) -> Life:
    """A life that goes its own way from here."""
    other: Life = object.__new__(Life)
    let_be(other, life)
    return other


def let_be(life: Life, other: Life) -> None:
    """Let a life be what another one is."""
    for field in Life.__slots__:
        value = getattr(other, field)
        setattr(life, field, set(value) if value.__class__ is set else value)


def stricter(one: Life, other: Life) -> Life:
    """
    Of two lives that the same entries left in two orders, the stricter of each bar, date and limit.

    It is in service if either says so, and what it holds is not known where they differ in that.
    """
    life = copy_of(one)
    for first, *rest in _STRICTEST:
        mine, theirs = getattr(one, first), getattr(other, first)
        if mine is not None and (theirs is None or theirs < mine):
            for field in (first, *rest):
                setattr(life, field, getattr(other, field))
    for field in _EITHER:
        if getattr(life, field) is None:
            setattr(life, field, getattr(other, field))
    if one.site != other.site:
        life.site = None
    life.set_bars([*one.bars, *bars_alone(other, one)])
    life.in_service = one.in_service or other.in_service
    life.last_reading = max(one, other, key=lambda way: way.read_pressure).last_reading
    life.is_unread = one.last_pressure != other.last_pressure or one.is_unread
    return life


def bars_alone(life: Life, other: Life) -> list[Bar]:
    """What bars a cylinder in one life and not in the other."""
    kinds = {bar.kind for bar in other.bars}
    return [bar for bar in life.bars if bar.kind not in kinds]
