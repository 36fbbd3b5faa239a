"""
One record as an editor has it: files that are open and files that are not.

Everything an editor asks about is answered from here. Texts of open files count, whatever is on
disk; what is not open is read from disk, and again when somebody says that it may have changed there.
"""

import os
import posixpath
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date, datetime, tzinfo
from operator import is_

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import real_path
from cylfile.files.neighbors import work_tree_around
from cylfile.files.open_files import OpenFiles, Unsaved
from cylfile.files.records import Folder, declares_department, find_records
from cylfile.files.rules_and_day import zone_of
from cylfile.files.tree import FOLDER, PACK_ENDING
from cylfile.findings.finding import Finding, reading_order
from cylfile.judging.case import Case
from cylfile.judging.judge import Judgement
from cylfile.packs.layering import load_rules
from cylfile.packs.shipped import file_of_shipped
from cylfile.record.record import Record
from cylfile.server.changing_record import Change, ChangingRecord
from cylfile.server.follow import Known, OfFaults, Rules, follow, settle
from cylfile.text.source import Fault, Source

# A record of no more entries is judged whole at every change: nobody could tell the difference.
SMALL = 3_000


# What a record's first reading happens in: it is given the folder and the number of characters, and gives what to
# tell how many of them are read.
Reading = Callable[[str, int], AbstractContextManager[Callable[[int], None]]]


@contextmanager
def _in_silence(folder: str, characters: int) -> Iterator[Callable[[int], None]]:
    yield lambda more: None


