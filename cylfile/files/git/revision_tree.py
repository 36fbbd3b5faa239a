"""
The files of a revision of git, as a tree that records are found in.
"""

import errno
import os
import posixpath
from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import nullcontext

from cylfile.cannot import CannotDo
from cylfile.files.git.repository import STAGED, Blob, Objects, Repository, Revision
from cylfile.files.ledger_files import shown_path
from cylfile.files.records import Folder, NoLedgers, find_records, only_one
from cylfile.files.tree import (
    FILE,
    FOLDER,
    LEDGER_ENDING,
    LINK,
    PACK_ENDING,
    SUBMODULE,
    Tree,
    is_within,
)

# Modes of what is neither file nor folder.
_KINDS = {"120000": LINK, "160000": SUBMODULE}
_MOST_LINKS = 40
# The path of whatever lies outside the repository.
_OUTSIDE = ".."


class NoRecordThen(CannotDo):
    """A revision holds no record at a place, and none of its department."""


class RevisionTree(Tree):
    """
    What a revision holds. Paths are from the top of the repository, which is the empty path.

    `known` keeps what objects hold, for the trees of several revisions.
    """

    def __init__(self, repository: Repository, revision: Revision, known: dict[str, bytes]):
        self.repository = repository
        self.revision = revision
        self.here = repository.prefix.rstrip("/")
        # The process that reads objects, while there is one.
        self.objects: Objects | None = None
        self._known = known
        self.has_others = False
        self._blobs: dict[str, Blob] = {}
        # Folder -> name -> kind of what is in it.
        self._listing: dict[str, dict[str, str]] = defaultdict(dict)
        self._listing[""] = {}
        # What the objects of other repositories hold that stand within this one.
        self.foreign: dict[str, bytes] = {}
        for blob in self._files(revision):
            self._blobs[blob.path] = blob
            folder, _, name = blob.path.rpartition("/")
            self._listing[folder][name] = _KINDS.get(blob.mode, FILE)
            while folder:
                above, _, name = folder.rpartition("/")
                known_before = name in self._listing[above]
                self._listing[above][name] = FOLDER
                if known_before:
                    break
                folder = above

    def _files(self, revision: Revision) -> Iterator[Blob]:
        """What the revision holds, and in place of another repository within it what is recorded of that, if it is here."""
        for blob in self.repository.files(revision):
            within = self._within(blob) if _KINDS.get(blob.mode) == SUBMODULE else []
            self.has_others = self.has_others or bool(within)
            yield from within or [blob]

    def _within(self, submodule: Blob) -> list[Blob]:
        """The files of another repository, at the commit that is recorded of it; none where it is not on the disk."""
        place = os.path.join(self.repository.top or "", submodule.path)
        if self.repository.top is None or not os.path.lexists(os.path.join(place, ".git")):
            return []
        try:
            other = Repository(place)
            blobs = other.files(Revision(submodule.path, submodule.id, ""))
            with Objects(other) as objects:
                for blob in blobs:
                    if blob.mode in _KINDS or blob.path.lower().endswith((LEDGER_ENDING, PACK_ENDING)):
                        self.foreign[blob.id] = objects.read(blob.id)
        except CannotDo:
            return []
        return [blob._replace(path=f"{submodule.path}/{blob.path}") for blob in blobs]

    def kind(self, path: str) -> str | None:
        if path in self._blobs:
            return _KINDS.get(self._blobs[path].mode, FILE)
        return FOLDER if path in self._listing else None

    def listing(self, folder: str) -> list[tuple[str, str]]:
        if folder not in self._listing:
            raise FileNotFoundError(errno.ENOENT, "no such folder")
        return sorted(self._listing[folder].items())

    def target(self, link: str) -> tuple[str, str]:
        path, parts, links = "", link.split("/"), 0
        while parts:
            part = parts.pop(0)
            if part in ("", "."):
                continue
            path = (
                posixpath.dirname(path)
                if part == ".." and path
                else _OUTSIDE
                if part == ".."
                else self.join(path, part)
            )
            if path == _OUTSIDE:
                return _OUTSIDE, FILE
            if self.kind(path) == LINK:
                links += 1
                if links > _MOST_LINKS:
                    raise OSError(errno.ELOOP, "too many levels of symbolic links")
                way = os.fsdecode(self._read(self._blobs[path]))
                if posixpath.isabs(way):
                    top = self.repository.top
                    if top is None or not is_within(way, top):
                        return _OUTSIDE, FILE
                    path, way = "", way[len(top) :]
                else:
                    path = posixpath.dirname(path)
                parts = [*way.split("/"), *parts]
        kind = self.kind(path)
        if kind is None:
            raise FileNotFoundError(errno.ENOENT, "no such file or directory")
        return path, kind

    def data(self, path: str) -> bytes:
        return self._read(self._blobs[path])

    def _read(self, blob: Blob) -> bytes:
        if blob.id in self.foreign:
            return self.foreign[blob.id]
        if blob.id not in self._known:
            with nullcontext(self.objects) if self.objects else Objects(self.repository) as objects:
                self._known[blob.id] = objects.read(blob.id)
        return self._known[blob.id]

    def ids(self, paths: Iterable[str] | None = None) -> dict[str, str]:
        """The objects of files, by their paths; of all of them where none are named."""
        return {path: self._blobs[path].id for path in (self._blobs if paths is None else paths)}

    def has_links(self, folder: str) -> bool:
        """Whether a folder holds links, or one below it does, or anything stands in another repository."""
        return self.has_others or any(
            blob.mode in _KINDS and is_within(path, folder) for path, blob in self._blobs.items()
        )

    def shown(self, path: str) -> str:
        return shown_from(self.repository, path)

    def above(self, folder: str) -> str | None:
        return posixpath.dirname(folder) if folder else None

    def work_tree(self, folder: str) -> str | None:
        return ""


