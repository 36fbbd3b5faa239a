"""
Whether a cylinder's entries can stand where they do in its life, whatever the rules of the day.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from cylfile.record.blocks import Cylinder
from cylfile.record.dates import Month, month_end
from cylfile.record.entries import Entry
from cylfile.record.vocabulary import VERBS

# Verbs that show that a cylinder is in use.
_USE = tuple(verb for verb, row in VERBS.items() if row.is_use)
_BEFORE_SERVICE = ("filled", "gauged", "moved")
# What may follow.
_AFTER_CONDEMNATION = ("emptied", "remarked", "retired")
_AFTER_RETIREMENT = ("remarked",)


class Remark(NamedTuple):
    """
    What is wrong with the place of an entry, None where it is the whole card's; and the other entry that shows it, whose
    place the text may name.
    """

    entry: Entry | None
    rule: str
    text: str
    other: Entry | None = None
    names_other: bool = False


class Conduct:
    """
    Looks at one cylinder's entries in order and remarks on what cannot be.

    `entries` are all of them. `settled` is true while a further fill can break nothing: the
    cylinder is made, entered or in use, and neither condemned nor retired.
    """

    def __init__(self, card: Cylinder, entries: list[Entry]):
        self._made = card.made
        self._entered = next((entry for entry in entries if entry.verb == "entered service"), None)
        self._condemned: Entry | None = None
        self._retired: Entry | None = None
        self._used: Entry | None = None
        self._is_in = False
        self.settled = False

    def copy(self) -> "Conduct":
        other: Conduct = object.__new__(Conduct)
        other.__dict__.update(self.__dict__)
        return other

    def look(self, entry: Entry) -> Iterator[Remark]:
        """What is wrong with the place of one entry, which comes next."""
        made, verb = self._made, entry.verb
        is_born = made is None or _last_day(entry) >= made
        if not is_born:
            yield Remark(entry, "out-of-order-life", f"{verb} on {entry.day}, before it was made ({made})")
        if verb == "entered service":
            self._is_in = True
        elif verb in _USE:
            self._used = self._used or entry
            entered = self._entered
            if verb in _BEFORE_SERVICE and entered is not None and not self._is_in:
                text = f"{verb} before it entered service ({entered.day})"
                yield Remark(entry, "filled-before-service", text, entered)
        for end, what, allowed in (
            (self._retired, "retired", _AFTER_RETIREMENT),
            (self._condemned, "condemned", _AFTER_CONDEMNATION),
        ):
            if end is not None:
                if verb not in allowed:
                    only = " and ".join(
                        filter(None, (", ".join(f"`{each}`" for each in allowed[:-1]), f"`{allowed[-1]}`"))
                    )
                    text = f"{verb} after it was {what} ({end.day}): only {only} may follow"
                    yield Remark(entry, "out-of-order-life", text, end)
                break
        if verb == "retired":
            self._retired = self._retired or entry
        elif verb == "condemned" or (verb == "hydro" and entry.result == "condemned"):
            self._condemned = self._condemned or entry
        self.settled = (
            is_born
            and self._condemned is None
            and self._retired is None
            and (self._is_in or (self._used is not None and self._entered is None))
        )

    def end(self) -> Iterator[Remark]:
        """What is wrong with all of it."""
        if self._entered is None and self._used is not None:
            text = f"in use since {self._used.day}, never entered service; counts as in it"
            yield Remark(None, "never-entered-service", text, self._used)


def _last_day(entry: Entry) -> date:
    return month_end(entry.day) if entry.day.__class__ is Month else entry.day


def doubles(full_days: Sequence[list[Entry]]) -> Iterator[Remark]:
    """Entries that say the same as another one of their day."""
    for same_day in full_days:
        if len({entry.time for entry in same_day}) == len(same_day):
            continue
        seen: dict[tuple, Entry] = {}
        # In the order of the files, so that the one that was there first is the first one.
        for entry in sorted(same_day, key=lambda entry: (entry.source.path, entry.start)):
            first = seen.setdefault(entry.facts, entry)
            if first is not entry:
                yield Remark(entry, "same-entry-twice", f"same entry as {first.place}", first, True)
