"""
Dealing a record out anew: all entries to their cards, or to sheets of their days.

What moves is a line with the comments that belong to it; the other lines of all files stay as
they are. Cards and sheets are two ways to write one record, so the outcome is proven to say the
same: the same entries of every cylinder in the same order.
"""

from bisect import bisect_left, insort
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import NamedTuple

from cylfile.history.order import in_order, told_pairs
from cylfile.record.entries import Entry, plain_form
from cylfile.record.file_reader import FileReader
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.record.vocabulary import SHEETS, TELLS
from cylfile.rewriting.editable import Page, row_key
from cylfile.rewriting.entry_lines import card_line, has_sheet, header_says, row, sheet_header
from cylfile.rewriting.extents import BlockExtents, Extent
from cylfile.rewriting.same_facts import difference
from cylfile.text.ledger import LEDGER, LINES_OF, TOP
from cylfile.text.source import Source

CYLINDER, DAY = "cylinder", "day"
# Where sheets go that are new, by month, where no sheet of their kind and month lies elsewhere.
_NEW_FILE = "sheets/{:%Y-%m}.cyl"
_MOST_ATTEMPTS = 20


@dataclass
class Regrouped:
    """
    The texts of the files that change, by path; empty for a file that is left with nothing.

    `moved` are so many entries; `kept` says of each entry that could have moved and stays where
    it is, why. `refusal` says in words why nothing may be written: a fault of this program.
    """

    texts: dict[str, str] = field(default_factory=dict)
    moved: int = 0
    kept: list[tuple[Entry, str]] = field(default_factory=list)
    refusal: str = ""


def regroup(
    record: Record, by: str, folder: str = "", read_before: dict[Source, FileReader] | None = None
) -> Regrouped:
    """
    Deal a record out by `CYLINDER` or by `DAY`. New files lie in `folder`, a path that ends in a slash or is empty.
    `read_before` holds what its sources say, see `read_record`.

    The told order of a day is kept: entries stay where they are where a move would change what their
    standing tells, or would make it tell what nothing told.
    """
    staying: set[tuple[str, date]] = set()
    pages = {source.path: Page(source) for source in record.sources}
    for _ in range(_MOST_ATTEMPTS):
        dealt = _Dealing(record, by, folder, staying, pages).deal()
        after = _with_texts(record, dealt.texts, dict(read_before or {}))
        displaced = set(_displaced(record, after)) - staying
        if not displaced:
            break
        staying |= displaced
    dealt.refusal = difference(record, after) or (f"the order of {min(displaced)[0]} would change" if displaced else "")
    return dealt


def _with_texts(record: Record, texts: dict[str, str], read_before: dict[Source, FileReader]) -> Record:
    sources = {source.path: source for source in record.sources}
    sources |= {path: Source(path, text) for path, text in texts.items()}
    return read_record(list(sources.values()), read_before=read_before)


def _displaced(before: Record, after: Record) -> Iterator[tuple[str, date]]:
    """Cylinder or source, and day, of whose entries standing would tell another order, or one that nothing told."""
    for name, entries in before.entries.items():
        ours, theirs = (
            {(plain_form(one), plain_form(other)): one.day for one, other in told_pairs(of)}
            for of in (entries, after.entries.get(name, ()))
        )
        yield from ((name, (ours | theirs)[pair]) for pair in ours.keys() ^ theirs.keys())


class _Moving(NamedTuple):
    """An entry on its way: the comments that go above its line, and the one after it."""

    entry: Entry
    above: list[str]
    after: str


class _Edit:
    """What is done to one file: physical lines taken out, and lines put in before others."""

    def __init__(self, page: Page):
        self.page = page
        self.out: set[int] = set()
        self.new: dict[int, list[str]] = defaultdict(list)

    def text(self) -> str:
        """
        The text of the file afterwards. An empty new line parts blocks: it is written where no blank
        line is. Where lines are gone, the blank lines on both sides are one.
        """
        lines, loose = self.page.lines, False
        text: list[str] = []
        for number in range(len(lines) + 1):
            for new in self.new.get(number, ()):
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


