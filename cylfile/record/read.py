"""
From sources to the record: blocks to cards, lines to entries, names to what they stand for.

Every stage gives its value and its faults. A line that cannot be read takes no other line
with it: it is kept as a fault, under the name of each cylinder or source that it mentions.
"""

from cylfile.record.blocks import AirSource, Cylinder, Department, Person, Recall, Seal, Site, Tester, Waiver
from cylfile.record.entries import CYLINDER_VERBS, ENTRY_KINDS, SOURCE_VERBS
from cylfile.record.plans import EntryPlan, Meaning, Refusal, entry_plan, slots
from cylfile.record.properties import PROPERTIES, REPEATABLE
from cylfile.record.record import Record, line_span
from cylfile.text.language import Damaged, Sentence, Shape, Slot
from cylfile.text.ledger import LEDGER, Block, LedgerReader
from cylfile.text.source import Fault, Source, Span

# Rule of a block's header -> what it declares.
_DECLARES = {
    "department": Department, "site": Site, "person": Person, "tester": Tester,
    "source": AirSource, "cylinder": Cylinder, "recall": Recall,
}  # fmt: skip
# Kind of sheet -> the verb of its rows.
SHEET_VERBS = {"fill_sheet": "filled", "visual_sheet": "visual", "hydro_sheet": "hydro", "gauge_sheet": "gauged"}
# Field of an entry that holds a name -> what the name should be.
_ROLES = {"on": "source", "at_site": "site", "to_site": "site", "from_site": "site"}
# Verbs whose `by` names the tester. A person there is no unknown name; the rules judge who it is.
_BY_TESTER = ("hydro", "life extended")

# The plan of every shape met so far, for cards and loose lines, and for sheets. A shape is
# the same whatever file or record it stands in.
_PLANS: dict[Shape, EntryPlan | Meaning] = {}


def read_record(
    sources: list[Source], faults: list[Fault] = (), read_before: dict[Source, "FileReader"] | None = None
) -> Record:
    """
    The record that the sources make together, whatever their order.

    `faults` are those met while the sources were had. Never raises on what they say. Who reads
    several records that have sources in common gives each time the same dictionary, empty at
    first, as `read_before`: in it is kept what each source says, so that it is read once.
    """
    files = {} if read_before is None else read_before
    reader = RecordReader(sources, faults)
    for source in reader.record.sources:
        file = files.get(source) or FileReader(source).read()
        if read_before is not None:
            files[source] = file
        reader.take_in(file)
    return reader.resolved()


def _keep_fault(record: Record, fault: Fault, names: list[str]) -> None:
    if names and fault.subject is None:
        fault = Fault(fault.span, fault.text, fault.cure, fault.instead, fault.rule, names[0])
    for name in names:
        record.damaged[name].append(fault)
    record.faults.append(fault)


