"""
A file that was read before and has changed in some lines: only the blocks around these are read.

All else is taken over as it was read, and moved to where it stands now.
"""

import re
from collections.abc import Callable, Iterable
from copy import copy
from typing import Any, NamedTuple

from cylfile.record.blocks import Declared, StruckProperty
from cylfile.record.entries import Entry
from cylfile.record.file_reader import TELLS_A_LINE, FileReader, UnderNoCard
from cylfile.text.ledger import begins_block
from cylfile.text.source import Fault, Source, Span

_MARKERS = ("<<<<<<<", "=======", ">>>>>>>", "|||||||")


class Move(NamedTuple):
    """How offsets of a file's old text become those of its new one, which differ from `start` to the two ends."""

    old: Source
    new: Source
    start: int
    old_end: int
    new_end: int

    @property
    def by(self) -> int:
        """How many characters further on all stands that comes after what has changed."""
        return self.new_end - self.old_end

    def span(self, span: Span) -> Span | None:
        """The same stretch in the new text; None where it is among what has changed."""
        if span.end <= self.start and (span.start < self.start or not span.end):
            return Span(self.new, span.start, span.end)
        if span.start >= self.old_end:
            return Span(self.new, span.start + self.by, span.end + self.by)
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
            return new == old + self.by
        return self.start <= new < self.new_end

    def leaves(self, old: int, new: int) -> bool:
        """Whether two offsets are one place that has not changed."""
        return self.keeps(old, new) and not self.start <= old < self.old_end


def move_of(old: Source, new: Source) -> Move:
    """What has changed of a text, in whole lines, so that no line is part of both what has changed and what has not."""
    before, after = old.text, new.text
    start = _common(before, after)
    start = before.rfind("\n", 0, start) + 1
    most = min(len(before), len(after)) - start
    end = _common_end(before, after, most)
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


class ReadAgain(NamedTuple):
    """
    A file after a change: `file` is what it says now, `old` and `new` what the `blocks` said and say that were read again.

    `moved_blocks` are the names of the entries elsewhere that belong to another run of loose lines now.
    """

    blocks: Move
    file: FileReader
    old: FileReader
    new: FileReader
    moved_blocks: set[str]

    def has_read(self, file: FileReader, blocks: Move) -> bool:
        """Whether the blocks of a file that change now are those that were read for it."""
        places = self.blocks.start, self.blocks.new_end
        return self.file is file and places == (blocks.start, blocks.old_end)


def read_again(before: FileReader, move: Move, last: ReadAgain | None = None) -> ReadAgain | None:
    """
    A file that was read as `before`, after a change of its text. Who types letter by letter gives the `last` one back.

    None where it has to be read whole: a merge conflict in it may reach any of its lines, and what tells the numbers
    of others has to tell them anew.
    """
    old, new = move.old, move.new
    if any(marker in source.text for source in (old, new) for marker in _MARKERS):
        return None
    if move.shifts_lines and any(TELLS_A_LINE in fault.text for fault in before.record.faults):
        return None
    blocks = _whole_blocks(move)
    run = _run_before(new.text, blocks.start)
    was = last.new if last is not None and last.has_read(before, blocks) else None
    was = was or FileReader(old).read(blocks.start, blocks.old_end, run)
    now = FileReader(new).read(blocks.start, blocks.new_end, run)
    carried = _Carried(blocks, now.run)
    return ReadAgain(blocks, carried.file(before, was, now), was, now, carried.moved_blocks)


def _whole_blocks(move: Move) -> Move:
    """
    The same change, widened to whole blocks.

    The block before it is one of them, for a line that began a block may belong to that one now.
    """
    old, start = move.old.text, move.start
    while start > 0:
        start = old.rfind("\n", 0, start - 1) + 1
        if begins_block(old, start):
            break
    end = _block_from(old, move.old_end)
    return Move(move.old, move.new, start, end, end + move.by)


def _run_before(text: str, end: int) -> tuple[int, int] | None:
    """Where the loose lines began that run on to an offset, and where the last of them stands; None without such."""
    run = None
    while end > 0:
        end = text.rfind("\n", 0, end - 1) + 1
        if begins_block(text, end):
            if not text[end].isdigit():
                break
            run = end, run[1] if run else end
    return run


