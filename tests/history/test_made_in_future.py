"""A card that says a cylinder is made on a day to come: its tests would be in date for years it has not lived."""

from datetime import date

import pytest

from cylfile.judging.fill_verdict import must_not_be_filled
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot"], lambda name: None)


def judged(made: str, as_of: date):
    text = f'cylinder K-1\n  marked  "DOT-3AA2265"\n  made    {made}\n'
    return judge(read_record([Source("f.cyl", text)]), RULES, as_of)


@pytest.mark.parametrize(
    "made, as_of, is_to_come",
    [
        ("2042-05", date(2026, 11, 25), True),
        ("2026-12", date(2026, 11, 30), True),
        ("2026-12", date(2026, 12, 1), False),
        ("2026-11-26", date(2026, 11, 25), True),
        ("2026-11-25", date(2026, 11, 25), False),
    ],
)
def test_a_cylinder_made_after_the_day_is_reported_and_must_not_be_filled(made, as_of, is_to_come):
    judgement = judged(made, as_of)
    found = [(finding.rule, finding.span.line, finding.text) for finding in judgement.findings]
    text = f"made {made}, after the day judged for ({as_of})"
    assert found == ([("future-entry", 3, text)] if is_to_come else [])
    reasons = must_not_be_filled(judgement.lives["K-1"], RULES, findings=judgement.findings)
    assert [(reason.rule, reason.text) for reason in reasons] == ([("future-entry", text)] if is_to_come else [])