class FileReader:
    """
    What one source says, before any name is looked up.

    `record` has its entries, recalls, waivers, seals and faults; `things` is what it declares
    besides, in its order, names that are taken among them.
    """

    def __init__(self, source: Source):
        self.record = Record(sources=[source])
        self.things: list = []
        self.damaged_lines: list[tuple[Source, Damaged]] = []
        # (role, name) -> the first entry that names it, and how many do.
        self.used: dict[tuple[str, str], list] = {}

    def read(self) -> "FileReader":
        (source,) = self.record.sources
        reader = LedgerReader(source)
        for block in reader.blocks():
            self._block(block)
        self.record.faults += reader.faults
        return self

    # Blocks.

    def _block(self, block: Block) -> None:
        header = block.header
        if header is None or isinstance(header, Damaged):
            if header is not None:
                self._damaged(block.source, header)
            for line in block.lines:
                self._damaged(block.source, line)
            return
        kind = block.kind
        if kind in SHEET_VERBS:
            self._sheet(block, SHEET_VERBS[kind])
        elif kind in _DECLARES:
            self._declaration(block, _DECLARES[kind])
        else:
            self._single(block, kind)
            for line in block.lines:
                self._damaged(block.source, line)

    def _single(self, block: Block, kind: str | None) -> None:
        """A block of one line: a loose entry, a waiver or a seal."""
        if kind is None or kind in ENTRY_KINDS:
            self._entries(block.source, [block.header], None, {})
            return
        words = self._words(block.source, block.header)
        if words is None:
            return
        span = line_span(block.source, block.header.start, len(block.header.shape.terminals))
        if kind == "waived":
            rule, name, until, by, text = words
            self.record.waivers.append(Waiver(span, rule, name, until, by, text))
        else:
            day, by, count, digest = words
            self.record.seals.append(Seal(span, day, by, int(count), digest))

    def _declaration(self, block: Block, declares) -> None:
        header = block.header
        words = self._words(block.source, header)
        if words is None:
            for line in block.lines:
                self._damaged(block.source, _under(block.source, line, "the header above it cannot be read"))
            return
        terminals = [slot.terminal for slot in sorted(slots(header.shape.tree))]
        name = "department" if declares is Department else str(words[0])
        text = next((word for word, terminal in zip(words, terminals) if terminal == "TEXT"), "")
        span = self._slot_span(block.source, header, 0)
        thing = declares(name, span, text)
        if declares is Recall:
            thing.day = words[0]
            self.record.recalls.append(thing)
        else:
            self.things.append(thing)
        entries = []
        for line in block.lines:
            if isinstance(line, Damaged):
                self._damaged(block.source, line, name)
            elif isinstance(line.shape.tree.children[0], Slot):
                entries.append(line)
            else:
                self._property(block.source, thing, line)
        if entries:
            self._entries(block.source, entries, None, {"subject": name})

    def _property(self, source: Source, thing, line: Sentence) -> None:
        words = self._words(source, line, thing.name)
        if words is None:
            return
        (tree,) = line.shape.tree.children
        span = line_span(source, line.start, len(line.shape.terminals))
        refusal = PROPERTIES[tree.data](thing, words, tree)
        keyword = next(text for text, name in LEDGER.keywords.items() if name == line.shape.terminals[0])
        if keyword in thing.where and tree.data not in REPEATABLE:
            refusal = f"`{keyword}` stands twice on this {thing.word}; the first is on line {thing.where[keyword].line}"
        if refusal:
            fault = Fault(span, refusal, "Keep the one that is true.", subject=thing.name)
            _keep_fault(self.record, fault, [thing.name])
        thing.where.setdefault(keyword, span)
        if tree.data in REPEATABLE:
            said = words[0] if words else tree.children[0].data
            thing.where.setdefault(f"{keyword} {said}", span)

    # Entries.

    def _sheet(self, block: Block, rule: str) -> None:
        kind = ENTRY_KINDS[rule]
        header = block.header
        plan = self._plan(header.shape, kind)
        base = self._base(kind, block.source, {})
        made = self._made(block.source, [header], plan, base)
        if not made:
            for line in block.lines:
                self._damaged(block.source, _under(block.source, line, "the header of its sheet cannot be read"))
            return
        (entry,) = made
        self._use(entry, plan)
        self._entries(block.source, block.lines, kind, entry._asdict())

    def _entries(self, source: Source, lines, kind, says: dict) -> None:
        """Read lines as entries. What the lines do not say comes from `says`, field by field."""
        entries, subject = self.record.entries, says.get("subject")
        runs: dict[Shape, list[Sentence]] = {}
        for line in lines:
            if line.__class__ is Damaged:
                self._damaged(source, line, subject)
            else:
                runs.setdefault(line[0], []).append(line)
        for shape, run in runs.items():
            plan = self._plan(shape, kind)
            base = self._base(plan.kind, source, says)
            made = self._made(source, run, plan, base)
            for entry in made:
                entries[entry[2]].append(entry)
            if plan.names:
                for entry in made:
                    self._use(entry, plan)

    def _plan(self, shape: Shape, kind=None) -> EntryPlan:
        plan = _PLANS.get(shape)
        if plan is None:
            plan = _PLANS[shape] = entry_plan(shape, kind)
        return plan

    def _base(self, kind, source: Source, says: dict) -> tuple:
        return tuple(source if field == "source" else says.get(field) for field in kind._fields)

    def _made(self, source: Source, lines: list[Sentence], plan: EntryPlan, base: tuple) -> list:
        """The entries of lines of one shape. A line that is refused is kept as damaged and makes none."""
        if not plan.twice and not self._missing(plan, base):
            try:
                return plan.make(lines, base)
            except Refusal:
                # One of them; the others are told from it below.
                pass
        return [entry for line in lines for entry in self._made_alone(source, line, plan, base)]

    def _made_alone(self, source: Source, line: Sentence, plan: EntryPlan, base: tuple) -> list:
        """The entry of one line, or nothing and a fault kept."""
        subject = base[2]
        if plan.twice:
            slot = plan.twice_slot
            span = self._slot_span(source, line, slot) if slot is not None else self._line_span(source, line)
            text = f"`{_form_word(plan, plan.twice)}` stands twice on this line"
            self._damage(source, line, Fault(span, text, "Keep the one that is true."), subject)
        elif missing := self._missing(plan, base):
            text = f"`{plan.kind.verb}` without {missing[0].what}"
            cure = f"Write {missing[0].what}."
            self._damage(source, line, Fault(self._line_span(source, line), text, cure), subject)
        else:
            try:
                return plan.make([line], base)
            except Refusal:
                self._refused(source, line, plan, subject)
        return []

    def _missing(self, plan: EntryPlan, base: tuple) -> list:
        """The clauses that an entry needs and has neither of itself nor from its sheet; a header needs none."""
        if not plan.lacks or (base[2] is None and "subject" not in plan.fields):
            return []
        return [clause for clause in plan.lacks if base[plan.kind._fields.index(clause.field)] is None]

    def _use(self, entry, plan: EntryPlan) -> None:
        """Note the names that a line gives, to be looked up once every file is read."""
        for field in plan.names:
            value = getattr(entry, field)
            name = value.by if field in ("struck", "late") else value
            role = "tester" if field == "by" and entry.verb in _BY_TESTER else _ROLES.get(field, "person")
            self.used.setdefault((role, name), [entry, 0])[1] += 1

    # What cannot be read.

    def _words(self, source: Source, line: Sentence, subject: str | None = None) -> tuple | None:
        """What the words of a line that is no entry mean; None, and a fault kept, where one means nothing."""
        meaning = _PLANS.get(line.shape)
        if meaning is None:
            meaning = _PLANS[line.shape] = Meaning(line.shape)
        try:
            return meaning.words(line.values)
        except Refusal:
            self._refused(source, line, meaning, subject)
            return None

    def _refused(self, source: Source, line: Sentence, meaning: Meaning, subject: str | None) -> None:
        slot, refusal = meaning.refused(line.values)
        self._damage(source, line, Fault(self._slot_span(source, line, slot), str(refusal), refusal.cure), subject)

    def _damage(self, source: Source, line: Sentence, fault: Fault, subject: str | None) -> None:
        end = self._line_span(source, line).end
        self._damaged(source, Damaged(line.start, end, fault), subject)

    def _damaged(self, source: Source, line, subject: str | None = None) -> None:
        """Keep a line that cannot be read: on its card, or under every name that it mentions."""
        if isinstance(line, Sentence):
            line = _under(source, line, "it stands where no line can stand")
        names = [subject] if subject else []
        if not names:
            # Which cylinder the line is about is not guessed: each name in it is in doubt.
            self.damaged_lines.append((source, line))
        _keep_fault(self.record, line.fault, names)

    def _line_span(self, source: Source, line: Sentence) -> Span:
        return line_span(source, line.start, len(line.shape.terminals))

    def _slot_span(self, source: Source, line: Sentence, slot: int) -> Span:
        words = LEDGER.words_of(source.text, line.start, len(line.shape.terminals))
        valued = [word for word in words if word.type not in LEDGER.keyword_terminals]
        return Span(source, valued[slot].start, valued[slot].end)


