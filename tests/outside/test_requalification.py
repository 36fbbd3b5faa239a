"""
The rules of the us-dot pack against the regulation and the agency's letters of interpretation.

Each expectation names its source. "From memory" marks what was not found in the text of the
regulation; all other figures were read in a copy of 49 CFR Part 180 with the amendments of
December 2020 (85 FR 85380) or in the letter named.
"""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from dateutil.relativedelta import relativedelta

from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

AS_OF = date(2026, 11, 25)
US_DOT, _FAULTS = load_rules(["us-dot"], lambda name: None)


def test_the_pack_itself_reads_without_a_fault():
    assert not _FAULTS


def broken(text: str, as_of: date = AS_OF) -> set[str]:
    """The us-dot and core rules that a small record breaks."""
    people = 'tester A123 "Tester"\nperson lind "Lind"\n'
    record = read_record([Source("small.cyl", people + text)])
    assert not [fault for fault in record.faults if fault.rule == "unreadable-line"]
    return {finding.rule for finding in judge(record, US_DOT, as_of).findings}


def card(class_name: str, *entries: str, rated: int = 3000, made: str = "2000-01", more: str = "") -> str:
    """A card that enters service the month it was made."""
    head = (
        f"cylinder T-1\n  class {class_name}\n  rated {rated} psi\n  made {made}\n{more}  {made}-28 entered service\n"
    )
    return head + "".join(f"  {entry}\n" for entry in entries)


# 49 CFR 180.209(a), Table 1: class, years between tests, factor of the test pressure.
TABLE_1 = [
    ("dot-3a", 5, Fraction(5, 3)),
    ("dot-3aa", 5, Fraction(5, 3)),
    ("dot-3ax", 5, Fraction(5, 3)),
    ("dot-3aax", 5, Fraction(5, 3)),
    ("dot-3t", 5, Fraction(5, 3)),
    ("dot-3al", 5, Fraction(5, 3)),
    ("dot-3b", 5, Fraction(2)),
    ("dot-3bn", 5, Fraction(2)),
    ("dot-3ht", 3, Fraction(5, 3)),
    ("dot-4b", 5, Fraction(2)),
    ("dot-4e", 5, Fraction(2)),
    ("foreign", 5, Fraction(5, 3)),
]
# Permit terms, not in the table: secondary sources for period and factor of composites.
PERMITS = [
    ("carbon-wrapped", 5, Fraction(5, 3)),
    ("glass-wrapped", 3, Fraction(5, 3)),
    ("hoop-wrapped", 3, Fraction(5, 3)),
    ("dot-3al-6351", 5, Fraction(5, 3)),  # 49 CFR 180.205(f)(4); 49 CFR 180.209(m)
]
# 49 CFR 173.302b(b) for the factor 3/2 (working pressure not over 2/3 of test pressure); the
# periods of 49 CFR 180.207(c) are from memory.
UN = [("un-steel", 10, Fraction(3, 2)), ("un-aluminum", 10, Fraction(3, 2)), ("un-composite", 5, Fraction(3, 2))]


@pytest.mark.parametrize("class_name, years, factor", TABLE_1 + PERMITS + UN)
def test_test_period(class_name, years, factor):
    """In date to the last day of the due month, overdue on the first of the next (180.205(c), the month counts)."""
    made = date(2012, 3, 1)
    due = made + relativedelta(years=years, months=1) - timedelta(days=1)
    life = "  life 30 years\n"
    text = lambda day: card(class_name, f"{day} filled to 1000 psi", made="2012-03", more=life)  # noqa: E731
    assert "filled-past-test" not in broken(text(due))
    assert "filled-past-test" in broken(text(due + timedelta(days=1)))


