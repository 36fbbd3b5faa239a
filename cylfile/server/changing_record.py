"""
The record of files that are being changed, and what a change of them changes in it.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

from cylfile.record.file_reader import FileReader
from cylfile.record.reader import read_record
from cylfile.record.reading_again import Move, move_of, read_again
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, Span


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
            old = None if before is None else self._read.pop(before)
            file: FileReader | None = None
            if old is not None and source is not None:
                moves[path] = move = move_of(old.record.sources[0], source)
                file, changed = _read_again(old, move)
            else:
                file = FileReader(source).read() if source is not None else None
                changed = _everything(each) if (each := file or old) else set()
            if source is not None and file is not None:
                self._sources[path], self._read[source] = source, file
                if tell is not None:
                    tell(len(source.text))
            if changed is None:
                names = None
            elif names is not None:
                names |= changed
        self.record = read_record(list(self._sources.values()), faults, self._read)
        return Change(names, moves)


def _read_again(old: FileReader, move: Move) -> tuple[FileReader, set[str] | None]:
    """A file after a change of its text, and the names of which it says something else; None for all."""
    again = read_again(old, move)
    if again is None:
        file = FileReader(move.new).read()
        return file, _changed(old, file, move)
    changed = _changed(again.was, again.now, move)
    return again.file, None if changed is None else changed | again.moved_blocks


def _changed(old: FileReader, new: FileReader, move: Move) -> set[str] | None:
    """The names of cylinders and sources of which a file, or a stretch of it, says something else; None for all."""
    cards = _changed_cards(old.things, new.things)
    if cards is None or _said(old) != _said(new):
        return None
    return _changed_names(old.record.entries, new.record.entries, move) | cards


def _everything(file: FileReader) -> set[str] | None:
    """The names of cylinders and sources of which a file says anything; None for all."""
    declared = {thing.name for thing in file.things if thing.word == "cylinder"}
    if len(declared) < len(file.things) or file.record.recalls:
        return None
    return file.record.entries.keys() | declared


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


def _said(file: FileReader) -> list:
    """What a file says that all cylinders may rest on, beside what it declares: recalls."""
    return [_head(recall) for recall in file.record.recalls]


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
