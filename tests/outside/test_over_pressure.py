"""
A cylinder known to have been over-pressurized is condemned (49 CFR 180.205, condemnation, (1)(ix)).
"""

from datetime import date

from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

US_DOT, _ = load_rules(["us-dot"], lambda name: None)
CARD = """\
cylinder T-1
  class  dot-3aa
  rated  1800 psi
  made   2010-01
  2010-02-01  entered service
"""


def broken(*entries: str) -> list[tuple[str, str]]:
    record = read_record([Source("small.cyl", CARD + "".join(f"  {entry}\n" for entry in entries))])
    findings = judge(record, US_DOT, date(2013, 1, 1)).findings
    return [(finding.rule, str(finding.day)) for finding in findings if finding.rule.startswith("filled-")]


def test_it_is_not_filled_again_and_no_test_clears_it():
    over = "2012-01-10 filled to 3020 psi at 70 F"
    test = "2012-02-01 hydro pass at 3000 psi"
    fill = "2012-03-01 filled to 1700 psi at 70 F"
    assert ("filled-out-of-service", "2012-03-01") in broken(over, fill)
    assert ("filled-out-of-service", "2012-03-01") in broken(over, test, fill)
    assert ("filled-out-of-service", "2012-03-01") in broken("2012-01-10 gauged 3020 psi", fill)


def test_a_reading_of_the_test_pressure_is_none_and_a_struck_one_never_was():
    fill = "2012-03-01 filled to 1700 psi at 70 F"
    assert not broken("2012-01-10 gauged 3019 psi", fill)
    person = 'struck 2012-01-11 by lind "typed 3020 for 1702"'
    assert not broken(f"2012-01-10 filled to 3020 psi {person}", fill)
