"""
`cylfile inventory`: all cylinders today.
"""

from cylfile.cannot import CannotDo
from cylfile.command_line.in_county import InCounty, read_county
from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_reading_options, tell_unread
from cylfile.history.lending import loans_between
from cylfile.history.service_state import STATES, state_of
from cylfile.history.whereabouts import at_tester_since
from cylfile.judging.by_itself import air_log, judge_cylinder
from cylfile.judging.heads import head_of
from cylfile.packs.suggest import did_you_mean
from cylfile.record.called import as_on_record
from cylfile.show.pages.inventory_page import Inventory, InventoryRow
from cylfile.text.spelling import american

_PURPOSE = "List all cylinders as they are today: state, site, class, last fill, next test, end of life."
_MORE = """\
examples:
  cylfile inventory
  cylfile inventory --site st1 --state in-service
  cylfile inventory --class carbon-wrapped --as csv > cylinders.csv

Exit status: 0 listed, 1 not all of the record could be read, 2 the job could not be done.
"""


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    county = read_county(options)
    cases = [each.case for each in county]
    status = tell_unread(cases, options)
    inventories = [_inventory(each, options) for each in county]
    loans = loans_between([(each.record, [row.life for row in each.rows]) for each in inventories])
    each = [
        (case.folder, one._replace(loans=[loan for loan in loans if one.department in (loan.owner, loan.keeper)]))
        for case, one in zip(cases, inventories)
    ]
    cylinders = sum(len(inventory.rows) for _, inventory in each)
    may = sum(row.may_be_filled for _, inventory in each for row in inventory.rows)
    show_each(each, options, [f"{cylinders:,} cylinders", f"{may:,} with nothing against a fill"])
    return status


def _inventory(one: InCounty, options) -> Inventory:
    record, rules, as_of = one.case.record, one.case.rules, one.case.as_of
    elsewhere = one.against(record.cylinders.values())
    site = _known("site", options.site, record.sites) if options.site else None
    air = air_log(record, rules, as_of)
    rows, classes = [], set(rules.classes)
    for card in record.cylinders.values():
        verdict = judge_cylinder(record, rules, card, as_of, air)
        life = verdict.life_here
        classes.update(filter(None, [life.class_name or card.class_name]))
        if _is_wanted(life, options, site):
            since = at_tester_since(record, card.name, life.site, as_of)
            head = head_of(record, rules, life, verdict.findings, elsewhere(card))
            rows.append(InventoryRow(life, head, since))
    if options.class_name:
        _known("class", options.class_name, classes)
    narrowed = ", ".join(filter(None, (site and f"site {site}", options.class_name, options.state)))
    return Inventory(record, rules, as_of, rows, narrowed)


def make_options() -> Options:
    options = Options("inventory", _PURPOSE, _MORE)
    add_reading_options(options)
    options.add_argument("--site", metavar="SITE", help="only cylinders that are at this site")
    options.add_argument(
        "--class", dest="class_name", metavar="CLASS", type=american, help="only cylinders of this class"
    )
    options.add_argument("--state", metavar="STATE", choices=STATES, help="only cylinders in this state")
    add_form_options(options)
    return options


def _is_wanted(life, options, site: str | None) -> bool:
    return (
        (site is None or life.site == site)
        and (options.class_name is None or options.class_name in (life.class_name, life.cylinder.class_name))
        and (options.state is None or state_of(life) == options.state)
    )


def _known(what: str, name: str, known) -> str:
    """The name, if there is such a thing. Raises CannotDo where there is none, lest nobody be found by mistake."""
    name = as_on_record(name, known)
    if name not in known:
        meant = did_you_mean(name, known, f"There are: {', '.join(sorted(known)) or 'none'}.")
        raise CannotDo(f"there is no {what} `{name}`. {meant}")
    return name
