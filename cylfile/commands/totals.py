"""
`cylfile totals`: what was done in a year, or in other days, counted.
"""

from argparse import ArgumentTypeError
from datetime import date

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_reading_options, day, read_each, tell_unread
from cylfile.history.totals import PER, totals_of
from cylfile.judging.by_itself import air_log
from cylfile.judging.case import Case
from cylfile.show.pages.totals_page import Totals

_PURPOSE = "Count the fills, their free air, the tests and the inspections of a period: the annual report."
_MORE = """\
examples:
  cylfile totals
  cylfile totals --per source,month
  cylfile totals --first 2025-01-01 --last 2025-12-31 --per person --as csv > 2025.csv

Totals are made per month, source, site, person, class or cylinder, or several of these.
Exit status: 0 counted, 1 not all of the record could be read, 2 the job could not be done.
"""


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    cases = list(read_each(options))
    each = [(case.folder, _totals(case, options)) for case in cases]
    fills = sum(total.fills for _, totals in each for total in totals.rows.values())
    show_each(each, options, [f"{fills:,} fills"])
    return tell_unread(cases, options)


def make_options() -> Options:
    options = Options("totals", _PURPOSE, _MORE)
    add_reading_options(options)
    meaning = "what to count by, with commas between; month by default"
    options.add_argument("--per", metavar="WHAT", type=_per, default=["month"], help=meaning)
    options.add_argument("--first", metavar="DAY", type=day, help="the first day; that of the year by default")
    options.add_argument("--last", metavar="DAY", type=day, help="the last day; the as-of day by default")
    add_form_options(options)
    return options


def _per(words: str) -> list[str]:
    names = words.split(",")
    for name in names:
        if name not in PER:
            raise ArgumentTypeError(f"`{name}` is not something to count by; write {', '.join(PER)}")
    if len(set(names)) < len(names):
        raise ArgumentTypeError(f"`{words}` names one thing twice")
    return names


def _totals(case: Case, options) -> Totals:
    record, rules, as_of = case.record, case.rules, case.as_of
    last = min(options.last or as_of, as_of)
    first = options.first or date(last.year, 1, 1)
    if last < first:
        raise CannotDo(f"the last day, {last}, is before the first, {first}; give --first and --last in order")
    class_of = {name: rules.resolve(card).figures.class_name for name, card in record.cylinders.items()}
    rows = totals_of(record, air_log(record, rules, as_of), class_of, options.per, first, last)
    return Totals(record, rules, as_of, options.per, first, last, rows)
