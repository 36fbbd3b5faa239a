"""
`cylfile regroup`: the same record in a new folder, arranged as cards or as sheets; it says the same, or nothing is written.
"""

import gc
import os
import posixpath

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options
from cylfile.files.ledger_files import shown_path
from cylfile.files.stored_record import StoredRecord, folder_to_write, read_stored
from cylfile.files.tree import FILE, FOLDER, LINK, PACK_ENDING, is_within
from cylfile.files.writing import write_folder
from cylfile.rewriting.regrouping import CYLINDER, DAY, Regrouped, regroup
from cylfile.show.told import tell, tell_beside
from cylfile.text.phrases import counted

_PURPOSE = (
    "Write the same record, arranged another way, into a new folder. As cards, every entry stands on the card of its "
    "cylinder or source; as sheets, the fills, visual inspections, tests and gauge readings stand on sheets, one for "
    "each day and place. Comments go with their lines, everything else stays as it is, and before anything is written "
    "it is proven that the record says the same, entry by entry and in the same order."
)
_MORE = """\
examples:
  cylfile regroup cards --into ../as-cards      all on cards
  cylfile regroup sheets --into ../as-sheets    all on sheets

New sheets go beside the sheets of their kind and month, else to sheets/YEAR-MONTH.cyl. The record itself is not
touched. Look at the new folder, and put it in the place of the old one.

Exit status: 0 done, 2 it could not be done.
"""
_BY = {"cards": CYLINDER, "sheets": DAY}


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    folder_to_write(options.paths)
    # See `reading.read`.
    gc.disable()
    stored = read_stored(options.paths, keeps_blocks=True)
    folder = stored.folder
    if is_within(os.path.realpath(options.into), folder.path):
        raise CannotDo(f"`{options.into}` lies in the record, and would be read with it; name a folder beside it")
    odd = next((path for path, file in stored.files.items() if not file.is_whole), None)
    if odd is not None:
        raise CannotDo(f"`{odd}` is not UTF-8 text, so nothing of it can be arranged; save it as UTF-8 first")
    dealt = _dealt(stored, _BY[options.arrangement])
    write_folder(options.into, _files(stored, dealt, options.into))
    _tell(dealt, options.arrangement, options.into)
    return 0


def make_options() -> Options:
    options = Options("regroup", _PURPOSE, _MORE)
    options.add_argument("arrangement", metavar="cards|sheets", choices=tuple(_BY), help="how to arrange it")
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record")
    options.add_argument("--into", metavar="FOLDER", required=True, help="the new folder for all of the record")
    return options


def _dealt(stored: StoredRecord, by: str) -> Regrouped:
    place = stored.folder.shown
    dealt = regroup(stored.record, by, "" if place == "." else f"{place}/", stored.read_before)
    if dealt.refusal:
        raise CannotDo(
            f"regrouped, the record would say something else ({dealt.refusal}); nothing was written, report it"
        )
    return dealt


def _files(stored: StoredRecord, dealt: Regrouped, into: str) -> dict[str, bytes]:
    """What the new folder holds, by the path in it: all of the record, with its rule packs."""
    folder = stored.folder
    data = {path: file.data for path, file in stored.files.items()}
    for path, text in dealt.texts.items():
        file = stored.files.get(path)
        data[path] = file.encoded(text) if file else text.encode("utf-8")
        if not text:
            del data[path]
    top = "" if folder.shown == "." else f"{folder.shown}/"
    ledgers = {path.removeprefix(top): whole for path, whole in data.items()}
    for path in ledgers:
        if any(part.startswith(".") for part in path.split("/")):
            raise CannotDo(f"`{top}{path}` is read through a link; put the file itself in place of the link first")
    return ledgers | _packs(stored, into)


def _packs(stored: StoredRecord, into: str) -> dict[str, bytes]:
    """The rule packs that lie in the record's folder. Raises CannotDo where one that it names would be lost."""
    folder, found, places = stored.folder, {}, [stored.folder.path]
    named = [name for name, _ in stored.record.department.rules] if stored.record.department else []
    for name in named:
        if name.startswith("../") and not os.path.isfile(os.path.normpath(os.path.join(os.path.abspath(into), name))):
            raise CannotDo(f"`{into}` would not find the rule pack `{name}`; name a folder beside the record")
    while places:
        place = places.pop()
        for name, kind in folder.tree.listing(place):
            path = folder.tree.join(place, name)
            if kind == FOLDER and not name.startswith("."):
                places.append(path)
            elif name.endswith(PACK_ENDING):
                inside = path[len(folder.path) :].lstrip("/")
                if kind == FILE:
                    found[inside] = folder.tree.data(path)
                elif inside in map(posixpath.normpath, named):
                    raise CannotDo(f"`{folder.tree.shown(path)}` is no file by itself; put the file itself there first")
                else:
                    what = "a link" if kind == LINK else kind
                    tell(f"left out  {folder.tree.shown(path)}: {what}, and no file")
    return found


def _tell(dealt: Regrouped, arrangement: str, into: str) -> None:
    for entry, why in dealt.kept:
        tell(f"stays  {entry.place}  {entry.subject}: {why}")
    count = counted(dealt.moved, "entry", "entries")
    tell_beside(f"{count} moved to {arrangement}; the record is in {shown_path(into)}")
