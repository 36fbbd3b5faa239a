"""
What one file says: blocks to cards, lines to entries. No name is looked up yet.

A line that cannot be read takes no other line with it: it is kept as a fault.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property
from operator import itemgetter
from typing import Any, NamedTuple

from cylfile.record.blocks import (
    AirSource,
    Cylinder,
    Declared,
    Department,
    Person,
    Recall,
    Seal,
    Site,
    StruckProperty,
    Tester,
    Waiver,
)
from cylfile.record.entries import BLOCK, START, Entry, Signed, entry_kind
from cylfile.record.plans import (
    ActPlan,
    EntryPlan,
    Meaning,
    Naming,
    Refusal,
    ShapeFault,
    act_plan,
    columns,
    entry_plan,
    says_otherwise,
    slots,
)
from cylfile.record.properties import LAST_NAME, PROPERTIES, REPEATABLE, REPEATABLE_ON_RECALLS
from cylfile.record.record import Record
from cylfile.record.vocabulary import ENTRY_RULES, SHEETS, Clause
from cylfile.text.acts import Act
from cylfile.text.language import LONGEST_LINE, Damaged, Sentence, Shape
from cylfile.text.ledger import LEDGER, LINES_OF, Block, LedgerReader
from cylfile.text.parse_table import Slot
from cylfile.text.source import Fault, Source, Span
from cylfile.text.spelling import american

# Rule of a block's header -> what it declares.
_DECLARES = {
    "department": Department, "site": Site, "person": Person, "tester": Tester,
    "source": AirSource, "cylinder": Cylinder, "recall": Recall,
}  # fmt: skip

# The places of rows, of which the sheet tells the kind.
_ROWS = {LINES_OF[sheet] for sheet in SHEETS}
# In the text of a fault, before the number of another line of the file.
TELLS_A_LINE = "the first is on line"
# The words that names are.
_NAMES = ("NAME", "COUNT")
# The plan of every shape met so far, for cards and loose lines, and for sheets. A shape is
# the same whatever file or record it stands in.
PLANS: dict[Shape, EntryPlan] = {}
_START = itemgetter(START)
# So many lines of acts are made into entries together at least, unless the file ends: what they say is at hand still then.
_MANY = 400
# How to read the words of every shape met so far that is no entry's.
_MEANINGS: dict[Shape, Meaning] = {}


def plan_of(entry: Entry) -> EntryPlan | ActPlan:
    """The plan by which an entry was made, be it in another process."""
    shape = entry.shape
    if isinstance(shape, Act):
        return act_plan(shape)
    return PLANS.get(shape) or entry_plan(shape, type(entry) if shape.place in _ROWS else None)


def _place(fault: Fault) -> int:
    return fault.span.start


def keep_fault(record: Record, fault: Fault, names: list[str]) -> None:
    if names and fault.subject is None:
        fault = fault._replace(subject=names[0])
    for name in names:
        record.damaged[name].append(fault)
    record.faults.append(fault)


class UnderNoCard(NamedTuple):
    """
    What is wrong with a line under no card that cannot be read, and whom it may be about: the `names` that it mentions,
    those that it may have been meant to declare, and those that have a row on the sheet that it stands on.
    """

    fault: Fault
    names: frozenset[str]
    declares: tuple[str, ...]
    rows: set[str]


# Lines of one act, and the base of each: what it is given with to be made into an entry.
_Gathered = tuple[list[Sentence], list[Any]]


class FileReader:
    """
    What one source says, before any name is looked up.

    `record` has its entries, recalls, waivers, seals and faults; `things` is what it declares
    besides, in its order, names that are taken among them. Who will rewrite the source has its `blocks` kept too.
    """

    def __init__(self, source: Source, keeps_blocks: bool = False):
        self.record = Record([source])
        self.blocks: list[Block] | None = [] if keeps_blocks else None
        self.things: list[Declared] = []
        self.damaged_lines: list[UnderNoCard] = []
        # Where the loose lines began that run on to here, and where the last of them stands.
        self.run: tuple[int, int] | None = None
        # (role, name) -> the first sentence that names it, in which of its values, and how many do.
        self.used: dict[tuple[str, str], list] = {}
        # Those of further stretches of the source, where it was not read as a whole.
        self.further: list[FileReader] = []
        # What is given by acts, to be made into entries together, for most blocks are short: lines with their name, source
        # and block, or with the entry that the header of their sheet made; sheets by the acts of their headers, and by the
        # places of these; and the names on sheets that were asked for.
        self._gathered: dict[Act, _Gathered] = defaultdict(lambda: ([], []))
        self._headers: dict[Act, list[Block]] = defaultdict(list)
        self._sheets: dict[int, Block] = {}
        self._names_on: dict[int, set[str]] = {}

    @cached_property
    def kinds(self) -> dict[str, set[type[Entry]]]:
        """The kinds of the entries of each name."""
        return {name: {entry.__class__ for entry in entries} for name, entries in self.record.entries.items()}

    def read(self, start: int = 0, end: int | None = None, run: tuple[int, int] | None = None) -> "FileReader":
        """
        Read the source, or what stands in it between two offsets at which blocks begin.

        `run` is where the loose lines began that run on to `start`, and where the last of them stands.
        """
        (source,) = self.record.sources
        self.run = run
        reader = LedgerReader(source, by_acts=True)
        held = 0
        blocks: Iterable[Block] = reader.blocks(start, end)
        if self.blocks is not None:
            blocks = self.blocks = list(blocks)
        for block in blocks:
            self._block(block)
            held += 1 + len(block.lines)
            if held >= _MANY:
                self._make_gathered()
                held = 0
        self._end(reader)
        return self

    def read_entries(self, header: int, start: int, end: int) -> "FileReader | None":
        """
        Read what stands between two offsets under the header of a card, where that is entries and lines that cannot be read.

        None where a property is among it, for which the rest of the card counts, or another block.
        """
        (source,) = self.record.sources
        reader = LedgerReader(source, by_acts=True)
        block = reader.lines_between(header, start, end)
        if block is None or not all(isinstance(line, Damaged) or _is_entry(line) for line in block.lines):
            return None
        self._block(block)
        self.things.clear()
        self._end(reader)
        return self

    def _end(self, reader: LedgerReader) -> None:
        """Make what is gathered into entries, and put all in the order of the source."""
        self._make_gathered()
        self.record.faults += reader.faults
        # What is told does not depend on what was read together.
        self.record.faults.sort(key=_place)
        for faults in self.record.damaged.values():
            faults.sort(key=_place)
        self.damaged_lines.sort(key=lambda line: _place(line.fault))
        for entries in self.record.entries.values():
            entries.sort(key=_START)

    # Blocks.

    def _block(self, block: Block) -> None:
        header = block.header
        act = header[0] if isinstance(header, Sentence) and isinstance(header[0], Act) else None
        if act is not None and act.heading:
            self.run = None
            self._headers[act].append(block)
            return
        if header is not None:
            self.run = self._run_on(block.source, header.start)
        if header is None or isinstance(header, Damaged):
            if header is not None:
                self._damaged(block.source, header)
            self._under_nothing(block)
            return
        if act is not None:
            lines, bases = self._gathered[act]
            lines.append(header)
            bases.append((None, block.source, self.run and self.run[0]))
            self._under_nothing(block)
            return
        kind = block.kind
        if kind in SHEETS:
            self._sheet(block, header, SHEETS[kind].rule)
        elif kind in _DECLARES:
            self._declaration(block, header, _DECLARES[kind])
        else:
            self._single(block, header, kind)
            self._under_nothing(block)

    def _under_nothing(self, block: Block) -> None:
        """Keep the lines of a block that takes none: they are damaged, all of them."""
        for line in block.lines:
            assert isinstance(line, Damaged)
            self._damaged(block.source, line)

    def _under_damaged(self, block: Block, why: str) -> None:
        """Keep the lines under a header that has just been refused: whose they are is not known."""
        source, header = block.source, self.record.faults[-1].span
        for line in block.lines:
            if isinstance(line, Damaged):
                self._damaged(source, line._replace(fault=line.fault._replace(because=header)))
            else:
                fault = Fault(
                    self._line_span(source, line), f"this line cannot be placed: {why}", "Correct the header first."
                )
                self._damage(source, line, fault._replace(because=header), None)

    def _run_on(self, source: Source, start: int) -> tuple[int, int] | None:
        """The run of loose lines that a line in column 1 is part of: it begins with a day, readable or not."""
        if not source.text[start].isdigit():
            return None
        run = self.run
        return (start if run is None or source.is_parted(run[1], start) else run[0]), start

    def _single(self, block: Block, header: Sentence, kind: str | None) -> None:
        """A block of one line: a loose entry, a waiver or a seal."""
        if kind is None or kind in ENTRY_RULES:
            self._entries(block.source, [header], None, None, self.run and self.run[0])
            return
        words = self._words(block.source, header)
        if words is None:
            return
        span = self._line_span(block.source, header)
        if kind == "waived":
            rule, name, *days, by, text = words
            since = days[0] if len(days) > 1 else None
            self.record.waivers.append(Waiver(span, american(rule), name, since, days[-1], by, text))
        else:
            day, by, count, digest = words
            self.record.seals.append(Seal(span, day, by, int(count), digest))

    def _declaration(self, block: Block, header: Sentence, declares: type[Declared]) -> None:
        words = self._words(block.source, header)
        if words is None:
            self._under_damaged(block, "the header above it cannot be read")
            return
        terminals = [slot.terminal for slot in sorted(slots(header.shape.tree))]
        name = "department" if declares is Department else str(words[0])
        text = next((word for word, terminal in zip(words, terminals) if terminal == "TEXT"), "")
        span = self._slot_span(block.source, header, 0)
        thing = declares(name, span, text)
        if isinstance(thing, Recall):
            thing.day = words[0]
            self.record.recalls.append(thing)
        else:
            self.things.append(thing)
        entries = []
        for line in block.lines:
            if isinstance(line, Damaged):
                self._damaged(block.source, line, name)
            elif _is_entry(line):
                entries.append(line)
            else:
                self._property(block.source, thing, line)
        if entries:
            self._entries(block.source, entries, None, name, header.start)
        if declares is Recall and not block.lines:
            place = self._line_span(block.source, header)
            cure = "Write under it what they have in common: `class`, `maker`, `serial` or `made`."
            keep_fault(self.record, Fault(place, "this recall does not say which cylinders it means", cure), [])

    def _property(self, source: Source, thing: Declared, line: Sentence) -> None:
        words = self._words(source, line, thing.name)
        if words is None:
            return
        tree, *strike = line.shape.tree.children
        span = self._line_span(source, line)
        keyword = american(LEDGER.keyword_terminals[line.shape.terminals[0]])
        repeatable = REPEATABLE_ON_RECALLS if isinstance(thing, Recall) else REPEATABLE
        # A struck line has its effect on a block of its own, so that it can be said what it said.
        target = type(thing)(thing.name, thing.span) if strike else thing
        try:
            if keyword in target.where and tree.data not in repeatable:
                first = target.where[keyword].line
                text = f"`{keyword}` is written twice on this {thing.word}; {TELLS_A_LINE} {first}"
                raise Refusal(text, "Keep the one that is true.")
            PROPERTIES[tree.data](target, words[: -len(Signed._fields)] if strike else words, tree)
        except Refusal as refusal:
            self._damaged(source, Damaged(line.start, span.end, Fault(span, str(refusal), refusal.cure)), thing.name)
            return
        if strike:
            thing.struck_properties.append(StruckProperty(target, Signed(*words[-len(Signed._fields) :]), span))
            return
        thing.where.setdefault(keyword, span)
        if tree.data in LAST_NAME:
            thing.where.setdefault(f"{keyword} {LAST_NAME[tree.data](thing)}", span)

    # Entries.

    def _sheet(self, block: Block, header: Sentence, rule: str) -> None:
        kind = entry_kind(rule)
        base = self._base(kind, None, block.source, header.start)
        made = self._made(block.source, [header], self._plan(header.shape, kind), base)
        if not made:
            self._under_damaged(block, "the header of its sheet cannot be read")
            return
        self._sheets[header.start] = block
        lines: Sequence[Sentence | Damaged] = block.lines
        if says_otherwise(made[0]):
            lines = [LEDGER.in_order(block.source, line) if isinstance(line, Sentence) else line for line in lines]
        self._rows(block, lines, made[0])

    def _rows(self, block: Block, lines: Sequence[Sentence | Damaged], header: Entry) -> None:
        """Read some of the rows of a sheet under the entry that its header made."""
        read_before = len(self.damaged_lines)
        self._entries(block.source, lines, type(header), None, None, header)
        self._doubt_rows(block, read_before)

    def _doubt_rows(self, sheet: Block, read_before: int) -> None:
        """Say of the lines that were found damaged meanwhile that they may be about any cylinder of their sheet."""
        if len(self.damaged_lines) > read_before:
            # Which of them it is about cannot be told, for a name may be what is wrong. All lines have one set of names.
            assert sheet.header is not None, "a sheet has a header"
            rows = self._names_on.get(sheet.header.start)
            if rows is None:
                rows = {name for line in sheet.lines if (name := _name_of_row(sheet.source, line.start))}
                self._names_on[sheet.header.start] = rows
            self.damaged_lines[read_before:] = [
                damaged._replace(rows=rows) for damaged in self.damaged_lines[read_before:]
            ]

    def _entries(
        self,
        source: Source,
        lines: Sequence[Sentence | Damaged],
        kind: type[Entry] | None,
        subject: str | None,
        block: int | None,
        header: Entry | None = None,
    ) -> None:
        """
        Read lines as entries, on a sheet of one `kind`. What the lines do not say comes from the `header` of the
        sheet, else it is the `subject` of the card and the `block`.
        """
        runs: dict[Shape, list[Sentence]] = {}
        for line in lines:
            if type(line) is Damaged:
                self._damaged(source, line, subject)
            elif type(line[0]) is Act:
                gathered, bases = self._gathered[line[0]]
                gathered.append(line)
                bases.append((subject, source, block) if header is None else header)
            else:
                runs.setdefault(line[0], []).append(line)
        for shape, run in runs.items():
            plan = self._plan(shape, kind)
            base = tuple(header) if header is not None else self._base(plan.kind, subject, source, block)
            self._keep(self._made(source, run, plan, base))

    def _keep(self, made: list[Entry]) -> None:
        entries = self.record.entries
        for entry in made:
            entries[entry[2]].append(entry)

    # Lines given by their acts.

    def _make_gathered(self) -> None:
        """Make the entries of the lines that were gathered: of the headers of sheets, then of what stands below them."""
        (source,) = self.record.sources
        gathered, entries = self._gathered, self.record.entries
        for act, sheets in self._headers.items():
            headers: list[Any] = [sheet.header for sheet in sheets]
            where = [(None, source, header.start) for header in headers]
            for sheet, header, made in zip(sheets, headers, self._made_by_act(act, headers, where)):
                if made is None:
                    self._sheet(sheet, LEDGER.in_order(source, header), SHEETS[act.rule].rule)
                    continue
                self._sheets[header.start] = sheet
                others = []
                for line in sheet.lines:
                    if type(line[0]) is Act:
                        lines, bases = gathered[line[0]]
                        lines.append(line)
                        bases.append(made)
                    else:
                        others.append(line)
                if others:
                    self._rows(sheet, others, made)
        for act, (lines, bases) in gathered.items():
            for line, base, made in zip(lines, bases, self._made_by_act(act, lines, bases)):
                if made is None:
                    self._look_at(source, line, base)
                else:
                    entries[made[2]].append(made)
        for told in (self._headers, gathered, self._sheets, self._names_on):
            told.clear()

    def _made_by_act(self, act: Act, lines: list[Sentence], bases: list) -> list[Entry | None]:
        """The entries of lines of one act, each with its base; None in place of one that is refused."""
        plan = act_plan(act)
        made: list[Entry | None] = []
        for first in range(0, len(lines), _MANY):
            # A block may have any number of lines, and columns are quick and need little memory while they are short.
            some = lines[first : first + _MANY]
            words = columns(some)
            entries = plan.make(some, words, bases[first : first + _MANY])
            if not all(entries):
                some = [line for line, entry in zip(some, entries) if entry is not None]
                words = columns(some)
            if some:
                self._use(some, words, plan.names)
            made += entries
        return made

    def _look_at(self, source: Source, line: Sentence, base: tuple) -> None:
        """Read a line that its act refuses: its words are looked at one by one."""
        line = LEDGER.in_order(source, line)
        if isinstance(base, Entry):
            self._rows(self._sheets[base[BLOCK]], [line], base)
        else:
            subject, _, block = base
            self._entries(source, [line], None, subject, block)

    def _plan(self, shape: Shape, kind: type[Entry] | None) -> EntryPlan:
        plan = PLANS.get(shape)
        if plan is None:
            plan = PLANS[shape] = entry_plan(shape, kind)
        return plan

    def _base(self, kind: type[Entry], subject: str | None, source: Source, block: int | None) -> tuple:
        """An entry that says nothing of itself: only whose card and which block it stands in."""
        return (None, None, subject, *kind.unsaid, source, None, block, None)

    def _made(self, source: Source, lines: list[Sentence], plan: EntryPlan, base: tuple) -> list[Entry]:
        """The entries of lines of one shape. A line that is refused is kept as damaged and makes none."""
        if not plan.fault and not self._missing(plan, base):
            try:
                made = plan.make(lines, base)
            except Refusal:
                # One of them; the others are told from it below.
                pass
            else:
                self._use(lines, columns(lines), plan.names)
                return made
        return [entry for line in lines for entry in self._made_alone(source, line, plan, base)]

    def _made_alone(self, source: Source, line: Sentence, plan: EntryPlan, base: tuple) -> list[Entry]:
        """The entry of one line, or nothing and a fault kept."""
        subject = base[2]
        if plan.fault:
            self._damage(source, line, self._shape_fault(source, line, plan.fault), subject)
        elif missing := self._missing(plan, base):
            text = f"`{plan.kind.verb}` needs {missing[0].what}"
            cure = f"Write {missing[0].what}."
            self._damage(source, line, Fault(self._line_span(source, line), text, cure), subject)
        else:
            try:
                made = plan.make([line], base)
            except Refusal:
                self._refused(source, line, plan, subject)
            else:
                self._use([line], columns([line]), plan.names)
                return made
        return []

    def _missing(self, plan: EntryPlan, base: tuple) -> list[Clause]:
        """The clauses that an entry needs and has neither of itself nor from its sheet; a header needs none."""
        if not plan.lacks or (base[2] is None and "subject" not in plan.fields):
            return []
        said = {field for field, value in zip(plan.kind._fields, base) if value is not None}
        return [clause for clause in plan.lacks if said.isdisjoint(plan.kind.row.fields_for(clause))]

    def _use(self, lines: Sequence[Sentence], words: Sequence[tuple], names: Sequence[Naming]) -> None:
        """Note the names that lines of one act or shape give, to be looked up once every file is read; `words` are their columns."""
        for slot, role in names:
            column = words[slot]
            # Not all lines of an act say it.
            for name, count in Counter(filter(None, column)).items():
                known = self.used.get((role, name))
                if known is None:
                    self.used[role, name] = [lines[column.index(name)], slot, count]
                    continue
                known[2] += count
                if known[0].start > lines[0].start:
                    first = lines[column.index(name)]
                    if known[0].start > first.start:
                        known[:2] = first, slot

    # What cannot be read.

    def _words(self, source: Source, line: Sentence, subject: str | None = None) -> tuple | None:
        """What the words of a line that is no entry mean; None, and a fault kept, where one means nothing."""
        meaning = _MEANINGS.get(line.shape)
        if meaning is None:
            meaning = _MEANINGS[line.shape] = Meaning(line.shape)
        try:
            return meaning.words(line.values)
        except Refusal:
            self._refused(source, line, meaning, subject)
            return None

    def _refused(self, source: Source, line: Sentence, meaning: Meaning, subject: str | None) -> None:
        self._damage(source, line, self._shape_fault(source, line, meaning.refused(line.values)), subject)

    def _shape_fault(self, source: Source, line: Sentence, fault: ShapeFault) -> Fault:
        slot, text, cure = fault
        return Fault(
            self._slot_span(source, line, slot) if slot is not None else self._line_span(source, line), text, cure
        )

    def _damage(self, source: Source, line: Sentence, fault: Fault, subject: str | None) -> None:
        end = self._line_span(source, line).end
        self._damaged(source, Damaged(line.start, end, fault), subject)

    def _damaged(self, source: Source, line: Damaged, subject: str | None = None) -> None:
        """Keep a line that cannot be read: on its card, or under every name that it mentions."""
        names = [subject] if subject else []
        if not names:
            # Which cylinder the line is about is not guessed: each name in it is in doubt.
            self.damaged_lines.append(UnderNoCard(line.fault, *_names_in(source, line), set()))
        keep_fault(self.record, line.fault, names)

    def _line_span(self, source: Source, line: Sentence) -> Span:
        """The place of a sentence, from its first word to its last."""
        return Span(source, *LEDGER.extent(source, line.start, line.shape))

    def _slot_span(self, source: Source, line: Sentence, slot: int) -> Span:
        return LEDGER.value_span(source, line.start, line.shape, slot)


def _is_entry(line: Sentence) -> bool:
    """Whether a line of a card is an entry: all others are properties."""
    return type(line.shape) is Act or isinstance(line.shape.tree.children[0], Slot)


def _names_in(source: Source, line: Damaged) -> tuple[frozenset[str], tuple[str, ...]]:
    """The names that a line mentions, and those that it may have been meant to declare, in their order."""
    text = source.text
    # A header begins in column 1, with a word.
    may_declare = text[line.start] not in " \t0123456789" and (line.start == 0 or text[line.start - 1] == "\n")
    if line.names is not None and not may_declare:
        return line.names, ()
    words = LEDGER.words(text, line.start, min(line.end, line.start + LONGEST_LINE))
    names = frozenset(word.text for word in words if word.type in _NAMES)
    return names, tuple(word.text for word in words[1:3] if word.type in _NAMES and may_declare)


def _name_of_row(source: Source, start: int) -> str | None:
    """The first word of a row that can be a name."""
    words = LEDGER.each_word(source.text, start, source.line_end(start))
    return next((word.text for word in words if word.type in _NAMES), None)