def record_at(
    repository: Repository, revision: Revision, path: str, title: bytes | None = None, known: dict | None = None
) -> Folder:
    """
    The record that a path, as it is now, led to at a revision, or whose department had this title then.

    Raises CannotDo where there was none, or no telling which. `known` keeps what objects hold, for several revisions.
    """
    return record_in(repository, revision, from_top(repository, path), title, known)


def record_in(
    repository: Repository, revision: Revision, place: str, title: bytes | None = None, known: dict | None = None
) -> Folder:
    """As `record_at`, by a path from the top of the repository."""
    tree = RevisionTree(repository, revision, {} if known is None else known)
    with Objects(repository) as tree.objects:
        found = _records_in(tree, place)
        if not found and title:
            found = [folder for folder in _records_in(tree, "") if folder.title == title]
    tree.objects = None
    if not found:
        where = tree.named(place)
        raise NoRecordThen(f"there was no *.cyl file in {where} at revision `{revision.name}`; name another revision")
    # A folder that holds a record leads to those below it too, which are others.
    return only_one([folder for folder in found if folder.path == place] or found)


def titles_at(repository: Repository, revision: Revision, path: str) -> dict[str, bytes]:
    """The folders of the records that a path leads to at a revision, as people see them, and the departments' titles."""
    tree = RevisionTree(repository, revision, {})
    with Objects(repository) as tree.objects:
        return {folder.shown: folder.title for folder in _records_in(tree, from_top(repository, path))}


def _records_in(tree: RevisionTree, place: str) -> list[Folder]:
    try:
        real, kind = tree.target(place)
        return find_records(tree, [(real if kind == FOLDER else place, kind)])
    except (NoLedgers, OSError):
        return []


def records_staged(paths: list[str]) -> list[Folder]:
    """The records that paths lead to in what is staged, by the current folder where none is named."""
    repository = Repository(next((path for path in paths if os.path.isdir(path)), "."))
    tree = RevisionTree(repository, STAGED, {})
    places = [from_top(repository, path) for path in paths or ["."]]
    for path, place in zip(paths, places):
        if tree.kind(place) is None:
            raise CannotDo(f"nothing of `{path}` is staged; check the name, or `git add` it")
    with Objects(repository) as tree.objects:
        found = find_records(tree, [(place, tree.kind(place) or FOLDER) for place in places])
    tree.objects = None
    return found


def shown_from(repository: Repository, path: str) -> str:
    """A path from the top of the repository as people see it."""
    if repository.top is None:
        return shown_path(os.path.join(repository.folder, path))
    here = repository.prefix.rstrip("/")
    return shown_path(os.path.join(repository.folder, os.path.relpath(path or ".", here or ".")))


def from_top(repository: Repository, path: str) -> str:
    """The path from the top of the repository, with forward slashes, of a path on disk."""
    folder, name = os.path.split(os.path.abspath(path))
    whole = os.path.realpath(path) if os.path.isdir(path) else os.path.join(os.path.realpath(folder), name)
    here = os.path.relpath(whole, os.path.realpath(repository.folder)).replace(os.sep, "/")
    place = posixpath.normpath(posixpath.join(repository.prefix, here))
    if place == ".." or place.startswith("../"):
        raise CannotDo(f"`{path}` is outside the git repository; name a folder or a file inside it")
    return "" if place == "." else place
