"""
A record as its pages show it: what was judged once, and asked for by every page.
"""

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from functools import cached_property
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.history.due import Due, Untold
from cylfile.history.life import Life
from cylfile.history.service_state import state_of
from cylfile.judging.brief import Brief, brief_from
from cylfile.judging.fill_verdict import Reason
from cylfile.judging.heads import Head, head_of, natural
from cylfile.judging.judge import Judgement
from cylfile.judging.report import worst_first
from cylfile.judging.stale_day import stale_day
from cylfile.judging.whats_due import all_coming
from cylfile.record.blocks import Cylinder
from cylfile.record.dates import NEVER
from cylfile.record.record import Record
from cylfile.show.pages.due_page import DueList, due_list
from cylfile.show.pages.gathered import Gathered, gather
from cylfile.show.pages.reasons import in_short
from cylfile.show.site.answer_marks import GONE, AnswerMark, answer_mark
from cylfile.show.site.page_names import page_names
from cylfile.show.terminal.days import day_or
from cylfile.show.terminal.heading import NO_SITE, folder_of, origin_facts, place_in, title_of

# How far ahead the list of what falls due looks.
_AHEAD = timedelta(days=365)


class Row(NamedTuple):
    """A cylinder in the list of all: its life, its head, and what is said of a fill."""

    life: Life
    head: Head
    mark: AnswerMark
    # The name of its page, with the way from the top of the folder.
    page: str
    site: str

    @property
    def name(self) -> str:
        return self.life.name

    @property
    def state(self) -> str:
        return state_of(self.life)

    @property
    def is_gone(self) -> bool:
        """Whether it is out of the fleet for good, and nobody uses it all the same."""
        return self.mark.kind == GONE

    @property
    def why(self) -> str:
        """Why it must not be filled, each reason in about three words."""
        return ", ".join(dict.fromkeys(map(in_short, self.head.reasons))) if self.head.is_barred else ""

    @property
    def next_test(self) -> str:
        return "" if self.head.gone else day_or(self.life.test_due, "not needed")

    @property
    def life_ends(self) -> str:
        return "" if self.head.gone else day_or(self.life.life_end, "no end")


class Published:
    """
    A record and all that was found of it. The judgement must have the lives of its cylinders.

    `above` tells that the folder stands in one of several records. `elsewhere` is what other records of a county have
    against the cylinder of a card.
    """

    def __init__(
        self,
        judgement: Judgement,
        above: bool = False,
        elsewhere: Callable[[Cylinder], list[Reason]] = lambda card: [],
    ):
        record, rules, as_of = judgement.record, judgement.rules, judgement.as_of
        self.judgement = judgement
        self.made_from = origin_facts(record, rules)
        self.above = above
        self.record: Record = record
        self.rules = rules
        self.as_of: date = as_of
        self.folder = folder_of(record)
        for verdict in judgement.verdicts.values():
            life = verdict.life_here
            verdict.head = head_of(record, rules, life, verdict.findings, elsewhere(life.cylinder))
        self.found: list[Due | Untold] = list(all_coming(judgement.lives.values(), rules, judgement.air))
        self.brief: Brief = brief_from(judgement.case, list(judgement.heads.values()), self.found)
        self.stale: date = stale_day(judgement, self.found)

    @property
    def department(self) -> str:
        department = self.record.department
        return department.title if department else "A record without a department"

    @cached_property
    def pages(self) -> dict[str, str]:
        """Where the page of each cylinder is, by its name."""
        return {name: f"cylinders/{page}.html" for name, page in page_names(self.record.cylinders).items()}

    @cached_property
    def rows(self) -> list[Row]:
        """All cylinders, as people count."""
        lives, heads = self.judgement.lives, self.judgement.heads
        return [
            Row(
                lives[name],
                heads[name],
                answer_mark(heads[name], self.rules, self.as_of),
                self.pages[name],
                NO_SITE if lives[name].site is None else title_of(self.record, lives[name].site),
            )
            for name in sorted(self.record.cylinders, key=natural)
        ]

    @property
    def barred(self) -> list[Row]:
        return [row for row in self.rows if row.head.is_barred and self.rules.names]

    @cached_property
    def due(self) -> DueList:
        """What falls due within a year."""
        until = NEVER if self.as_of > NEVER - _AHEAD else self.as_of + _AHEAD
        return due_list(self.judgement.case, list(self.judgement.lives.values()), self.found, until)

    def findings_about(self, name: str) -> list[Gathered]:
        """What is wrong with a cylinder or a source, the worst first, what one rule finds told as one."""
        return gather(worst_first(self.judgement.about(name)), self.judgement.rules)

    @property
    def other_findings(self) -> list[Gathered]:
        """What is about no cylinder and no source."""
        return gather(worst_first(self.judgement.of_record), self.judgement.rules)

    def places_of(self, each: Gathered) -> Iterator[str]:
        """Where the findings stand, the first and the last."""
        yield place_in(self.folder, each.first.span)
        if len(each.findings) > 1:
            yield place_in(self.folder, each.last.span)

    def place(self, finding: Finding) -> str:
        return place_in(self.folder, finding.span)
