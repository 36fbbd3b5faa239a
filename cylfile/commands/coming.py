"""
`cylfile coming`: tests and replacements to budget for.
"""

import argparse

from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_reading_options, read, status_of_list
from cylfile.history.due import REPLACEMENT, TEST, Outlay, Untold, coming, outlays
from cylfile.history.fold import life_of
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
    reading = read(options)
    record, rules, as_of = reading.record, reading.rules, reading.as_of
    years = list(range(as_of.year, as_of.year + options.years + 1))
    found: list[Outlay] = []
    untold: list[str] = []
    for card in record.cylinders.values():
        life = life_of(record, rules, card, as_of)
        found += outlays(life, years[-1])
        if any(isinstance(each, Untold) and each.kind in (TEST, REPLACEMENT) for each in coming(life)):
            untold.append(card.name)
    show(Coming(record, rules, as_of, years, found, untold), options)
    return status_of_list(reading.record)


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
        raise argparse.ArgumentTypeError(f"`{word}` is no number of years from 1 to {_MOST_YEARS}")
    return int(word)
