"""
A file that was read before and has changed in some lines: only the blocks around these are read, of a card only the entries.

All else is taken over as it was read, and moved to where it stands now.
"""

import re
from bisect import bisect_left
from collections.abc import Callable, Iterable
from copy import copy
from typing import Any, NamedTuple

from cylfile.record.blocks import Declared, StruckProperty
from cylfile.record.entries import Entry
from cylfile.record.file_reader import TELLS_A_LINE, FileReader, UnderNoCard
from cylfile.text.ledger import LEDGER, begins_block, clause_start
from cylfile.text.source import Fault, Source, Span

# A line that says something, and begins neither with a day nor with a month.
_NO_DAY = re.compile(r"^(?![ \t]+[0-9]{4}-[0-9]{2}|[ \t]*(?:#.*)?\r?$)[ \t]*.", re.MULTILINE)
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
    again = _Again(before, last, move, blocks)
    return again.entries_around() or again.up_to_entries() or again.whole_blocks()


class _Again:
    """The ways to read a file again after a change that is in some whole blocks; each gives None where it cannot be gone."""

    def __init__(self, before: FileReader, last: ReadAgain | None, move: Move, blocks: Move):
        self.before, self.last, self.move, self.blocks = before, last, move, blocks

    def whole_blocks(self) -> ReadAgain | None:
        """Read those blocks."""
        was, now = self._read(self.blocks)
        return self._put_together(self.blocks, was, now)

    def entries_around(self) -> ReadAgain | None:
        """
        Read only what stands between the entries of one card that are around the change, themselves among it.

        Lines above and below them are read as before, whatever stands between; but for properties, see `read_entries`.
        """
        header, old_end, starts = self._card_at(self.move.start - 1)
        # The change may be in lines with which the first entry above it goes on.
        first, behind = bisect_left(starts, self.move.start) - 2, bisect_left(starts, self.move.old_end)
        if first < 0 or self.move.old_end > old_end:
            return None
        part = self._part(starts[first], starts[behind] if behind < len(starts) else old_end)
        was = self._was(part) or FileReader(part.old).read_entries(header, part.start, part.old_end)
        now = FileReader(part.new).read_entries(header, part.start, part.new_end)
        return None if was is None or now is None else self._put_together(part, was, now, header)

    def up_to_entries(self) -> ReadAgain | None:
        """
        Read those blocks without the entries of the last one that stand behind the change, where it is the card that it was.

        That is where none of these has to do with the lines above but for the header.
        """
        header, old_end, starts = self._card_at(self.blocks.old_end - 1)
        behind = bisect_left(starts, self.move.old_end)
        if behind == len(starts) or not _stand_alone(self.move.old.text, starts[behind], old_end):
            return None
        part = self._part(self.blocks.start, starts[behind])
        was, now = self._read(part)
        card, there = was.things[-1], now.things[-1:]
        header, _ = _block_at(part.new.text, part.new_end - 1)
        if [(type(each), each.name) for each in there if each.span.start >= header] != [(type(card), card.name)]:
            return None
        return self._put_together(part, was, now, header)

    def _card_at(self, offset: int) -> tuple[int, int, list[int]]:
        """The card of a cylinder, a source and so on that stands at an offset: where it begins and ends, and its entries; none where there is none."""
        things, (header, end) = self.before.things, _block_at(self.move.old.text, offset)
        number = bisect_left(things, end, key=_start) - 1
        is_card = number >= 0 and things[number].span.start >= header
        entries = self.before.record.entries.get(things[number].name, ()) if is_card else ()
        return header, end, [entry.start for entry in entries if entry.block == header]

    def _part(self, start: int, old_end: int) -> Move:
        return self.move._replace(start=start, old_end=old_end, new_end=old_end + self.move.by)

    def _was(self, part: Move) -> FileReader | None:
        """What a part said, where it has been read just before."""
        return self.last.new if self.last is not None and self.last.has_read(self.before, part) else None

    def _read(self, part: Move) -> tuple[FileReader, FileReader]:
        """What a part said that begins with a block, and what it says."""
        run = _run_before(part.new.text, part.start)
        was = self._was(part) or FileReader(part.old).read(part.start, part.old_end, run)
        return was, FileReader(part.new).read(part.start, part.new_end, run)

    def _put_together(self, part: Move, was: FileReader, now: FileReader, header: int | None = None) -> ReadAgain:
        carried = _Carried(part, now.run, header)
        return ReadAgain(part, carried.file(self.before, was, now), was, now, carried.moved_blocks)


def _stand_alone(text: str, start: int, end: int) -> bool:
    """Whether all lines of a card between two offsets are entries by their beginning, and go on with no line."""
    goes_on = clause_start(LEDGER).match
    return all(
        found.group().lstrip(" \t")[:1].isdigit() and not goes_on(text, found.start())
        for found in _NO_DAY.finditer(text, start, end)
    )


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
    What a file said outside of a part that was read again, as it says it now. `header` is where the card begins now that
    goes on behind that part, where one does.

    `run` is where the loose lines began that run on to the end of those blocks, and where the last of them stands.
    """

    def __init__(self, part: Move, run: tuple[int, int] | None, header: int | None):
        self.part, self.new, self.start, self.by = part, part.new, part.start, part.by
        self.old_end, old = part.old_end, part.old.text
        # The block of the first entries behind that part, where that is no longer as far behind it as it was.
        self.block = part.new_end
        if self.old_end < len(old):
            if old[self.old_end].isdigit() and run:
                self.block = run[0]
            elif old[self.old_end] in " \t" and header is not None:
                self.block = header
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

    def _with(self, new: Iterable, old: Iterable, start: Callable[[Any], int], moved: Callable[[Any], Any]) -> list:
        """What is new, between those of the old that stand before and behind it, moved."""
        old = list(old)
        head = [moved(each) for each in old if start(each) < self.start]
        return [*head, *new, *(moved(each) for each in old if start(each) >= self.old_end)]

    def _moved(self, start: int) -> int:
        """Where something stands now that is not in what was read again."""
        return start if start < self.start else start + self.by

    def _entry(self, entry: Entry) -> Entry:
        start, block = entry.start, entry.block
        if start >= self.old_end and block is not None:
            if block > self.old_end:
                block += self.by
            else:
                if not self.part.keeps(block, self.block):
                    self.moved_blocks.add(entry.subject)
                block = self.block
        return entry.moved(self.new, self._moved(start), block)

    def _span(self, span: Span) -> Span:
        start = self._moved(span.start)
        return Span(self.new, start, span.end + start - span.start)

    def _placed(self, thing: Any) -> Any:
        """A fault, a waiver or a seal, which are tuples that have a place."""
        thing = thing._replace(span=self._span(thing.span))
        if isinstance(thing, Fault) and thing.because is not None:
            return thing._replace(because=self._span(thing.because))
        return thing

    def _damaged(self, line: UnderNoCard) -> UnderNoCard:
        return line._replace(fault=self._placed(line.fault))

    def _declared(self, thing: Declared) -> Declared:
        moved = copy(thing)
        moved.span = self._span(thing.span)
        moved.where = {word: self._span(span) for word, span in thing.where.items()}
        moved.struck_properties = [
            StruckProperty(self._declared(struck), signed, self._span(span))
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
    start = text.rfind("\n", 0, max(0, offset)) + 1
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
