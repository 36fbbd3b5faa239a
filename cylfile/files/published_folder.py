"""
A folder of pages that is written anew again and again: only what is new in it, and nothing that others put there is lost.

A list in the folder says which files were written and what they held, in the form that `sha256sum --check` reads.
"""

import hashlib
import os
import re
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import shown_path
from cylfile.files.writing import end_exchange, locked, write_folder

LIST = "written-by-cylfile.sha256"
_LINE = re.compile(r"([0-9a-f]{64})  (\S.*)")


class Written(NamedTuple):
    """How many files were new or other than before, how many were as before, and how many went."""

    changed: int
    same: int
    removed: int


def write_pages(folder: str, files: dict[str, bytes]) -> Written:
    """
    Have a folder hold these files, by their paths in it, in the place of those that a run before has written.

    What somebody else put there stays. Raises CannotDo where the folder is none that was written so and is not
    empty, and where a file of somebody else's is in the way.
    """
    folder = os.path.realpath(folder)
    if os.path.exists(folder) and not os.path.isdir(folder):
        raise CannotDo(f"`{shown_path(folder)}` is a file; name a folder")
    above = os.path.dirname(folder)
    if not os.path.isdir(above):
        write_folder(folder, {**files, LIST: _list(files)})
        return Written(len(files), 0, 0)
    with locked(above):
        end_exchange(folder)
        if not os.path.isdir(folder):
            write_folder(folder, {**files, LIST: _list(files)})
            return Written(len(files), 0, 0)
        before = _listed(folder)
        there = dict(_files_in(folder))
        foreign = {path: whole for path, whole in there.items() if path not in before and path != LIST}
        for path in files:
            if path in foreign:
                raise CannotDo(
                    f"`{shown_path(foreign[path])}` was put there by somebody else; move it, or name another folder"
                )
        same = {path: there[path] for path, data in files.items() if path in there and _holds(there[path], data)}
        removed = [path for path in before if path in there and path not in files]
        if len(same) == len(files) and not removed:
            return Written(0, len(same), 0)
        new = {path: data for path, data in files.items() if path not in same}
        write_folder(folder, {**new, LIST: _list(files)}, kept={**foreign, **same})
        return Written(len(new), len(same), len(removed))


def _list(files: dict[str, bytes]) -> bytes:
    lines = (f"{hashlib.sha256(data).hexdigest()}  {path}\n" for path, data in sorted(files.items()))
    return "".join(lines).encode("utf-8")


def _listed(folder: str) -> set[str]:
    """The paths of the files that a run before has written. Raises CannotDo where none has and something is there."""
    try:
        with open(os.path.join(folder, LIST), encoding="utf-8") as opened:
            lines = [_LINE.fullmatch(line.rstrip("\n")) for line in opened]
    except FileNotFoundError:
        if os.listdir(folder):
            raise CannotDo(
                f"`{shown_path(folder)}` holds what was not published there; name a folder that is empty or not there yet"
            ) from None
        return set()
    except ValueError:
        lines = [None]
    if None in lines:
        raise CannotDo(f"`{shown_path(folder)}/{LIST}` is not as it was written; remove the folder, or name another")
    return {line[2] for line in lines if line is not None}


def _files_in(folder: str):
    """Path in the folder and whole path of every file, links among them."""
    for place, folders, names in os.walk(folder):
        for name in [*names, *(each for each in folders if os.path.islink(os.path.join(place, each)))]:
            whole = os.path.join(place, name)
            yield os.path.relpath(whole, folder).replace(os.sep, "/"), whole


def _holds(path: str, data: bytes) -> bool:
    if os.path.islink(path) or os.path.getsize(path) != len(data):
        return False
    with open(path, "rb") as opened:
        return opened.read() == data
