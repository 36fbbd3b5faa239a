"""Strikes, late clauses, answers and waivers: on which day they have an effect, and who may sign them."""

import random
from datetime import date, timedelta

import pytest

from cylfile.findings.finding import Finding
from cylfile.findings.waivers import cover, waiver_findings
from cylfile.history.seals import check_seals, spell_out
from cylfile.judging.fill_answer import answer
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot"], lambda name: None)
AS_OF = date(2020, 6, 1)
HEAD = """\
department "D"
person bell "Bell"
person orr "Orr"
tester A123 "T"
cylinder K-1
  serial  NC-1
  marked  "DOT-3AA2015"
  made    2018-01
  2018-02-01  entered service
"""


def judged(*lines: str, as_of: date = AS_OF, after: str = "") -> dict:
    """The rules that are broken by lines of the card, with what somebody has answered of each; whether it may be filled."""
    record = read_record([Source("k.cyl", HEAD + "".join(f"  {line}\n" for line in lines) + after)])
    assert record.faults == []
    found = {finding.rule: finding.excuse for finding in judge(record, RULES, as_of).findings}
    return found | {"may fill": answer(record, RULES, as_of, "K-1").may}


BARS = (
    'condemned "crack"',
    'damaged "cut"',
    "visual fail",
    "hydro fail by A123",
    "hydro condemned by A123",
    "hydro pass by A123 visual fail",
)


class TestStrikes:
    def test_of_a_day_to_come_it_has_no_effect_yet(self):
        line = '2019-01-01 condemned "crack" struck 2020-06-02 by bell "no"'
        found = judged(line)
        assert found["future-entry"] == "" and "bar-struck" not in found and not found["may fill"]
        assert "future-entry" not in judged(line, as_of=date(2020, 6, 2))

    def test_a_line_of_a_day_to_come_is_told_as_that_whatever_strike_is_written_on_it(self):
        """A strike of a day to come has no effect yet, so the line of a day to come that bears it is one still."""
        for strike in ("", 'struck 2020-06-02 by bell "no"', 'struck 2020-06-01 by bell "no"'):
            record = read_record([Source("k.cyl", HEAD + f'  2020-06-02 remarked "x" {strike}\n')])
            said = [f.text for f in judge(record, RULES, AS_OF).findings if f.rule == "future-entry"]
            assert said[0] == "dated 2020-06-02, after the day judged for (2020-06-01)"
            assert len(said) == 1 + strike.startswith("struck 2020-06-02")

    def test_of_a_day_before_its_line_it_has_none(self):
        found = judged('2019-01-02 remarked "x" struck 2019-01-01 by bell "no"')
        assert "signature-out-of-time" in found and "future-entry" not in found
        assert "signature-out-of-time" not in judged('2019-01-02 remarked "x" struck 2019-01-02 by bell "no"')

    @pytest.mark.parametrize("line", BARS)
    def test_what_barred_goes_on_barring_until_somebody_else_answers(self, line):
        struck = f'2019-01-01 {line} struck 2019-01-02 by bell "looks fine"'
        found = judged(struck)
        assert found["bar-struck"] == "" and not found["may fill"]
        found = judged(f'{struck} answered bar-struck 2019-01-02 by orr "looked"')
        assert found["bar-struck"] == "answered 2019-01-02 by orr: looked" and found["may fill"]

    @pytest.mark.parametrize(
        "answered",
        ["2019-01-03 by bell", "2019-01-01 by orr", "2020-06-02 by orr"],
        ids=["by the striker", "before the strike", "to come"],
    )
    def test_an_answer_that_lifts_no_bar(self, answered):
        line = f'2019-01-01 condemned "crack" struck 2019-01-02 by bell "fine" answered bar-struck {answered} "looked"'
        found = judged(line)
        assert found["bar-struck"] == "" and "answer-unused" in found and not found["may fill"]

    def test_who_signed_the_entry_does_not_answer_for_its_strike(self):
        line = '2019-01-01 visual fail by orr struck 2019-01-02 by bell "fine" answered bar-struck 2019-01-03 by orr "looked"'
        assert "answer-unused" in judged(line) and not judged(line)["may fill"]

    @pytest.mark.parametrize("line", ['out of service "valve"', "retired", "visual pass", 'remarked "x"'])
    def test_of_other_lines_nobody_else_is_asked(self, line):
        found = judged(f'2019-01-01 {line} struck 2019-01-02 by bell "slip"')
        assert "bar-struck" not in found and found["may fill"]


