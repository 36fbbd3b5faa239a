"""
What is done to a file whose lines move: some are taken out, new ones are put in before others, and the rest stays as it is.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from itertools import count
from typing import NamedTuple

from cylfile.record.entries import Entry
from cylfile.rewriting.editable import Page
from cylfile.rewriting.extents import BlockExtents, Extent


class Moving(NamedTuple):
    """An entry on its way: the comments that go above its line, and the one after it."""

    entry: Entry
    above: list[str]
    after: str


class NewSentence(NamedTuple):
    """
    A sentence that goes into a file: the entry that it says, None where it heads a sheet, and what makes its words.

    The others are as for `Page.written`.
    """

    moving: Moving | None
    words: Callable[[], str]
    place: str
    model: Extent | None = None
    block: BlockExtents | None = None

    def lines(self, page: Page) -> list[str]:
        """Its physical lines, with the comments of the entry."""
        lines = page.written(self.words(), self.place, self.model, self.block)
        if self.moving is None:
            return lines
        indent = lines[0][: len(lines[0]) - len(lines[0].lstrip(" \t"))]
        if self.moving.after:
            lines[-1] += f"  {self.moving.after}"
        return [*(indent + comment for comment in self.moving.above), *lines]


class FileEdit:
    """
    What is done to one file: physical lines taken out, and sentences put in before others, None for a line that parts blocks.

    `entries` are those of the file, by their starts.
    """

    def __init__(self, page: Page, entries: Mapping[int, Entry]):
        self.page = page
        self.entries = entries
        self.out: set[int] = set()
        self.new: dict[int, list[NewSentence | None]] = defaultdict(list)

    @property
    def is_made(self) -> bool:
        """Whether anything is done."""
        return bool(self.out or self.new)

    def entry_of(self, line: Extent) -> Entry | None:
        """The entry that a line says, where it says one."""
        return self.entries.get(line.sentence.start)

    def standing(self) -> Iterator[Entry]:
        """The entries of the file as they will stand in it, above or below each other and in which blocks."""
        page, source = self.page, self.page.source
        lines = {
            line.first: (line, line is block.header)
            for block in page.blocks
            for line in (block.header, *block.lines)
            if line is not None and line.first not in self.out
        }
        starts = count()
        block: int | None = None
        # Where the loose lines begin that run on to here.
        run: int | None = None
        for number in sorted(lines.keys() | self.new.keys()):
            for new in filter(None, self.new.get(number, ())):
                start = next(starts)
                if new.moving is None:
                    block, run = start, None
                else:
                    yield new.moving.entry.moved(source, start, block)
            if number in lines:
                (line, is_header), start = lines[number], next(starts)
                if is_header:
                    run = (start if run is None else run) if source.text[line.sentence.start].isdigit() else None
                    block = start if run is None else run
                entry = self.entry_of(line)
                if entry is not None:
                    yield entry.moved(source, start, block)

    def text(self) -> str:
        """
        The text of the file afterwards. An empty new line parts blocks: it is written where no blank
        line is. Where lines are gone, the blank lines on both sides are one.
        """
        lines, loose = self.page.lines, False
        text: list[str] = []
        for number in range(len(lines) + 1):
            for new in self._new_lines(number):
                if text and not text[-1].endswith("\n"):
                    text[-1] += self.page.newline
                if new or (text and text[-1].strip(" \t\r\n")):
                    text.append(new + self.page.newline)
                loose = not new
            if number == len(lines):
                break
            line = lines[number]
            if number in self.out:
                loose = True
            elif line.text.strip(" \t") or not loose or (text and text[-1].strip(" \t\r\n")):
                text.append(line.text + line.end)
                loose = False
        while loose and text and not text[-1].strip(" \t\r\n"):
            text.pop()
        return "".join(text)

    def _new_lines(self, number: int) -> Iterator[str]:
        for new in self.new.get(number, ()):
            yield from [""] if new is None else new.lines(self.page)
