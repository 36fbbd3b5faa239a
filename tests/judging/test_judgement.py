"""What a judgement is asked for: its lives, the shares it is judged in, what is read first, what comes, what bars a fill."""

from datetime import date

import pytest

from cylfile.findings.finding import Finding
from cylfile.history.due import Due
from cylfile.judging.brief import brief_of
from cylfile.judging.by_itself import air_log
from cylfile.judging.case import Case
from cylfile.judging.fill_verdict import over_strictly, unread_about_fill
from cylfile.judging.judge import judge
from cylfile.judging.report import worst_first
from cylfile.judging.whole_record import judge_record
from cylfile.packs.layering import load_rules
from cylfile.record.one_sentence import read_entry
from cylfile.record.reader import read_record
from cylfile.text.source import Source, Span

RULES, _ = load_rules(["us-dot"], lambda name: None)
NO_RULES, _ = load_rules([], lambda name: None)
HEAD = 'department "D"\n  rules us-dot\nsite st1 "S"\nperson p "P"\n'
CARD = """\
cylinder {}
  serial {}-S
  class carbon-wrapped
  rated 4500 psi
  made 2021-12
  2021-12-15 entered service at st1
"""
AS_OF = date(2026, 12, 1)


def record_of(*texts: str):
    return read_record([Source(f"{number}.cyl", text) for number, text in enumerate((HEAD, *texts))])


def cards(*names: str) -> str:
    return "".join(CARD.format(name, name) for name in names)


def test_the_life_of_a_name_is_that_of_its_cylinder_and_of_no_other():
    judgement = judge(record_of(cards("K-1", "K-2")), RULES, AS_OF)
    assert judgement.life("K-1") is judgement.lives["K-1"] and judgement.life("K-1").name == "K-1"
    assert judgement.life("K-3") is None and judgement.own("K-3") == []


def test_that_there_are_no_rules_is_said_of_the_department_or_of_the_first_file():
    for text in ('site st1 "S"\n' + HEAD[:15], "\n# x\ncylinder K-1\n"):
        (found,) = [
            f for f in judge(read_record([Source("a.cyl", text)]), NO_RULES, AS_OF).findings if f.rule == "no-rules"
        ]
        assert found.span.text == ('"D"' if "department" in text else ""), text


class TestBrief:
    def brief(self, *lines: str, rules=RULES, as_of: date = AS_OF):
        record = record_of("".join(CARD.format(f"K-{n}", n) + f"  {line}\n" for n, line in enumerate(lines)))
        return brief_of(Case(record, rules, as_of, ()))

    @pytest.mark.parametrize(
        "day, is_soon", [(date(2026, 12, 1), True), (date(2026, 11, 30), False), (date(2027, 2, 1), True)]
    )
    def test_what_falls_due_in_thirty_days_is_told_the_last_of_them_included(self, day, is_soon):
        """The test is due by 2026-12-31."""
        due = self.brief('2022-01-01 remarked "x"', as_of=day).due
        assert [(each.kind, each.subject, each.day) for each in due] == [("test", "K-0", date(2026, 12, 31))] * is_soon
        assert all(isinstance(each, Due) for each in due)

    LINES = (
        '2022-01-01 remarked "sound"',
        '2022-01-01 damaged "cut"',
        '2022-01-01 out of service "valve"',
        '2022-01-01 condemned "crack"',
        # Nobody knows what it says, so nobody fills it; that it endangers is not known either.
        "2022-01-01 filled too 4500 psi",
    )

    def test_what_must_come_out_of_use_is_in_use_and_endangers_whoever_uses_it(self):
        brief = self.brief(*self.LINES)
        assert brief.barred == ["K-1", "K-2", "K-4"] and brief.to_take_out == ["K-1"]

    def test_without_rules_nobody_can_tell_what_must_come_out_of_use(self):
        assert self.brief(*self.LINES, rules=NO_RULES).to_take_out == []


@pytest.mark.parametrize("sizes, jobs", [([1, 1, 1, 1], 2), ([5, 1, 1, 1], 2), ([1, 1, 6, 1], 3), ([1, 1], 5)])
def test_several_processes_find_what_one_finds_in_the_same_order(sizes, jobs):
    lines = '  2022-01-01 remarked "x"\n'
    names = "abcdef"[: len(sizes)]
    record = record_of("".join(f"cylinder {name}\n{lines * (size - 1)}" for name, size in zip(names, sizes)))
    case = Case(record, RULES, AS_OF, ())
    said = [finding.text for finding in judge_record(case).findings]
    judgement = judge_record(case, jobs)
    assert [finding.text for finding in judgement.findings] == said
    assert list(judgement.verdicts) == list(names)


def test_a_record_is_judged_in_one_process_unless_more_are_asked_for(monkeypatch):
    monkeypatch.setattr("os.fork", lambda: pytest.fail("forked"))
    assert len(judge_record(Case(record_of(cards("K-1", "K-2")), RULES, AS_OF, ())).heads) == 2


