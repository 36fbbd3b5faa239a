"""
What happened between two states to the entries of one cylinder or source.

Entries are compared by what they say and not by where they stand, so reordering, card or sheet,
and another file are no change. A correction as the format wants it leaves the entry as it was
and strikes it. An entry that is gone or says something else was *altered or removed*.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, time

from cylfile.history.seals import stated_day
from cylfile.record.entries import Answer, Entry, Signed, write_time, write_value

CHANGED = "changed"
REMOVED = "removed"
STRUCK = "struck"
ANSWERED = "answered"
LATE = "late"
BACKDATED = "backdated"
ADDED = "added"
# In the order in which they are told: first what was altered or removed, last what comes in the order of the days.
KINDS = (CHANGED, REMOVED, STRUCK, ANSWERED, LATE, BACKDATED, ADDED)
ALTERED = (CHANGED, REMOVED)

# Fields that are written without a word before them -> what to call them.
_CALLED = {"outcome": "outcome", "text": "text", "reading": "pressure"}
# The result of a hydro is for comparing what the outcome of a visual is.
_AS = {"result": "outcome"}
_SIGNED = ("struck", "late")
# An entry that is gone and one that is new are one entry changed where they share at least this
# part of their fields. Of two days, they are where no more than one field differs besides the
# day, and that in no more digits than a typing correction would change.
_ALIKE = 0.5
_DIFFERING = 2
_DIGITS = 2
# More pairs than this are not weighed one by one; then only those of one day are.
_MOST_PAIRS = 20_000


@dataclass(frozen=True, slots=True)
class EntryChange:
    """
    What happened to one entry.

    `old` and `new` are the entry in the two states, None where it was or is not there. `clauses`
    has, of an entry changed, (what it is called, old text, new text) of each clause that
    differs, with "" for one that was or is not there. `dated_before` counts the entries of the old
    state that are dated after one that was written after them. `sealed` is the last day of the
    closed period, in the old state, that the change touches against the rules.
    """

    kind: str
    subject: str
    old: Entry | None
    new: Entry | None
    clauses: tuple[tuple[str, str, str], ...] = ()
    dated_before: int = 0
    sealed: date | None = None

    @property
    def is_altered(self) -> bool:
        return self.kind in ALTERED

    @property
    def entry(self) -> Entry:
        """The entry as it is now, or as it was before it was removed."""
        return self.was if self.new is None else self.new

    @property
    def was(self) -> Entry:
        """The entry in the old state, where it was there."""
        assert self.old is not None
        return self.old

    @property
    def now(self) -> Entry:
        """The entry in the new state, where it is there."""
        assert self.new is not None
        return self.new


def compare_entries(
    subject: str, old: list, new: list, sealed: date | None = None, last: tuple[date, time] | None = None
) -> list[EntryChange]:
    """
    The changes from the old to the new entries of one subject, by kind and then by day.

    `sealed` is the last day of the period closed in the old state, `last` the moment of its last entry, where `old` may
    be a part of it.
    """
    gone, come, resigned = _differing(old, new)
    if not gone and not come and not resigned:
        return []
    pairs = _pairs(gone, come)
    changes = [_changed(before, after) for before, after in (*resigned, *pairs)]
    changes += (EntryChange(REMOVED, subject, entry, None) for entry in _without(gone, [pair[0] for pair in pairs]))
    moments = sorted(map(moment, old))
    if last is not None and (not moments or moments[-1] < last):
        moments.append(last)
    changes += (_added(entry, moments) for entry in _without(come, [pair[1] for pair in pairs]))
    changes.sort(key=lambda change: (KINDS.index(change.kind), moment(change.entry)))
    return [_with_seal(change, sealed) for change in changes]


def _differing(old: list, new: list) -> tuple[list, list, list[tuple]]:
    """The entries that are only in the old list, those only in the new, and pairs that differ in their corrections."""
    # Most of a record stands in both states in one order. What falls out of step is matched below.
    at, count, only_new = 0, len(old), []
    for entry in new:
        if at < count and old[at].facts == entry.facts:
            at += 1
        else:
            only_new.append(entry)
    only_old = old[at:]
    if not only_new or not only_old:
        return only_old, only_new, []
    waiting: dict[tuple, list] = defaultdict(list)
    for entry in only_old:
        waiting[entry.uncorrected].append(entry)
    come, resigned, others = [], [], []
    for entry in only_new:
        twins = waiting.get(entry.uncorrected, [])
        twin = next((twin for twin in twins if twin.corrections == entry.corrections), None)
        if twin is not None:
            twins.remove(twin)
        elif twins:
            others.append(entry)
        else:
            come.append(entry)
    for entry in others:
        twins = waiting[entry.uncorrected]
        if twins:
            resigned.append((twins.pop(0), entry))
        else:
            come.append(entry)
    return [entry for twins in waiting.values() for entry in twins], come, resigned


def _changed(old: Entry, new: Entry) -> EntryChange:
    kept = set(old.answers or ()) <= set(new.answers or ())
    if old.uncorrected == new.uncorrected and old.late == new.late and kept:
        if old.struck is None and new.struck is not None:
            return EntryChange(STRUCK, new.subject, old, new)
        if old.struck == new.struck:
            return EntryChange(ANSWERED, new.subject, old, new)
    before, after = fields_of(old), fields_of(new)
    called = _CALLED | {field: word for entry in (old, new) for _, word, field in entry.written if word}
    clauses = (
        (called.get(field, field), before.get(field, ""), after.get(field, ""))
        for field in dict.fromkeys((*before, *after))
        if before.get(field) != after.get(field)
    )
    return EntryChange(CHANGED, new.subject, old, new, tuple(clauses))


def _added(entry: Entry, moments: list) -> EntryChange:
    if entry.late is not None:
        return EntryChange(LATE, entry.subject, None, entry)
    # An entry without a time may be of any time of its day: it is before none of that day, and none before it.
    dated_before = len(moments) - bisect_right(moments, (entry.day, entry.time or time.max))
    return EntryChange(BACKDATED if dated_before else ADDED, entry.subject, None, entry, dated_before=dated_before)


def moment(entry: Entry) -> tuple[date, time]:
    return entry.day, entry.time or time.min


def _with_seal(change: EntryChange, sealed: date | None) -> EntryChange:
    """The change, with the period that it touches though it was sealed: see `cylfile.history.seals`."""
    touched = (
        [signed.day for signed in new_signatures(change)]
        if change.kind in (STRUCK, ANSWERED)
        else map(stated_day, filter(None, (change.old, change.new)))
    )
    return replace(change, sealed=sealed) if sealed is not None and min(touched) <= sealed else change


def new_signatures(change: EntryChange) -> list[Signed | Answer]:
    """The strike, the `late` and the answers that an entry has now and had not before."""
    new, old = change.new, change.old
    if new is None:
        return []
    strikes = [new.struck] if new.struck is not None and (old is None or old.struck is None) else []
    late = [new.late] if new.late is not None and (old is None or old.late is None) else []
    known = (old.answers or ()) if old is not None else ()
    return [*strikes, *late, *(answer for answer in new.answers or () if answer not in known)]


# Which entry that is gone became which that is new.


def fields_of(entry: Entry) -> dict[str, str]:
    """All that an entry says, field by field, as the language writes it."""
    fields = {"day": entry.day.isoformat()}
    if entry.time is not None:
        fields["time"] = write_time(entry.time)
    fields["verb"] = entry.verb
    for index, word, field in entry.written:
        value = entry[index]
        if value is not None:
            fields[_AS.get(field, field)] = word if value is True else write_value(field, value)
    return fields


def _pairs(gone: list, come: list) -> list[tuple]:
    """(old, new) of each entry that was changed: those of one day and the most alike first, each entry once."""
    if not gone or not come:
        return []
    before, after = [fields_of(entry) for entry in gone], [fields_of(entry) for entry in come]
    weighed = []
    for i, j in _candidates(before, after):
        names = (before[i].keys() | after[j].keys()).difference(_SIGNED)
        differing = sum(before[i].get(name) != after[j].get(name) for name in names)
        moved = before[i]["day"] != after[j]["day"]
        if 1 - differing / len(names) >= _ALIKE and not (moved and differing > _DIFFERING):
            weighed.append((moved, differing / len(names), i, j))
    pairs, taken_old, taken_new = [], set(), set()
    for _, _, i, j in sorted(weighed):
        if i not in taken_old and j not in taken_new:
            taken_old.add(i)
            taken_new.add(j)
            pairs.append((gone[i], come[j]))
    return pairs


def _candidates(before: list[dict], after: list[dict]) -> Iterator[tuple[int, int]]:
    if len(before) * len(after) <= _MOST_PAIRS:
        for i, old in enumerate(before):
            for j, new in enumerate(after):
                if old["day"] == new["day"] or (old["verb"] == new["verb"] and _is_slip(old["day"], new["day"])):
                    yield i, j
        return
    of_day = defaultdict(list)
    for j, new in enumerate(after):
        of_day[new["day"], new["verb"]].append(j)
    for i, old in enumerate(before):
        for j in of_day[old["day"], old["verb"]][:_DIGITS]:
            yield i, j


def _is_slip(one: str, other: str) -> bool:
    return sum(a != b for a, b in zip(one, other)) <= _DIGITS


def _without(entries: list, taken: list) -> list:
    left_out = set(map(id, taken))
    return [entry for entry in entries if id(entry) not in left_out]