class RecordReader:
    """Puts files together, and looks up their names once they all are."""

    def __init__(self, sources: list[Source], faults):
        self.record = Record(sources=sorted(sources, key=lambda source: source.path), faults=list(faults))
        self.damaged_lines: list[tuple[Source, Damaged]] = []
        self.used: dict[tuple[str, str], list] = {}

    def take_in(self, file: FileReader) -> None:
        """Add what a file says."""
        record, said = self.record, file.record
        for thing in file.things:
            self.declare(thing)
        for name, entries in said.entries.items():
            record.entries[name] += entries
        for name, faults in said.damaged.items():
            record.damaged[name] += faults
        for table in ("recalls", "waivers", "seals", "faults"):
            getattr(record, table).extend(getattr(said, table))
        self.damaged_lines += file.damaged_lines
        for key, (entry, count) in file.used.items():
            self.used.setdefault(key, [entry, 0])[1] += count

    def declare(self, thing) -> None:
        """Add what a block declares. A name that is taken is a fault, and the first that has it keeps it."""
        record = self.record
        if isinstance(thing, Department):
            if record.department is not None:
                self._fault(thing.span, "a second department; a record has one", "Remove one of them.", "name-taken")
                return
            record.department = thing
        else:
            tables = (record.cylinders, record.air_sources, record.testers, record.people, record.sites)
            taken = next((table[thing.name] for table in tables if thing.name in table), None)
            if taken is not None:
                line = f"{taken.span.source.path}:{taken.span.line}"
                text = f"`{thing.name}` is taken: {line} declares a {taken.word} of that name"
                self._fault(
                    thing.span, text, "Give one of them another name, in all its lines.", "name-taken", thing.name
                )
            table = {Site: record.sites, Person: record.people, Tester: record.testers, AirSource: record.air_sources,
                     Cylinder: record.cylinders}[type(thing)]  # fmt: skip
            table.setdefault(thing.name, thing)

    def _fault(self, span: Span, text: str, cure: str, rule: str, subject: str | None = None) -> None:
        self.record.faults.append(Fault(span, text, cure, None, rule, subject))

    def resolved(self) -> Record:
        """The record, with what is wrong with its names among its faults."""
        record = self.record
        declared = record.declared
        for name, entries in list(record.entries.items()):
            thing = declared.get(name)
            if thing is None or thing.word not in ("cylinder", "source"):
                self._unknown_subject(name, thing, entries)
                continue
            verbs = CYLINDER_VERBS if thing.word == "cylinder" else SOURCE_VERBS[thing.kind]
            wrong = [entry for entry in entries if entry.verb not in verbs]
            for entry in wrong:
                _keep_fault(record, _wrong_verb(entry, thing), [name])
            if wrong:
                record.entries[name] = [entry for entry in entries if entry.verb in verbs]
        self._unknown_names(declared)
        self._taken_marks()
        self._damaged_names(declared)
        return record

    def _unknown_subject(self, name: str, thing, entries) -> None:
        first = entries[0]
        more = f" ({len(entries)} entries name it)" if len(entries) > 1 else ""
        if thing is None:
            text, cure = f"no card declares `{name}`{more}", f"Correct the name, or open a card: cylinder {name}"
        else:
            text, cure = f"`{name}` is a {thing.word}, not a cylinder or a source{more}", "Correct the name."
        self._fault(first.span, text, cure, "unknown-name", name)

    def _unknown_names(self, declared) -> None:
        record = self.record
        for (role, name), (entry, count) in self.used.items():
            thing = declared.get(name)
            if thing is not None and (thing.word == role or (role == "tester" and thing.word == "person")):
                continue
            more = f" ({count} entries name it)" if count > 1 else ""
            text = (
                f"`{name}` is a {thing.word}, not a {role}{more}"
                if thing
                else f"no block declares the {role} `{name}`{more}"
            )
            self._fault(entry.span, text, f'Correct the name, or declare it: {role} {name} "..."', "unknown-name", name)
        for waiver in record.waivers:
            for role, name in (("person", waiver.by), (None, waiver.name)):
                thing = declared.get(name)
                if thing is None or (role and thing.word != role):
                    self._fault(
                        waiver.span,
                        f"the waiver names `{name}`, which no block declares",
                        "Correct the name.",
                        "unknown-name",
                        name,
                    )
        for seal in record.seals:
            if seal.by not in record.people:
                self._fault(
                    seal.span,
                    f"the seal names `{seal.by}`, whom no block declares",
                    "Correct the name.",
                    "unknown-name",
                    seal.by,
                )
        for air_source in record.air_sources.values():
            if air_source.site and air_source.site not in record.sites:
                text = f"no block declares the site `{air_source.site}`"
                self._fault(
                    air_source.where["at"],
                    text,
                    f'Correct the name, or declare it: site {air_source.site} "..."',
                    "unknown-name",
                    air_source.site,
                )

    def _taken_marks(self) -> None:
        """Two cylinders with one serial number or one tag."""
        for what in ("serial", "tag"):
            holders: dict[str, Cylinder] = {}
            for card in self.record.cylinders.values():
                for mark in card.tags if what == "tag" else filter(None, [card.serial]):
                    other = holders.setdefault(mark, card)
                    if other is not card:
                        text = f"{what} {mark} is also the {what} of {other.name}"
                        self._fault(card.where[what], text, "Correct the one that is wrong.", "name-taken", card.name)

    def _damaged_names(self, declared) -> None:
        """Put the lines under no card that cannot be read under every cylinder and source they mention."""
        for source, line in self.damaged_lines:
            end = min(line.end, line.start + 2_000)
            names = {
                token.text for token in LEDGER.tokens(source.text, line.start, end) if token.type in ("NAME", "COUNT")
            }
            for name in sorted(names & declared.keys()):
                if declared[name].word in ("cylinder", "source"):
                    self.record.damaged[name].append(line.fault)


def _wrong_verb(entry, thing) -> Fault:
    """The fault of an entry whose verb is none of what it is about."""
    if thing.word == "source" and entry.verb in SOURCE_VERBS["storage"]:
        text = f"`{entry.verb}` is an entry of a storage, and {thing.name} is a compressor, which holds no air"
        cure = f"Name the cylinder or the storage that it was; a fill names its compressor with `on {thing.name}`."
        return Fault(entry.span, text, cure, subject=thing.name)
    other = "a source" if thing.word == "cylinder" else "a cylinder"
    text = f"`{entry.verb}` is an entry of {other}, and {thing.name} is a {thing.word}"
    return Fault(entry.span, text, "Check the name and the verb.", subject=thing.name)


def _under(source: Source, line, why: str) -> Damaged:
    """A readable line as a damaged one, since what it stands under cannot be read."""
    if isinstance(line, Damaged):
        return line
    span = line_span(source, line.start, len(line.shape.terminals))
    return Damaged(line.start, span.end, Fault(span, f"this line cannot be placed: {why}", "Mend the header first."))


def _form_word(plan: EntryPlan, field: str) -> str:
    clause = next(clause for clause in plan.kind.clauses if clause.field == field)
    return clause.form.format("").strip() or field
