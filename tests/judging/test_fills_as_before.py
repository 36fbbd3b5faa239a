"""Of which fills the rules need not be asked again: the test of the whole is `tests/server/test_settling.py`."""

from datetime import date
from functools import partial

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


def test_what_both_orders_say_is_asked_again_only_where_something_else_is_known(monkeypatch):
    asked, both_ways, files = [], CylinderJudge._both_ways, {}

    def watched(self, untold):
        asked.append(untold.bars_first[0].day.month)
        return both_ways(self, untold)

    monkeypatch.setattr(CylinderJudge, "_both_ways", watched)
    days = "".join(f"  2026-0{month}-02 visual fail\n  2026-0{month}-03 visual pass\n" for month in (1, 3, 5))
    fills = Source("2.cyl", "".join(f"2026-0{month}-02 filled K-1 to 4500 psi at 70 F\n" for month in (1, 3, 5)))
    card = Source("1.cyl", RECORD + days)

    def verdict(more, before=None, **otherwise):
        record = read_record([card, fills, Source("3.cyl", more)], read_before=files)
        asked.clear()
        return record, judged(record, partial(JudgeAgain, before=before, **otherwise))

    more = "2026-02-09 filled K-1 to 4500 psi at 70 F\n"
    record, before = verdict(more)
    assert asked == [1, 3, 5]
    for lines, again in (
        (more, []),
        ("", [3]),
        (more + "2026-04-09 filled K-1 to 4500 psi at 70 F\n", [5]),
        ('2026-02-01 damaged K-1 "cut"\n', [3, 5]),
    ):
        record, now = verdict(lines, before.asked)
        assert asked == again
        assert told(now) == told(judged(record))
        assert len(now.asked.stretches) == 3
    fill = next(fill for fill in record.entries["K-1"] if fill.source is fills and fill.day.month == 5)
    verdict(more, before.asked, otherwise={id(fill)})
    assert asked == [5]
    verdict(more, before.asked._replace(otherwise=(fill,)))
    assert asked == [5]


class _Watched(JudgeAgain):
    def __init__(self, *known, before, watched):
        super().__init__(*known, before=before)
        by_state = self._by_state
        self._by_state = lambda life, fill, hits: watched.append(fill) or by_state(life, fill, hits)


def judged(record, judge_by=JudgeAgain):
    return judge_cylinder(record, RULES, record.cylinders["K-1"], AS_OF, judge_by=judge_by)


def told(verdict):
    return sorted((finding.rule, finding.span.start, finding.text, finding.working) for finding in verdict.findings)
