"""
Whom a change of a record reaches beside those whose entries and cards it changes.
"""

from collections.abc import Collection
from datetime import date

from cylfile.history.sources.air_changes import told_otherwise
from cylfile.history.sources.air_log import AirLog
from cylfile.judging.judge import Judgement
from cylfile.record.record import Record

# What may be asked of somebody's authority on a day.
_ASKED = ("may_fill", "may_inspect", "may_test", "had_authority")


def reached(before: Judgement, record: Record, air: AirLog, names: Collection[str], heads: Collection[str]) -> set[str]:
    """
    The names of those of whom the rules may say something else, now that the record of `before` is this one.

    `names` are those of which it has other entries or cards, `heads` those of whose blocks it says anything else; rules,
    day and recalls are the same. `air` is the log of the record.
    """
    return told_otherwise(before.air, air, names, heads) | _signed_by_others(before.record, record, heads)


def _signed_by_others(before: Record, after: Record, heads: Collection[str]) -> set[str]:
    """The names of which somebody signed an entry whose authority on its day is another one now."""
    people = {name for record in (before, after) for table in (record.people, record.testers) for name in table}
    differing = {name for name in people if name in heads or before.is_in_doubt(name) != after.is_in_doubt(name)}
    if not differing:
        return set()
    then, now = before.authority, after.authority
    known: dict[tuple[str, date], bool] = {}
    found = set()
    for name, entries in after.entries.items():
        for entry in entries:
            by = getattr(entry, "by", None)
            if by in differing:
                is_other = known.get((by, entry.day))
                if is_other is None:
                    asked = ((getattr(then, what), getattr(now, what)) for what in _ASKED)
                    is_other = known[by, entry.day] = any(
                        one(by, entry.day) != two(by, entry.day) for one, two in asked
                    )
                if is_other:
                    found.add(name)
                    break
    return found
