"""
A tester signs a hydrostatic test and a life extension; nobody else's work.
"""

import pytest

from cylfile.record.read import read_record
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
@pytest.mark.parametrize("line", ['life extended  until 2031-10  "permit"  by {}', "hydro pass  by {}"])
def test_a_tester_signs_tests_and_extensions(line, who):
    assert _unknown_names(f"2026-09-15  {line.format(who)}") == []


@pytest.mark.parametrize("line", ['life extended  until 2031-10  "permit"  by B456', "hydro pass  by B456"])
def test_a_tester_nobody_declares_is_named_as_one(line):
    assert _unknown_names(f"2026-09-15  {line}") == ["no block declares the tester `B456`"]


def test_a_tester_fills_nothing():
    assert _unknown_names("2026-09-15  filled  to 4500 psi  by A123") == ["`A123` is a tester, not a person"]
