"""
The record of files that are being changed: each file is read once, and again only when it changes.

What a file says is put together with the others' so that a change of one costs the reading of that
one: tables of what is declared are made anew only where the file declares something, entries only of
the names that the file mentions.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from cylfile.record.reader import FileReader, RecordReader
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, Span


class Move(NamedTuple):
    """How offsets of a file's old text become those of its new one, which differ from `start` to the two ends."""

    old: Source
    new: Source
    start: int
    old_end: int
    new_end: int

    def span(self, span: Span) -> Span | None:
        """The same stretch in the new text; None where it is among what has changed."""
        if span.end <= self.start and (span.start < self.start or not span.end):
            return Span(self.new, span.start, span.end)
        if span.start >= self.old_end:
            by = self.new_end - self.old_end
            return Span(self.new, span.start + by, span.end + by)
        return None

    def keeps(self, old: int, new: int) -> bool:
        """Whether two offsets are one place, or both in what has changed."""
        if old < self.start:
            return new == old
        if old >= self.old_end:
            return new == old + self.new_end - self.old_end
        return self.start <= new < self.new_end


class Change(NamedTuple):
    """
    What a change of files has changed in the record.

    `names` are the cylinders and sources of which it says something else now, None for all of
    them; `moves` tell where the lines of the changed files have gone, by path.
    """

    names: set[str] | None
    moves: dict[str, Move]


class LivingRecord:
    """A record that follows the changes of its files."""

    def __init__(self):
        self.record = Record()
        self._files: dict[str, FileReader] = {}
        self._entries: dict[str, dict[str, list]] = {}
        self._things: dict[str, list] = {}
        self._declared = RecordReader([], [])
        # The entries of each name of all files, before it is known what the name is.
        self._raw: dict[str, list] = {}
        # Names whose entries have to be looked at again each time: something is wrong with them.
        self._doubtful: set[str] = set()

    def update(self, sources: dict[str, Source | None], faults: Sequence[Fault] = ()) -> Change:
        """
        Take in files that are new or have changed; None is a file that is gone.

        `faults` are all those met while any of the files of the record was had.
        """
        names: set[str] | None = set()
        moves: dict[str, Move] = {}
        declares = False
        touched: dict[str, dict[str, list]] = {}
        for path, source in sources.items():
            old_file, old_entries = self._files.pop(path, None), self._entries.pop(path, {})
            old_things = self._things.pop(path, [])
            new_entries: dict[str, list] = {}
            new_things: list = []
            if source is not None:
                file = FileReader(source).read()
                new_entries, file.record.entries = file.record.entries, defaultdict(list)
                new_things, file.things = file.things, []
                self._files[path], self._entries[path], self._things[path] = file, new_entries, new_things
            touched[path] = {name: new_entries.get(name, []) for name in old_entries.keys() | new_entries.keys()}
            declares = declares or bool(old_things or new_things)
            if old_file is not None and source is not None:
                moves[path] = move = _move(old_file.record.sources[0], source)
                changed = _changed_names(old_entries, new_entries, move)
            else:
                changed = old_entries.keys() | new_entries.keys()
            cards = _changed_cards(old_things, new_things)
            if cards is None or _said(old_file) != _said(self._files.get(path)):
                names = None
            elif names is not None:
                names |= changed | cards
        if declares:
            self._declare()
        self._put_together(touched, declares, list(faults))
        return Change(names, moves)

    def _in_order(self) -> list[str]:
        return sorted(self._files)

    def _declare(self) -> None:
        self._declared = RecordReader([], [])
        for path in self._in_order():
            for thing in self._things[path]:
                self._declared.declare(thing)

    def _put_together(self, touched: dict[str, dict[str, list]], declares: bool, faults: list[Fault]) -> None:
        """Make the record. `touched` are, for each changed file, the entries that it has now of every name it has or had."""
        for path, entries in touched.items():
            for name, of_file in entries.items():
                self._put_entries(name, path, of_file)
        # Of a name with which nothing was wrong, only what is new has to be looked at.
        looked_at = {
            name: self._raw[name] for name in (self._raw.keys() if declares else self._doubtful & self._raw.keys())
        }
        for entries in touched.values():
            for name, of_file in entries.items():
                if of_file:
                    looked_at.setdefault(name, of_file)
        record = self._resolved(looked_at, faults)
        doubtful = {name for name, entries in looked_at.items() if self._is_wrong(record, name, entries)}
        if any(looked_at[name] is not self._raw[name] for name in doubtful):
            looked_at |= {name: self._raw[name] for name in doubtful}
            record = self._resolved(looked_at, faults)
        self._doubtful = doubtful
        for name, entries in self._raw.items():
            if name not in doubtful:
                record.entries[name] = entries
        self.record = record

    def _put_entries(self, name: str, path: str, entries: list) -> None:
        """Let these be the entries of a name in a file, among those of other files in the order of their paths."""
        all_of_it = self._raw.get(name, [])
        first = bisect_left(all_of_it, path, key=_path_of)
        after = bisect_right(all_of_it, path, lo=first, key=_path_of)
        if entries or first or after < len(all_of_it):
            self._raw[name] = [*all_of_it[:first], *entries, *all_of_it[after:]]
        else:
            self._raw.pop(name, None)

    def _resolved(self, looked_at: dict[str, list], faults: list[Fault]) -> Record:
        tables, order = self._declared.record, self._in_order()
        reader = RecordReader([self._files[path].record.sources[0] for path in order], faults)
        reader.record.department = tables.department
        for table in ("sites", "people", "testers", "air_sources", "cylinders"):
            getattr(reader.record, table).update(getattr(tables, table))
        reader.record.faults += tables.faults
        for path in order:
            reader.take_in(self._files[path])
        reader.record.entries = defaultdict(list, looked_at)
        return reader.resolved()

    @staticmethod
    def _is_wrong(record: Record, name: str, entries: list) -> bool:
        thing = record.cylinders.get(name) or record.air_sources.get(name)
        return thing is None or record.entries[name] is not entries


