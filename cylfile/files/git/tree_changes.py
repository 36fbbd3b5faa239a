"""
What differs between the trees of two commits, with no more of them read than differs.
"""

import os
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from cylfile.files.git.repository import Blob, Objects

_TREE = "40000"
# Bytes of the names of objects -> an entry of a tree as git keeps it.
_ENTRIES = {size: re.compile(rb"([0-7]+) ([^\0]+)\0(.{%d})" % size, re.DOTALL) for size in (0, 20, 32)}
_MOST_KEPT = 256


class Differing(NamedTuple):
    """What two trees hold at a path from their top, None where one of them holds nothing there."""

    path: str
    old: Blob | None
    new: Blob | None


class Trees:
    """Reads the trees of a repository, one that many commits have in common once."""

    def __init__(self, objects: Objects):
        self._objects = objects
        # Many commits have nearly all their trees in common, and one may hold many files.
        self._entries = lru_cache(_MOST_KEPT)(self._read)

    def differing(self, old: str, new: str, above: str = "") -> Iterator[Differing]:
        """The files, links and submodules that differ between two trees."""
        if old == new:
            return
        before, after = self._entries(old), self._entries(new)
        names = {name for _, name, _ in before ^ after}
        was, is_now = ({name: (mode, id_) for mode, name, id_ in each if name in names} for each in (before, after))
        for name in sorted(names):
            path = above + os.fsdecode(name)
            pair = [_blob(path, each.get(name)) for each in (was, is_now)]
            folders = [blob.id if blob is not None and blob.mode == _TREE else "" for blob in pair]
            if any(folders):
                yield from self.differing(folders[0], folders[1], f"{path}/")
            files = [blob if blob is not None and blob.mode != _TREE else None for blob in pair]
            if any(files):
                yield Differing(path, files[0], files[1])

    def _read(self, tree: str) -> frozenset[tuple[bytes, bytes, bytes]]:
        """Mode, name and the bytes of the object's name of all in a tree; nothing is in the one without a name."""
        entry = _ENTRIES[len(tree) // 2]
        return frozenset(entry.findall(self._objects.read(tree))) if tree else frozenset()


def _blob(path: str, said: tuple[bytes, bytes] | None) -> Blob | None:
    return None if said is None else Blob(path, said[0].decode("ascii"), said[1].hex())
