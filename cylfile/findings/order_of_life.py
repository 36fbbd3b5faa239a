"""
Whether a cylinder's entries can stand where they do in its life, whatever the rules of the day.
"""

from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry
from cylfile.record.vocabulary import VERBS

# Verbs that show that a cylinder is in use.
_USE = tuple(verb for verb, row in VERBS.items() if row.is_use)
_BEFORE_SERVICE = ("filled", "gauged", "moved")


class Conduct:
    """
    Looks at one cylinder's entries in order and remarks on what cannot be.

    `full_days` are the entries of the days that have more than one.

    `settled` is true while a further fill can break nothing: the cylinder is made, entered or
    in use, and neither condemned nor retired.
    """

    def __init__(self, card: Cylinder, entries: list, full_days: list[list]):
        self._card = card
        self._full_days = full_days
        self._entered = next((entry for entry in entries if entry.verb == "entered service"), None)
        self._ended = None
        self._retired = False
        self._remarks: list[tuple] = []
        self._used = None
        self._is_in = False
        self.settled = False

    def look(self, entry) -> None:
        """Judge the place of one entry."""
        made, verb = self._card.made, entry.verb
        if made is not None and entry.day < made:
            self._say(entry, f"{verb} on {entry.day}, before the cylinder was made ({made})")
        if verb == "entered service":
            self._is_in = True
        elif verb in _USE:
            self._used = self._used or entry
            if verb in _BEFORE_SERVICE and self._entered is not None and not self._is_in:
                self._say(entry, f"{verb} before the cylinder entered service ({self._entered.day})", self._entered)
        if self._ended is not None and verb != "remarked" and not (verb == "retired" and not self._retired):
            what = "retired" if self._retired else "condemned"
            allowed = "only `remarked` may follow" if self._retired else "only `remarked` and `retired` may follow"
            self._say(entry, f"{verb} after the cylinder was {what} ({self._ended.day}): {allowed}", self._ended)
        if verb in ("condemned", "retired") or (verb == "hydro" and entry.result == "condemned"):
            if not self._retired:
                self._ended = entry
            self._retired = self._retired or verb == "retired"
        born = made is None or entry.day >= made
        self.settled = (
            born and self._ended is None and (self._is_in or self._used is not None and self._entered is None)
        )

    def remarks(self) -> list[tuple]:
        """(entry or None, core rule, text, the other entry or None) of all that cannot be."""
        if self._entered is None and self._used is not None:
            text = f"in use since {self._used.day} and never entered service; it counts as in service"
            self._remarks.append((None, "never-entered-service", text, self._used))
        return self._remarks + doubles(self._full_days)

    def _say(self, entry, text: str, other=None) -> None:
        self._remarks.append((entry, "out-of-order-life", text, other))


def doubles(full_days: list[list]) -> list[tuple]:
    """Remarks, as of `Conduct.remarks`, on entries that say the same as another one of their day."""
    remarks = []
    for same_day in full_days:
        times = {entry.time for entry in same_day}
        if len(times) == len(same_day):
            continue
        seen: dict[tuple, Entry] = {}
        for entry in same_day:
            first = seen.setdefault(entry.facts, entry)
            if first is not entry:
                place = f"{first.span.source.path}:{first.span.line}"
                remarks.append((entry, "same-entry-twice", f"the same entry stands at {place}", first))
    return remarks
