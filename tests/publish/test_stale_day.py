"""
The day from which on a page is stale: no answer changes before it, and one does on it.
"""

from datetime import date, timedelta

import pytest

from cylfile.files.records import only_one, records_on_disk
from cylfile.files.rules_and_day import case_of
from cylfile.findings.finding import severity
from cylfile.history.due import Due
from cylfile.judging.heads import head_of
from cylfile.judging.judge import judge
from cylfile.judging.stale_day import stale_day
from cylfile.judging.whats_due import all_coming
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.house_pack import load, shipped
from support.running import PROJECT

CARD = """\
department "D"
person p "P"
  fills 2020-01-01
source c "C"
  kind compressor
cylinder K-1
  class carbon-wrapped
  rated 4500 psi
  made 2020-01
  2026-02-01 visual pass
  2026-02-01 entered service
"""
HOUSE = """\
pack house "H"
  over us-dot
rule long-unused  {level}
  on       status
  when     known last-fill-day and day > last-fill-day + 10 days
  say      "unused for long"
"""


def of(record, rules, day: date):
    judgement = judge(record, rules, day)
    found = list(all_coming(judgement.lives.values(), rules, judgement.air))
    return judgement, found


def answers(record, rules, day: date):
    """What the pages answer, judged from the beginning for a day."""
    judgement, found = of(record, rules, day)
    said = {}
    for name, verdict in judgement.verdicts.items():
        head = head_of(record, rules, verdict.life, verdict.findings)
        grave = {f.rule for f in verdict.findings if not f.about and f.day == day and severity(f.level) < 3}
        said[name] = {(reason.rule, reason.kind) for reason in head.reasons}, grave, head.gone, head.in_use
    overdue = {(due.kind, due.subject) for due in found if isinstance(due, Due) and due.day < day}
    may_fill = {name for name in record.people if record.authority.may_fill(name, day)}
    waived = {waiver.name for waiver in record.waivers if (waiver.since or day) <= day <= waiver.until}
    return said, overdue, may_fill, waived


@pytest.mark.parametrize(
    "more, day, stale",
    [
        ("", "2026-02-02", "2027-02-03"),
        # A test falls due at the end of January 2025: the next day it is overdue.
        ("", "2025-01-15", "2025-02-01"),
        ("  2024-06-01 hydro pass\n", "2025-01-15", "2026-01-16"),
        # A line of a day to come, a strike of one, and the end of somebody's authority.
        ("  2026-03-01 out of service \"x\"\n", "2026-02-02", "2026-03-01"),
        ("  2026-02-01 filled to 4000 psi struck 2026-02-20 by p \"x\"\n", "2026-02-02", "2026-02-20"),
        ("person q \"Q\"\n  fills 2020-01-01 until 2026-04-05\n", "2026-02-02", "2026-04-06"),
        ("waived test-overdue for K-1 until 2026-05-06 by p \"x\"\n", "2026-02-02", "2026-05-07"),
        # A sample ages, from three months on; a cartridge after a year.
        ("source s \"S\"\n  kind compressor\n  2026-01-10 air sample pass\n", "2026-02-02", "2026-04-11"),
        ("recall 2026-03-04 \"R\"\n  class carbon-wrapped\n", "2026-02-02", "2026-03-04"),
    ],
)  # fmt: skip
def test_the_first_day_on_which_an_answer_changes(more, day, stale):
    text = CARD.replace("made 2020-01", "made 2024-01") if day.startswith("2026") and "hydro" not in more else CARD
    record = read_record([Source("a.cyl", text + more)])
    assert [fault.text for fault in record.faults if fault.rule == "unreadable-line"] == []
    rules, _ = shipped("us-dot", *(["practice", "air"] if "recall" in more or "sample" in more else []))
    judgement, found = of(record, rules, date.fromisoformat(day))
    assert str(stale_day(judgement, found)) == stale


@pytest.mark.parametrize("name", ["clean", "faulty"])
def test_judged_anew_on_every_day_until_then_all_answers_are_the_same(name):
    class Options:
        rules: list = []
        as_of = date(2026, 11, 25)

    folder = only_one(records_on_disk([str(PROJECT / "examples" / name)]))
    record = read_record(*folder.texts())
    case = case_of(folder, record, Options)
    judgement, found = of(record, case.rules, case.as_of)
    stale = stale_day(judgement, found)
    said = answers(record, case.rules, case.as_of)
    day = case.as_of + timedelta(1)
    while day < stale:
        assert answers(record, case.rules, day) == said, day
        day += timedelta(1)
    assert answers(record, case.rules, stale) != said


@pytest.mark.parametrize("level, stale", [("caution", "2026-02-12"), ("notice", "2027-02-03")])
def test_rules_of_the_house_are_asked_too_and_a_notice_is_no_answer(level, stale):
    rules, faults = load(HOUSE.format(level=level))
    assert faults == []
    card = CARD.replace("made 2020-01", "made 2024-01") + "  2026-02-01 filled to 4000 psi\n"
    judgement, found = of(read_record([Source("a.cyl", card)]), rules, date(2026, 2, 2))
    assert str(stale_day(judgement, found)) == stale
