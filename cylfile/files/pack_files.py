"""
Where rule packs are found: those that ship with the program, those of a record, those that somebody asks for.

A pack file that a ledger names is opened only in the folder of the file that names it, or below
it: a record that came from elsewhere makes the program read nothing outside itself.
"""

import os
import re

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import shown_path
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.shipped import shipped_names
from cylfile.packs.suggest import did_you_mean
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, decode

_BARE = re.compile("[a-z][a-z0-9-]*")


class _Shelf:
    """Opens pack files in one folder."""

    def __init__(self, folder: str):
        self.folder = folder

    def open(self, name: str) -> Source | str | None:
        """
        The source of a pack by its path from the folder, with forward slashes.

        None where there is no such file, or in words why it cannot be read.
        """
        top = os.path.realpath(self.folder)
        path = os.path.realpath(os.path.join(top, name))
        if not path.startswith(os.path.join(top, "")):
            return "it is a link that leads out of the record"
        if not os.path.exists(path):
            return None
        if not os.path.isfile(path):
            return "it is no file"
        try:
            with open(path, "rb") as opened:
                data = opened.read()
        except OSError as trouble:
            return (trouble.strerror or "the system gives no reason").lower()
        source, faults = decode(shown_path(os.path.join(self.folder, name)), data)
        return faults[0].text if faults else source


def rules_of_record(record: Record) -> tuple[Ruleset, list[Fault]]:
    """The rules that the department names, and what is wrong with them."""
    department = record.department
    if department is None:
        return load_rules([], lambda name: None)
    shelf = _Shelf(os.path.dirname(department.span.source.path))
    places = {name: department.where[f"rules {name}"] for name, _ in department.rules}
    return load_rules([name for name, _ in department.rules], shelf.open, places)


def rules_named(packs: list[str]) -> tuple[Ruleset, list[Fault]]:
    """
    The rules of the packs that somebody asks for, by name or by file. Raises CannotDo where there is none such.

    Files are read from the folder that holds them all.
    """
    files = [pack for pack in packs if not _BARE.fullmatch(pack)]
    for pack in packs:
        if pack in files and not os.path.isfile(pack):
            raise CannotDo(f"there is no pack file `{pack}`; look for it with its right name or from its folder")
        if pack not in files and pack not in shipped_names():
            cure = did_you_mean(pack, shipped_names(), f"The packs that ship are {', '.join(shipped_names())}.")
            raise CannotDo(
                f"there is no rule pack `{pack}`. {cure} A file is named with its folder, as in ./{pack}.cylpack"
            )
    try:
        folder = os.path.commonpath([os.path.dirname(os.path.abspath(file)) for file in files]) if files else ""
    except ValueError:
        raise CannotDo("the pack files stand on several drives; put them on one") from None
    shelf = _Shelf(folder)
    names = [os.path.relpath(pack, folder).replace(os.sep, "/") if pack in files else pack for pack in packs]
    return load_rules(names, shelf.open)


def path_of_pack(pack: str) -> str:
    """The path under which the source of a pack goes that somebody asks for by name or by file."""
    return f"{pack}.cylpack" if _BARE.fullmatch(pack) else shown_path(pack)