def test_what_stands_is_read_before_what_is_waived_and_the_worse_first():
    source = Source("a.cyl", "\n" * 9)

    def finding(rule: str, level: str, day: int, at: int, **more) -> Finding:
        found = Finding(rule, level, "K-1", Span(source, at, at), rule, day=date(2026, 1, day))
        for name, value in more.items():
            setattr(found, name, value)
        return found

    in_order = [
        finding("d", "danger", 5, 0),
        finding("b", "warning", 1, 5),
        finding("b", "warning", 9, 1),
        finding("a", "warning", 2, 3),
        finding("a", "warning", 2, 4),
        finding("c", "danger", 1, 2, waived=object()),
        finding("c", "caution", 1, 2, answered="2026-01-02 by p: seen"),
    ]
    assert worst_first(reversed(in_order)) == in_order


def test_what_cannot_be_read_about_a_fill_says_so_and_what_is_there_twice_does_not():
    record = record_of(
        cards("K-1"), cards("K-1"), "2026-11-01 filled K-1 too 4000 psi\n2026-11-02 filled K-1 to 4000 psi\n"
    )
    (fill,) = [entry for entry in record.entries["K-1"] if entry.verb == "filled"]
    said = {finding.rule: (finding.text[:16], finding.working) for finding in unread_about_fill(record, RULES, fill)}
    assert said["unreadable-line"] == ("cannot be read: ", ["nobody knows what it says of K-1"])
    assert said["name-taken"][1] == [] and not said["name-taken"][0].startswith("cannot")


@pytest.mark.parametrize(
    "line, lacks",
    [
        ("hydro fail by A123 total 60 cc permanent 2 cc", {"expansion-limit"}),
        ("hydro condemned by A123 total 60 cc permanent 2 cc", {"expansion-limit"}),
        # Without its expansions there is nothing to compare; and of a passed test the rule itself asks.
        ("hydro fail by A123", set()),
        ("hydro fail by A123 elastic 58 cc", set()),
        ("visual fail", set()),
    ],
)
def test_what_would_tell_whether_a_failed_test_condemned_it_is_asked_for(line, lacks):
    text = f'tester A123 "T"\ncylinder K-1\n  class special-permit\n  rated 4500 psi\n  2022-01-01 {line}\n'
    found = judge(record_of(text), RULES, AS_OF).findings
    about = {f.about: f for f in found if f.rule == "cannot-judge" and "expansion-over-limit" in f.unjudged}
    assert set(about) == lacks
    assert all(finding.span.line == 5 for finding in about.values())


def test_the_marked_ree_of_a_class_is_asked_for_where_a_failed_test_has_an_elastic_expansion():
    pack = 'pack house "H"\n  over us-dot\nclass wound "Wound"\n  test-every 5 years\n  expansion-limit 10 %\n  ree-marked yes\n'
    rules, faults = load_rules(["h.cylpack"], lambda name: Source(name, pack))
    assert [fault.text for fault in faults] == []
    for clause, lacks in (("elastic 58 cc", True), ("total 60 cc permanent 2 cc", True), ("", False)):
        text = f'tester A123 "T"\ncylinder K-1\n  class wound\n  2022-01-01 hydro fail by A123 {clause}\n'
        found = judge(record_of(text), rules, AS_OF).findings
        said = [f.about for f in found if f.rule == "cannot-judge" and "expansion-over-limit" in f.unjudged]
        assert said == ["ree"] * lacks


ONCE = """\
pack house "H"
rule after-a-look  caution
  on    gauged
  once  cylinder
  when  known visual-day
  say   "after a look"
"""


def test_a_rule_that_is_said_once_is_asked_about_where_one_order_alone_says_it():
    rules, faults = load_rules(["h.cylpack"], lambda name: Source(name, ONCE))
    assert [fault.text for fault in faults] == []
    lines = ("2026-05-01 gauged K-1 100 psi\n", "2026-05-01 visual K-1 pass\n", "2026-05-02 gauged K-1 90 psi\n")

    def said(*texts: str) -> dict[str, str]:
        found = judge(record_of("cylinder K-1\n", *texts), rules, AS_OF).findings
        return {f.rule: f.text for f in found if f.rule in ("after-a-look", "order-not-told")}

    assert said(*lines[:2]).keys() == {"order-not-told"}
    assert "in one order: after-a-look" in said(*lines[:2])["order-not-told"]
    assert said(*lines).keys() == {"order-not-told", "after-a-look"}
    assert said(lines[1], lines[2]).keys() == {"after-a-look"}


def test_a_pressure_over_the_limit_endangers_whatever_the_gauge_may_be_off_and_whoever_has_the_air_log():
    rules, _ = load_rules(["us-dot", "air"], lambda name: None)
    record = record_of('source C1 "C"\n  kind compressor\n' + cards("K-1"))
    for to, said in ((4500, []), (4510, ["filled-over-limit"])):
        fill, _ = read_entry(Source("a fill", f"2026-11-01 filled K-1 to {to} psi at 70 F on C1"))
        for air in (None, air_log(record, rules, fill.day)):
            found = over_strictly(record, rules, record.cylinders["K-1"], fill, air)
            assert [finding.rule for finding in found] == said