@pytest.mark.parametrize("class_name, years, factor", TABLE_1 + PERMITS + UN)
def test_test_pressure(class_name, years, factor):
    """Passed at the factor times service pressure is enough; a psi below the rounding is not."""
    required = factor * 3000
    text = lambda psi: card(class_name, f"2012-06-01 hydro pass by A123 at {psi} psi", made="2012-03")  # noqa: E731
    assert "test-pressure-low" not in broken(text(required))
    assert "test-pressure-low" in broken(text(required - 2))


# 49 CFR 180.205, condemnation, (1)(iv) to (vii): greatest permanent expansion, percent of total.
LIMITS = [
    ("dot-3a", 10),
    ("dot-3aa", 10),
    ("dot-3al", 10),
    ("dot-3ht", 10),
    ("dot-4b", 10),
    ("dot-4e", 12),
    ("carbon-wrapped", 5),  # permit terms, from memory
    ("hoop-wrapped", 5),  # permit terms, from memory
]


@pytest.mark.parametrize("class_name, limit", LIMITS)
def test_permanent_expansion(class_name, limit):
    """Condemned where it exceeds the limit; exactly the limit passes."""
    test = "2012-06-01 hydro pass by A123 at 6000 psi total 100.0 cc permanent {} cc"
    assert "expansion-over-limit" not in broken(card(class_name, test.format(f"{limit}.0"), made="2012-03"))
    assert "expansion-over-limit" in broken(card(class_name, test.format(f"{limit}.1"), made="2012-03"))


@pytest.mark.parametrize("total", ["70.0", "91.0", "92.1", "33.3", "123.0"])
def test_exactly_ten_percent_is_ten_percent(total):
    """No rounding of the machine makes a tenth more than a tenth."""
    tenth = Fraction(total) / 10
    test = f"2012-06-01 hydro pass by A123 at 6000 psi total {total} cc permanent {float(tenth)} cc"
    assert "expansion-over-limit" not in broken(card("dot-3aa", test, made="2012-03"))


def test_rejection_elastic_expansion():
    """Elastic expansion over the marked REE condemns a 3HT (180.205, condemnation, (1)(v))."""
    test = "2014-06-01 hydro pass by A123 at 5000 psi total {} cc permanent 1.0 cc"
    more = "  ree 60 cc\n"
    assert "expansion-over-limit" not in broken(card("dot-3ht", test.format("61.0"), made="2012-03", more=more))
    assert "expansion-over-limit" in broken(card("dot-3ht", test.format("61.2"), made="2012-03", more=more))


def test_3ht_lives_24_years():
    """180.205, condemnation, (1)(v): older than 24 years."""
    tested = "2024-02-01 hydro pass by A123 at 5000 psi"
    fill = lambda day: card("dot-3ht", tested, f"{day} filled to 1000 psi", made="2001-03")  # noqa: E731
    assert "filled-past-life" not in broken(fill("2025-03-31"))
    assert "filled-past-life" in broken(fill("2025-04-01"))


@pytest.mark.parametrize("class_name", ["carbon-wrapped", "glass-wrapped", "hoop-wrapped"])
def test_composites_live_15_years(class_name):
    """Permit terms, several secondary sources: 15 years from manufacture."""
    tested = "2023-02-01 hydro pass by A123 at 5000 psi"
    fill = lambda day: card(class_name, tested, f"{day} filled to 1000 psi", made="2009-03")  # noqa: E731
    assert "filled-past-life" not in broken(fill("2024-03-31"))
    assert "filled-past-life" in broken(fill("2024-04-01"))


def test_filled_in_time_may_stay_in_use_until_emptied():
    """180.205(c), letters Ref. 18-0117 and 09-0148: overdue is no fill past its test, and no danger by itself."""
    found = broken(card("dot-3aa", "2004-12-01 filled to 3000 psi"), date(2006, 1, 1))
    assert "test-overdue" in found and "filled-past-test" not in found


def test_topping_up_is_filling():
    """Letter Ref. 09-0148: a cylinder past its test date may not be topped off."""
    assert "filled-past-test" in broken(card("dot-3aa", "2005-02-01 filled from 2500 psi to 3000 psi"))


