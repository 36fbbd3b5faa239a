"""
Dealing a record out anew: all entries to their cards, or to sheets of their days.

What moves is a line with the comments that belong to it; the other lines of all files stay as
they are. Cards and sheets are two ways to write one record, so the outcome is proven to say the
same: the same entries of every cylinder in the same order.
"""

from bisect import bisect_left, insort
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property, partial
from typing import NamedTuple

from cylfile.history.order import in_order, told_pairs
from cylfile.record.entries import Entry, plain_form
from cylfile.record.file_reader import FileReader
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.record.vocabulary import SHEETS, TELLS
from cylfile.rewriting.editable import Page, row_key
from cylfile.rewriting.entry_lines import card_line, has_sheet, headers_say, row, sheet_header
from cylfile.rewriting.extents import BlockExtents, Extent
from cylfile.rewriting.moved_lines import FileEdit, Moving, NewSentence
from cylfile.rewriting.same_facts import difference
from cylfile.text.ledger import LEDGER, LINES_OF, TOP
from cylfile.text.source import Source

CYLINDER, DAY = "cylinder", "day"
# Where sheets go that are new, by month, where no sheet of their kind and month lies elsewhere.
_NEW_FILE = "sheets/{:%Y-%m}.cyl"
_MOST_ATTEMPTS = 20


# By names, the pairs of entries whose order only their standing tells, each with its day.
_Told = dict[str, dict[tuple[str, str], date]]


class Regrouped(NamedTuple):
    """
    The texts of the files that change, by path; empty for a file that is left with nothing.

    `moved` are so many entries; `kept` says of each entry that could have moved and stays where
    it is, why. `refusal` says in words why nothing may be written: a fault of this program.
    """

    texts: Mapping[str, str]
    moved: int
    kept: Sequence[tuple[Entry, str]]
    refusal: str


def regroup(
    record: Record, by: str, folder: str = "", read_before: dict[Source, FileReader] | None = None
) -> Regrouped:
    """
    Deal a record out by `CYLINDER` or by `DAY`. New files lie in `folder`, a path that ends in a slash or is empty.
    `read_before` holds what its sources say, see `read_record`.

    The told order of a day is kept: entries stay where they are where a move would change what their
    standing tells, or would make it tell what nothing told. That is seen from where they are to stand, so that what is
    to be written is read once, to prove it.
    """
    dealing, told = Dealing(record, by, folder, read_before), _told(record.entries)
    texts: dict[str, str] = {}
    displaced: set[tuple[str, date]] = set()
    refusal = ""
    for _ in range(_MOST_ATTEMPTS):
        dealing.deal()
        displaced = _displaced(told, _told(dealing.standing()))
        if not displaced:
            texts = dealing.texts()
            after = _with_texts(record, texts, dict(read_before or {}))
            refusal = difference(record, after)
            displaced = _displaced(told, _told(after.entries))
        if not displaced:
            break
        dealing.hold(displaced)
    if displaced:
        refusal = refusal or f"the order of {min(displaced)[0]} would change"
    return Regrouped(texts, dealing.moved, dealing.kept, refusal)


def _with_texts(record: Record, texts: Mapping[str, str], read_before: dict[Source, FileReader]) -> Record:
    sources = {source.path: source for source in record.sources}
    sources |= {path: Source(path, text) for path, text in texts.items()}
    return read_record(list(sources.values()), read_before=read_before)


def _told(entries: Mapping[str, Iterable[Entry]]) -> _Told:
    return {
        name: {(plain_form(one), plain_form(other)): one.day for one, other in told_pairs(of)}
        for name, of in entries.items()
    }


def _displaced(before: _Told, after: _Told) -> set[tuple[str, date]]:
    """Cylinder or source, and day, of whose entries standing would tell another order, or one that nothing told."""
    both = ((name, ours, after.get(name, {})) for name, ours in before.items())
    return {(name, (ours | theirs)[pair]) for name, ours, theirs in both for pair in ours.keys() ^ theirs.keys()}


