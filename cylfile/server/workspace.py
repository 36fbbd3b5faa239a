"""
The desk: one folder's record as an editor has it, files that are open and files that are not.

Everything an editor asks about is answered from here. Texts of open files count, whatever is on
disk; what is not open is read from disk, and again when the editor says that it has changed there.
"""

import os
from dataclasses import replace
from datetime import date, datetime

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import Disk
from cylfile.files.records import Folder, records_on_disk, texts_of_file
from cylfile.files.tree import PACK_ENDING
from cylfile.findings.finding import Finding
from cylfile.judging.case import Case
from cylfile.judging.judge import Judgement
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.server.changing_record import Change, LivingRecord
from cylfile.server.follow import Rules, follow, settle
from cylfile.text.source import Fault, Source

# A record of no more entries is judged whole at every change: nobody could tell the difference.
SMALL = 3_000


def record_folders(folder: str) -> list[str]:
    """The folders of the records that a folder leads to, in it and below it or else above; itself where it leads to none."""
    try:
        return [os.path.abspath(each.shown) for each in records_on_disk([folder])]
    except CannotDo:
        return [folder]


class Desk:
    """
    The record in `folder`.

    Paths are those that findings show: relative to the folder, with forward slashes. `clock` gives
    the present moment in a zone, or that of the machine for None.
    """

    def __init__(self, folder: str, clock=datetime.now):
        self.folder = folder
        self._top = os.path.realpath(folder)
        self.clock = clock
        self.living = LivingRecord()
        self.judged: Judgement | None = None
        # Whether something is known only as `follow` can tell it.
        self.is_settled = False
        self.sources: dict[str, Source] = {}
        self._open: dict[str, str] = {}
        self._pack_files: set[str] = set()
        self._unread: dict[str, list[Fault]] = {}
        # Files that have changed and are not in the record yet; changes of it that are not judged yet.
        self._waiting: dict[str, Source | None] = {}
        self._changes: list[Change] = []
        self._rules: tuple | None = None

    # Files.

    def path_of(self, file: str) -> str:
        """The path by which a file of this folder is known."""
        return os.path.relpath(file, self.folder).replace(os.sep, "/")

    def file_of(self, path: str) -> str:
        """Where on disk the file of a path is."""
        return os.path.normpath(os.path.join(self.folder, path))

    def search(self) -> None:
        """Read every ledger of the record that is not open."""
        try:
            found = records_on_disk([self.folder])
        except CannotDo:
            found = []
        mine = [each for each in found if each.path == self._top] or [each for each in found if not each.department]
        sources, faults = mine[0].texts(self._path_in) if mine else ([], [])
        for path in self.sources.keys() - {source.path for source in sources} - self._open.keys():
            self._put(path, None)
        for source in sources:
            if source.path not in self._open:
                self._take(source, [fault for fault in faults if fault.span.source is source])

    def _path_in(self, file: str) -> str:
        return os.path.relpath(file, self._top).replace(os.sep, "/")

    def _take(self, source: Source, faults: list[Fault]) -> None:
        self._unread[source.path] = faults
        self._put(source.path, source)

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

    def open(self, path: str, text: str) -> None:
        """A file is open in the editor, with this text, or has this text now."""
        self._open[path] = text
        if path.endswith(PACK_ENDING):
            self._pack_files.add(path)
            return
        self._unread.pop(path, None)
        self._put(path, Source(path, text))

    def close(self, path: str) -> None:
        """A file is no longer open: what is on disk counts."""
        self._open.pop(path, None)
        self._pack_files.discard(path)
        self.look_at(path)

    def look_at(self, path: str) -> None:
        """Something may have happened to a file on disk."""
        if path in self._open:
            return
        if path.endswith(PACK_ENDING):
            self._rules = None
            return
        file = self.file_of(path)
        if os.path.islink(file):
            # Whether it is followed depends on where it leads.
            self.search()
        elif os.path.lexists(file):
            (source,), faults = texts_of_file(os.path.realpath(file), self._path_in)
            self._take(source, faults)
        else:
            self._put(path, None)

    def is_open(self, path: str) -> bool:
        return path in self._open

    def source(self, path: str) -> Source | None:
        """The text of a file of the record, or of an open pack."""
        if path in self._pack_files:
            return Source(path, self._open[path])
        return self.sources.get(path)

    # The record and what is judged of it.

    @property
    def record(self) -> Record:
        """The record of the files as they are now."""
        self._take_in()
        return self.living.record

    def _take_in(self) -> None:
        if self._waiting:
            waiting, self._waiting = self._waiting, {}
            faults = [fault for faults in self._unread.values() for fault in faults]
            self._changes.append(self.living.update(waiting, faults))

    def follow(self) -> Judgement:
        """What is known at once after all changes so far."""
        self._take_in()
        record, rules = self.living.record, self.rules()
        changes, self._changes = self._changes, []
        if self.judged is None or record.entry_count <= SMALL:
            return self._settled(settle(record, rules))
        if self.judged.case[1:] != rules:
            self.is_settled = False
            changes = [Change(set(), {}), *changes]
            self.judged = replace(self.judged, case=Case(record, *rules))
        for change in changes:
            self.is_settled = False
            self.judged = follow(self.judged, record, change)
        return self.judged

    def _settled(self, judged: Judgement) -> Judgement:
        self.judged, self.is_settled = judged, True
        return judged

    def question(self) -> tuple[Record, Rules]:
        """What `settle` has to be asked so that everything is known."""
        return self.record, self.rules()

    def answer(self, judged: Judgement) -> bool:
        """Take in what `settle` said. False where the record has changed meanwhile."""
        if judged.record is not self.record or judged.case[1:4] != self.rules():
            return False
        self._changes = []
        self._settled(judged)
        return True

    # Rules and the day.

    def rules(self) -> Rules:
        """The rules that the department names, and the day to judge for. Made anew only where they change."""
        department = self.living.record.department
        named = tuple(department.rules) if department else ()
        zone = department.zone if department else None
        as_of = self.today(zone)
        packs = tuple((path, self._open[path]) for path in sorted(self._pack_files))
        where = department.span.source.path if department else ""
        key = (named, zone, where, as_of, packs)
        known = self._rules
        # Where something is wrong with a pack, it is shown where the department names it.
        if known is None or known[0] != key or (known[1].faults and known[2] is not department):
            self._rules = known = key, self._load(department, as_of), department
        return known[1]

    def _load(self, department, as_of: date) -> Rules:
        if department is None:
            ruleset, faults = load_rules([], lambda name: None)
        else:
            places = {name: department.where[f"rules {name}"] for name, _ in department.rules}
            base = os.path.dirname(department.span.source.path)
            ruleset, faults = self._packs(base, [name for name, _ in department.rules], places)
            if department.zone is not None and self._zone(department.zone) is None:
                text = f"there is no time zone `{department.zone}`, so today is taken from this machine's clock"
                cure = "Write its name in the IANA database, such as America/Denver."
                faults = [*faults, Fault(department.where["zone"], text, cure, rule="unknown-name")]
        used = {fault.span.source.path for fault in faults}
        for path in self._pack_files - used:
            # A pack that is open and that no department names is looked at by itself.
            _, more = self._packs(os.path.dirname(path), [os.path.basename(path)])
            faults = [*faults, *(fault for fault in more if fault.span.source.path == path)]
        return Rules(ruleset, as_of, faults)

    def _packs(self, base: str, names: list[str], places=None) -> tuple[Ruleset, list[Fault]]:
        """The rules of packs by their paths from a folder of the record; of open ones, the text in the editor."""
        shelf = Folder(Disk(), os.path.normpath(os.path.join(self._top, base)), None)

        def open_pack(name: str) -> Source | str | None:
            path = os.path.normpath(os.path.join(base, name)).replace(os.sep, "/")
            return Source(path, self._open[path]) if path in self._open else shelf.pack(name, self._path_in)

        return load_rules(names, open_pack, places, shelf.folders_above())

    def _zone(self, name: str | None):
        from zoneinfo import ZoneInfo

        try:
            return ZoneInfo(name) if name else None
        except (KeyError, ValueError, OSError):
            return None

    def now(self) -> datetime:
        """The present moment where the department is."""
        department = self.living.record.department
        return self.clock(self._zone(department.zone if department else None))

    def today(self, zone: str | None) -> date:
        return self.clock(self._zone(zone)).date()

    def findings(self) -> dict[str, list[Finding]]:
        """The findings of every file that has any, by path."""
        found: dict[str, list[Finding]] = {}
        for finding in self.follow().findings:
            found.setdefault(finding.span.source.path, []).append(finding)
        return found
