"""
The day from which on what is said today no longer holds, though nobody writes a line.

A test falls due, a life ends, a sample ages, a waiver runs out, a line of a day to come takes effect: what is printed
cannot follow, so it has to say how long it holds.
"""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from cylfile.findings.finding import severity
from cylfile.history.due import Due, Untold
from cylfile.history.facts import STATUS
from cylfile.history.life import Life
from cylfile.judging.fill_verdict import must_not_be_filled
from cylfile.judging.judge import Judgement
from cylfile.judging.subject_judge import CylinderJudge
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import last_day
from cylfile.record.dates import NEVER

# Nothing that is printed is taken to hold for longer, whatever it says.
_LONGEST = timedelta(days=366)
_DAY = timedelta(days=1)
# A notice tells of no hazard, and is no answer.
_LEAST = severity("caution")


def stale_day(judgement: Judgement, found: Iterable[Due | Untold]) -> date:
    """
    The first day after the as-of day on which an answer changes by itself, at most a year and a day later.

    The answers are which cylinders may be filled and for which reasons not, what endangers them by the rules of the
    as-of day, what is overdue, who may fill and what is waived. `found` is all that comes, and the judgement must
    have the lives of its cylinders. Each day is judged as it will be; so the rules of the house count as others do.
    """
    as_of = judgement.as_of
    days = [day for day in _days_written(judgement) if day > as_of]
    days += (_after(each.day) for each in found if isinstance(each, Due) and each.day >= as_of)
    first = min([*days, _after(as_of, _LONGEST)])
    first = date(first.year, first.month, first.day)
    for life in judgement.lives.values():
        said = _answers(judgement.rules, life, as_of)
        day = _after(as_of)
        while day < first:
            if _answers(judgement.rules, life, day) != said:
                first = day
            day = _after(day)
    return first


def _days_written(judgement: Judgement) -> Iterator[date]:
    """The days on which something that is written begins to hold or ends."""
    record, as_of = judgement.record, judgement.as_of
    for entries in record.entries.values():
        for entry in entries:
            if entry.day > as_of:
                yield entry.day
            yield from (signed.day for signed in (entry.struck, entry.late) if signed is not None)
            yield from (answer.day for answer in entry.answers or ())
    for recall in record.recalls:
        if recall.day is not None:
            yield recall.day
    for waiver in record.waivers:
        yield from (waiver.since or as_of, _after(waiver.until))
    for person in record.people.values():
        for first, last in person.fills:
            yield from (first or as_of, _after(last_day(last)))


def _answers(rules: Ruleset, life: Life, day: date) -> tuple[set, set]:
    """
    What is said of a cylinder on a day: why it must not be filled, and what the rules of that day find.

    What its entries are blamed for and which lines about it cannot be read are left out: no day changes that.
    """
    life = life.copy()
    life.as_of = day
    judge = CylinderJudge(rules, life, life.cylinder)
    judge.judge_entry(None, STATUS)
    of_day = [finding for finding in judge.end() if not finding.about]
    reasons = must_not_be_filled(life, rules, findings=of_day)
    grave = {finding.rule for finding in of_day if severity(finding.level) <= _LEAST}
    return {(reason.rule, reason.kind) for reason in reasons}, grave


def _after(day: date, by: timedelta = _DAY) -> date:
    return NEVER if day >= NEVER - by else day + by