def _path_of(entry) -> str:
    return entry.source.path


def _move(old: Source, new: Source) -> Move:
    before, after = old.text, new.text
    start = _common(before, after)
    start = before.rfind("\n", 0, start) + 1
    most = min(len(before), len(after)) - start
    end = _common_end(before, after, most)
    # Whole lines, so that no line is part of both what has changed and what has not.
    if not (_begins_line(before, len(before) - end) and _begins_line(after, len(after) - end)):
        line_end = before.find("\n", len(before) - end)
        end = len(before) - line_end - 1 if line_end >= 0 else 0
    return Move(old, new, start, len(before) - end, len(after) - end)


def _begins_line(text: str, at: int) -> bool:
    return at == 0 or text[at - 1] == "\n"


def _common(one: str, other: str) -> int:
    """The number of characters at the start that two texts share."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        if one[low:middle] == other[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low


def _common_end(one: str, other: str, most: int) -> int:
    low, high = 0, most
    while low < high:
        middle = (low + high + 1) // 2
        if one[len(one) - middle : len(one) - low] == other[len(other) - middle : len(other) - low]:
            low = middle
        else:
            high = middle - 1
    return low


def _changed_names(old: dict[str, list], new: dict[str, list], move: Move) -> set[str]:
    changed = set(old.keys() ^ new.keys())
    for name in old.keys() & new.keys():
        before, after = old[name], new[name]
        if len(before) != len(after) or any(
            one.facts != other.facts or move.start <= one.start < move.old_end or not move.keeps(one.block, other.block)
            for one, other in zip(before, after)
        ):
            changed.add(name)
    return changed


def _changed_cards(old: list, new: list) -> set[str] | None:
    """The cylinders whose heads say something else; None where what all may rest on does."""
    before, after = ({(thing.word, thing.name): _head(thing) for thing in things} for things in (old, new))
    if len(before) != len(old) or len(after) != len(new):
        # Two blocks of one name: which one counts may have changed.
        return None if before != after or len(old) != len(new) else set()
    differing = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    if any(word != "cylinder" for word, _ in differing):
        return None
    return {name for _, name in differing}


def _head(thing) -> tuple:
    return tuple(value for name, value in vars(thing).items() if name not in ("span", "where"))


def _said(file: FileReader | None) -> list:
    """What a file says that all cylinders may rest on, beside what it declares: recalls."""
    return [_head(recall) for recall in file.record.recalls] if file else []


def moved(finding, moves: dict[str, Move]):
    """
    A finding where it stands now; None where its place is among what has changed.

    The finding itself is left as it is.
    """
    span = _moved_span(finding.span, moves)
    if span is None:
        return None
    related = [(_moved_span(place, moves), remark) for place, remark in finding.related]
    if any(place is None for place, _ in related):
        return None
    if span is finding.span and all(place is there for (place, _), (there, _) in zip(related, finding.related)):
        return finding
    return replace(finding, span=span, related=related)


def _moved_span(span: Span, moves: dict[str, Move]) -> Span | None:
    move = moves.get(span.source.path)
    return span if move is None or span.source is not move.old else move.span(span)