class TestAnswers:
    OVER = "2019-01-01 filled to 2500 psi at 70 F by bell"

    def test_the_finding_stands_on_every_page_as_answered(self):
        assert judged(self.OVER)["filled-over-limit"] == ""
        found = judged(f'{self.OVER} answered filled-over-limit 2019-01-02 by orr "bled to 2015"')
        assert found["filled-over-limit"] == "answered 2019-01-02 by orr: bled to 2015" and "answer-unused" not in found

    @pytest.mark.parametrize(
        "given",
        [
            "filled-over-limit 2019-01-02 by bell",
            "filled-over-limit 2018-12-31 by orr",
            "filled-over-limit 2020-06-02 by orr",
            "filled-past-test 2019-01-02 by orr",
            "future-entry 2019-01-02 by orr",
        ],
        ids=["by who filled", "before the entry", "to come", "of no finding", "of today"],
    )
    def test_one_without_effect(self, given):
        found = judged(f'{self.OVER} answered {given} "bled"')
        assert found["filled-over-limit"] == "" and "answer-unused" in found

    def test_it_lifts_no_bar(self):
        line = "2019-01-01 filled to 4000 psi at 70 F by bell"
        found = judged(f'{line} answered filled-over-test-pressure 2019-01-02 by orr "looked at"')
        assert found["filled-over-test-pressure"].startswith("answered") and not found["may fill"]


class TestLateLines:
    def test_one_of_a_day_to_come_escapes_no_seal(self):
        sealed, line = HEAD, '2019-01-01 remarked K-1 "x" late {} by bell "forgotten"\n'
        spelled = spell_out(read_record([Source("k.cyl", sealed)]), date(2019, 12, 31), "orr")
        seal = f"sealed 2019-12-31 by orr {spelled.entries} entries {spelled.digest}\n"

        def holds(late: str) -> bool:
            return check_seals(read_record([Source("k.cyl", sealed + seal + line.format(late))]), AS_OF)[0].holds

        assert holds("2020-01-05") and holds("2020-06-01")
        assert not holds("2020-06-02") and not holds("2018-12-31") and not holds("2019-06-01")

    def test_each_is_told_and_one_to_come_is_a_finding_of_its_own(self):
        assert "late-entry" in judged('2019-01-01 remarked "x" late 2019-02-01 by bell "y"')
        found = judged('2019-01-01 remarked "x" late 2020-06-02 by bell "y"')
        assert "late-entry" not in found and "future-entry" in found
        assert "signature-out-of-time" in judged('2019-01-02 remarked "x" late 2019-01-01 by bell "y"')


