"""
Which files make up which record, wherever they are kept.

A record is the folder of the file that declares the department, and every ledger below it, except
what lies below another such folder. Any path leads to its record: a folder to those in and below it,
else, as a file does, to the one around it.
"""

import posixpath
import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import Disk, reason
from cylfile.files.tree import FILE, FOLDER, LEDGER_ENDING, LINK, STANDARD_INPUT, SUBMODULE, Tree, is_within
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.text.lookalikes import told_from
from cylfile.text.source import Fault, Source, Span, decode

# How many bytes of files a search keeps: those of any one record, and not those of a county.
_MOST_KEPT = 200_000_000
_UNREADABLE = "unreadable-folder"
# In column 1, at the start or later. A search for what begins with a line end is many times faster than one for `^`.
_FIRST = re.compile(rb"(?:\xef\xbb\xbf)?department[ \t]")
_TITLE = re.compile(rb'[\n\xbf]department[ \t]+("(?:[^"\\]|\\.)*")')
_FURTHER = re.compile(rb"\ndepartment[ \t]")


class NoLedgers(CannotDo):
    """A folder that somebody named holds no ledger, and lies in no record."""


class Texts(NamedTuple):
    """What the files of a record say, and what of it could not be had or is no text."""

    sources: list[Source]
    faults: list[Fault]


class _Trouble(NamedTuple):
    """Why something was not read."""

    text: str
    cure: str
    rule: str = _UNREADABLE


class Folder:
    """
    One record as it was found: its folder, its files and what could not be looked into.

    `department` is the path of the file that declares it, None where none does; then `looked_last` is the last
    folder in which such a file was looked for. `asked` are the files that somebody named, None for all.
    """

    def __init__(
        self, tree: Tree, path: str, department: str | None, looked_last: str = "", data: dict[str, bytes | None] | None = None,
        troubles: dict[str, _Trouble] | None = None, asked: frozenset[str] | None = None,
    ):  # fmt: skip
        self.tree = tree
        self.path = path
        self.department = department
        self.looked_last = looked_last
        # None for a file that is read only when it is asked for, since a county may hold more than memory does.
        self.data = data or {}
        self.troubles = troubles or {}
        self.asked = asked

    def __getstate__(self) -> dict:
        """What is sent to another process: not the files, which are read there, but those that come from no disk."""
        kept = {path: data if path == STANDARD_INPUT else None for path, data in self.data.items()}
        return {**self.__dict__, "data": kept}

    @property
    def shown(self) -> str:
        return self.tree.shown(self.path)

    @cached_property
    def asked_shown(self) -> frozenset[str] | None:
        return None if self.asked is None else frozenset(map(self.tree.shown, self.asked))

    @property
    def title(self) -> bytes:
        """The name of the department as its file has it, empty where there is none."""
        if self.department is None:
            return b""
        data = self.data[self.department]
        return title_in(self.tree.data(self.department) if data is None else data)

    def contents(self) -> Iterator[tuple[str, bytes]]:
        """Path and bytes of every file that can be read; one that no longer can is a trouble from now on."""
        for path, data in self.data.items():
            if data is None:
                try:
                    data = self.tree.data(path)
                except OSError as trouble:
                    self.troubles[path] = _unreadable(trouble)
                    continue
            yield path, data

    def texts(self) -> Texts:
        """The texts of the record's files, and what could not be looked into."""
        shown = self.tree.shown
        sources, faults = [], []
        for path, data in self.contents():
            source, of_text = decode(shown(path), data)
            sources.append(source)
            faults += of_text
        for path, trouble in self.troubles.items():
            # An empty text stands for it, so that it is missed wherever the record's files are counted.
            source = Source(shown(path), "")
            sources.append(source)
            faults.append(Fault(Span(source, 0, 0), trouble.text, trouble.cure, rule=trouble.rule))
        if self.department is None:
            faults += self.no_department(sources)
        faults += _alike(sources)
        return Texts(sources, faults)

    def no_department(self, sources: list[Source]) -> list[Fault]:
        """The fault that no file declares the department of these texts, at the first of them."""
        if not sources or sources[0].path == STANDARD_INPUT:
            return []
        last = self.tree.named(self.looked_last)
        text = f"no file beside it or above declares the department, up to {last}, so only the core checks were made"
        cure = (
            'Write: department "NAME", and under it: rules us-dot. A record is the folder of that file and all below.'
        )
        return [Fault(Span(sources[0], 0, 0), text, cure, rule="no-rules")]

    def rules(self, record: Record) -> tuple[Ruleset, list[Fault]]:
        """The rules that the department names, and what is wrong with them."""
        department = record.department
        if department is None:
            return load_rules([], lambda name: None)
        places = {name: department.where[f"rules {name}"] for name, _ in department.rules}
        names = [name for name, _ in department.rules]
        return load_rules(names, self.pack, places, self.folders_above())

    def folders_above(self) -> int:
        """How many folders above the record's lie in the git work tree: packs common to a county may lie there."""
        top = self.tree.work_tree(self.path)
        below = "" if top is None else self.path[len(top) :].strip("/")
        return below.count("/") + 1 if below else 0

    def pack(self, name: str) -> Source | str | None:
        """
        A pack by its path from the record's folder; nothing outside the record or the git work tree is opened.

        None where there is none, or in words why it cannot be read.
        """
        path = posixpath.normpath(posixpath.join(self.path, name))
        top = self.tree.work_tree(self.path)
        try:
            real, kind = self.tree.target(path)
            if not is_within(real, self.path) and (top is None or not is_within(real, top)):
                return "it is a link that leads out of the record"
            if kind != FILE:
                return "it is no file"
            source, faults = decode(self.tree.shown(path), self.tree.data(real))
        except (FileNotFoundError, NotADirectoryError):
            return None
        except OSError as trouble:
            return reason(trouble)
        return faults[0].text if faults else source