class _Carried:
    """
    What a file said outside of some blocks, as it says it now.

    `run` is where the loose lines began that run on to the end of those blocks, and where the last of them stands.
    """

    def __init__(self, blocks: Move, run: tuple[int, int] | None):
        self.blocks, self.new, self.start, self.by = blocks, blocks.new, blocks.start, blocks.by
        self.old_end, old = blocks.old_end, blocks.old.text
        is_loose = self.old_end < len(old) and old[self.old_end].isdigit()
        # The block of the first entries behind those blocks, where that is no longer as far behind them as it was.
        self.block = run[0] if is_loose and run else blocks.new_end
        self.moved_blocks: set[str] = set()

    def file(self, before: FileReader, was: FileReader, now: FileReader) -> FileReader:
        """What the file says now, where `now` is what those blocks say, and `was` what they said."""
        file = FileReader(self.new)
        old, new, record = before.record, now.record, file.record
        for name in dict.fromkeys((*old.entries, *new.entries)):
            if entries := self._with(
                new.entries.get(name, ()), old.entries.get(name, ()), _start_of_entry, self._entry
            ):
                record.entries[name] = entries
        for name in dict.fromkeys((*old.damaged, *new.damaged)):
            if faults := self._with(new.damaged.get(name, ()), old.damaged.get(name, ()), _start, self._placed):
                record.damaged[name] = faults
        record.faults = self._with(new.faults, old.faults, _start, self._placed)
        record.waivers = self._with(new.waivers, old.waivers, _start, self._placed)
        record.seals = self._with(new.seals, old.seals, _start, self._placed)
        record.recalls = self._with(new.recalls, old.recalls, _start, self._declared)
        file.things = self._with(now.things, before.things, _start, self._declared)
        file.damaged_lines = self._with(now.damaged_lines, before.damaged_lines, _start_of_damaged, self._damaged)
        self._use(file, before, was, now)
        return file

    def _with(
        self, new: Iterable, old: Iterable, start: Callable[[Any], int], moved: Callable[[Any, int], Any]
    ) -> list:
        """What is new, between those of the old that stand before and behind it, moved."""
        old = list(old)
        head = [moved(each, 0) for each in old if start(each) < self.start]
        return [*head, *new, *(moved(each, self.by) for each in old if start(each) >= self.old_end)]

    def _entry(self, entry: Entry, by: int) -> Entry:
        start, block = entry.start, entry.block
        if start < self.old_end or block is None:
            return entry.moved(self.new, start, block)
        if block > self.old_end:
            return entry.moved(self.new, start + by, block + by)
        if not self.blocks.keeps(block, self.block):
            self.moved_blocks.add(entry.subject)
        return entry.moved(self.new, start + by, self.block)

    def _span(self, span: Span, by: int) -> Span:
        return Span(self.new, span.start + by, span.end + by)

    def _placed(self, thing: Any, by: int) -> Any:
        """A fault, a waiver or a seal, which are tuples that have a place."""
        thing = thing._replace(span=self._span(thing.span, by))
        if isinstance(thing, Fault) and thing.because is not None:
            return thing._replace(because=self._span(thing.because, by))
        return thing

    def _damaged(self, line: UnderNoCard, by: int) -> UnderNoCard:
        return line._replace(fault=self._placed(line.fault, by))

    def _declared(self, thing: Declared, by: int) -> Declared:
        moved = copy(thing)
        moved.span = self._span(thing.span, by)
        moved.where = {word: self._span(span, by) for word, span in thing.where.items()}
        moved.struck_properties = [
            StruckProperty(self._declared(struck, by), signed, self._span(span, by))
            for struck, signed, span in thing.struck_properties
        ]
        return moved

    def _use(self, file: FileReader, before: FileReader, was: FileReader, now: FileReader) -> None:
        """Put the names together that lines give, each with the first line that does, and how many do."""
        for key in dict.fromkeys((*before.used, *now.used)):
            first, slot, count = before.used.get(key, (None, 0, 0))
            new, new_slot, more = now.used.get(key, (None, 0, 0))
            _, _, fewer = was.used.get(key, (None, 0, 0))
            if not count - fewer + more:
                continue
            if first is not None and first.start < self.start:
                place = [first, slot]
            elif new is not None:
                place = [new, new_slot]
            elif first is not None and first.start >= self.old_end:
                place = [first._replace(start=first.start + self.by), slot]
            else:
                place = self._first_behind(key)
            file.used[key] = [*place, count - fewer + more]

    def _first_behind(self, key: tuple[str, str]) -> list:
        """The first line behind those blocks that gives a name, be it for all rows of a sheet, and in which value."""
        mention, at = re.compile(rf"(?<![A-Za-z0-9._/-]){re.escape(key[1])}(?![A-Za-z0-9._/-])"), self.old_end + self.by
        while found := mention.search(self.new.text, at):
            start, at = _block_at(self.new.text, found.start())
            used = FileReader(self.new).read(start, at, _run_before(self.new.text, start)).used.get(key)
            if used is not None:
                return used[:2]
        raise AssertionError(f"{key[1]} is named behind them")


def _block_at(text: str, offset: int) -> tuple[int, int]:
    """The block that holds an offset."""
    start = text.rfind("\n", 0, offset) + 1
    while start > 0 and not begins_block(text, start):
        start = text.rfind("\n", 0, start - 1) + 1
    return start, _block_from(text, text.find("\n", offset) + 1 or len(text))


def _block_from(text: str, at: int) -> int:
    """Where the first block begins from a line on; the end of the text, where none does."""
    while at < len(text) and not begins_block(text, at):
        at = text.find("\n", at) + 1 or len(text)
    return at


def _start(thing: Any) -> int:
    return thing.span.start


def _start_of_entry(entry: Entry) -> int:
    return entry.start


def _start_of_damaged(line: UnderNoCard) -> int:
    return line.fault.span.start