class _Dealing:
    """One attempt to deal a record out."""

    def __init__(self, record: Record, by: str, folder: str, staying: set[tuple[str, date]], pages: dict[str, Page]):
        self.record = record
        self.by = by
        self.folder = folder
        self.staying = staying
        self.entries = {
            (entry.source.path, entry.start): entry for of_one in record.entries.values() for entry in of_one
        }
        self.edits = {path: _Edit(page) for path, page in pages.items()}
        self.unread: dict[str, list[int]] = defaultdict(list)
        for fault in record.faults:
            if fault.rule == "unreadable-line":
                insort(self.unread[fault.span.source.path], fault.span.line - 1)
        self.cards = self._cards()
        self.kept: list[tuple[Entry, str]] = []

    def deal(self) -> Regrouped:
        moving = [entry for path in self.edits for entry in self._taken_out(path)]
        if self.by == CYLINDER:
            self._put_on_cards(moving)
        else:
            self._put_on_sheets(moving)
        texts = {path: edit.text() for path, edit in self.edits.items() if edit.out or edit.new}
        return Regrouped(texts, len(moving), self.kept)

    def _cards(self) -> dict[str, tuple[_Edit, BlockExtents]]:
        """Name of each cylinder and source -> its file and its block."""
        found = {}
        for thing in (*self.record.cylinders.values(), *self.record.air_sources.values()):
            edit = self.edits[thing.span.source.path]
            found[thing.name] = edit, edit.page.block_at(thing.span.start)
        return found

    # Taking entries out.

    def _taken_out(self, path: str) -> Iterator[_Moving]:
        edit = self.edits[path]
        floor = _end_of_first_comment(edit.page)
        for block in edit.page.blocks:
            yield from self._taken_out_of(edit, block, floor)

    def _taken_out_of(self, edit: _Edit, block: BlockExtents, floor: int) -> Iterator[_Moving]:
        header = block.header
        if header is not None and not block.lines and (entry := self._entry_of(edit, header)):
            # A loose line.
            if self._moves(entry):
                yield self._take(edit, entry, header, max(floor, 0))
            return
        if header is None or self._is_sheet(block) != (self.by == CYLINDER):
            return
        rows = [(line, self._entry_of(edit, line)) for line in block.lines]
        if self._is_damaged(edit, block):
            for _, entry in rows:
                if entry is not None:
                    self._keep(entry, "a line beside it cannot be read; correct that first")
            return
        going = [(line, entry) for line, entry in rows if entry is not None and self._moves(entry)]
        taken, last = [], header.last + 1
        for line, entry in rows:
            if entry is not None and (line, entry) in going:
                taken.append(self._take(edit, entry, line, last))
            last = line.last + 1
        if (
            going
            and self.by == CYLINDER
            and len(going) == len(rows)
            and self._is_said_by_rows(edit, block, header, going)
        ):
            taken = self._dissolve(edit, block, header, taken, floor)
        yield from taken

    @staticmethod
    def _is_said_by_rows(edit: _Edit, block: BlockExtents, header: Extent, going: list[tuple[Extent, Entry]]) -> bool:
        """Whether nothing but rows would be lost with a sheet: all that its header says is in some row too."""
        inside = range(header.last + 1, edit.page.end_of(block))
        if any(
            edit.page.lines[number].text.lstrip(" \t")[:1] not in ("", "#")
            for number in inside
            if number not in edit.out
        ):
            # The marker of a conflict.
            return False
        kind, sentence = block.block.kind, header.readable
        says = header_says(edit.page.source, sentence, kind) if kind and sentence else None
        return says is not None and all(
            any(getattr(entry, clause) == value for _, entry in going) for clause, value in says.items()
        )

    def _entry_of(self, edit: _Edit, line: Extent) -> Entry | None:
        return self.entries.get((edit.page.source.path, line.sentence.start)) if line.readable else None

    @staticmethod
    def _is_sheet(block: BlockExtents) -> bool:
        return (block.block.kind or "").endswith("_sheet")

    def _is_damaged(self, edit: _Edit, block: BlockExtents) -> bool:
        """
        Whether a line of a block cannot be read. Nothing is moved out of such a block or into it, for
        what a broken line is depends on the lines round it.
        """
        unread = self.unread[edit.page.source.path]
        at = bisect_left(unread, block.first)
        return at < len(unread) and unread[at] <= block.last

    def _moves(self, entry: Entry) -> bool:
        """Whether an entry goes to another place. If it could and does not, it is kept note of."""
        if entry.subject not in self.cards:
            self._keep(entry, "no card declares it")
        elif self.by == CYLINDER and self._is_damaged(*self.cards[entry.subject]):
            self._keep(entry, "a line of its card cannot be read; correct that first")
        elif (entry.subject, entry.day) in self.staying:
            self._keep(entry, "elsewhere it would come in another order among entries of its day that have no time")
        else:
            return self.by == CYLINDER or (has_sheet(entry) and entry.subject in self.record.cylinders)
        return False

    def _keep(self, entry: Entry, why: str) -> None:
        if self.by == CYLINDER or has_sheet(entry):
            self.kept.append((entry, why))

    def _take(self, edit: _Edit, entry: Entry, line: Extent, floor: int) -> _Moving:
        """Take a line out with the comments in it and right above it, not above physical line `floor`."""
        page = edit.page
        first = max(page.above(line.first), min(floor, line.first))
        numbers = range(first, line.last + 1)
        edit.out.update(numbers)
        comments = [comment for number in numbers for comment in _comments_of(page, number)]
        after = comments.pop() if _comments_of(page, line.last) else ""
        return _Moving(entry, comments, after)

    def _dissolve(
        self, edit: _Edit, block: BlockExtents, header: Extent, taken: list[_Moving], floor: int
    ) -> list[_Moving]:
        """Take out a sheet of which no row is left. Its own comments go with its first row, those after a row with that."""
        page = edit.page
        first = max(page.above(header.first), min(floor, header.first))
        heading = [comment for number in range(first, header.last + 1) for comment in _comments_of(page, number)]
        rest, end = [], page.end_of(block)
        for number in range(header.last + 1, end):
            if number not in edit.out:
                rest += _comments_of(page, number)
        edit.out.update(range(first, end))
        taken[0] = taken[0]._replace(above=heading + taken[0].above)
        taken[-1] = taken[-1]._replace(above=taken[-1].above + rest)
        return taken

    # Cards.

    def _put_on_cards(self, moving: list[_Moving]) -> None:
        by_name: dict[str, dict[tuple, _Moving]] = defaultdict(dict)
        for one in moving:
            by_name[one.entry.subject][one.entry.source.path, one.entry.start] = one
        for name, going in by_name.items():
            self._put_on_card(name, going)

    def _put_on_card(self, name: str, going: dict[tuple, _Moving]) -> None:
        """Put entries on a card, each after the one that comes before it in the life of the cylinder."""
        edit, block = self.cards[name]
        card = self.record.cylinders.get(name) or self.record.air_sources[name]
        page = edit.page
        own = {line.sentence.start: line for line in block.lines if self._entry_of(edit, line)}
        lines = sorted(own.values())
        if lines:
            at = page.above(lines[0].first)
        else:
            at = block.last + 1
            edit.new[at] += [""] * bool(block.lines)
        model = lines[0] if lines else block.lines[-1] if block.lines and block.lines[-1].readable else None
        for entry in in_order(list(self.record.entries[name])).entries:
            place = entry.source.path, entry.start
            if place in going:
                edit.new[at] += self._set(page, going[place], card_line(entry), LINES_OF[card.word], model, block)
            elif entry.source is page.source and entry.start in own:
                model = own[entry.start]
                at = model.last + 1

    @staticmethod
    def _set(
        page: Page, one: _Moving, text: str, place: str, model: Extent | None, block: BlockExtents | None
    ) -> list[str]:
        lines = page.written(text, place, model, block)
        indent = lines[0][: len(lines[0]) - len(lines[0].lstrip(" \t"))]
        if one.after:
            lines[-1] += f"  {one.after}"
        return [*(indent + comment for comment in one.above), *lines]

    # Sheets.

    def _put_on_sheets(self, moving: list[_Moving]) -> None:
        sheets: dict[tuple[str, date], list[tuple[_Edit, BlockExtents, str, dict]]] = defaultdict(list)
        for sheet in self._sheets():
            sheets[sheet[2], sheet[3]["day"]].append(sheet)
        new: dict[tuple, list[_Moving]] = defaultdict(list)
        for one in sorted(moving, key=_time_and_place):
            entry = one.entry
            kind = entry.row.sheet_rule
            fitting = next((sheet for sheet in sheets[kind, entry.day] if _fits(entry, sheet[3])), None)
            if fitting is None:
                new[entry.day, kind, *(str(getattr(entry, tells, None) or "") for tells in TELLS)].append(one)
                continue
            edit, block, _, says = fitting
            time = "" if entry.time is None else entry.time.isoformat()
            model, at = edit.page.insertion(block, ("", time), row_key)
            edit.new[at] += self._set(edit.page, one, row(entry, says), SHEETS[kind].row_rule, model, block)
        for day, kind, *tells in sorted(new):
            self._put_new_sheet(day, kind, new[day, kind, *tells])

    def _sheets(self) -> Iterator[tuple[_Edit, BlockExtents, str, dict]]:
        """All sheets that can be read: file, block, kind and what the header says."""
        for edit in self.edits.values():
            for block in edit.page.blocks:
                kind, heading = block.block.kind, block.heading
                if kind and heading and self._is_sheet(block) and not self._is_damaged(edit, block):
                    says = header_says(edit.page.source, heading, kind)
                    if says is not None:
                        yield edit, block, kind, says

    def _put_new_sheet(self, day: date, kind: str, rows: list[_Moving]) -> None:
        first = rows[0].entry
        says = {tells: value for tells in TELLS if (value := getattr(first, tells, None)) is not None}
        people = Counter(one.entry.by for one in rows)
        if None not in people:
            # A row cannot unsay what the header says, so that has to be true of all or said otherwise by them.
            says["by"] = people.most_common(1)[0][0]
        header = sheet_header(first._replace(**says), says)
        edit = self._file_for(kind, day)
        at = edit.page.place_of_block(kind, day)
        page = Page(Source("", ""))
        lines = ["", *page.written(header, TOP, None, None)]
        for one in rows:
            lines += self._set(page, one, row(one.entry, says), SHEETS[kind].row_rule, None, None)
        edit.new[at] += [*lines, ""]

    def _file_for(self, kind: str, day: date) -> _Edit:
        """The file where the last sheet of a kind and a month lies, else the file of the month."""
        path = self._last_files.get((kind, f"{day:%Y-%m}")) or self.folder + _NEW_FILE.format(day)
        if path not in self.edits:
            self.edits[path] = _Edit(Page(Source(path, "")))
        return self.edits[path]

    @cached_property
    def _last_files(self) -> dict[tuple[str, str], str]:
        """By kind and month, the file where the last sheet lies."""
        return {
            (block.block.kind or "", heading.values[0][: len("2024-03")]): path
            for path, edit in self.edits.items()
            for block in edit.page.blocks
            if (heading := block.heading) is not None and self._is_sheet(block)
        }


def _fits(entry: Entry, says: dict) -> bool:
    """Whether a sheet of its kind and day can take an entry and say of it what it says now, and no more."""
    return all(
        getattr(entry, clause) == value if clause in TELLS else getattr(entry, clause) is not None
        for clause, value in says.items()
    )


def _time_and_place(one: _Moving) -> tuple:
    entry = one.entry
    return "" if entry.time is None else entry.time.isoformat(), entry.source.path, entry.start


def _comments_of(page: Page, number: int) -> list[str]:
    """The comment on a physical line, if there is one."""
    line = page.lines[number]
    if "#" not in line.text:
        return []
    tokens = LEDGER.tokens(page.source.text, line.start, line.start + len(line.text))
    return [token.text.rstrip(" \t") for token in tokens if token.type == "COMMENT"]


def _end_of_first_comment(page: Page) -> int:
    """The number of the line after the comment that a file begins with: that is about the file, and stays."""
    number = 0
    while number < len(page.lines) and page.lines[number].text.startswith("#"):
        number += 1
    return number
