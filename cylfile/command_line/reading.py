"""
What every command that judges has to have: the record, the rules, and the day to judge it for.
"""

import argparse
import gc
import re
from collections.abc import Iterator
from datetime import date

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options
from cylfile.files.records import Folder, only_one, records_on_disk
from cylfile.files.rules_and_day import case_of
from cylfile.judging.case import Case
from cylfile.judging.report import could_not_be_read
from cylfile.packs.suggest import did_you_mean
from cylfile.record import dates
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.show.terminal.progress import told

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
        raise argparse.ArgumentTypeError(f"`{word}` is no day; write it as 2026-03-14") from None


def read(options: argparse.Namespace) -> Case:
    """
    Read the one record that the options ask for. Raises CannotDo where there is nothing to read, or more than one.

    From here on nothing is thrown away until the program ends, so looking for garbage would be
    time wasted.
    """
    gc.disable()
    case = _case(only_one(records_on_disk(options.paths)), options)
    gc.freeze()
    return case


def read_each(options: argparse.Namespace) -> Iterator[Case]:
    """Each of the records that the options ask for, in the order of their folders; see `read`."""
    gc.disable()
    for folder in records_on_disk(options.paths):
        yield _case(folder, options)
        gc.freeze()


def _case(folder: Folder, options: argparse.Namespace) -> Case:
    sources, faults = folder.texts()
    with told(sources, f"reading {len(sources)} files"):
        return case_of(folder, read_record(sources, faults), options)


def status_of_list(record: Record) -> int:
    """The exit status of a list or a report: 1 where not all of the record could be read."""
    return int(bool(could_not_be_read(record)))


def cylinder_named(record: Record, name_or_tag: str) -> str:
    """The name of the cylinder that an option means. Raises CannotDo where there is none."""
    card = record.find_cylinder(name_or_tag)
    if card is None:
        known = [*record.cylinders, *(tag.name for card in record.cylinders.values() for tag in card.tags)]
        meant = did_you_mean(name_or_tag, known, "Name it as on its card, or by its tag.")
        raise CannotDo(f"no card is for a cylinder `{name_or_tag}`. {meant}")
    return card.name
