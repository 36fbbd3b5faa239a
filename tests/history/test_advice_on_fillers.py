"""
Where nobody can tell whether a filler had the authority, the advice helps whichever way that came about.
"""

from datetime import date

import pytest

from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

_CARD = """\
person orme "Ada Orme"
cylinder T-1
  marked  "DOT-3AL2216"
  made    2020-01
  2020-02-01  entered service
  2020-02-02  filled  to 2200 psi  at 75 F{}
"""


@pytest.mark.parametrize("by", ["", "  by nobody"])
def test_nobody_named_and_nobody_declared(by):
    rules, _ = load_rules(["us-dot", "practice"], lambda name: None)
    findings = judge(read_record([Source("a.cyl", _CARD.format(by))]), rules, date(2020, 3, 1)).findings
    (advice,) = (finding.advice for finding in findings if finding.rule == "cannot-judge")
    assert advice == "Write `by`, and that `person`."
