"""
Whether the ledgers and packs below some folders are still those of before, told by their times and sizes.
"""

import os
from collections.abc import Iterable, Iterator
from contextlib import suppress

from cylfile.files.tree import LEDGER_ENDING, PACK_ENDING


def marks(folders: Iterable[str]) -> frozenset[tuple[str, int, int]]:
    """Path, time and size of every ledger and pack below some folders."""
    return frozenset(mark for folder in folders for mark in _below(folder))


def _below(folder: str) -> Iterator[tuple[str, int, int]]:
    # What cannot be looked into, or went away meanwhile, is the business of those who read it.
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith("."):
                continue
            if entry.is_dir(follow_symlinks=False):
                yield from _below(entry.path)
            elif entry.name.endswith((LEDGER_ENDING, PACK_ENDING)):
                about = entry.stat()
                yield entry.path, about.st_mtime_ns, about.st_size