class TestWaivers:
    FILL = "2019-05-10 filled to 2500 psi at 70 F by bell"

    @pytest.mark.parametrize(
        "since, until, is_covered",
        [("2019-05-10", "2019-05-10", True), ("2019-05-11", "2019-05-12", False), ("2019-05-01", "2019-05-09", False),
         ("2019-01-01", "2021-01-01", True)],
    )  # fmt: skip
    def test_it_covers_what_happened_from_its_first_day_to_its_last(self, since, until, is_covered):
        after = f'waived filled-over-limit for K-1 from {since} until {until} by orr "agreed"\n'
        found = judged(self.FILL, after=after)
        assert bool(found["filled-over-limit"]) is is_covered
        assert ("waiver-unused" in found) is not is_covered and "waiver-expired" not in found

    @pytest.mark.parametrize("seed", range(20))
    def test_each_finding_has_the_one_of_its_waivers_that_runs_longest(self, seed):
        chance = random.Random(seed)

        def some_day() -> date:
            return date(2019, 3, 1) + timedelta(days=chance.randrange(8))

        fills = [some_day() for _ in range(chance.randrange(1, 6))]
        waivers = [sorted((some_day(), some_day())) for _ in range(chance.randrange(1, 6))]
        lines = [f"  {day} filled to 2500 psi at 70 F\n" for day in fills]
        lines += [
            f'waived filled-over-limit for K-1 from {since} until {until} by orr "x"\n' for since, until in waivers
        ]
        found = judge(read_record([Source("k.cyl", HEAD + "".join(lines))]), RULES, AS_OF).findings
        of_fills = [finding for finding in found if finding.rule == "filled-over-limit"]
        assert sorted(finding.day for finding in of_fills) == sorted(fills)
        for finding in of_fills:
            covering = [until for since, until in waivers if since <= finding.day <= until]
            assert finding.waived == (f"until {max(covering)} by orr: x" if covering else None)
        unused = sum(not any(since <= day <= until for day in fills) for since, until in waivers)
        assert sum(finding.rule == "waiver-unused" for finding in found) == unused

    @pytest.mark.parametrize("name, is_covered", [("bell", True), ("orr", False)])
    def test_for_a_person_it_covers_what_that_person_did(self, name, is_covered):
        after = f'waived filled-over-limit for {name} from 2019-01-01 until 2019-12-31 by orr "agreed"\n'
        assert bool(judged(self.FILL, after=after)["filled-over-limit"]) is is_covered

    def test_it_is_expired_only_where_a_finding_of_today_would_need_it(self):
        after = 'waived test-overdue for K-1 from 2023-02-01 until 2023-03-31 by orr "booked"\n'
        assert "waiver-expired" in judged(after=after, as_of=date(2023, 6, 1))
        assert judged(after=after, as_of=date(2023, 3, 1))["test-overdue"].startswith("waived")
        after = 'waived filled-over-limit for K-1 from 2019-01-01 until 2019-03-31 by orr "agreed"\n'
        # What happened does not go on, be it of today.
        found = judged(
            "2019-02-01 filled to 2500 psi at 70 F", self.FILL, f"{AS_OF} filled to 2500 psi at 70 F", after=after
        )
        assert "waiver-expired" not in found

    def test_of_two_that_run_equally_long_the_later_signed_one_is_told(self):
        after = "".join(
            f'waived filled-over-limit for K-1 from 2019-0{month}-01 until 2019-12-31 by orr "{month}"\n'
            for month in (3, 4, 1)
        )
        assert judged(self.FILL, after=after)["filled-over-limit"] == "waived until 2019-12-31 by orr: 4"

    def test_it_is_expired_where_one_finding_of_several_would_need_it(self):
        text = "".join(
            f'waived a-rule for {name} until 2020-0{month}-01 by orr "x"\n' for name, month in (("C1", 3), ("K-1", 9))
        )
        record = read_record([Source("w.cyl", HEAD + text)])
        of_source = record.waivers[0]
        findings = [Finding("a-rule", "warning", name, of_source.span, "late") for name in ("K-1", "K-2")]
        for finding in findings:
            finding.hands = ("C1",)
        cover(findings, record.waivers, AS_OF)
        assert [finding.waived for finding in findings] == ["until 2020-09-01 by orr: x", None]
        (found,) = waiver_findings(findings, record.waivers, AS_OF, lambda rule: "caution")
        assert (found.rule, found.span) == ("waiver-expired", of_source.span)

    def test_it_lifts_no_bar(self):
        after = 'waived bar-struck for K-1 from 2019-01-01 until 2021-01-01 by orr "agreed"\n'
        found = judged('2019-01-01 condemned "crack" struck 2019-01-02 by bell "fine"', after=after)
        assert found["bar-struck"].startswith("waived") and not found["may fill"]

    def test_a_struck_bar_is_not_final_somebody_else_can_clear_it(self):
        struck = '  2019-01-01 condemned "crack" struck 2019-01-02 by bell "fine"\n'
        (cure,) = answer(read_record([Source("k.cyl", HEAD + struck)]), RULES, AS_OF, "K-1").remedies
        assert cure.startswith("Cleared by another person")
