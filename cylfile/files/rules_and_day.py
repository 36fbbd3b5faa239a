"""
The rules and the day that a record is judged by: what its department names, unless somebody asks for others.
"""

import argparse
import sys
from datetime import date, datetime, tzinfo

from cylfile.files.pack_files import rules_named
from cylfile.files.records import Folder
from cylfile.judging.case import Case
from cylfile.packs.suggest import did_you_mean
from cylfile.record.record import Record
from cylfile.text.source import Fault


def case_of(folder: Folder, record: Record, options: argparse.Namespace) -> Case:
    """A record that is read already from its folder, with the rules and the day that the options ask for."""
    rules, pack_faults = rules_named(options.rules) if options.rules else folder.rules(record)
    as_of, zone_faults = day_of(record, options.as_of)
    return Case(record, rules, as_of, [*pack_faults, *zone_faults], folder.shown, folder.asked_shown)


def day_of(record: Record, asked: date | None) -> tuple[date, list[Fault]]:
    """
    The day to judge for, and the fault of a zone that there is not, which leaves the day of this machine. From now on
    the record knows the clocks of its zone.
    """
    zone, faults = zone_of(record)
    record.clock = lambda: zone
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
