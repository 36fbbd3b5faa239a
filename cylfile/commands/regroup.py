"""
`cylfile regroup`: deal a record out anew, as cards or as sheets; it says the same afterwards, or nothing is written.
"""

import os
import sys

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options
from cylfile.files.ledger_files import shown_path
from cylfile.files.stored_record import Paper, Papers, folder_to_write, read_papers
from cylfile.files.writing import Change, locked, write_files
from cylfile.rewriting.regrouping import CYLINDER, DAY, Regrouped, regroup
from cylfile.show.visible import visible

_PURPOSE = (
    "Deal the same record out another way. By cylinder, every entry goes to the card of its cylinder or source; by "
    "day, the fills, visual inspections, tests and gauge readings go to sheets, one for each day and place. Comments "
    "go with their lines, everything else stays as it is, and before anything is written it is proven that the record "
    "says the same, entry by entry and in the same order."
)
_MORE = """\
examples:
  cylfile regroup --by cylinder                 all to cards, in this folder
  cylfile regroup --by day --to ../as-sheets    the same record as sheets in a new folder; this one stays

New sheets go beside the sheets of their kind and month, else to sheets/YEAR-MONTH.cyl. A file that is left with
nothing is removed. Keep the record in git, or use --to, so that you can go back.

exit status: 0 done, 2 it could not be done
"""


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    folder = folder_to_write(options.paths)
    if options.to is not None:
        papers = read_papers(options.paths)
        dealt = _dealt(papers, options.by, folder)
        write_files(_copies(papers, dealt, folder, _new_folder(options.to, folder)))
        _tell(dealt, options.by)
        return 0
    with locked(folder):
        papers = read_papers(options.paths)
        dealt = _dealt(papers, options.by, folder)
        write_files([_change(papers.by_path.get(path), path, text) for path, text in dealt.texts.items()])
    _tell(dealt, options.by)
    return 0


def make_options() -> Options:
    options = Options("regroup", _PURPOSE, _MORE)
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record")
    options.add_argument("--by", choices=(CYLINDER, DAY), required=True, help="as cards, or as sheets")
    options.add_argument("--to", metavar="FOLDER", help="write the whole record to this new folder; leave this one")
    return options


def _dealt(papers: Papers, by: str, folder: str) -> Regrouped:
    place = shown_path(folder)
    dealt = regroup(papers.record, by, "" if place == "." else f"{place}/")
    if dealt.refusal:
        raise CannotDo(
            f"regrouped, the record would say something else ({dealt.refusal}); nothing was written, report it"
        )
    return dealt


def _change(paper: Paper | None, path: str, text: str) -> Change:
    if paper is None:
        return Change(path, None, text.encode("utf-8"))
    return Change(paper.path, paper.data, paper.encoded(text) if text else None)


def _new_folder(to: str, folder: str) -> str:
    """The folder to write to. Raises CannotDo where it is in use, or is part of the record."""
    top, new = os.path.realpath(folder), os.path.realpath(to)
    if new == top or new.startswith(os.path.join(top, "")):
        raise CannotDo(f"`{to}` lies in the record, and would be read as part of it; name a folder beside it")
    if os.path.lexists(new) and (not os.path.isdir(new) or os.listdir(new)):
        raise CannotDo(f"`{to}` is in use; name a folder that is empty or not there yet")
    return new


def _copies(papers: Papers, dealt: Regrouped, folder: str, to: str) -> list[Change]:
    """The whole record in another folder, with its rule packs."""
    data = {path: paper.data for path, paper in papers.by_path.items()}
    for path, text in dealt.texts.items():
        paper = papers.by_path.get(path)
        data[path] = paper.encoded(text) if paper else text.encode("utf-8")
        if not text:
            del data[path]
    for path in _packs(folder):
        with open(path, "rb") as opened:
            data[path] = opened.read()
    return [Change(os.path.join(to, os.path.relpath(path, folder)), None, whole) for path, whole in data.items()]


def _packs(folder: str) -> list[str]:
    found = []
    for place, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        found += [os.path.join(place, name) for name in names if name.endswith(".cylpack")]
    return found


def _tell(dealt: Regrouped, by: str) -> None:
    for entry, why in dealt.kept:
        print(visible(f"stays  {entry.source.path}:{entry.span.line}  {entry.subject}: {why}"))
    gone = sum(not text for text in dealt.texts.values())
    what = "cards" if by == CYLINDER else "sheets"
    count = f"{dealt.moved:,} {'entry' if dealt.moved == 1 else 'entries'}"
    print(f"{count} moved to {what}, {len(dealt.texts)} files changed, {gone} of them left empty", file=sys.stderr)
