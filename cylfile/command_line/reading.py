"""
What every command that judges has to have: the record, the rules, and the day to judge it for.
"""

import argparse
import gc
import re
import sys
from collections.abc import Callable
from datetime import date, datetime, tzinfo
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import find_ledgers, read_ledgers
from cylfile.command_line.options import Options
from cylfile.files.pack_files import rules_named, rules_of_record
from cylfile.show.terminal.progress import told
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.suggest import did_you_mean
from cylfile.record import dates
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.source import Fault

_DAY = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")


class Reading(NamedTuple):
    """A record and what it is judged by. `faults` are those that are not of the record itself: of packs and zone."""

    record: Record
    rules: Ruleset
    as_of: date
    faults: list[Fault]


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
        help="a shipped pack or a pack file in place of the department's rules; may stand several times",
    )  # fmt: skip


def day(word: str) -> date:
    """A day as an option takes it."""
    try:
        if not _DAY.fullmatch(word):
            raise ValueError
        return dates.day(word)
    except ValueError:
        raise argparse.ArgumentTypeError(f"`{word}` is no day; write it as 2026-03-14") from None


def read(options: argparse.Namespace) -> Reading:
    """
    Read what the options ask for. Raises CannotDo where there is nothing to read.

    From here on nothing is thrown away until the program ends, so looking for garbage would be
    time wasted.
    """
    gc.disable()
    sources, faults = read_ledgers(find_ledgers(options.paths))
    with told(sources, f"reading {len(sources)} files"):
        reading = reading_of(read_record(sources, faults), options)
    gc.freeze()
    return reading


def reading_of(record: Record, options: argparse.Namespace, own_rules: Callable = rules_of_record) -> Reading:
    """
    A record that is read already, with the rules and the day that the options ask for.

    `own_rules` gives the rules that the record's department names, and what is wrong with them.
    """
    rules, pack_faults = rules_named(options.rules) if options.rules else own_rules(record)
    as_of, zone_faults = _as_of(record, options.as_of)
    return Reading(record, rules, as_of, [*pack_faults, *zone_faults])


def _as_of(record: Record, asked: date | None) -> tuple[date, list[Fault]]:
    """The day to judge for, and the fault of a zone that there is not, which leaves the day of this machine."""
    zone, faults = zone_of(record)
    if zone is None and not faults and record.department and record.department.zone and asked is None:
        print("cylfile: this machine knows no time zones; today is taken from its own clock", file=sys.stderr)
    return asked or datetime.now(zone).date(), faults


def zone_of(record: Record) -> tuple[tzinfo | None, list[Fault]]:
    """The zone of the department, None for that of this machine, and the fault of a zone that there is not."""
    department = record.department
    if department is None or department.zone is None:
        return None, []
    from zoneinfo import ZoneInfo, available_timezones

    try:
        return ZoneInfo(department.zone), []
    except (KeyError, ValueError, OSError):
        known = available_timezones()
        if not known:
            return None, []
        cure = did_you_mean(department.zone, known, "Write its name in the IANA database, such as America/Denver.")
        text = f"there is no time zone `{department.zone}`, so today is taken from this machine's clock"
        return None, [Fault(department.where["zone"], text, cure, rule="unknown-name")]


def cylinder_named(record: Record, name_or_tag: str) -> str:
    """The name of the cylinder that an option means. Raises CannotDo where there is none."""
    card = record.find_cylinder(name_or_tag)
    if card is None:
        known = [*record.cylinders, *(tag for card in record.cylinders.values() for tag in card.tags)]
        meant = did_you_mean(name_or_tag, known, "Name it as on its card, or by its tag.")
        raise CannotDo(f"no card is for a cylinder `{name_or_tag}`. {meant}")
    return card.name
