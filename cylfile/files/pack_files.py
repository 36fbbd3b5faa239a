"""
Rule packs that somebody asks for, by name or by file.
"""

import os
import re

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import Disk, shown_path
from cylfile.files.records import Folder
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.shipped import shipped_names
from cylfile.packs.suggest import did_you_mean
from cylfile.text.source import Fault

_BARE = re.compile("[a-z][a-z0-9-]*")


def rules_named(packs: list[str]) -> tuple[Ruleset, list[Fault]]:
    """
    The rules of the packs that somebody asks for, by name or by file. Raises CannotDo where there is none such.

    Files are read from the folder that holds them all.
    """
    files = [pack for pack in packs if not _BARE.fullmatch(pack)]
    for pack in packs:
        if pack in files and not os.path.isfile(pack):
            raise CannotDo(f"there is no pack file `{pack}`; check the name and the folder you are in")
        if pack not in files and pack not in shipped_names():
            cure = did_you_mean(pack, shipped_names(), f"The packs that ship are {', '.join(shipped_names())}.")
            raise CannotDo(
                f"there is no rule pack `{pack}`. {cure} A file is named with its folder, as in ./{pack}.cylpack"
            )
    try:
        folder = os.path.commonpath([os.path.dirname(os.path.abspath(file)) for file in files]) if files else ""
    except ValueError:
        raise CannotDo("the pack files stand on several drives; put them on one") from None
    disk = Disk()
    shelf = Folder(disk, disk.place(folder or ".")[0], None)
    names = [os.path.relpath(pack, folder).replace(os.sep, "/") if pack in files else pack for pack in packs]
    return load_rules(names, shelf.pack, above=shelf.folders_above())


def path_of_pack(pack: str) -> str:
    """The path under which the source of a pack goes that somebody asks for by name or by file."""
    return f"{pack}.cylpack" if _BARE.fullmatch(pack) else shown_path(pack)