def test_past_life_is_stricter_than_past_test():
    """180.205(c), 173.301(a)(7): past its service life a cylinder is not kept in use until emptied."""
    found = broken(card("carbon-wrapped", "2014-12-01 filled to 3000 psi"), date(2015, 2, 1))
    assert "used-past-life" in found


def test_fill_inside_the_due_month_is_a_notice():
    """180.205(c) and 173.301(a)(6) leave it open; letter Ref. 17-0094 puts the question."""
    assert {"filled-in-due-month"} == broken(card("dot-3aa", "2005-01-15 filled to 2900 psi"), date(2005, 1, 20)) - {
        "test-due-soon"
    }


def test_a_test_in_the_due_month_is_in_time():
    """180.205(c): at any time during or before the month and year; next due five years from the test."""
    tested = "2005-01-31 hydro pass by A123 at 5000 psi"
    assert "filled-past-test" not in broken(card("dot-3aa", tested, "2010-01-31 filled to 1000 psi"))
    assert "filled-past-test" in broken(card("dot-3aa", tested, "2010-02-01 filled to 1000 psi"))


def test_star_gives_ten_years_to_3a_and_3aa_only():
    """180.209(b)(1): 3A or 3AA only."""
    starred = "2004-06-01 hydro pass by A123 at 5000 psi star"
    assert "filled-past-test" not in broken(card("dot-3aa", starred, "2014-06-30 filled to 1000 psi"))
    assert "filled-past-test" in broken(card("dot-3aa", starred, "2014-07-01 filled to 1000 psi"))
    assert "plus-not-allowed" in broken(card("dot-3al", starred, "2009-06-30 filled to 1000 psi"))
    assert "filled-past-test" in broken(card("dot-3al", starred, "2009-07-01 filled to 1000 psi"))


@pytest.mark.parametrize("class_name", ["dot-3a", "dot-3ax", "dot-3aa", "dot-3aax", "dot-3t"])
def test_ten_percent_overfill(class_name):
    """173.302a(b): 3A, 3AX, 3AA, 3AAX, 3T, while the last test bears the plus."""
    plus = "2002-06-01 hydro pass by A123 at 3400 psi plus"
    plain = "2003-06-01 hydro pass by A123 at 3400 psi"
    fill = "2004-06-30 filled to {} psi at 70 F"
    over = lambda *entries: "filled-over-limit" in broken(card(class_name, *entries, rated=2015))  # noqa: E731
    assert not over(plus, fill.format(2216))  # 2015 x 1.1 = 2216
    # A hundredth of 2015 psi for the gauge, half a degree and half a psi for what is written.
    assert over(plus, fill.format(2241))
    assert over(fill.format(2216))  # not earned
    assert over(plus, plain, fill.format(2216))  # and not earned again


@pytest.mark.parametrize("class_name", ["dot-3al", "dot-3ht", "carbon-wrapped", "hoop-wrapped"])
def test_no_overfill_of_other_kinds(class_name):
    """173.302a(b) lists steel only."""
    plus = "2002-06-01 hydro pass by A123 at 3400 psi plus"
    found = broken(card(class_name, plus, "2004-06-30 filled to 2216 psi at 70 F", rated=2015))
    assert {"plus-not-allowed", "filled-over-limit"} <= found


def test_the_plus_does_not_raise_the_service_pressure():
    """Letter Ref. 17-0035: 3,000 psi marked with the plus is not a 3,300 psi cylinder: 5,000 psi tests it."""
    assert "test-pressure-low" not in broken(card("dot-3aa", "2002-06-01 hydro pass by A123 at 5000 psi plus"))