def _alike(sources: list[Source]) -> Iterator[Fault]:
    """Faults of files whose names differ only in capitals, or in how a letter with an accent is made up."""
    seen: dict[str, Source] = {}
    for source in sources:
        other = seen.setdefault(unicodedata.normalize("NFC", source.path).casefold(), source)
        if other is not source:
            # They may look the same here too.
            text = f"this file and `{told_from(other.path, [source.path])}` have names that are one and the same on some machines"
            cure = "Give one of them another name, before a copy of the record loses one of them."
            yield Fault(Span(source, 0, 0), text, cure, rule="file-names-alike")


def records_on_disk(paths: list[str]) -> list[Folder]:
    """
    The records that paths lead to, by the current folder where none is named.

    Raises CannotDo where a path is not there, and where there is no ledger.
    """
    disk = Disk()
    return find_records(disk, [disk.place(path) for path in paths or ["."]])


def the_record(paths: list[str]) -> Folder:
    """The one record that paths lead to. Raises CannotDo, with the names of all, where there are several."""
    return only_one(records_on_disk(paths))


def only_one(folders: list[Folder]) -> Folder:
    """The record, where there is one. Raises CannotDo where there are several."""
    if len(folders) > 1:
        names = [f"`{folder.shown}`" for folder in folders]
        more = f" and {len(names) - 4} more" if len(names) > 5 else ""
        shown = names[:4] if more else names
        raise CannotDo(f"there are {len(names)} records here: {', '.join(shown)}{more}; name one of them")
    return folders[0]


def find_records(tree: Tree, places: Iterable[tuple[str, str]]) -> list[Folder]:
    """The records that places lead to, each a path and its kind, in the order of their folders."""
    return _Search(tree).records(list(places))


def home_of(tree: Tree, path: str) -> str | None:
    """The folder of the record that a file belongs to, whether it is there yet or not; None where it belongs to none."""
    return _Search(tree).look_up(posixpath.dirname(path))[0]


