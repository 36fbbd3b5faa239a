"""
What differs between the trees of two commits, with no more of them read than differs.
"""

import os
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from cylfile.files.git.repository import Blob, Objects

_TREE = "40000"
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
        for name in sorted(before.keys() | after.keys()):
            was, is_now = before.get(name), after.get(name)
            if was == is_now:
                continue
            path = above + name
            folders = [each.id if each is not None and each.mode == _TREE else "" for each in (was, is_now)]
            if any(folders):
                yield from self.differing(folders[0], folders[1], f"{path}/")
            files = [each._replace(path=path) if each and each.mode != _TREE else None for each in (was, is_now)]
            if any(files):
                yield Differing(path, files[0], files[1])

    def _read(self, tree: str) -> dict[str, Blob]:
        """What stands in a tree, by name; nothing stands in the one without a name."""
        return dict(_parsed(self._objects.read(tree), len(tree) // 2)) if tree else {}


def _parsed(data: bytes, size: int) -> Iterator[tuple[str, Blob]]:
    """The entries of a tree as git keeps it: mode, name and the bytes of an object's name, of a size."""
    at = 0
    while at < len(data):
        space, zero = data.index(b" ", at), data.index(b"\0", at)
        name = os.fsdecode(data[space + 1 : zero])
        yield name, Blob(name, data[at:space].decode("ascii"), data[zero + 1 : zero + 1 + size].hex())
        at = zero + 1 + size