class Dealing:
    """
    Deals a record out, as often as it is asked to.

    `moved` are so many entries; see `Regrouped`.
    """

    def __init__(
        self, record: Record, by: str, folder: str = "", read_before: Mapping[Source, FileReader] | None = None
    ):
        self.record = record
        self.by = by
        self.folder = folder
        files = read_before or {}
        self.pages = {
            source.path: Page(source, files[source].blocks if source in files else None) for source in record.sources
        }
        self.entries: dict[str, dict[int, Entry]] = {path: {} for path in self.pages}
        for of_one in record.entries.values():
            for entry in of_one:
                self.entries[entry.source.path][entry.start] = entry
        self.unread: dict[str, list[int]] = defaultdict(list)
        for fault in record.faults:
            if fault.rule == "unreadable-line":
                insort(self.unread[fault.span.source.path], fault.span.line - 1)
        # Name of each cylinder and source -> its file and its block.
        self.cards = {
            thing.name: (thing.span.source.path, self.pages[thing.span.source.path].block_at(thing.span.start))
            for thing in (*record.cylinders.values(), *record.air_sources.values())
        }
        self.damaged_cards = {name for name, (path, block) in self.cards.items() if self._is_damaged(path, block)}
        self.staying: set[tuple[str, date]] = set()
        self.dissolves_sheets = True
        self.edits: dict[str, FileEdit] = {}
        # By path and first line of a sheet, what its header says, for it is asked for in each dealing.
        self._said: dict[str, dict[int, dict | None]] = {}
        self.moved = 0
        self.kept: list[tuple[Entry, str]] = []

    def hold(self, displaced: set[tuple[str, date]]) -> None:
        """
        Have the entries of these cylinders or sources and these days stay where they are.

        Where they do already, lines of other days told that they stand out of place, so that these have to stay; and
        where those do too, sheets that part loose lines.
        """
        if displaced <= self.staying:
            displaced = {(name, entry.day) for name, _ in displaced for entry in self.record.entries[name]}
        if displaced <= self.staying:
            self.dissolves_sheets = False
        self.staying |= displaced

    def deal(self) -> None:
        """Deal it out anew."""
        self.edits = {path: FileEdit(page, self.entries[path]) for path, page in self.pages.items()}
        self.kept = []
        moving = [entry for edit in self.edits.values() for entry in self._taken_out(edit)]
        self.moved = len(moving)
        if self.by == CYLINDER:
            self._put_on_cards(moving)
        else:
            self._put_on_sheets(moving)

    def standing(self) -> dict[str, list[Entry]]:
        """The entries of each name as they will stand."""
        standing: dict[str, list[Entry]] = defaultdict(list)
        for edit in self.edits.values():
            for entry in edit.standing() if edit.is_made else edit.entries.values():
                standing[entry.subject].append(entry)
        return standing

    def texts(self) -> dict[str, str]:
        """The texts of the files that change, by path."""
        return {path: edit.text() for path, edit in self.edits.items() if edit.is_made}

    # Taking entries out.

    def _taken_out(self, edit: FileEdit) -> Iterator[Moving]:
        floor = _end_of_first_comment(edit.page)
        for block in edit.page.blocks:
            yield from self._taken_out_of(edit, block, floor)

    def _taken_out_of(self, edit: FileEdit, block: BlockExtents, floor: int) -> Iterator[Moving]:
        header = block.header
        if header is None:
            return
        if not block.lines and (entry := edit.entry_of(header)):
            # A loose line.
            if self._moves(entry):
                yield self._take(edit, entry, header, floor)
            return
        if self._is_sheet(block) != (self.by == CYLINDER):
            return
        if self._is_damaged(edit.page.source.path, block):
            for entry in filter(None, map(edit.entry_of, block.lines)):
                self._keep(entry, "a line beside it cannot be read; correct that first")
            return
        taken, last = [], header.last + 1
        for line in block.lines:
            entry = edit.entry_of(line)
            if entry is not None and self._moves(entry):
                taken.append(self._take(edit, entry, line, last))
            last = line.last + 1
        if (
            taken
            and self.by == CYLINDER
            and self.dissolves_sheets
            and len(taken) == len(block.lines)
            and self._is_said_by_rows(edit, block, header, [one.entry for one in taken])
        ):
            taken = self._dissolve(edit, block, header, taken, floor)
        yield from taken

    def _headers_say(self, page: Page) -> dict[int, dict | None]:
        """By the first line of each sheet of a page, what its header says; None where that cannot be."""
        said = self._said.get(page.source.path)
        if said is None:
            said = self._said[page.source.path] = {}
            for kind in SHEETS:
                headed = {block.first: block.heading for block in page.sheets(kind) if block.heading is not None}
                said.update(zip(headed, headers_say(page.source, [*headed.values()], kind)))
        return said

    def _is_said_by_rows(self, edit: FileEdit, block: BlockExtents, header: Extent, entries: list[Entry]) -> bool:
        """Whether nothing but rows would be lost with a sheet: all that its header says is in some row too."""
        inside = range(header.last + 1, edit.page.end_of(block))
        if any(
            edit.page.lines[number].text.lstrip(" \t")[:1] not in ("", "#")
            for number in inside
            if number not in edit.out
        ):
            # The marker of a conflict.
            return False
        says = self._headers_say(edit.page).get(block.first)
        return says is not None and all(
            value in [getattr(entry, clause) for entry in entries] for clause, value in says.items()
        )

    @staticmethod
    def _is_sheet(block: BlockExtents) -> bool:
        return block.block.kind in SHEETS

    def _is_damaged(self, path: str, block: BlockExtents) -> bool:
        """
        Whether a line of a block cannot be read. Nothing is moved out of such a block or into it, for
        what a broken line is depends on the lines round it.
        """
        unread = self.unread.get(path, [])
        at = bisect_left(unread, block.first)
        return at < len(unread) and unread[at] <= block.last

    def _moves(self, entry: Entry) -> bool:
        """Whether an entry goes to another place. If it could and does not, it is kept note of."""
        if entry.subject not in self.cards:
            self._keep(entry, "no card declares it")
        elif self.by == CYLINDER and entry.subject in self.damaged_cards:
            self._keep(entry, "a line of its card cannot be read; correct that first")
        elif (entry.subject, entry.day) in self.staying:
            self._keep(entry, "elsewhere it would come in another order among entries of its day that have no time")
        else:
            return self.by == CYLINDER or (has_sheet(entry) and entry.subject in self.record.cylinders)
        return False

    def _keep(self, entry: Entry, why: str) -> None:
        if self.by == CYLINDER or has_sheet(entry):
            self.kept.append((entry, why))

    def _take(self, edit: FileEdit, entry: Entry, line: Extent, floor: int) -> Moving:
        """Take a line out with the comments in it and right above it, not above physical line `floor`."""
        page = edit.page
        first = max(page.above(line.first), min(floor, line.first))
        edit.out.update(range(first, line.last + 1))
        comments = [comment for number in range(first, line.last) for comment in _comments_of(page, number)]
        after = "".join(_comments_of(page, line.last))
        return Moving(entry, comments, after)

    def _dissolve(
        self, edit: FileEdit, block: BlockExtents, header: Extent, taken: list[Moving], floor: int
    ) -> list[Moving]:
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

    def _put_on_cards(self, moving: list[Moving]) -> None:
        by_name: dict[str, dict[int, Moving]] = defaultdict(dict)
        for one in moving:
            by_name[one.entry.subject][id(one.entry)] = one
        for name, going in by_name.items():
            self._put_on_card(name, going)

    def _put_on_card(self, name: str, going: dict[int, Moving]) -> None:
        """Put entries on a card, each after the one that comes before it in the life of the cylinder."""
        path, block = self.cards[name]
        edit = self.edits[path]
        card = self.record.cylinders.get(name) or self.record.air_sources[name]
        own = {id(entry): line for line in block.lines if (entry := edit.entry_of(line))}
        lines = list(own.values())
        if lines:
            at = edit.page.above(lines[0].first)
        else:
            at = block.last + 1
            edit.new[at] += [None] * bool(block.lines)
        model = lines[0] if lines else block.lines[-1] if block.lines and block.lines[-1].readable else None
        for entry in in_order(self.record.entries[name]).entries:
            if one := going.get(id(entry)):
                edit.new[at].append(NewSentence(one, partial(card_line, entry), LINES_OF[card.word], model, block))
            elif line := own.get(id(entry)):
                model = line
                at = line.last + 1

    # Sheets.

    def _put_on_sheets(self, moving: list[Moving]) -> None:
        new: dict[tuple, list[Moving]] = defaultdict(list)
        for one in sorted(moving, key=_time_and_place):
            entry = one.entry
            kind = entry.row.sheet_rule
            fitting = next((sheet for sheet in self._sheets.get((kind, entry.day), ()) if _fits(entry, sheet[2])), None)
            if fitting is None:
                new[entry.day, kind, *(str(getattr(entry, tells, None) or "") for tells in TELLS)].append(one)
                continue
            path, block, says = fitting
            edit = self.edits[path]
            time = "" if entry.time is None else entry.time.isoformat()
            model, at = edit.page.insertion(block, ("", time), row_key)
            edit.new[at].append(NewSentence(one, partial(row, entry, says), SHEETS[kind].row_rule, model, block))
        for day, kind, *tells in sorted(new):
            self._put_new_sheet(day, kind, new[day, kind, *tells])

    @cached_property
    def _sheets(self) -> dict[tuple[str, date], list[tuple[str, BlockExtents, dict]]]:
        """All sheets that can be read, by their kind and day: file, block and what the header says."""
        sheets: dict[tuple[str, date], list[tuple[str, BlockExtents, dict]]] = defaultdict(list)
        for path, page in self.pages.items():
            said = self._headers_say(page)
            for block in page.blocks:
                says = said.get(block.first)
                if says is not None and not self._is_damaged(path, block):
                    sheets[block.block.kind or "", says["day"]].append((path, block, says))
        return sheets

    def _put_new_sheet(self, day: date, kind: str, rows: list[Moving]) -> None:
        first = rows[0].entry
        says = {tells: value for tells in TELLS if (value := getattr(first, tells, None)) is not None}
        people = Counter(one.entry.by for one in rows)
        if None not in people:
            # A row cannot unsay what the header says, so that has to be true of all or said otherwise by them.
            says["by"] = people.most_common(1)[0][0]
        edit = self._file_for(kind, day)
        at = edit.page.place_of_block(kind, day)
        header = NewSentence(None, lambda: sheet_header(first._replace(**says), says), TOP)
        place = SHEETS[kind].row_rule
        edit.new[at] += [None, header, *(NewSentence(one, partial(row, one.entry, says), place) for one in rows), None]

    def _file_for(self, kind: str, day: date) -> FileEdit:
        """The file where the last sheet of a kind and a month lies, else the file of the month."""
        path = self._last_files.get((kind, f"{day:%Y-%m}")) or self.folder + _NEW_FILE.format(day)
        if path not in self.edits:
            self.edits[path] = FileEdit(Page(Source(path, "")), {})
        return self.edits[path]

    @cached_property
    def _last_files(self) -> dict[tuple[str, str], str]:
        """By kind and month, the file where the last sheet lies."""
        return {
            (block.block.kind or "", heading.values[0][: len("2024-03")]): path
            for path, page in self.pages.items()
            for block in page.blocks
            if (heading := block.heading) is not None and self._is_sheet(block)
        }


def _fits(entry: Entry, says: dict) -> bool:
    """Whether a sheet of its kind and day can take an entry and say of it what it says now, and no more."""
    for clause, value in says.items():
        own = getattr(entry, clause)
        if own is None or (own != value and clause in TELLS):
            return False
    return True


def _time_and_place(one: Moving) -> tuple:
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
