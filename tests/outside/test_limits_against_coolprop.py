"""
What is said of a fill over its limit, against CoolProp and plain arithmetic.

49 CFR 173.301a(c): the pressure at 70 F is not over the marked service pressure. A figure is taken as written to half a
unit in its last place, and never more than 0.2 % of the limit; a gauge may be off by a hundredth of the rated pressure.
"""

from datetime import date
from fractions import Fraction

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot"], lambda name: None)
PSI = 6894.757293168
ATMOSPHERE = 101325.0
AT_70_F = (70 + 459.67) / 1.8
CARD = "cylinder K-1\n  class carbon-wrapped\n  rated 4500 psi\n  made 2020-01\n  2021-01-05  filled to {} at {}\n"
OVER = {"filled-over-limit", "filled-at-limit", "read-over-limit", "holds-over-limit"}


def said(to: str, at: str) -> set[str]:
    record = read_record([Source("a.cyl", CARD.format(to, at))])
    found = judge(record, RULES, date(2021, 2, 1)).findings
    return {finding.rule for finding in found if finding.day == date(2021, 1, 5)} & OVER


def settled(psi: float, kelvin: float) -> float:
    density = PropsSI("Dmolar", "P", psi * PSI + ATMOSPHERE, "T", kelvin, "Air")
    return (PropsSI("P", "Dmolar", density, "T", AT_70_F, "Air") - ATMOSPHERE) / PSI


@settings(max_examples=200, deadline=None)
@example(4500, 21, "C")
@example(4507, 70, "F")
@given(st.integers(4300, 4800), st.integers(40, 110), st.sampled_from("FC"))
def test_a_fill_is_over_its_limit_where_the_lowest_that_it_may_be_is(psi, degrees, scale):
    if scale == "C":
        degrees = round((degrees - 32) / 1.8)
    kelvin = (degrees + 459.67) / 1.8 if scale == "F" else degrees + 273.15
    half_a_degree = 0.5 / 1.8 if scale == "F" else 0.5
    pressure = settled(psi, kelvin)
    left_open = pressure - settled(psi - 0.5, kelvin + half_a_degree) + 0.5
    over = pressure - 4500 - min(left_open, 0.002 * 4500)
    assume(abs(over) > 0.01 and abs(over - 45) > 0.01)
    expected = "filled-over-limit" if over > 45 else "filled-at-limit" if over > 0 else None
    assert said(f"{psi} psi", f"{degrees} {scale}") == ({expected} if expected else set())


# A test in bar of a cylinder rated in psi: half a bar, half a psi times five thirds, at most 0.2 % of the test pressure.
@pytest.mark.parametrize("rated", [2015, 2216, 3000, 4500, 5500])
@pytest.mark.parametrize("digits", [0, 1])
def test_a_test_pressure_is_low_where_the_highest_that_it_may_be_is(rated, digits):
    required = Fraction(rated) * 5 / 3
    bar = Fraction(100_000) / Fraction(PSI)
    place = Fraction(1, 10**digits)
    left_open = min(place / 2 * bar + Fraction(5, 6), required / 500)
    least = (required - left_open) / bar / place
    lowest = -(-least.numerator // least.denominator)
    for units, is_low in ((lowest, False), (lowest - 1, True)):
        text = f"{float(units * place):.{digits}f} bar"
        card = (
            f"cylinder K-1\n  class dot-3aa\n  rated {rated} psi\n  made 2010-01\n  2012-01-05  hydro pass at {text}\n"
        )
        findings = judge(read_record([Source("a.cyl", card)]), RULES, date(2012, 2, 1)).findings
        assert ("test-pressure-low" in {finding.rule for finding in findings}) is is_low, text


@pytest.mark.parametrize(
    "rated, to, below",
    [("200 bar", "180 bar", False), ("300 bar", "270 bar", False), ("200 bar", "179 bar", True),
     ("4500 psi", "4050 psi", False), ("4500 psi", "4049 psi", True), ("310 bar", "279.0 bar", False),
     ("310 bar", "278 bar", True), ("20.0 MPa", "180 bar", False), ("31 MPa", "279 bar", False)],
)  # fmt: skip
def test_ninety_percent_is_ninety_percent(rated, to, below):
    """29 CFR 1910.134(h)(3)(iii), without the errors of floating point, in any unit."""
    rules, _ = load_rules(["osha"], lambda name: None)
    card = f"cylinder K-1\n  rated {rated}\n  2020-01-05  entered service\n  2021-01-05  gauged {to}\n"
    findings = judge(read_record([Source("a.cyl", card)]), rules, date(2021, 2, 1)).findings
    assert ("charge-below-90" in {finding.rule for finding in findings}) is below


def test_a_un_receptacle_may_reach_its_test_pressure_at_65_celsius():
    """49 CFR 173.302b(b): the pressure at 65 C is not over the test pressure."""
    card = "cylinder K-1\n  class un-steel\n  rated 200 bar\n  made 2020-01\n  2021-01-05  filled to {} bar at 65 C\n"
    for bar, over in ((300, False), (302, False), (304, True)):
        findings = judge(read_record([Source("a.cyl", card.format(bar))]), RULES, date(2021, 2, 1)).findings
        assert ("filled-hot-over" in {finding.rule for finding in findings}) is over, bar
