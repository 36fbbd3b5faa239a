"""
Which entries, strikes and late clauses stand on a day.

Judged on or after the day of its strike, a record reads as if a struck entry never was. A strike or
a `late` of a day to come has no effect yet, and one of a day before what it speaks of has none.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from operator import itemgetter

from cylfile.record.entries import Answer, Entry, Signed

# The rule that asks for a second hand where what barred a cylinder was struck.
BAR_STRUCK = "bar-struck"
_DAY = itemgetter(0)


def struck_on(entry: Entry, as_of: date) -> bool:
    """Whether an entry is struck on a day."""
    struck = entry.struck
    return struck is not None and holds(struck, entry, as_of)


def late_on(entry: Entry, as_of: date) -> bool:
    """Whether a `late` clause of an entry has an effect on a day."""
    late = entry.late
    return late is not None and holds(late, entry, as_of)


def holds(signed: Signed | Answer, entry: Entry, as_of: date) -> bool:
    """Whether what somebody signed for an entry has an effect: signed neither before it nor on a day to come."""
    return entry.day <= signed.day <= as_of


def answers_on(entry: Entry, as_of: date) -> list[Answer]:
    """The answers on an entry that have an effect on a day: who signs one is another than the `by` of the entry."""
    answers = entry.answers or ()
    return [each for each in answers if holds(each, entry, as_of) and each.by != getattr(entry, "by", None)]


def stands(entry: Entry, as_of: date) -> bool:
    """Whether an entry has an effect on a day: it is neither struck nor of a day to come."""
    return entry.day <= as_of and not struck_on(entry, as_of)


def standing(entries: Sequence[Entry], as_of: date) -> list[Entry]:
    """The entries that have an effect on a day."""
    # Nearly always none is struck.
    return [entry for entry in entries if entry.day <= as_of and (entry.struck is None or not struck_on(entry, as_of))]


def to_come(entries: Sequence[Entry], as_of: date) -> list[Entry]:
    """The entries of days to come, in the order of their days. None of them is struck yet."""
    return sorted([entry for entry in entries if entry.day > as_of], key=_DAY)


def barred_before_its_strike(entry: Entry, as_of: date) -> bool:
    """Whether an entry is struck that barred a cylinder: a condemnation, damage, a failed test or inspection."""
    bars = entry.verb in ("condemned", "damaged") or (entry.verb in ("hydro", "visual") and entry.has_bad_outcome)
    return bars and struck_on(entry, as_of)


def answers_strike(answer: Answer, entry: Entry) -> bool:
    """Whether an answer may speak for a strike: somebody else than the striker gave it, and not before."""
    return entry.struck is not None and answer.by != entry.struck.by and answer.day >= entry.struck.day


def unanswered_strikes(entries: Iterable[Entry], as_of: date) -> list[Entry]:
    """The struck entries that go on barring a cylinder, since nobody but the striker has answered for it."""
    return [
        entry
        for entry in entries
        if entry.struck is not None
        and barred_before_its_strike(entry, as_of)
        and not any(each.rule == BAR_STRUCK and answers_strike(each, entry) for each in answers_on(entry, as_of))
    ]
