"""
Which revision holds a record as it was read, and whether it holds all of it so.

git's own answer to that can run programs that its configuration names, so what was read is compared here.
"""

import hashlib
import os
import posixpath
from collections.abc import Iterable

from cylfile.cannot import CannotDo
from cylfile.files.git.repository import Repository
from cylfile.files.git.revision_tree import RevisionTree, from_top
from cylfile.files.records import Folder
from cylfile.files.tree import LEDGER_ENDING, STANDARD_INPUT, is_within
from cylfile.record.origin import Origin

# Bits of the object names of a repository -> what makes them.
_HASHES = {40: "sha1", 64: "sha256"}


def origin_of(folder: Folder, packs: Iterable[str] = (), stamp: str = "") -> Origin:
    """
    The origin of a record as it was found in a folder; `packs` are its own packs, by their paths from there.

    Where there is no git or no revision yet, no commit is named.
    """
    if isinstance(folder.tree, RevisionTree):
        return Origin(folder.tree.revision.commit, False, stamp)
    try:
        if STANDARD_INPUT in folder.data:
            return Origin(stamp=stamp)
        repository = Repository(folder.path)
        commit = repository.head()
        held = RevisionTree(repository, commit, {}).ids()
        top = from_top(repository, folder.path)
    except CannotDo:
        return Origin(stamp=stamp)
    contents = dict(folder.contents())
    for pack in packs:
        path = posixpath.normpath(posixpath.join(folder.path, pack))
        try:
            contents[path] = folder.tree.data(folder.tree.target(path)[0])
        except OSError:
            continue
    here = {from_top(repository, path): data for path, data in contents.items()}
    differs = any(not _is_same(data, held.get(path, "")) for path, data in here.items())
    gone = any(
        path.lower().endswith(LEDGER_ENDING)
        and is_within(path, top)
        and not os.path.lexists(_on_disk(repository, path))
        for path in held
    )
    return Origin(commit.commit, differs or gone, stamp)


def _on_disk(repository: Repository, path: str) -> str:
    return os.path.join(repository.top or "", path)


def _is_same(data: bytes, name: str) -> bool:
    """Whether an object of this name holds these bytes, as they are or with the line ends that git may have changed."""
    if len(name) not in _HASHES:
        return False
    return any(
        hashlib.new(_HASHES[len(name)], b"blob %d\0%s" % (len(one), one), usedforsecurity=False).hexdigest() == name
        for one in (data, data.replace(b"\r\n", b"\n"))
    )
