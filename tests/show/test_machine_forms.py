"""
Findings for machines: one a line, and as one JSON object.
"""

import json
import re

from cylfile import __version__
from cylfile.show.machine.finding_lines import finding_lines
from cylfile.show.machine.lint_json import lint_json
from support.shown_record import LEDGER, report

FIELDS = [
    "rule", "level", "subject", "file", "line", "column", "end_line", "end_column", "text", "working", "advice",
    "cite", "day", "waived", "answered", "fingerprint",
]  # fmt: skip


def as_object(of=None) -> dict:
    return json.loads("".join(lint_json(of or report())))


def test_lines_are_of_the_gnu_form():
    lines = list(finding_lines(report()))
    assert "cards.cyl:19:3: danger: past-test: filled 12 days after its test fell due (2026-06-30)\n" in lines
    assert all(
        re.fullmatch(r"cards\.cyl:\d+:\d+: (danger|warning|caution|notice|waived): [a-z-]+: .+\n", line)
        for line in lines
    )


def test_a_waived_finding_has_the_word_waived_for_its_level():
    (line,) = [line for line in finding_lines(report()) if ": waived: " in line]
    assert line == (
        "cards.cyl:7:10: waived: due-soon: test falls due in 67 days "
        "(notice, waived until 2026-12-31 by vance: Booked for test)\n"
    )


def test_columns_count_characters():
    ledger = 'department "D"\n  rules "house.cylpack"\nsite s "Ærø 東京 🚒" x\n'
    (line,) = finding_lines(report(ledger))
    assert line.startswith("cards.cyl:3:19: danger: ")


def test_the_object_has_its_fields_in_their_order():
    found = as_object()
    head = ["cylfile", "department", "as_of", "rules", "packs", "commit", "uncommitted", "stamp"]
    assert list(found) == [*head, "suspended", "counts", "findings"]
    assert list(found["counts"]) == [
        "cylinders",
        "entries",
        "danger",
        "warning",
        "caution",
        "notice",
        "waived",
        "answered",
    ]
    assert all(list(finding) == FIELDS for finding in found["findings"])


def test_the_object_says_what_was_found():
    found = as_object()
    first = next(finding for finding in found["findings"] if finding["rule"] == "past-test")
    assert found["cylfile"] == __version__ and found["as_of"] == "2026-11-25"
    assert found["rules"] == ["test.cylpack", "house.cylpack"]
    assert found["suspended"] == {"no-temperature": "No probe"}
    assert found["counts"] == {
        "cylinders": 4, "entries": 11, "danger": 4, "warning": 1, "caution": 0, "notice": 0, "waived": 1,
        "answered": 0,
    }  # fmt: skip
    assert len(first.pop("fingerprint")) == 32
    assert first == {
        "rule": "past-test", "level": "danger", "subject": "L-2", "file": "cards.cyl",
        "line": 19, "column": 3, "end_line": 19, "end_column": 44,
        "text": "filled 12 days after its test fell due (2026-06-30)",
        "working": ["last test 2021-06-03 + 5 years = due by 2026-06-30"],
        "advice": "Take it out of service.", "cite": ["Statute 1", "Statute 2, about the same"],
        "day": "2026-07-12", "waived": None, "answered": None,
    }  # fmt: skip


def test_a_waived_finding_carries_its_waiver():
    waived = [finding["waived"] for finding in as_object()["findings"] if finding["rule"] == "due-soon"]
    assert waived == ["until 2026-12-31 by vance: Booked for test"]


def test_the_object_is_one_finding_a_line_in_ascii():
    text = "".join(lint_json(report(LEDGER.replace("Booked", "Gebucht für 東京"))))
    assert text.isascii()
    assert len([line for line in text.split("\n") if line.startswith('  {"rule"')]) == 6
    assert json.loads(text)["findings"][0]["waived"] == "until 2026-12-31 by vance: Gebucht für 東京 for test"


def test_no_findings_are_an_empty_list():
    of = report()
    of.findings = []
    assert as_object(of)["findings"] == []


def test_hidden_characters_reach_no_machine():
    of = report()
    for finding in of.findings:
        finding.text = 'a\x1b[31m "b" \x7f \u202e \ud800 \n'
        finding.working = ["w\x9b"]
    shown = 'a\\u{1b}[31m "b" \\u{7f} \\u{202e} \\u{d800} \\u{a}'
    assert all(f": {shown}" in line and line.count("\n") == 1 for line in finding_lines(of))
    found = as_object(of)["findings"]
    assert {finding["text"] for finding in found} == {shown}
    assert {finding["working"][0] for finding in found} == {"w\\u{9b}"}
