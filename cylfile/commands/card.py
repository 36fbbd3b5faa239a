"""
`cylfile card`: one cylinder's whole life.
"""

from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_reading_options, cylinder_named, read_holding, tell_unread
from cylfile.history.due import coming
from cylfile.history.fold import steps_of
from cylfile.history.order import in_order
from cylfile.history.standing import stands
from cylfile.judging.case import Case
from cylfile.judging.heads import head_of
from cylfile.judging.judge import air_log, judge, judge_cylinder
from cylfile.record.called import cylinder_called
from cylfile.record.entries import Filled
from cylfile.show.pages.card_page import Card
from cylfile.show.terminal.life_line import life_line_of

_PURPOSE = (
    "Show one cylinder's whole life: what it is, a line of its years, what comes next, and every entry about it "
    "with what is wrong beside it."
)
_MORE = """\
examples:
  cylfile card T-114
  cylfile card E20034AF --every-fill
  cylfile card T-114 records/ --as json

Exit status: 0 shown, 1 not all of the record could be read, 2 the job could not be done.
"""


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    case = read_holding(options, options.cylinder, lambda record: cylinder_called(record, options.cylinder))
    status = tell_unread([case], options)
    card = _card(case, cylinder_named(case.record, options.cylinder), options.every_fill)
    show(card, options)
    return status


def make_options() -> Options:
    options = Options("card", _PURPOSE, _MORE)
    options.add_argument("cylinder", metavar="NAME", help="the cylinder, by its name or by a tag")
    add_reading_options(options)
    options.add_argument("--every-fill", action="store_true", help="one line for each fill, ordinary ones too")
    add_form_options(options)
    return options


def _card(case: Case, name: str, every_fill: bool) -> Card:
    record, rules, as_of = case.record, case.rules, case.as_of
    block = record.cylinders[name]
    verdict = judge_cylinder(record, rules, block, as_of)
    life = verdict.life
    # The rest of what is judged, such as waivers, looks at the whole record.
    judgement = judge(record, rules, as_of, case.faults, {name: verdict})
    entries = in_order(record.entries.get(name, ())).entries
    return Card(
        record, rules, life, head_of(record, rules, life, verdict.findings), entries, judgement.about(name), list(coming(life)),
        life_line_of(steps_of(record, rules, block, as_of)), _free_air(case, name), every_fill,
    )  # fmt: skip


def _free_air(case: Case, name: str) -> tuple[float, int]:
    """The free air of all fills, and how many of them do not say enough."""
    air = air_log(case.record, case.rules, case.as_of)
    fills = [e for e in case.record.entries.get(name, ()) if e.__class__ is Filled and stands(e, case.as_of)]
    volumes = [air.free_air_of(fill).volume for fill in fills]
    return sum(max(volume, 0.0) for volume in volumes if volume is not None), volumes.count(None)
