"""
`cylfile briefing`: what a chief has to know today, on one screen.
"""

from cylfile.command_line.in_county import read_county
from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_reading_options, tell_unread
from cylfile.judging.brief import brief_of
from cylfile.show.pages.reasons import DO_NOT_FILL
from cylfile.text.phrases import counted

_PURPOSE = (
    "One screen: what is in use and must not be, what must not be filled and why, what could not be read, what falls "
    "due in 30 days, and how each source of air stands."
)
_MORE = "Exit status: 0 shown, 1 not all of the record could be read, 2 the job could not be done."


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    county = read_county(options)
    cases = [each.case for each in county]
    briefs = [brief_of(each.case, each.against(each.case.record.cylinders.values())) for each in county]
    total = [
        counted(sum(len(brief.heads) for brief in briefs), "cylinder"),
        f"take out of use now {sum(len(brief.to_take_out) for brief in briefs):,}",
        f"{DO_NOT_FILL} {sum(len(brief.barred) for brief in briefs):,}",
        f"{sum(len(brief.due) for brief in briefs):,} due",
        f"could not be read: {counted(sum(len(case.record.unread) for case in cases), 'place')}",
    ]
    show_each([(case.folder, brief) for case, brief in zip(cases, briefs)], options, total)
    return tell_unread(cases, options)


def make_options() -> Options:
    options = Options("briefing", _PURPOSE, _MORE)
    add_reading_options(options)
    add_form_options(options)
    return options
