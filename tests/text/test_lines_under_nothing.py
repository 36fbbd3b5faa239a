"""Lines that stand where no line can, and go on over several lines, are faults like any other."""

import pytest

from cylfile.record.reader import read_record
from cylfile.text.source import Source


@pytest.mark.parametrize(
    "text",
    [
        'site hc1 "Station 1"\n  2026-01-01  gauged 4200 psi\n      at 70 F\n      by vale\n',
        "cylindre K-1\n  2026-01-01  gauged 4200 psi\n      at 70 F\n",
    ],
)
def test_a_continued_line_under_no_card_is_one_fault(text):
    faults = [fault for fault in read_record([Source("f.cyl", text)]).faults if fault.span.line > 1]
    assert [(fault.rule, fault.span.line) for fault in faults] == [("unreadable-line", 2)]
