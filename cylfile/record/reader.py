"""
From sources to the record: what each file says put together, names to what they stand for.

Every stage gives its value and its faults. A line that cannot be read is kept as a fault, under
the name of each cylinder or source that it mentions.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from cylfile.record.blocks import AirSource, Cylinder, Declared, Department, Person, Site, Tag, Tester
from cylfile.record.called import Marks
from cylfile.record.entries import Entry
from cylfile.record.file_reader import FileReader, UnderNoCard, keep_fault, plan_of
from cylfile.record.record import Record
from cylfile.record.vocabulary import CYLINDER_VERBS, MAY_BE, PERSON, SITE, SOURCE, SOURCE_VERBS, STORAGE
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Fault, Source, Span


def read_record(
    sources: Sequence[Source],
    faults: Sequence[Fault] = (),
    read_before: dict[Source, FileReader] | None = None,
    elsewhere: frozenset[str] = frozenset(),
    marks: Marks | None = None,
) -> Record:
    """
    The record that the sources make together, whatever their order.

    `faults` are those met while the sources were had. Never raises on what they say. Who reads
    several records that have sources in common gives each time the same dictionary, empty at
    first, as `read_before`: in it is kept what each source says, so that it is read once. Who reads
    a part gives the names of the cards `elsewhere`, and the `marks` of all.
    """
    files = {} if read_before is None else read_before
    reader = RecordReader(sources, faults, elsewhere)
    reader.record.known_marks = marks
    for source in reader.record.sources:
        file = files.get(source) or FileReader(source).read()
        if read_before is not None:
            files[source] = file
        for stretch in (file, *file.further):
            reader.take_in(stretch)
    return reader.resolved()


class RecordReader:
    """Puts files together, and looks up their names once they all are."""

    def __init__(self, sources: Sequence[Source], faults: Sequence[Fault], elsewhere: frozenset[str] = frozenset()):
        self.elsewhere = elsewhere
        self.record = Record(sorted(sources, key=lambda source: source.path))
        self.record.faults += faults
        self.record.elsewhere = elsewhere
        self.damaged_lines: list[UnderNoCard] = []
        self.used: dict[tuple[str, str], list] = {}
        self.kinds: dict[str, set[type[Entry]]] = defaultdict(set)
        record = self.record
        # What has a name, all in one name space.
        self.tables: tuple[Mapping[str, Declared], ...] = (
            record.cylinders,
            record.air_sources,
            record.testers,
            record.people,
            record.sites,
        )

    def take_in(self, file: FileReader) -> None:
        """Add what a file says."""
        record, said = self.record, file.record
        for thing in file.things:
            self.declare(thing)
        for name, entries in said.entries.items():
            record.entries[name] += entries
            self.kinds[name] |= file.kinds[name]
        for name, faults in said.damaged.items():
            record.damaged[name] += faults
        for table in ("recalls", "waivers", "seals", "faults"):
            getattr(record, table).extend(getattr(said, table))
        self.damaged_lines += file.damaged_lines
        (source,) = said.sources
        for key, (line, slot, count) in file.used.items():
            self.used.setdefault(key, [source, line, slot, 0])[-1] += count

    def declare(self, thing: Declared) -> None:
        """Add what a block declares. A name that is taken is a fault, and the first that has it keeps it."""
        record = self.record
        if isinstance(thing, Department):
            if record.department is not None:
                self._fault(thing.span, "a second department; a record has one", "Remove one of them.", "name-taken")
                record.shadowed.append(thing)
                return
            record.department = thing
        else:
            taken = next((table[thing.name] for table in self.tables if thing.name in table), None)
            if taken is not None:
                record.shadowed.append(thing)
                line = taken.span.place
                text = f"`{thing.name}` is taken: {line} declares a {taken.word} of that name"
                self._fault(
                    thing.span, text, "Give one of them another name, in all its lines.", "name-taken", thing.name
                )
            tables: dict[type[Declared], dict] = {Site: record.sites, Person: record.people, Tester: record.testers, AirSource: record.air_sources,
                     Cylinder: record.cylinders}  # fmt: skip
            tables[type(thing)].setdefault(thing.name, thing)

    def _fault(self, span: Span, text: str, cure: str, rule: str, subject: str | None = None) -> None:
        because = self.record.broken_headers.get(subject) if subject and rule == "unknown-name" else None
        self.record.faults.append(Fault(span, text, cure, None, rule, subject, because))

    def resolved(self) -> Record:
        """The record, with what is wrong with its names among its faults."""
        record = self.record
        declared, of_text = record.declared, len(record.faults)
        record.broken_headers = _broken_headers(self.damaged_lines)
        for name, entries in list(record.entries.items()):
            thing = declared.get(name)
            if not isinstance(thing, Cylinder | AirSource):
                self._unknown_subject(name, thing, entries)
                continue
            verbs = SOURCE_VERBS[thing.kind] if isinstance(thing, AirSource) else CYLINDER_VERBS
            # Looked at kind by kind, since hardly any entry is of a wrong one.
            if any(kind.verb not in verbs for kind in self.kinds[name]):
                for entry in entries:
                    if entry.verb not in verbs:
                        keep_fault(record, _wrong_verb(entry, thing), [name])
                record.entries[name] = [entry for entry in entries if entry.verb in verbs]
        self._unknown_names(declared)
        self._taken_marks()
        # Not in the order in which the lines were made into entries.
        record.faults[of_text:] = sorted(record.faults[of_text:], key=_place)
        self._damaged_names()
        return record

    def _unknown_subject(self, name: str, thing: Declared | None, entries: list[Entry]) -> None:
        first = min(entries, key=lambda entry: (entry.source.path, entry.start))
        more = f" ({len(entries)} entries name it)" if len(entries) > 1 else ""
        text, cure = f"`{name}` is a {thing.word}, not a cylinder or a source" if thing else "", "Correct the name."
        if thing is None:
            text, cure = self.record.marks.misnamed(name)
        slot = plan_of(first).slot_of("subject")
        span = LEDGER.value_span(first.source, first.start, first.shape, slot)
        self._fault(span, f"{text}{more}", cure, "unknown-name", name)

    def _unknown_names(self, declared: Mapping[str, Declared]) -> None:
        record = self.record
        for (role, name), (source, line, slot, count) in self.used.items():
            if not self._is_named(name, role):
                more = f" ({count} entries name it)" if count > 1 else ""
                self._look_up(name, role, LEDGER.value_span(source, line.start, line.shape, slot), more)
        for waiver in record.waivers:
            self._look_up(waiver.by, PERSON, waiver.span)
            if waiver.name not in declared:
                text = f"the waiver is for `{waiver.name}`, which no block declares"
                cure = (
                    record.marks.misnamed(waiver.name)[1] if record.marks.fitting(waiver.name) else "Correct the name."
                )
                self._fault(waiver.span, text, cure, "unknown-name", waiver.name)
        for seal in record.seals:
            self._look_up(seal.by, PERSON, seal.span)
        for air_source in record.air_sources.values():
            if air_source.site is not None:
                self._look_up(air_source.site, SITE, air_source.where["at"])
        department = record.department
        if department is not None and department.usual_source is not None:
            self._look_up(department.usual_source, SOURCE, department.where["usual-source"])
        for thing in (*declared.values(), *record.recalls, *filter(None, [department])):
            for struck in thing.struck_properties:
                self._look_up(struck.struck.by, PERSON, struck.span)

    def _is_named(self, name: str, role: str) -> bool:
        """Whether a name is that of a person, a site and so on."""
        return any(name in table and table[name].word in MAY_BE[role] for table in self.tables)

    def _look_up(self, name: str, role: str, span: Span, more: str = "") -> None:
        """Say so where a name that should be that of a person, a site and so on is not."""
        if self._is_named(name, role):
            return
        words = [table[name].word for table in self.tables if name in table]
        if words:
            text = f"`{name}` is a {words[0]}, not a {role}{more}"
            self._fault(span, text, "Correct the name.", "unknown-name", name)
            return
        text = f"no block declares the {role} `{name}`{more}"
        cure = f'Correct the name, or declare it: {role.split()[0]} {name} "..."'
        meant = re.fullmatch("([0-9]+)([FC]?)", name) if role == SITE else None
        if meant:
            # `at 80` and `at 80F` name sites, for a name may be all digits; a temperature was meant.
            cure += f". If it is a temperature, write {meant[1]} {meant[2] or 'F'}"
            cure += "." if meant[2] else f" or {meant[1]} C."
        self._fault(span, text, cure, "unknown-name", name)

    def _taken_marks(self) -> None:
        """
        Two cylinders with one serial number, or with one tag on one day: a fault of either card, for nobody knows which of
        the two cylinders the entries of both are about.
        """
        numbered: dict[str, list[Cylinder]] = defaultdict(list)
        tagged: dict[str, list[tuple[Tag, Cylinder]]] = defaultdict(list)
        for card in self.record.cylinders.values():
            if card.serial:
                numbered[card.serial.casefold()].append(card)
            for tag in card.tags:
                tagged[tag.name].append((tag, card))
        for cards in numbered.values():
            for card in cards if len(cards) > 1 else ():
                self._taken("serial", card.serial or "", card, "serial", cards[1] if card is cards[0] else cards[0])
        for name, held in tagged.items():
            held.sort(key=lambda one: one[0].since or date.min)
            last, holder = held[0]
            others: dict[str, Cylinder] = {}
            for tag, card in held[1:]:
                if holder is not card and _overlap(last, tag):
                    others.setdefault(holder.name, card)
                    others.setdefault(card.name, holder)
                if (tag.until or date.max) > (last.until or date.max):
                    last, holder = tag, card
            for card_name, other in others.items():
                self._taken("tag", name, self.record.cylinders[card_name], f"tag {name}", other)

    def _taken(self, what: str, mark: str, card: Cylinder, place: str, other: Cylinder) -> None:
        text = f"{what} `{mark}` is also the {what} of `{other.name}`"
        self._fault(card.where[place], text, "Correct the one that is wrong.", "name-taken", card.name)

    def _damaged_names(self) -> None:
        """Put the lines under no card that cannot be read under every cylinder and source they mention."""
        subjects = self.record.cylinders.keys() | self.record.air_sources.keys()
        for fault, names, _, rows in self.damaged_lines:
            about = sorted((names & subjects) | (rows & subjects))
            for name in about:
                self.record.damaged[name].append(fault)
            if not about and self.elsewhere.isdisjoint(names | rows):
                self.record.nameless.append(fault)


def _place(fault: Fault) -> tuple[str, int, str]:
    return fault.span.source.path, fault.span.start, fault.text


def _broken_headers(damaged_lines: Iterable[UnderNoCard]) -> dict[str, Span]:
    """The names at the beginning of lines in column 1 that cannot be read, with the place of their faults."""
    names: dict[str, Span] = {}
    for damaged in damaged_lines:
        for name in damaged.declares:
            names.setdefault(name, damaged.fault.span)
    return names


def _overlap(one: Tag, other: Tag) -> bool:
    """Whether a tag is on two cylinders at a time; the last day of one may be the first of the other."""
    first = max(one.since or date.min, other.since or date.min)
    last = min(one.until or date.max, other.until or date.max)
    is_handed_on = one != other and (last, first) in ((one.until, other.since), (other.until, one.since))
    return first < last or first == last and not is_handed_on


def _wrong_verb(entry: Entry, thing: Cylinder | AirSource) -> Fault:
    """The fault of an entry whose verb is none of what it is about."""
    if thing.word == "source" and entry.verb in SOURCE_VERBS[STORAGE]:
        text = f"`{entry.verb}` is an entry of a storage, and {thing.name} is a compressor, which holds no air"
        cure = f"Name the cylinder or the storage that it was; a fill names its compressor with `on {thing.name}`."
        return Fault(entry.span, text, cure, subject=thing.name)
    other = "a source" if thing.word == "cylinder" else "a cylinder"
    text = f"`{entry.verb}` is an entry of {other}, and {thing.name} is a {thing.word}"
    return Fault(entry.span, text, "Check the name and the verb.", subject=thing.name)