class _Search:
    """Goes through folders, each once, and deals what is found there out to records."""

    def __init__(self, tree: Tree):
        self.tree = tree
        self.data: dict[str, bytes | None] = {}
        self.troubles: dict[str, _Trouble] = {}
        self.links: list[str] = []
        # How many bytes of files are kept.
        self.kept = 0
        self.walked: set[str] = set()
        self.tops: list[str] = []
        # Folder of a department -> the file that declares it.
        self.homes: dict[str, str] = {}

    def records(self, places: list[tuple[str, str]]) -> list[Folder]:
        wanted: dict[str, set[str] | None] = {}
        homeless: dict[str, str] = {}
        for path, kind in places:
            if kind == FOLDER:
                self._of_folder(path, wanted, homeless)
            else:
                self._of_file(path, wanted, homeless)
        by_home = self._by_home()
        found = [
            self._folder(home, by_home[home], home, self.homes[home], asked) for home, asked in sorted(wanted.items())
        ]
        if homeless:
            found.append(self._without_department(homeless))
        return found

    # Where paths lead.

    def _of_folder(self, folder: str, wanted: dict, homeless: dict) -> None:
        self._walk(folder)
        homes = [home for home in self.homes if is_within(home, folder)]
        loose = [path for path in self._by_home(folder)[None] if is_within(path, folder)]
        wanted.update(dict.fromkeys(homes))
        if homes and not loose:
            return
        home, last = self.look_up(folder)
        if home is not None:
            self._walk(home)
            wanted[home] = None
        elif loose:
            homeless.update(dict.fromkeys(loose, last))
        else:
            where = self.tree.named(folder)
            raise NoLedgers(
                f"there is no *{LEDGER_ENDING} file in {where}; name the folder of the record, or a file of it"
            )

    def _of_file(self, path: str, wanted: dict, homeless: dict) -> None:
        home, last = (None, self.tree.here) if path == STANDARD_INPUT else self.look_up(posixpath.dirname(path))
        if home is not None:
            self._walk(home)
            for each in (path, self._behind(path)):
                if each in self.data or each in self.troubles:
                    asked = wanted.setdefault(home, set())
                    if asked is not None:
                        asked.add(each)
                    return
        path = self._behind(path)
        self.read(path)
        homeless[path] = last

    def _behind(self, path: str) -> str:
        """What a link that somebody named leads to; any other path as it is."""
        try:
            return path if path == STANDARD_INPUT else self.tree.target(path)[0]
        except OSError:
            return path

    def look_up(self, folder: str) -> tuple[str | None, str]:
        """The folder of the department around a folder, else None, and the last one that was looked in."""
        here: str | None = folder
        while here is not None:
            if here not in self.walked:
                self._take_in(here)
                links, self.links = self.links, []
                for link in links:
                    if link.lower().endswith(LEDGER_ENDING):
                        self._follow(link)
            if here in self.homes:
                return here, here
            last, here = here, self.tree.above(here)
        return None, last

    def _home_in(self, path: str, top: str = "") -> str | None:
        """The nearest folder with a department around a file, no further up than `top`."""
        folder = posixpath.dirname(path)
        while True:
            if folder in self.homes:
                return folder
            above = posixpath.dirname(folder)
            if folder == top or above == folder:
                return None
            folder = above

    # Looking.

    def _walk(self, top: str) -> None:
        """Read every ledger in a folder and below it. No ring of links is gone round."""
        self.tops.append(top)
        folders = [top]
        while folders:
            folder = folders.pop()
            if folder not in self.walked:
                self.walked.add(folder)
                folders += self._take_in(folder)
        links, self.links = self.links, []
        for link in links:
            self._follow(link)

    def _take_in(self, folder: str) -> list[str]:
        """Read the ledgers in a folder; the folders in it."""
        try:
            listing = self.tree.listing(folder)
        except OSError as trouble:
            cure = "Make it a folder that may be looked into, or take it away; nothing in it was read."
            self.troubles[folder] = _Trouble(f"the folder cannot be looked into: {reason(trouble)}", cure)
            return []
        if not listing and self.tree.is_left_out(folder):
            text = f"this is {SUBMODULE}, and is not checked out"
            self.troubles[folder] = _Trouble(text, "Check it out: git submodule update --init")
        folders = []
        for name, kind in listing:
            if name.startswith("."):
                continue
            path = self.tree.join(folder, name)
            if kind == FOLDER:
                folders.append(path)
            elif kind == LINK:
                self.links.append(path)
            elif kind == SUBMODULE:
                text = f"this is {SUBMODULE}, and the revision does not hold its files"
                self.troubles[path] = _Trouble(text, "Look at its own history too.")
            elif name.lower().endswith(LEDGER_ENDING):
                if kind == FILE:
                    self._read_ledger(path)
                else:
                    self.troubles[path] = _Trouble(f"this is {kind}, and no ledger", "Take it away; it was not opened.")
        return folders

    def read(self, path: str) -> bytes:
        """What is in a file; nothing, and why, where that cannot be had."""
        if path not in self.data and path not in self.troubles:
            try:
                data = self.tree.data(path)
                self.kept += len(data)
                self.data[path] = data if self.kept <= _MOST_KEPT else None
                return data
            except OSError as trouble:
                self.troubles[path] = _unreadable(trouble)
        return self.data.get(path) or b""

    def _read_ledger(self, path: str) -> None:
        if declares_department(self.read(path)):
            self.homes.setdefault(posixpath.dirname(path), path)

    def _follow(self, link: str) -> None:
        """Read what a link leads to, if that is in the link's record."""
        try:
            path, kind = self.tree.target(link)
        except OSError as trouble:
            text = f"this is a link, and what it leads to cannot be looked into: {reason(trouble)}"
            self.troubles[link] = _Trouble(text, "Bring back what it leads to, or take the link away.")
            return
        is_ledger = link.lower().endswith(LEDGER_ENDING)
        if kind not in (FILE, FOLDER):
            if is_ledger:
                self.troubles[link] = _Trouble(f"this is a link to {kind}, and no ledger", "Take it away.")
        elif kind == FOLDER or is_ledger:
            around = [top for top in self.tops if is_within(link, top)]
            inside = self._home_in(link) or min(around, key=len, default=posixpath.dirname(link))
            if not is_within(path, inside):
                text = "this is a link that leads out of the record, and was not followed"
                cure = "Put what it leads to into the record's folder, or take the link away."
                self.troubles[link] = _Trouble(text, cure)
            elif kind == FOLDER:
                self._walk(path)
            else:
                self._read_ledger(path)

    # Dealing out.

    def _by_home(self, top: str = "") -> dict[str | None, set[str]]:
        """Everything that was found by the folder of its department, no further up than `top`; None where it has none."""
        in_folders: dict[str, list[str]] = defaultdict(list)
        for path in (*self.data, *self.troubles):
            in_folders[path[: path.rfind("/") + 1]].append(path)
        found: dict[str | None, set[str]] = defaultdict(set)
        for paths in in_folders.values():
            found[self._home_in(paths[0], top)].update(paths)
        return found

    def _without_department(self, homeless: dict[str, str]) -> Folder:
        declaring = next((path for path in sorted(homeless) if declares_department(self.data.get(path) or b"")), None)
        folders = {path: self.tree.here if path == STANDARD_INPUT else posixpath.dirname(path) for path in homeless}
        folder = posixpath.commonpath(folders.values()) if declaring is None else folders[declaring]
        return self._folder(folder, set(homeless), min(homeless.values(), key=len), declaring, None)

    def _folder(self, path: str, mine: set[str], last: str, department: str | None, asked: set[str] | None) -> Folder:
        data: dict[str, bytes | None] = {}
        known = set()
        identities = getattr(self.tree, "identities", {})
        for each in sorted(mine & self.data.keys()):
            identity = identities.get(each, each)
            if identity not in known:
                known.add(identity)
                data[each] = self.data[each]
        troubles = {each: self.troubles[each] for each in sorted(mine & self.troubles.keys())}
        return Folder(self.tree, path, department, last, data, troubles, None if asked is None else frozenset(asked))


def _unreadable(trouble: OSError) -> _Trouble:
    cure = "Make it a file that can be read; nothing of it was read."
    return _Trouble(f"the file cannot be read: {reason(trouble)}", cure, "unreadable-line")


def title_in(data: bytes) -> bytes:
    """The name of the department that a file declares, as it has it, empty where there is none."""
    found = _TITLE.search(b"\n" + data)
    return found[1] if found else b""


def declares_department(data: bytes) -> bool:
    """Whether a file has a line that begins the block of a department."""
    return bool(_FIRST.match(data) or _FURTHER.search(data))
