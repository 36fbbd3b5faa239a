"""A finding names what it rests on: its rule, what packs add to it, and the figures and settings it read."""

from datetime import date

import pytest

from cylfile.history.facts import FACTS
from cylfile.judging.judge import judge
from cylfile.packs.pack_sentences import LINES
from cylfile.packs.sources import FACTS_OF
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.house_pack import faults_of, load, shipped

BASE = """pack base "A base"
  reference  70 F  cite "book, reference"

class tube "A tube"
  test-every       5 years    cite "book, period"
  star-test-every  10 years   cite "book, star"
  plus-fill        10 %       cite "book, plus"
  life             none
class pipe "A pipe"
  test-every       5 years    cite "book, period of pipes"
  cite  too-late  "book, pipes"

setting slack     1 psi  cite "book, slack"
setting unread    9 psi  cite "book, unread"

rule too-much  danger
  on       filled
  when     to > fill-limit + slack
  say      "filled to {to}, not {unread}"
  cite     "book, fills"

rule too-late  warning
  on       filled
  when     day > test-due
  say      "too late"
  working  "slack {slack}"
  cite     "book, tests"
"""


def cites(lines: str, *packs: str, rule: str) -> list[str]:
    rules, faults = load(*packs, base=BASE) if packs else load(BASE)
    assert faults == []
    record = read_record([Source("a.cyl", "cylinder K-1\n" + lines)])
    findings = judge(record, rules, date(2024, 1, 1)).findings
    (finding,) = [finding for finding in findings if finding.rule == rule]
    return finding.cite


TUBE = "  class tube\n  rated 3000 psi\n  made 2000-01\n"


def test_the_figures_and_settings_that_condition_and_working_read_are_cited():
    assert cites(TUBE + "  2006-01-01 filled to 10 psi\n", rule="too-late") == [
        "book, tests", "book, period", "book, slack",
    ]  # fmt: skip


def test_what_is_only_said_is_not_cited():
    assert cites(TUBE + "  2001-01-01 filled to 3300 psi\n", rule="too-much") == ["book, fills", "book, slack"]


def test_the_plus_and_the_star_are_cited_where_the_test_earned_them():
    plus = TUBE + "  2004-01-01 hydro pass plus star\n  2015-01-01 filled to 3400 psi\n"
    assert cites(plus, rule="too-much") == ["book, fills", "book, plus", "book, slack"]
    assert cites(plus, rule="too-late") == ["book, tests", "book, star", "book, slack"]


def test_what_a_class_says_of_a_rule_is_in_place_of_the_rule_s_own():
    lines = TUBE.replace("tube", "pipe") + "  2006-01-01 filled to 10 psi\n"
    assert cites(lines, rule="too-late") == ["book, pipes", "book, period of pipes", "book, slack"]


def test_a_pack_adds_a_source_to_a_rule():
    house = 'pack house "x"\n  over "base.cylpack"\ncite too-late "law 12"\n'
    lines = TUBE + "  2006-01-01 filled to 10 psi\n"
    assert cites(lines, house, rule="too-late") == ["book, tests", "law 12", "book, period", "book, slack"]
    lines = lines.replace("tube", "pipe")
    assert cites(lines, house, rule="too-late") == ["book, pipes", "book, period of pipes", "book, slack"]


@pytest.mark.parametrize(
    "change, before, after",
    [
        ("setting slack 2 psi\n", "book, slack", "pack house"),
        ('setting slack 2 psi  cite "our rule"\n', "book, slack", "our rule"),
        ("class tube\n  test-every 4 years\n", "book, period", "pack house"),
        ('class tube\n  test-every 4 years  cite "our rule"\n', "book, period", "our rule"),
    ],
)
def test_a_changed_figure_has_another_source(change, before, after):
    house = 'pack house "x"\n  over "base.cylpack"\n' + change
    lines = TUBE + "  2006-01-01 filled to 10 psi\n"
    assert before in cites(lines, rule="too-late")
    found = cites(lines, house, rule="too-late")
    assert after in found and before not in found


def test_the_card_s_own_figure_has_no_source_of_the_class():
    lines = TUBE + "  test-every 3 years\n  2006-01-01 filled to 10 psi\n"
    assert cites(lines, rule="too-late") == ["book, tests", "book, slack"]


def test_a_source_is_given_to_a_rule_that_is_there():
    house = 'pack house "x"\n  over "base.cylpack"\n'
    assert faults_of(house + 'cite too-lte "law"\n', base=BASE) == [
        "3:6-13 there is no rule `too-lte` | Did you mean `too-late`?"
    ]
    assert faults_of(house + 'class tube\n  cite too-lte "law"\n', base=BASE) == [
        "4:8-15 there is no rule `too-lte` | Did you mean `too-late`?"
    ]


def test_every_figure_of_a_class_goes_back_from_some_fact():
    """A figure that no fact goes back to would never be cited."""
    assert set(LINES["class"]) - {"marked", "from-permit", "cite", "count-from", "to-the-day"} == set(FACTS_OF) - {
        "until-emptied"
    }
    assert {fact for facts in FACTS_OF.values() for fact in facts} <= set(FACTS)


def test_from_memory_reaches_the_finding():
    """The 5 % of composites was not found in the text of a permit, and the finding says so."""
    rules = shipped("us-dot")[0]
    text = """tester A123
  authorized since 2000-01-01
cylinder K-1
  class carbon-wrapped
  rated 4500 psi
  made 2010-01
  2015-01-05 hydro pass by A123 at 7500 psi total 100 cc permanent 6 cc visual pass
"""
    findings = judge(read_record([Source("a.cyl", text)]), rules, date(2016, 1, 1)).findings
    (finding,) = [finding for finding in findings if finding.rule == "expansion-over-limit"]
    assert any("from memory" in cite for cite in finding.cite)


def test_a_finding_about_a_un_cylinder_cites_the_un_paragraphs():
    rules = shipped("us-dot")[0]
    text = "cylinder K-1\n  class un-steel\n  rated 200 bar\n  made 2000-01\n  2015-01-05 filled to 100 bar\n"
    findings = judge(read_record([Source("a.cyl", text)]), rules, date(2016, 1, 1)).findings
    (finding,) = [finding for finding in findings if finding.rule == "filled-past-test"]
    assert finding.cite == ["49 CFR 180.207(a)(2)", "49 CFR 180.207(c) Table 1, from memory"]


def test_what_a_pack_says_of_every_cylinder_goes_back_to_its_source_and_the_last_pack_to_say_it_to_its_own():
    header = 'pack {0} "x"\n  over {1}\n  reference 70 F  cite "{0} of it"\n'
    one, _ = load(header.format("one", "us-dot"))
    assert one.of_every.cites["reference"] == "one of it" and one.of_every.cites["hot"] == "49 CFR 173.301a(d)"
    both, _ = load(header.format("two", '"one.cylpack"'), one=header.format("one", "us-dot"))
    assert both.of_every.cites["reference"] == "two of it"
