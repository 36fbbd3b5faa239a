"""
The life of a cylinder folded from its entries, with no rule asked.
"""

from bisect import bisect_right
from collections.abc import Iterator
from datetime import date
from operator import itemgetter

from cylfile.history.life import Life
from cylfile.history.order import in_order
from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry
from cylfile.record.record import Record

_DAY = itemgetter(0)


def life_of(record: Record, rules, card: Cylinder, as_of: date) -> Life:
    """What is known of a cylinder on the as-of day. `rules` tell what kind of cylinder it is."""
    steps = steps_of(record, rules, card, as_of)
    life, _ = next(steps)
    for _ in steps:
        pass
    return life


def steps_of(record: Record, rules, card: Cylinder, as_of: date) -> Iterator[tuple[Life, Entry | None]]:
    """
    The one life of a cylinder, changing, with None before its first entry and then with each
    entry that it has taken in, up to the as-of day. Struck entries are left out.
    """
    life = Life(card, rules.resolve(card).figures, record.authority, as_of)
    yield life, None
    entries, _ = in_order([entry for entry in record.entries.get(card.name, ()) if entry.struck is None])
    for entry in entries[: bisect_right(entries, as_of, key=_DAY)]:
        life.take_in(entry)
        yield life, entry
