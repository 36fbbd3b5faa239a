"""Of which fills the rules need not be asked again: the test of the whole is `tests/server/test_settling.py`."""

from datetime import date
from functools import partial

from cylfile.history.facts import FACTS
from cylfile.history.life import Life
from cylfile.judging.by_itself import judge_cylinder
from cylfile.judging.fills_as_before import COUNT, NOT_COMPARED, JudgeAgain
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


class _Watched(JudgeAgain):
    def __init__(self, *known, before, watched):
        super().__init__(*known, before=before)
        by_state = self._by_state
        self._by_state = lambda life, fill, hits: (watched.append(fill), by_state(life, fill, hits))


def judged(record, judge_by=JudgeAgain):
    return judge_cylinder(record, RULES, record.cylinders["K-1"], AS_OF, judge_by=judge_by)
