"""
What every command that judges has to have: the record, the rules, and the day to judge it for.
"""

import argparse
import gc
import os
import re
import sys
from collections.abc import Callable, Iterator
from datetime import date, datetime
from functools import cache
from typing import Any

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options
from cylfile.files.records import Folder, only_one, records_on_disk
from cylfile.files.rules_and_day import case_of, zone_of
from cylfile.files.tree import PACK_ENDING
from cylfile.judging.case import Case
from cylfile.packs.suggest import did_you_mean
from cylfile.record import dates
from cylfile.record.called import Marks, cylinder_called, marks_of
from cylfile.record.origin import Origin
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.show.terminal.progress import told
from cylfile.show.visible import visible

# Forms that are rows or events and nothing else.
_NO_PLACE = ("csv", "ics")
_DAY = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")


def add_reading_options(options: Options) -> None:
    """The options of every command that judges."""
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record; - is standard input")
    add_judging_options(options)


def add_judging_options(options: Options) -> None:
    options.add_argument(
        "--as-of", metavar="DAY", type=day, help="judge for this day; today in the department's zone by default"
    )
    options.add_argument(
        "--rules", metavar="PACK", action="append", default=[],
        help="a shipped pack or a pack file in place of the department's rules; may be repeated",
    )  # fmt: skip


def day(word: str) -> date:
    """A day as an option takes it."""
    try:
        if not _DAY.fullmatch(word):
            raise ValueError
        return dates.day(word)
    except ValueError:
        raise argparse.ArgumentTypeError(f"`{word}` is not a day; write it as 2026-03-14") from None


def read(options: argparse.Namespace) -> Case:
    """
    Read the one record that the options ask for. Raises CannotDo where there is nothing to read, or more than one.

    From here on nothing is thrown away until the program ends, so looking for garbage would be
    time wasted.
    """
    gc.disable()
    case = case_in(only_one(records_on_disk(options.paths)), options)
    gc.freeze()
    return case


def read_each(options: argparse.Namespace) -> Iterator[Case]:
    """Each of the records that the options ask for, in the order of their folders; see `read`."""
    gc.disable()
    folders = records_on_disk(options.paths)
    while folders:
        yield case_in(folders.pop(0), options)


def holding(cases: list[Case], name: str, finds: Callable[[Record], object]) -> Case:
    """
    The one case, or of several the one that holds something of a name, where `finds` tells of a record if it does.

    Raises CannotDo, with both their folders, where two do, and where none of several does.
    """
    if len(cases) == 1:
        return cases[0]
    return the_one_holding(name, [(case, case.folder, finds(case.record)) for case in cases])


def the_one_holding(name: str, each: list[tuple], cure: str = "name it as on its card, or by its tag") -> Any:
    """What stands first of the one of several (thing, folder of its record, whether it holds the name)."""
    holding = [(thing, folder) for thing, folder, holds in each if holds]
    if not holding:
        raise CannotDo(f"none of the {len(each)} records here has a `{name}`; {cure}")
    if len(holding) > 1:
        folders = " and ".join(f"`{folder}`" for _, folder in holding)
        raise CannotDo(f"`{name}` is in {len(holding)} records, {folders}; name the folder of the one that is meant")
    return holding[0][0]


def case_in(folder: Folder, options: argparse.Namespace, jobs: int | None = 1, is_checked: bool = True) -> Case:
    """
    The case of a record that was found, read in so many processes, in as many as pay where that is None.

    Where nobody checks it, what its files say may have been kept from an earlier run.
    """
    sources, faults = folder.texts()
    with told(sources, f"reading {len(sources)} files"):
        files: dict = {}
        if not is_checked:
            from cylfile.files.kept_readings import add_kept

            add_kept(files, sources)
        elif jobs != 1:
            from cylfile.judging.reading_files import read_files

            files = read_files(sources, jobs)
        return with_origin(case_of(folder, read_record(sources, faults, files), options), folder, options)


def with_origin(case: Case, folder: Folder, options: argparse.Namespace) -> Case:
    """The case, whose record tells from now on which revision holds it; nothing is looked up before it is asked."""
    packs = [name for name in case.rules.digests if name.endswith(PACK_ENDING)]
    stamp = ""
    if getattr(options, "stamp", False):
        zone, _ = zone_of(case.record)
        now = datetime.now(zone).astimezone(zone).isoformat(timespec="seconds")
        stamp = f"{now} by `{options.written}`"

    @cache
    def origin() -> Origin:
        # A record that lies in no work tree needs nothing of what asks git, unless git is told where one is.
        if folder.tree.work_tree(folder.path) is None and "GIT_DIR" not in os.environ:
            return Origin(stamp=stamp)
        from cylfile.files.git.holding import origin_of

        return origin_of(folder, packs, stamp)

    case.record.origin = origin
    return case


def tell_unread(cases: list[Case], options: argparse.Namespace) -> int:
    """
    The exit status of a list or a report: 1 where not all of the records could be read.

    Pages and objects say what could not; beside the forms that have no place for it, standard error does.
    """
    unread = [fault for case in cases for fault in case.record.unread]
    if unread and options.form in _NO_PLACE:
        places = [fault.span.place for fault in unread]
        more = f" and {len(places) - 3:,} more" if len(places) > 3 else ""
        print(visible(f"cylfile: could not be read: {', '.join(places[:3])}{more}"), file=sys.stderr, flush=True)
    return int(bool(unread))


def the_one_meant(word: str, marks: Marks) -> str:
    """The mark that somebody means by a word, or the word. Raises CannotDo where it may be more than one."""
    fitting = marks.fitting(word)
    if len(fitting) > 1:
        raise CannotDo(f"`{word}` may be {' or '.join(sorted(fitting))}; write it as it is on the card")
    return fitting[0] if fitting else word


def refuse_broken_header(record: Record, name: str) -> None:
    """Raise CannotDo where the line that may open the card of a name cannot be read."""
    header = record.broken_headers.get(name)
    if header is not None:
        place = header.place
        raise CannotDo(f"the line that may open the card of `{name}` cannot be read ({place}); correct it first")


def cylinder_named(record: Record, name_or_tag: str) -> str:
    """The name of the cylinder that an option means. Raises CannotDo where there is none."""
    marks = marks_of(record)
    card = cylinder_called(record, the_one_meant(name_or_tag, marks), marks=marks)
    if card is None:
        refuse_broken_header(record, name_or_tag)
        meant = did_you_mean(name_or_tag, marks.holders, "Name it as on its card, or by its tag or serial number.")
        raise CannotDo(f"there is no card for a cylinder `{name_or_tag}`. {meant}")
    return card.name
