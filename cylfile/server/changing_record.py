"""
The record of files that are being changed, and what a change of them changes in it.
"""

from collections.abc import Callable, Sequence
from copy import copy
from typing import NamedTuple

from cylfile.record.file_reader import FileReader
from cylfile.record.reader import read_record
from cylfile.record.reading_again import Move, ReadAgain, move_of, read_again
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, Span


class Changed(NamedTuple):
    """What files say otherwise; see `Change`."""

    names: set[str]
    heads: set[str]
    regrouped: set[str]
    is_of_all: bool

    def with_(self, other: "Changed") -> "Changed":
        """What both say otherwise."""
        return Changed(
            self.names | other.names,
            self.heads | other.heads,
            self.regrouped | other.regrouped,
            self.is_of_all or other.is_of_all,
        )


_NOTHING = Changed(set(), set(), set(), False)


class Change(NamedTuple):
    """
    What a change of files has changed in the record.

    `names` are the cylinders and sources of which it has other entries or cards now; `heads` are those of whose blocks
    it says anything else, be they people, and `regrouped` those of whose entries it has some in other blocks. Where that
    reaches all, `is_of_all`. `moves` tell where the lines of the changed files have gone, by path.
    """

    names: set[str]
    heads: set[str]
    regrouped: set[str]
    is_of_all: bool
    moves: dict[str, Move]


class ChangingRecord:
    """The record of files that are being changed: each is read once, and again only when it changes."""

    def __init__(self) -> None:
        self.record = Record([])
        self._sources: dict[str, Source] = {}
        self._read: dict[Source, FileReader] = {}
        self._last: ReadAgain | None = None

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
        changed = _NOTHING
        moves: dict[str, Move] = {}
        for path, source in sources.items():
            before = self._sources.pop(path, None)
            old = None if before is None else self._read.pop(before)
            file: FileReader | None = None
            if old is not None and source is not None:
                moves[path] = move = move_of(old.record.sources[0], source)
                file, more = self._read_again(old, move)
            else:
                file = FileReader(source).read() if source is not None else None
                more = _everything(each) if (each := file or old) else _NOTHING
            if source is not None and file is not None:
                self._sources[path], self._read[source] = source, file
                if tell is not None:
                    tell(len(source.text))
            changed = changed.with_(more)
        # What cylinders are called is the same where no card is another one.
        marks = None if changed.heads else self.record.marks
        self.record = read_record(list(self._sources.values()), faults, self._read, marks=marks)
        return Change(*changed, moves)

    def _read_again(self, old: FileReader, move: Move) -> tuple[FileReader, Changed]:
        """A file after a change of its text, and what it says otherwise."""
        self._last = again = read_again(old, move, self._last)
        if again is None:
            file = FileReader(move.new).read()
            return file, _changed(old, file, move)
        more = _NOTHING._replace(names=again.moved_blocks, regrouped=again.moved_blocks)
        return again.file, _changed(again.old, again.new, move).with_(more)


def _changed(old: FileReader, new: FileReader, move: Move) -> Changed:
    """What a file, or a stretch of it, says otherwise."""
    heads = _changed_heads(old.things, new.things)
    names, regrouped = _changed_names(old.record.entries, new.record.entries, move)
    is_of_all = list(map(_head, old.record.recalls)) != list(map(_head, new.record.recalls))
    return Changed(names | heads, heads, regrouped, is_of_all)


def _everything(file: FileReader) -> Changed:
    """All that a file says."""
    heads = {thing.name for thing in file.things}
    return Changed(file.record.entries.keys() | heads, heads, set(), bool(file.record.recalls))


def _changed_names(old: dict[str, list], new: dict[str, list], move: Move) -> tuple[set[str], set[str]]:
    """The names that have other entries now, and those that have some in other blocks."""
    changed, regrouped = set(old.keys() ^ new.keys()), set()
    for name in old.keys() & new.keys():
        before, after = old[name], new[name]
        if len(before) != len(after) or any(
            one.facts != other.facts or move.start <= one.start < move.old_end or not move.keeps(one.block, other.block)
            for one, other in zip(before, after)
        ):
            changed.add(name)
            blocks = {entry.facts: entry.block for entry in before}
            if any(entry.facts in blocks and not move.leaves(blocks[entry.facts], entry.block) for entry in after):
                regrouped.add(name)
    return changed, regrouped


def _changed_heads(old: list, new: list) -> set[str]:
    """The names of blocks whose heads say something else; of two blocks of one name, where any of them does."""
    before, after = _heads(old), _heads(new)
    return {name for word, name in before.keys() | after.keys() if before.get((word, name)) != after.get((word, name))}


def _heads(things: list) -> dict[tuple[str, str], list[tuple]]:
    heads: dict[tuple[str, str], list[tuple]] = {}
    for thing in things:
        heads.setdefault((thing.word, thing.name), []).append(_head(thing))
    return heads


def _head(thing) -> tuple:
    return tuple(value for name, value in vars(thing).items() if name not in ("span", "where"))


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
    there = copy(finding)
    there.span, there.related = span, related
    return there


def _moved_span(span: Span, moves: dict[str, Move]) -> Span | None:
    move = moves.get(span.source.path)
    return span if move is None or span.source is not move.old else move.span(span)