def test_heat_condemns_aluminum():
    """180.205, condemnation, (1)(viii): over-heated aluminum or aluminum-lined composite is not retested."""
    heat = '2003-06-01 damaged heat "roof fire"'
    for class_name in ("dot-3al", "carbon-wrapped", "hoop-wrapped", "dot-4e"):
        assert "heat-and-aluminum" in broken(card(class_name, heat))
    assert "heat-and-aluminum" not in broken(card("dot-3aa", heat))


def test_over_pressurized():
    """180.205, condemnation, (1)(ix): known to have been over-pressurized."""
    assert "filled-over-test-pressure" in broken(card("dot-3aa", "2003-06-01 filled to 5100 psi at 70 F"))
    assert "filled-over-test-pressure" not in broken(card("dot-3aa", "2003-06-01 filled to 4990 psi at 70 F"))


def test_pressure_at_131_fahrenheit():
    """
    173.301a(d): not over 5/4 of the service pressure at 131 F.

    By CoolProp 8.0.0 (Lemmon et al. 2000), 4500 psi at 70 F is 5307 psi at 131 F, below 5625;
    the greatest settled pressure that keeps 5/4 is 4763 psi.
    """
    fill = lambda psi: card("carbon-wrapped", f"2003-06-01 filled to {psi} psi at 70 F", rated=4500)  # noqa: E731
    assert "filled-hot-over" not in broken(fill(4500))
    assert "filled-hot-over" not in broken(fill(4760))
    # A hundredth of 4500 psi for the gauge, and 0.2 % at most for what is written.
    assert "filled-hot-over" in broken(fill(4815))


def test_a_hot_reading_over_the_rating_is_no_overfill():
    """4900 psi read at 100 F settles below 4500 psi at 70 F (CoolProp 8.0.0: 4898 psi is 4500 psi)."""
    fill = lambda psi: card("carbon-wrapped", f"2003-06-01 filled to {psi} psi at 100 F", rated=4500)  # noqa: E731
    assert "filled-over-limit" not in broken(fill(4890))
    # A hundredth of 4500 psi for the gauge, and 0.2 % at most for what is written: 54 psi settled.
    assert "filled-over-limit" not in broken(fill(4945))
    assert "filled-over-limit" in broken(fill(4965))


def test_requalifier_number():
    """180.213(d): one letter and three digits, by the example A123."""
    other = 'tester 12 "No such number"\n' + card("dot-3aa", "2003-06-01 hydro pass by 12 at 5000 psi")
    assert "tester-not-authorized" in broken(other)
    assert "tester-not-authorized" not in broken(card("dot-3aa", "2003-06-01 hydro pass by A123 at 5000 psi"))


# 180.215(b)(2): fields of the record of a test.
@pytest.mark.parametrize(
    "lacking, entry",
    [
        ("test pressure", "hydro pass by A123 total 90.0 cc permanent 1.0 cc visual pass"),
        ("total expansion", "hydro pass by A123 at 5000 psi permanent 1.0 cc visual pass"),
        ("permanent expansion", "hydro pass by A123 at 5000 psi total 90.0 cc visual pass"),
        ("visual inspection", "hydro pass by A123 at 5000 psi total 90.0 cc permanent 1.0 cc"),
        ("tester", "hydro pass at 5000 psi total 90.0 cc permanent 1.0 cc visual pass"),
    ],
)
def test_fields_of_a_test_record(lacking, entry):
    head = '  serial 1\n  marked "DOT-3AA3000"\n'
    whole = "hydro pass by A123 at 5000 psi total 90.0 cc permanent 1.0 cc visual pass"
    assert "test-record-incomplete" not in broken(card("dot-3aa", f"2003-06-01 {whole}", more=head))
    people = 'tester A123 "Tester"\n'
    record = read_record([Source("small.cyl", people + card("dot-3aa", f"2003-06-01 {entry}", more=head))])
    texts = [f.text for f in judge(record, US_DOT, AS_OF).findings if f.rule == "test-record-incomplete"]
    assert len(texts) == 1 and lacking in texts[0]
