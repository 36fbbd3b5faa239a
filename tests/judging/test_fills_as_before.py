"""Of which fills the rules need not be asked again: the test of the whole is `tests/server/test_settling.py`."""

from datetime import date
from functools import partial

import pytest

from cylfile.history.facts import FACTS
from cylfile.history.life import Life
from cylfile.judging.by_itself import judge_cylinder
from cylfile.judging.fills_as_before import COUNT, NOT_COMPARED, JudgeAgain
from cylfile.judging.subject_judge import CylinderJudge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot", "practice"], lambda name: None)
RECORD = """\
department "D"
  rules us-dot
cylinder K-1
  class carbon-wrapped
  rated 4500 psi
  made 2021-12
  2021-12-15 entered service
"""
UNENTERED = RECORD.replace("  2021-12-15 entered service\n", "")
AS_OF = date(2026, 12, 1)


def read(*lines: str):
    return read_record([Source("1.cyl", RECORD + "".join(f"  {line}\n" for line in lines))])


def test_no_fact_of_a_fill_asks_a_life_for_what_is_not_compared():
    asked = set()

    class Watched(Life):
        def __getattribute__(self, name):
            asked.add(name)
            return super().__getattribute__(name)

    record = read(
        "2026-01-02 10:00 filled to 4500 psi at 70 F", "2026-01-02 10:05 filled to 4600 psi at 80 F over 3 min"
    )
    card = record.cylinders["K-1"]
    life = Watched(card, RULES.resolve(card).figures, record.authority, AS_OF)
    for entry in record.entries["K-1"][:-1]:
        life.take_in(entry)
    fill = record.entries["K-1"][-1]
    for name, fact in FACTS.items():
        if "filled" in fact.at and not fact.is_of_air and name != COUNT:
            asked.clear()
            fact.value(life, fill)
            # What it settles to is worked out for each fill.
            assert asked.isdisjoint(set(NOT_COMPARED) - {"_settled_entry", "_settled"}), name


def test_fills_are_asked_of_again_from_a_change_until_all_that_is_known_is_the_same():
    days = [f"2026-{month:02d}-02 filled to 4500 psi at 70 F" for month in range(1, 9)]
    before = judged(read(*days))
    for lines, again in (
        (days, []),
        # What was filled last is another fill until the next one.
        ([*days[:3], "2026-03-09 filled to 4000 psi at 70 F", *days[3:]], [3, 4]),
        ([*days[:3], *days[4:]], [3]),
        ([*days[:3], "2026-03-09 visual pass", *days[3:]], [4, 5, 6, 7, 8]),
        ([*days, "2026-11-09 filled to 4000 psi at 70 F"], [8]),
        (['2026-01-01 damaged "cut"', *days], [1, 2, 3, 4, 5, 6, 7, 8]),
    ):
        record, watched = read(*lines), []
        judged(record, partial(_Watched, before=before.asked, watched=watched))
        fills = record.entries["K-1"][1:]
        assert [fills.index(fill) for fill in watched] == again


FILL = "2026-0{}-02 filled K-1 to 4500 psi at 70 F{}\n"
MONTHS = (1, 3, 5)
# Of its fills no block but the file tells whether they came before what barred it on their days.
FAILED = "".join(f"  2026-0{month}-02 visual fail\n  2026-0{month}-03 visual pass\n" for month in MONTHS)
ADA = 'person ada "Ada"\n  fills 2020-01-01\n'
FILLED = ADA + "".join(FILL.format(month, "") for month in MONTHS)
COUNT_PACK = """\
pack house "Ours"
  over us-dot
rule many-fills  notice
  on    filled
  when  fill-count > 2
  say   "fill {fill-count}"
"""
COUNTING, _ = load_rules(["us-dot", "house"], lambda name: Source("house.cylpack", COUNT_PACK))


@pytest.fixture
def both_ways(monkeypatch):
    """The months of which both orders are asked."""
    months, said = [], CylinderJudge._both_ways

    def asked(self, untold):
        months.append(untold.bars_first[0].day.month)
        return said(self, untold)

    monkeypatch.setattr(CylinderJudge, "_both_ways", asked)
    return months


@pytest.mark.parametrize(
    ("before", "after", "again"),
    (
        ({}, {}, []),
        ({"more": FILL.format(2, "")}, {}, [3]),
        ({"more": FILL.format(2, "")}, {"more": FILL.format(2, "") + FILL.format(4, "")}, [5]),
        ({}, {"more": '2026-02-01 damaged K-1 "cut"\n'}, [3, 5]),
        # They stand elsewhere now.
        ({}, {"filled": "# x\n" + FILLED}, [1, 3, 5]),
        # What was lacking once before is lacking there first.
        (
            {"more": "2025-12-01 filled K-1 to 4500 psi\n2025-12-02 filled K-1 to 4500 psi at 70 F by ada\n"},
            {"more": "2025-12-02 filled K-1 to 4500 psi at 70 F by ada\n"},
            [1],
        ),
        # It was filled before it entered service.
        ({"card": UNENTERED}, {"card": UNENTERED, "more": "2026-08-01 entered service K-1\n"}, [1, 3, 5]),
    ),
)
def test_what_both_orders_say_is_asked_again_only_where_something_else_is_known(both_ways, before, after, again):
    known, files = {}, {}
    for texts in (before, after):
        record = read_files(files, **texts)
        both_ways.clear()
        verdict = judged(record, partial(JudgeAgain, before=known.get("asked")))
        known["asked"] = verdict.asked
    assert both_ways == again
    assert told(verdict) == told(judged(record))
    assert len(verdict.asked.stretches) == 3


@pytest.mark.parametrize(("before", "after"), ((1, 2), (2, 1)))
def test_what_both_orders_say_is_asked_again_where_a_rule_that_counts_may_say_something_of_it(before, after):
    files, asked = {}, None
    for fills in (before, after):
        more = "".join(f"2025-12-0{day} filled K-1 to 4500 psi at 70 F by ada\n" for day in range(3 - fills, 3))
        record = read_files(files, more=more)
        verdict = judged(record, partial(JudgeAgain, before=asked), COUNTING)
        asked = verdict.asked
    assert told(verdict) == told(judged(record, rules=COUNTING))


def test_what_both_orders_say_is_asked_again_where_others_tell_otherwise_of_a_fill(both_ways):
    record = read_files({})
    asked = judged(record).asked
    fill = record.entries["K-1"][-1]
    for before, otherwise in ((asked, {id(fill)}), (asked._replace(otherwise=(fill,)), ())):
        both_ways.clear()
        judged(record, partial(JudgeAgain, before=before, otherwise=otherwise))
        assert both_ways == [fill.day.month]


def read_files(files, card=RECORD, filled=FILLED, more=""):
    """A record of three files, of which those that were read before are in `files`."""
    texts = {"1.cyl": card + FAILED, "2.cyl": filled, "3.cyl": more}
    known = {(source.path, source.text): source for source in files}
    return read_record([known.get(each) or Source(*each) for each in texts.items()], read_before=files)


class _Watched(JudgeAgain):
    def __init__(self, *known, before, watched):
        super().__init__(*known, before=before)
        by_state = self._by_state
        self._by_state = lambda life, fill, hits: watched.append(fill) or by_state(life, fill, hits)


def judged(record, judge_by=JudgeAgain, rules=RULES):
    return judge_cylinder(record, rules, record.cylinders["K-1"], AS_OF, judge_by=judge_by)


def told(verdict):
    return sorted((finding.rule, finding.span.start, finding.text, finding.working) for finding in verdict.findings)
