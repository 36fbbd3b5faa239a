"""
`cylfile card`: one cylinder's whole life.
"""

from cylfile.command_line.in_county import read_county
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_reading_options, cylinder_named, holding, tell_unread
from cylfile.history.lending import written_elsewhere
from cylfile.judging.heads import head_of
from cylfile.judging.one_cylinder import judge_one
from cylfile.record.called import cylinder_called
from cylfile.show.pages.card_page import card_of

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
    county = read_county(options)
    cases = [each.case for each in county]
    case = holding(cases, options.cylinder, lambda record: cylinder_called(record, options.cylinder))
    status = tell_unread([case], options)
    name = cylinder_named(case.record, options.cylinder)
    record, card = case.record, case.record.cylinders[name]
    judgement = judge_one(record, case.rules, case.as_of, name, case.faults)
    elsewhere = next(each for each in county if each.case is case).against([card])
    verdict = judgement.verdicts[name]
    verdict.head = head_of(record, case.rules, verdict.life_here, verdict.findings, elsewhere(card))
    shown = card_of(judgement, name, options.every_fill)
    shown.of_neighbors = written_elsewhere(card, [each.record for each in cases if each is not case])
    show(shown, options)
    return status


def make_options() -> Options:
    options = Options("card", _PURPOSE, _MORE)
    options.add_argument("cylinder", metavar="NAME", help="the cylinder, by its name or by a tag")
    add_reading_options(options)
    options.add_argument("--every-fill", action="store_true", help="one line for each fill, ordinary ones too")
    add_form_options(options)
    return options
