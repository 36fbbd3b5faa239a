"""
Which files make up the record, and what is in them.
"""

import os
import sys
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.text.source import Fault, Source, Span, decode

STANDARD_INPUT = "-"
_ENDING = ".cyl"


class LedgerFile(NamedTuple):
    """A file of the record by the path to open; `is_named` where it was asked for by its own name."""

    path: str
    is_named: bool

    @property
    def shown(self) -> str:
        return STANDARD_INPUT if self.path == STANDARD_INPUT else shown_path(self.path)


def shown_path(path: str) -> str:
    """A path as people see it: relative to the current folder, with forward slashes."""
    try:
        path = os.path.relpath(path)
    except ValueError:
        # On Windows there is no way from one drive to another.
        path = os.path.abspath(path)
    return path.replace(os.sep, "/")


def find_ledgers(paths: list[str]) -> list[LedgerFile]:
    """
    The files of a record, each once, whatever links lead to it: folders are searched for `*.cyl`,
    not in dot folders, and a file given by name counts whatever its ending.

    Raises CannotDo where a path is not there, and where a folder holds no ledger.
    """
    found: dict[object, LedgerFile] = {}
    for path in paths or ["."]:
        if path == STANDARD_INPUT:
            found[path] = LedgerFile(path, True)
        elif os.path.isdir(path):
            ledgers = _search(path)
            if not ledgers:
                raise CannotDo(
                    f"there is no *{_ENDING} file in {_place_of(path)}; name the folder of the record, or a file of it"
                )
            for ledger in ledgers:
                found.setdefault(_identity(ledger), LedgerFile(ledger, False))
        elif os.path.exists(path):
            found[_identity(path)] = LedgerFile(path, True)
        else:
            raise CannotDo(f"there is no file or folder `{path}`; look for it with its right name or from its folder")
    return list(found.values())


def _search(top: str) -> list[str]:
    """
    The ledgers in a folder and below it, by name, and the folders that cannot be searched.

    A folder is searched once, and by its own path rather than by a link to it, so no ring of
    links is gone round.
    """
    found, searched = [], set()
    folders, linked = [top], []
    while folders or linked:
        folder = folders.pop() if folders else linked.pop()
        identity = _identity(folder)
        if identity in searched:
            continue
        searched.add(identity)
        try:
            with os.scandir(folder) as listing:
                entries = sorted(listing, key=lambda entry: entry.name, reverse=True)
        except OSError:
            # Nobody knows what it holds: reading it will say so.
            found.append(folder)
            continue
        for entry in entries:
            if entry.name.startswith("."):
                continue
            path = os.path.join(folder, entry.name)
            if os.path.isdir(path):
                (linked if entry.is_symlink() else folders).append(path)
            elif entry.name.lower().endswith(_ENDING):
                found.append(path)
    return sorted(found)


def _identity(path: str) -> object:
    """The same for the same file or folder, by whatever path."""
    try:
        status = os.stat(path)
    except OSError:
        return path
    return (status.st_dev, status.st_ino) if status.st_ino else os.path.realpath(path)


def _place_of(folder: str) -> str:
    return "this folder" if folder == "." else f"`{folder}`"


def read_ledgers(files: list[LedgerFile]) -> tuple[list[Source], list[Fault]]:
    """
    The sources of files. One that cannot be read is a fault where a folder was searched for it.

    Raises CannotDo where a file that cannot be read was asked for by name.
    """
    sources, faults = [], []
    for file in files:
        try:
            data = bytes_of(file)
        except OSError as trouble:
            why = (trouble.strerror or "the system gives no reason").lower()
            if file.is_named:
                raise CannotDo(f"`{file.shown}` cannot be read ({why}); see that it is a file you may read") from None
            source = Source(file.shown, "")
            cure = "Make it a file that can be read; nothing of it was read."
            faults.append(Fault(Span(source, 0, 0), f"the file cannot be read: {why}", cure))
        else:
            source, of_text = decode(file.shown, data)
            faults += of_text
        sources.append(source)
    return sources, faults


def bytes_of(file: LedgerFile) -> bytes:
    """What is in a file. Raises OSError where that cannot be had."""
    if file.path == STANDARD_INPUT:
        if sys.stdin.isatty():
            print("cylfile: reading the record from the keyboard; Ctrl-D ends it", file=sys.stderr)
        return sys.stdin.buffer.read()
    if os.path.isdir(file.path):
        os.scandir(file.path).close()
    if not file.is_named and os.path.exists(file.path) and not os.path.isfile(file.path):
        # Case a pipe or a device that lies about in a folder could last for ever.
        raise OSError(None, "it is no regular file")
    with open(file.path, "rb") as opened:
        return opened.read()
