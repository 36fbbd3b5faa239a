"""
`cylfile due`: what must go to test, to inspection or be replaced, and which samples and changes are due.
"""

import argparse
import re
from datetime import date, timedelta

from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_reading_options, read_each, tell_unread
from cylfile.history.fold import life_of
from cylfile.judging.by_itself import air_log
from cylfile.judging.case import Case
from cylfile.judging.whats_due import all_coming
from cylfile.record.dates import NEVER, months_after
from cylfile.show.pages.due_page import DueList, due_list
from cylfile.show.told import note

_PURPOSE = (
    "List what falls due by month and site: tests, visual inspections, replacements, air samples and cartridges. "
    "What is overdue is always listed."
)
_MORE = """\
examples:
  cylfile due
  cylfile due --within 6m
  cylfile due --within 1y --as ics > cylinders.ics

A period is days, weeks, months or years: 90d, 12w, 6m, 1y.
Exit status: 0 listed, 1 not all of the record could be read, 2 the job could not be done.
"""
_PERIOD = re.compile("([0-9]{1,4})[ \t]*(d|w|m|y|days?|weeks?|months?|years?)")


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    cases = list(read_each(options))
    status = tell_unread(cases, options)
    lists = [_listed(case, _last_day(case.as_of, *options.within)) for case in cases]
    untold = sum(len(listed.untold) for listed in lists)
    if options.form == "ics" and untold:
        note(f"{untold} have no known due day; see cylfile due")
    due = sum(len(listed.due) for listed in lists)
    show_each([(case.folder, listed) for case, listed in zip(cases, lists)], options, [f"{due:,} due"])
    return status


def make_options() -> Options:
    options = Options("due", _PURPOSE, _MORE)
    add_reading_options(options)
    options.add_argument(
        "--within", metavar="PERIOD", type=_period, default=(90, "d"), help="how far to look ahead; 90d by default"
    )
    add_form_options(options)
    return options


def _period(word: str) -> tuple[int, str]:
    found = _PERIOD.fullmatch(word)
    if not found:
        raise argparse.ArgumentTypeError(f"`{word}` is not a period; write it as 90d, 12w, 6m or 1y")
    return int(found[1]), found[2][0]


def _last_day(as_of: date, number: int, unit: str) -> date:
    if unit in "my":
        return months_after(as_of, number * (12 if unit == "y" else 1))
    try:
        return as_of + timedelta(days=number * (7 if unit == "w" else 1))
    except OverflowError:
        return NEVER


def _listed(case: Case, until: date) -> DueList:
    record, rules, as_of = case.record, case.rules, case.as_of
    lives = [life_of(record, rules, card, as_of) for card in record.cylinders.values()]
    return due_list(case, lives, list(all_coming(lives, rules, air_log(record, rules, as_of))), until)
