"""
`cylfile coming`: tests and replacements to budget for.
"""

import argparse

from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_reading_options, read_each, tell_unread
from cylfile.history.due import REPLACEMENT, TEST, Outlay, Untold, coming, outlays
from cylfile.history.fold import life_of
from cylfile.judging.case import Case
from cylfile.show.pages.coming_page import Coming

_PURPOSE = "Count the tests and replacements of the coming years, by year and class, to budget for them."
_MORE = """\
examples:
  cylfile coming
  cylfile coming --years 10
  cylfile coming --as csv > budget.csv

Exit status: 0 counted, 1 not all of the record could be read, 2 the job could not be done.
"""
_MOST_YEARS = 50


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    cases = list(read_each(options))
    status = tell_unread(cases, options)
    each = [_coming(case, options.years) for case in cases]
    outlays = sum(len(one.outlays) for one in each)
    show_each([(case.folder, one) for case, one in zip(cases, each)], options, [f"{outlays:,} tests and replacements"])
    return status


def _coming(case: Case, count: int) -> Coming:
    """The tests and replacements of a record in this year and so many more."""
    record, rules, as_of = case.record, case.rules, case.as_of
    years = list(range(as_of.year, as_of.year + count + 1))
    found: list[Outlay] = []
    untold: list[str] = []
    for card in record.cylinders.values():
        life = life_of(record, rules, card, as_of)
        found += outlays(life, years[-1])
        if any(isinstance(each, Untold) and each.kind in (TEST, REPLACEMENT) for each in coming(life)):
            untold.append(card.name)
    return Coming(record, rules, as_of, years, found, untold)


def make_options() -> Options:
    options = Options("coming", _PURPOSE, _MORE)
    add_reading_options(options)
    options.add_argument(
        "--years", metavar="N", type=_years, default=5, help="how many years after this one; 5 by default"
    )
    add_form_options(options)
    return options


def _years(word: str) -> int:
    if not word.isascii() or not word.isdigit() or not 1 <= int(word[:4]) <= _MOST_YEARS or len(word) > 4:
        raise argparse.ArgumentTypeError(f"`{word}` is not a number of years from 1 to {_MOST_YEARS}")
    return int(word)
