"""
A tester signs hydrostatic tests and life extensions, and may inspect and condemn; a fill is a person's.
"""

import pytest

from cylfile.record.reader import read_record
from cylfile.text.source import Source

_HEAD = """\
person orme "Ada Orme"
tester A123 "Ketterby Cylinder Requalification"
cylinder T-1
"""


def _unknown_names(line: str) -> list[str]:
    record = read_record([Source("a.cyl", f"{_HEAD}  {line}\n")])
    assert all(fault.rule == "unknown-name" for fault in record.faults)
    return [fault.text for fault in record.faults]


@pytest.mark.parametrize("who", ["A123", "orme"])
@pytest.mark.parametrize(
    "line",
    [
        'life extended  until 2031-10  "permit"  by {}',
        "hydro pass  by {}",
        "visual fail  by {}",
        'condemned "crack in the neck"  by {}',
    ],
)
def test_a_tester_signs_what_a_tester_does(line, who):
    assert _unknown_names(f"2026-09-15  {line.format(who)}") == []


@pytest.mark.parametrize("line", ['life extended  until 2031-10  "permit"  by B456', "hydro pass  by B456"])
def test_a_tester_nobody_declares_is_named_as_one(line):
    assert _unknown_names(f"2026-09-15  {line}") == ["no block declares the tester `B456`"]


def test_who_inspects_is_a_person_or_a_tester():
    assert _unknown_names("2026-09-15  visual pass  by B456") == ["no block declares the person or tester `B456`"]


def test_a_tester_fills_nothing():
    assert _unknown_names("2026-09-15  filled  to 4500 psi  by A123") == ["`A123` is a tester, not a person"]
