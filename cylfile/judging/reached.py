"""
Whom a change of a record reaches beside those whose entries and cards it changes.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from typing import NamedTuple

from cylfile.history.sources.air_changes import ToldOtherwise, told_otherwise
from cylfile.history.sources.air_log import AirLog
from cylfile.history.standing import standing
from cylfile.judging.judge import Judgement
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record

# What is asked of somebody's authority on the day of an entry, by its verb; for no other entry anything is.
ASKED = {"filled": ("may_fill",), "visual": ("may_inspect",), "hydro": ("may_test", "had_authority")}

# An entry as it stands in the record before a change and after it.
Twice = tuple[Entry, Entry]


class Reached(NamedTuple):
    """
    The names of those of whom the rules may say something else: `wholly`, or of some fills by what others tell of them,
    of their air and, where `of_signers`, of the authority of who signs them. `fills` are the identities of all such fills,
    those too of who has other entries now.
    """

    wholly: set[str]
    of_fills: dict[str, list[Twice]]
    fills: set[int]
    of_signers: bool


def reached(
    before: Judgement,
    record: Record,
    air: AirLog,
    differing: dict[str, list[Entry]],
    names: Collection[str],
    heads: Collection[str],
    regrouped: Collection[str],
) -> Reached:
    """
    Whom a change of the record of `before` to this one reaches.

    `names` are those of which it has other entries or cards, `heads` those of whose blocks it says anything else, and
    `regrouped` those of whose entries it has some in other blocks; rules, day and recalls are the same. `air` is the log
    of the record, `differing` the `differing_fills`. Those of `names` are reached in any case.
    """
    wholly = set(heads)
    found: dict[str, dict[int, Twice]] = defaultdict(dict)
    fills: set[int] = set()
    # Unless nobody has asked for the air of any fill.
    asked = "sources" in before.air.__dict__
    otherwise = (
        told_otherwise(before.air, air, differing, names, heads, regrouped) if asked else ToldOtherwise({}, False)
    )
    signed = _signed_by_others(before, record, heads)
    for told in (otherwise.fills, signed):
        for name, (then, now) in told.items():
            fills.update(map(id, now))
            if name in names and all(entry.__class__ is Filled for entry in (*then, *now)):
                continue
            if len(then) == len(now) and all(map(_is_one_fill, then, now)):
                found[name].update((id(each[1]), each) for each in zip(then, now))
            else:
                wholly.add(name)
    if otherwise.of_suspect_air:
        for name in found.keys() - wholly:
            if _suspicion(before.air, name) != _suspicion(air, name):
                wholly.add(name)
    of_fills = {name: list(fills.values()) for name, fills in found.items() if name not in wholly}
    return Reached(wholly, of_fills, fills, bool(signed))


def _suspicion(air: AirLog, name: str) -> tuple | None:
    """What suspect air a cylinder holds on the as-of day, and what of that hangs on an order that nothing tells."""
    held = air.suspicion(name)
    if held is None:
        return None
    told = [
        each and (each.fill and each.fill.facts, each.stretch.facts) for each in (held, air.lenient.suspicion(name))
    ]
    return told, [entry.facts for entry in air.untold_of(held)]


def _is_one_fill(then: Entry, now: Entry) -> bool:
    """Whether both are the same fill, wherever they stand."""
    return now.__class__ is Filled and (then is now or then.facts == now.facts)


def _signed_by_others(
    judged: Judgement, after: Record, heads: Collection[str]
) -> dict[str, tuple[list[Entry], list[Entry]]]:
    """By name, the entries before and after that somebody signed whose authority on their day is another one now."""
    before, as_of = judged.record, judged.as_of
    people = {name for record in (before, after) for table in (record.people, record.testers) for name in table}
    differing = {name for name in people if name in heads or before.is_in_doubt(name) != after.is_in_doubt(name)}
    if not differing:
        return {}
    then, now = before.authority, after.authority
    known: dict[tuple, bool] = {}

    def of_others(entries: Sequence[Entry]) -> list[Entry]:
        found = []
        for entry in standing(entries, as_of):
            by = getattr(entry, "by", None)
            if by in differing:
                what, day = ASKED.get(entry.verb, ()), entry.day
                is_other = known.get((what, by, day))
                if is_other is None:
                    asked = ((getattr(then, each), getattr(now, each)) for each in what)
                    is_other = known[what, by, day] = any(one(by, day) != two(by, day) for one, two in asked)
                if is_other:
                    found.append(entry)
        return found

    signed = ((name, of_others(entries)) for name, entries in after.entries.items())
    return {name: (of_others(before.entries.get(name, ())), found) for name, found in signed if found}