class EditedRecord:
    """
    The record in `folder`, which is empty for a text that was never saved.

    `tree` is where its files are, and `place` the path and the kind of what leads to them, None where nothing
    does. Paths are those that findings show: relative to the folder, with forward slashes. `clock` gives the
    present moment in a zone, or that of the machine for None. It is read for the first time when it is first asked for, in `reading`.
    """

    def __init__(
        self,
        folder: str,
        tree: OpenFiles | Unsaved | None = None,
        place: tuple[str, str] | None = None,
        clock: Callable[[tzinfo | None], datetime] = datetime.now,
        reading: Reading = _in_silence,
    ):
        self.folder = folder
        self._top = real_path(folder) if folder else ""
        self._tree = OpenFiles({}, self._top) if tree is None else tree
        self._place = (self._top, FOLDER) if tree is None else place
        self._found = Folder(self._tree, self._top, None)
        self.clock = clock
        self._changing = ChangingRecord()
        self.judged: Judgement | None = None
        # Whether nothing is known only as `follow` can tell it.
        self.is_settled = False
        self.sources: dict[str, Source] = {}
        self._open: set[str] = set()
        self._unread: dict[str, list[Fault]] = {}
        # Whether files on disk may be others than those that were read.
        self._is_stale = True
        # Files that have changed and are not in the record yet; changes of it that are not judged yet.
        self._waiting: dict[str, Source | None] = {}
        self._changes: list[Change] = []
        self._of_faults = OfFaults()
        # What is known to be as it was; None where nothing is.
        self._known: Known | None = None
        # By path: the findings of a file as they came, and in the order of its lines.
        self._in_order: dict[str, tuple[list[Finding], list[Finding]]] = {}
        self._rules: tuple | None = None
        self._zone: tuple[str | None, tzinfo | None] = (None, None)
        self._reading: Reading | None = reading
        self._tell: Callable[[int], None] | None = None

    # Files.

    def path_of(self, file: str) -> str:
        """The path by which a file of this folder is known."""
        return posixpath.relpath(real_path(file), self._top)

    def file_of(self, path: str) -> str:
        """Where on disk the file of a path is."""
        return os.path.normpath(os.path.join(self.folder, path))

    def _key(self, path: str) -> str:
        return posixpath.normpath(posixpath.join(self._top, path))

    def open(self, path: str, text: str) -> bool:
        """
        A file is open in the editor, with this text, or has this text now.

        Whether it may belong to another record now, and others with it, since it begins or ceases to declare a department.
        """
        self._open.add(path)
        self._tree.texts[self._key(path)] = text
        if path.endswith(PACK_ENDING):
            return False
        before = self.sources.get(path)
        self._unread.pop(path, None)
        self._put(path, Source(path, text))
        declared = before is not None and declares_department(before.text.encode("utf-8", "replace"))
        return declared != declares_department(text.encode("utf-8", "replace"))

    def close(self, path: str) -> None:
        """A file is no longer open: what is on disk counts."""
        self._open.discard(path)
        self._tree.texts.pop(self._key(path), None)
        self.look_again(packs=path.endswith(PACK_ENDING))

    def let_go(self) -> None:
        """No file is open here until somebody says so again."""
        self._open.clear()
        self.look_again(packs=False)

    def look_again(self, packs: bool) -> None:
        """Files on disk, or `packs` as well, may have changed: they are looked at before anything else is said."""
        self._is_stale = True
        if packs:
            self._rules = None

    def search(self) -> None:
        """Have the texts of the record's files, of open ones what the editor has; none is read yet."""
        self._is_stale = False
        try:
            found = find_records(self._tree, [self._place] if self._place else [])
        except CannotDo:
            found = []
        mine = [each for each in found if each.path == self._top] or [each for each in found if not each.department]
        self._found = mine[0] if mine else Folder(self._tree, self._top, None)
        sources, faults = self._found.texts()
        for path in self.sources.keys() - {source.path for source in sources}:
            self._put(path, None)
        for source in sources:
            if source.path not in self._open:
                self._unread[source.path] = [fault for fault in faults if fault.span.source is source]
                self._put(source.path, source)
            elif source.path not in self.sources:
                self._put(source.path, Source(source.path, self._tree.texts[self._key(source.path)]))

    def _put(self, path: str, source: Source | None) -> None:
        before = self.sources.get(path)
        if source is None:
            self.sources.pop(path, None)
            self._unread.pop(path, None)
        elif before is not None and before.text == source.text:
            return
        else:
            self.sources[path] = source
        self._waiting[path] = source

    def pack_files(self) -> list[str]:
        """The rule packs of the record's folder, by their paths."""
        found = {path for path in self._open if path.endswith(PACK_ENDING)}
        for folder, folders, files in os.walk(self._top) if self.folder else ():
            folders[:] = [name for name in folders if not name.startswith(".")]
            found |= {self.path_of(os.path.join(folder, name)) for name in files if name.endswith(PACK_ENDING)}
        return sorted(found)

    def source(self, path: str) -> Source | None:
        """The text of a file of the record, or of a pack."""
        if not path.endswith(PACK_ENDING):
            return self.sources.get(path)
        if path in self._open:
            return Source(path, self._tree.texts[self._key(path)])
        pack = self._found.pack(path)
        return pack if isinstance(pack, Source) else None

    def shipped_file(self, source: Source) -> str | None:
        """Where on disk a pack is that judges the record and comes with the program; None for every other text."""
        for name, pack in self.rules().ruleset.packs.items():
            if pack.source is source and pack.is_shipped:
                return file_of_shipped(name)
        return None

    # The record and what is judged of it.

    @property
    def unread(self) -> int:
        """How many characters there are to read before anything can be said."""
        return sum(len(source.text) for source in self.sources.values()) if self._reading is not None else 0

    @property
    def record(self) -> Record:
        """The record of the files as they are now."""
        self._take_in()
        return self._changing.record

    @property
    def may_have_neighbors(self) -> bool:
        """Whether other records may lie in its git work tree. What they have against its cylinders is not looked for here."""
        return work_tree_around(self._found) is not None

    @property
    def has_department(self) -> bool:
        """Whether a file of it declares a department, so that it is all that lies in its folder."""
        return self._found.department is not None

    @property
    def without_department(self) -> str:
        """What there is to say where no file declares the department of files that lie in a folder; else empty."""
        if not self.folder or self.record.department is not None or not self.sources:
            return ""
        faults = self._found.no_department([self.sources[min(self.sources)]])
        return f"{min(self.sources)}: {faults[0].text}"

    def _take_in(self) -> None:
        if self._is_stale:
            self.search()
        if self._reading is not None:
            reading, characters, self._reading = self._reading, self.unread, None
            with reading(self.folder, characters) as self._tell:
                self.follow()
            self._tell = None
        if self._waiting:
            waiting, self._waiting = self._waiting, {}
            faults = [fault for faults in self._unread.values() for fault in faults if fault.rule != "no-rules"]
            if self._found.department is None:
                faults += self._found.no_department([self.sources[path] for path in sorted(self.sources)])
            self._changes.append(self._changing.update(waiting, faults, self._tell))

    def follow(self) -> Judgement:
        """What is known at once after all changes so far."""
        self._take_in()
        record, rules = self._changing.record, self.rules()
        zone = self._zone[1]
        record.clock = lambda: zone
        changes, self._changes = self._changes, []
        if self.judged is not None and not changes and (self.judged.record, *self.judged.case[1:4]) == (record, *rules):
            return self.judged
        if self.judged is None or record.entry_count <= SMALL:
            return self._settled(settle(record, rules))
        if self.judged.case[1:4] != rules:
            self.is_settled = False
            changes = [Change(set(), set(), set(), False, {}), *changes]
            known = self.judged
            self.judged = Judgement(Case(record, *rules), known.verdicts, known.of_text, known.others, known.air)
        for change in changes:
            self.is_settled = False
            self._keep_in_mind(change)
            self.judged = follow(self.judged, record, change, self._of_faults)
        return self.judged

    def _keep_in_mind(self, change: Change) -> None:
        """Note what may not be judged as it was, until all is settled."""
        known = self._known
        if known is not None:
            self._known = None if change.is_of_all else known.after(change)

    def _settled(self, judged: Judgement) -> Judgement:
        authority = judged.record.authority
        for verdict in judged.verdicts.values():
            # Some are of an earlier record, of which the rest is gone now.
            verdict.life_here.air, verdict.life_here.people = judged.air, authority
        self.judged, self.is_settled = judged, True
        self._known = Known(judged, judged, set(), set(), set())
        return judged

    def question(self) -> tuple[Record, Rules, Known | None, Callable[[], bool]]:
        """What `settle` has to be asked so that everything is known, and whether it is still wanted."""
        record, rules, known = self.record, self.rules(), None
        if self.judged is not None and not self._changes and self._known is not None:
            settled = self._known.settled
            same_waivers = [each[1:] for each in settled.record.waivers] == [each[1:] for each in record.waivers]
            if settled.case[1:4] == rules and same_waivers:
                known = self._known._replace(followed=self.judged)
        return record, rules, known, lambda: self._changing.record is record and not self._waiting

    def answer(self, judged: Judgement) -> bool:
        """Take in what `settle` said. False where the record has changed meanwhile."""
        if judged.record is not self.record or judged.case[1:4] != self.rules():
            return False
        self._changes = []
        self._settled(judged)
        return True

    def findings(self) -> dict[str, list[Finding]]:
        """The findings of every file that has any, by path; the same list where nothing about a file has changed."""
        found: dict[str, list[Finding]] = {}
        for finding in self.follow().told:
            found.setdefault(finding.span.source.path, []).append(finding)
        before, self._in_order = self._in_order, {}
        for path, findings in found.items():
            known = before.get(path)
            is_known = known is not None and len(known[0]) == len(findings) and all(map(is_, known[0], findings))
            self._in_order[path] = known if known and is_known else (findings, sorted(findings, key=reading_order))
        return {path: in_order for path, (_, in_order) in self._in_order.items()}

    # Rules and the day.

    def rules(self) -> Rules:
        """The rules that the department names, and the day to judge for; loaded only where they change."""
        record = self.record
        department = record.department
        packs = tuple(sorted((file, text) for file, text in self._tree.texts.items() if file.endswith(PACK_ENDING)))
        named = (tuple(department.rules), department.zone, department.span.source.path) if department else ()
        key = (named, self.today, packs)
        known = self._rules
        # Where something is wrong with a pack, it is shown where the department names it.
        if known is None or known[0] != key or (known[1].faults and known[2] is not department):
            self._rules = known = key, self._load(record), department
        return known[1]

    def _load(self, record: Record) -> Rules:
        ruleset, faults = self._found.rules(record)
        faults = [*faults, *zone_of(record)[1]]
        used = {fault.span.source.path for fault in faults}
        for path in sorted(self._open - used):
            if path.endswith(PACK_ENDING):
                # A pack that is open and that no department names is looked at by itself.
                _, more = load_rules([path], self._found.pack, above=self._found.folders_above())
                faults += [fault for fault in more if fault.span.source.path == path]
        return Rules(ruleset, self.today, faults)

    @property
    def now(self) -> datetime:
        """The present moment where the department is."""
        department = self.record.department
        name = department.zone if department else None
        if self._zone[0] != name:
            self._zone = name, zone_of(self.record)[0]
        return self.clock(self._zone[1])

    @property
    def today(self) -> date:
        return self.now.date()
