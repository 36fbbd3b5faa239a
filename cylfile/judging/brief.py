"""
A record in short: what must come out of use, what must not be filled, what falls due, how the sources stand.
"""

from collections.abc import Callable
from datetime import date, timedelta
from typing import NamedTuple

from cylfile.history.due import Due, Untold
from cylfile.judging.by_itself import air_log, judge_cylinder
from cylfile.judging.case import Case
from cylfile.judging.fill_verdict import Reason
from cylfile.judging.heads import Head, head_of
from cylfile.judging.whats_due import all_coming
from cylfile.record.blocks import Cylinder

# How far ahead a briefing looks.
_AHEAD = timedelta(days=30)


class Brief(NamedTuple):
    """
    `heads` are those of all cylinders; `due` is what falls due up to `until`, what is overdue among it;
    `of_sources` what comes next for the sources of air, on whatever day.
    """

    case: Case
    heads: list[Head]
    until: date
    due: list[Due]
    of_sources: list[Due | Untold]

    @property
    def barred(self) -> list[str]:
        """The names of all that must not be filled."""
        return [head.name for head in self.heads if head.is_barred]

    @property
    def to_take_out(self) -> list[str]:
        """The names of those that are in use and must not be; without rules nobody can tell."""
        in_use = (head for head in self.heads if head.in_use and head.is_barred and self.case.rules.names)
        return [head.name for head in in_use if any(reason.ends_use for reason in head.reasons)]


def brief_of(case: Case, elsewhere: Callable[[Cylinder], list[Reason]] = lambda card: []) -> Brief:
    """What there is to say in short. `elsewhere` is what other records of a county have against the cylinder of a card."""
    record, rules, as_of = case.record, case.rules, case.as_of
    air = air_log(record, rules, as_of)
    verdicts = [judge_cylinder(record, rules, card, as_of, air) for card in record.cylinders.values()]
    heads = [
        head_of(record, rules, verdict.life_here, verdict.findings, elsewhere(verdict.life_here.cylinder))
        for verdict in verdicts
    ]
    return brief_from(case, heads, list(all_coming((verdict.life_here for verdict in verdicts), rules, air)))


def brief_from(case: Case, heads: list[Head], found: list[Due | Untold]) -> Brief:
    """The same, of the heads of all cylinders and all that comes, where somebody has them already."""
    record, until = case.record, case.as_of + _AHEAD
    due = [each for each in found if isinstance(each, Due) and each.day <= until]
    of_sources = [each for each in found if each.subject in record.air_sources]
    return Brief(case, heads, until, [each for each in due if each not in of_sources], of_sources)
