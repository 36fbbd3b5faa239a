"""
The record: every file of a department put together, its names resolved.
"""

from collections import defaultdict
from collections.abc import Callable, Container, Mapping
from datetime import date, tzinfo
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

from cylfile.record.blocks import (
    AirSource,
    Cylinder,
    Declared,
    Department,
    People,
    Person,
    Recall,
    Seal,
    Site,
    Tester,
    Waiver,
)
from cylfile.record.called import Marks, marks_of
from cylfile.record.entries import Entry
from cylfile.record.origin import Origin
from cylfile.record.recall_index import RecallIndex
from cylfile.record.vocabulary import SHEETS
from cylfile.text.source import Fault, Source, Span

if TYPE_CHECKING:
    from cylfile.record.conflicts import Conflicts

_UNREAD = ("unreadable-line", "unreadable-folder")
_SHEET_WORDS = tuple(f"{row.sheet} sheet" for row in SHEETS.values())


class _SortedFaults(NamedTuple):
    faults: int
    by_rule_and_name: dict[tuple[str, str | None], list[Fault]]
    of_empty_files: list[Fault]


class Record:
    """
    All that a department's files say.

    `entries` maps the name of a cylinder or a source to its entries, in no order that means
    anything (see `cylfile.history.order`); struck ones are among them. `damaged` maps a name to the faults
    of the lines that may be about it and cannot be read. `faults` are all that is wrong with
    the record as text and names, those of `damaged` among them.
    """

    def __init__(self, sources: list[Source]):
        self.sources = sources
        self.department: Department | None = None
        self.sites: dict[str, Site] = {}
        self.people: dict[str, Person] = {}
        self.testers: dict[str, Tester] = {}
        self.air_sources: dict[str, AirSource] = {}
        self.cylinders: dict[str, Cylinder] = {}
        # Blocks whose name another one has: they have no effect.
        self.shadowed: list[Declared] = []
        self.recalls: list[Recall] = []
        self.waivers: list[Waiver] = []
        self.seals: list[Seal] = []
        self.entries: dict[str, list[Entry]] = defaultdict(list)
        self.damaged: dict[str, list[Fault]] = defaultdict(list)
        self.faults: list[Fault] = []
        # Those of lines that may be about a cylinder, and nobody can tell which.
        self.nameless: list[Fault] = []
        # Name -> where the header that may have declared it cannot be read.
        self.broken_headers: dict[str, Span] = {}
        # Names of cards that are not in what was read, where that is a part.
        self.elsewhere: frozenset[str] = frozenset()
        # Those of all cylinders, where this is a part of a record.
        self.known_marks: Marks | None = None
        # Where the texts were had from, looked up only when somebody wants to know.
        self.origin: Callable[[], Origin] = Origin
        # The clocks of the department's zone, where this machine knows them.
        self.clock: Callable[[], tzinfo | None] = lambda: None
        self._strangers: dict[tuple[str, int] | None, list[Fault]] | None = None
        # What merge conflicts leave in doubt, once somebody has asked; see `cylfile.record.conflicts`.
        self.conflicts: dict[Source, Conflicts] | None = None
        # The faults by rule and name, of the so many that there were.
        self._sorted_faults: _SortedFaults | None = None
        self._recall_index: RecallIndex | None = None

    @property
    def declared(self) -> dict[str, Declared]:
        """Everything that has a name, in one name space; of two of one name, the first kind."""
        tables: tuple[Mapping[str, Declared], ...] = (
            self.cylinders,
            self.air_sources,
            self.testers,
            self.people,
            self.sites,
        )
        named: dict[str, Declared] = {name: thing for table in tables for name, thing in table.items()}
        if len(named) < sum(map(len, tables)):
            for table in reversed(tables):
                named.update(table)
        return named

    @property
    def unread(self) -> list[Fault]:
        """The faults of what could not be read: lines, files, and folders that could not be looked into."""
        return [fault for fault in self.faults if fault.rule in _UNREAD]

    @property
    def unread_files(self) -> list[Fault]:
        """Those of `unread` that are about files of which not a word could be read."""
        return self._faults_in_order().of_empty_files

    def faults_about(self, rule: str, name: str | None) -> list[Fault]:
        """The faults of a rule that are about a name, or about none."""
        return self._faults_in_order().by_rule_and_name.get((rule, name), [])

    def _faults_in_order(self) -> "_SortedFaults":
        if self._sorted_faults is None or self._sorted_faults.faults != len(self.faults):
            by_rule_and_name = defaultdict(list)
            for fault in self.faults:
                by_rule_and_name[fault.rule, fault.subject].append(fault)
            of_empty_files = [fault for fault in self.unread if not fault.span.source.text]
            self._sorted_faults = _SortedFaults(len(self.faults), by_rule_and_name, of_empty_files)
        return self._sorted_faults

    @property
    def authority(self) -> People:
        return People(self.people, self.testers, self.is_in_doubt)

    def is_in_doubt(self, name: str) -> bool:
        """Whether a line about a name cannot be read, be it the one that declares it."""
        return bool(self.damaged.get(name)) or name in self.broken_headers

    @property
    def entry_count(self) -> int:
        return sum(map(len, self.entries.values()))

    def entries_of(self, days: Container[date]) -> dict[str, list[Entry]]:
        """The entries of some days, by the names of what they are about."""
        return {name: [each for each in entries if each.day in days] for name, entries in self.entries.items()}

    def strangers(self, path: str | None = None, block: int | None = None) -> list[Fault]:
        """The faults of entries of names that no card declares: those on a sheet, or those on none."""
        if self._strangers is None:
            self._strangers = {}
            declared = self.declared
            for name, entries in self.entries.items():
                if name in declared or name in self.elsewhere:
                    continue
                text, cure = self.marks.misnamed(name)
                for entry in entries:
                    key = None
                    if entry.block is not None and entry.source.text.startswith(_SHEET_WORDS, entry.block):
                        key = (entry.source.path, entry.block)
                    fault = Fault(entry.span, text, cure, None, "unknown-name", name)
                    self._strangers.setdefault(key, []).append(fault)
        return self._strangers.get(None if path is None or block is None else (path, block), [])

    @property
    def marks(self) -> Marks:
        """What its cylinders are called."""
        if self.known_marks is None:
            self.known_marks = marks_of(self)
        return self.known_marks

    @property
    def strangers_sheets(self) -> set[tuple[str, int]]:
        """The sheets, by path and block, that have a row of a name that no card declares."""
        self.strangers()
        return {sheet for sheet in self._strangers or () if sheet is not None}

    def recalls_about(self, card: Cylinder, class_name: str | None) -> list[Recall]:
        """All recalls that fit a card, or of which it lacks a property, and maybe others."""
        if self._recall_index is None:
            self._recall_index = RecallIndex(self.recalls)
        return self._recall_index.about(card, class_name)

    def find_cylinder(self, name_or_tag: str, day: date = date.max) -> Cylinder | None:
        """A cylinder by its name, else by a tag that is on it on a day; the last to have it, where no day is given."""
        if name_or_tag in self.cylinders:
            return self.cylinders[name_or_tag]
        found = [
            (tag.since or date.min, tag.until or date.max, card)
            for card in self.cylinders.values()
            for tag in card.tags
            if tag.name == name_or_tag and (tag.since or date.min) <= day
        ]
        on_it = [(since, card) for since, until, card in found if day <= until]
        if not on_it and day == date.max:
            on_it = [(until, card) for _, until, card in found]
        # On a day that is one's last and another's first the later has it.
        return max(on_it, key=itemgetter(0))[1] if on_it else None
