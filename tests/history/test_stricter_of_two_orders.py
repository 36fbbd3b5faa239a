"""
What is known of a cylinder after lines of one day whose order nothing tells: of both orders the stricter in each respect.

Format page, "When, and in which order": each bar, date and limit is the stricter of the two, it is in service if either
says so, and what it holds is not known where they differ.
"""

from datetime import date

import pytest

from cylfile.history.fold import life_of
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

PACK = """pack house "House"
class bare "Bare"
  star-test-every 10 years
"""
RULES, FAULTS = load_rules(["us-dot", "house.cylpack"], lambda name: Source(name, PACK) if "house" in name else None)
AS_OF = date(2026, 6, 1)
MARKED = '  marked "DOT-3AA2015"\n'
HEAD = """\
department "D"
site st1 "One"
site st2 "Two"
person p "P"
tester A123 "T"
tester B123 "U"
cylinder K-1
{}  made 2020-01
  2020-02-01 entered service at st1
  2020-02-02 gauged 1000 psi
"""


def lives(*lines: str, card: str = MARKED):
    """The life of the card after lines of one day, each in a file of its own, as it is folded and as it is judged."""
    texts = [HEAD.format(card), *(f"2026-05-01 {line}\n" for line in lines)]
    record = read_record([Source(f"{number}.cyl", text) for number, text in enumerate(texts)])
    assert record.faults == [] and FAULTS == []
    return life_of(record, RULES, record.cylinders["K-1"], AS_OF), judge(record, RULES, AS_OF).lives["K-1"]


def bars(life) -> list[str]:
    return sorted(bar.kind for bar in life.bars)


OUT, BACK = 'out of service K-1 "x"', "returned to service K-1"


@pytest.mark.parametrize(
    "lines, barred, in_service",
    [
        (('damaged K-1 "cut"', "hydro K-1 pass by A123"), ["damage"], True),
        (("visual K-1 fail", "visual K-1 pass"), ["visual"], True),
        ((OUT, BACK), ["out-of-service"], True),
        (('damaged K-1 "cut"', OUT, BACK), ["damage", "out-of-service"], True),
        ((OUT, "retired K-1", BACK), ["out-of-service", "retired"], False),
    ],
)
def test_every_bar_of_either_order_stands_and_it_is_in_service_if_either_says_so(lines, barred, in_service):
    for life in lives(*lines):
        assert (bars(life), life.in_service) == (barred, in_service)


@pytest.mark.parametrize("star, plain", [("A123", "B123"), ("B123", "A123")])
def test_the_earlier_day_and_the_lesser_limit_count_whichever_line_comes_first(star, plain):
    """One test earned the star and the plus, the other neither: it is due after five years and filled to what is marked."""
    for life in lives(f"hydro K-1 pass by {star} plus star", f"hydro K-1 pass by {plain}"):
        assert (life.test_due, life.test_every, life.due_month) == (date(2031, 5, 31), 60, date(2031, 5, 1))
        assert (life.fill_limit, life.hot_limit, life.last_test.by) == (2015, 2015 * 5 / 4, plain)
        assert life.settled_at_hot_limit < life.hot_limit


@pytest.mark.parametrize("star, plain", [("A123", "B123"), ("B123", "A123")])
def test_a_day_that_is_not_known_is_the_strictest(star, plain):
    """A class of the house that knows a ten-year period and no other."""
    for life in lives(f"hydro K-1 pass by {star} star", f"hydro K-1 pass by {plain}", card="  class bare\n"):
        assert (life.test_due, life.test_every) == (None, None)
    for life in lives(f"hydro K-1 pass by {star} star", card="  class bare\n"):
        assert life.test_due == date(2036, 5, 31)


def test_what_shows_it_in_use_though_out_stands_where_one_order_has_it():
    for life in lives("retired K-1", "moved K-1 to st2"):
        assert life.used_though_out is None
    for life in lives("retired K-1", "filled K-1 to 900 psi"):
        assert life.used_though_out.verb == "filled"


@pytest.mark.parametrize("first, other, site", [("st1", "st2", None), ("st2", "st2", "st2")])
def test_where_it_is_is_not_known_where_the_orders_differ(first, other, site):
    for life in lives(f"moved K-1 to {first}", f'moved K-1 to {other} remark "x"'):
        assert life.site == site


@pytest.mark.parametrize(
    "lines, holds, held",
    [
        (("gauged K-1 2500 psi", "emptied K-1"), None, 2500),
        (("gauged K-1 900 psi", "gauged K-1 2500 psi"), None, 2500),
        # A fill that nobody read takes nothing out: what was over the limit before it is so still.
        (("gauged K-1 2500 psi", "gauged K-1 900 psi", "filled K-1 to unread"), None, 2500),
        (("gauged K-1 2500 psi", "filled K-1 to unread"), None, 2500),
        (("gauged K-1 2500 psi", 'gauged K-1 2500 psi remark "x"'), 2500, 2500),
        (("emptied K-1", "hydro K-1 pass by A123"), 0, 0),
    ],
)
def test_what_it_holds_is_not_known_where_they_differ_and_the_most_of_it_is_what_rules_ask(lines, holds, held):
    for order in (lines, lines[::-1]):
        for life in lives(*order):
            assert (life.last_pressure, life.read_pressure) == (holds, held)
            assert life.last_gauged is None if held == 0 else life.last_read == held
