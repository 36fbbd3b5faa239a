"""
The record of files that are being changed, and what a change of them changes in it.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

from cylfile.record.file_reader import FileReader
from cylfile.record.reader import read_record
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

    @property
    def shifts_lines(self) -> bool:
        """Whether lines below it have other numbers now."""
        old, new = self.old.text, self.new.text
        return old.count("\n", self.start, self.old_end) != new.count("\n", self.start, self.new_end)

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


class ChangingRecord:
    """The record of files that are being changed: each is read once, and again only when it changes."""

    def __init__(self) -> None:
        self.record = Record()
        self._sources: dict[str, Source] = {}
        self._read: dict[Source, FileReader] = {}

    def update(
        self,
        sources: dict[str, Source | None],
        faults: Sequence[Fault] = (),
        tell: Callable[[int], None] | None = None,
    ) -> Change:
        """
        Take in files that are new or have changed; None is a file that is gone.

        `faults` are all those met while any of the files of the record was had. `tell` is told after each file how
        many characters more are read.
        """
        names: set[str] | None = set()
        moves: dict[str, Move] = {}
        for path, source in sources.items():
            before = self._sources.pop(path, None)
            old, new = None if before is None else self._read.pop(before), None
            if source is not None:
                new = FileReader(source).read()
                self._sources[path], self._read[source] = source, new
                if tell is not None:
                    tell(len(source.text))
            old_entries, new_entries = (file.record.entries if file else {} for file in (old, new))
            if before is not None and source is not None:
                moves[path] = move = _move(before, source)
                changed = _changed_names(old_entries, new_entries, move)
            else:
                changed = old_entries.keys() | new_entries.keys()
            cards = _changed_cards(old.things if old else [], new.things if new else [])
            if cards is None or _said(old) != _said(new):
                names = None
            elif names is not None:
                names |= changed | cards
        self.record = read_record(list(self._sources.values()), faults, self._read)
        return Change(names, moves)


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
