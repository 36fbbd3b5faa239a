"""SARIF: valid by the schema of the standard, and saying what the findings say."""

import json
import os
from datetime import date
from pathlib import Path
from urllib.parse import unquote_to_bytes, urlsplit

import pytest
from jsonschema import Draft202012Validator

from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import LEVELS
from cylfile.judging.judge import judge
from cylfile.judging.report import Report
from cylfile.packs.layering import load_rules
from cylfile.packs.shipped import shipped_names
from cylfile.record.reader import read_record
from cylfile.show.machine.sarif import sarif_lines, uri_of
from cylfile.text.source import Source

HERE = Path(__file__).parent
SCHEMA = Draft202012Validator(json.loads((HERE / "sarif-2.1.0.json").read_text(encoding="utf-8")))
DEMO = HERE.parent.parent / "examples" / "faulty"
RULES, _ = load_rules(shipped_names(), lambda name: None)
AS_OF = date(2026, 11, 25)

CARD = """\
department "Hollin Creek Fire"
  zone   America/Denver
  rules  us-dot
cylinder K-1
  class   dot-3aa
  rated   2216 psi
  made    2016-01
  2016-02-01  entered service
  2022-03-01  filled  to 2216 psi
"""


def log_of(*files: tuple[str, str]) -> dict:
    """The log of a record of (path, text), which is valid by the schema."""
    record = read_record([Source(path, text) for path, text in files])
    findings = judge(record, RULES, AS_OF).findings
    report = Report(record, RULES, AS_OF, findings, {}, len(record.cylinders), record.entry_count)
    text = "".join(sarif_lines(report))
    assert text.isascii()
    log = json.loads(text)
    assert [error.message for error in SCHEMA.iter_errors(log)] == []
    (run,) = log["runs"]
    assert len(run["results"]) == len(findings)
    return run


def results(run: dict, rule: str) -> list[dict]:
    return [result for result in run["results"] if result["ruleId"] == rule]


def test_the_schema_refuses_what_is_wrong():
    assert list(SCHEMA.iter_errors({"version": "2.1.0", "runs": [{"tool": {}}]}))


def test_an_empty_record():
    run = log_of(("all.cyl", ""))
    assert run["columnKind"] == "unicodeCodePoints"


def test_the_demo_of_everything_that_can_be_wrong():
    files = [
        (path.relative_to(DEMO).as_posix(), path.read_text(encoding="utf-8-sig", errors="replace"))
        for path in sorted(DEMO.rglob("*.cyl"))
    ]
    assert files
    run = log_of(*files)
    assert len({result["ruleId"] for result in run["results"]}) > 20
    rules = run["tool"]["driver"]["rules"]
    assert all(rules[result["ruleIndex"]]["id"] == result["ruleId"] for result in run["results"])
    prints = [result["partialFingerprints"]["cylfileFinding/v1"] for result in run["results"]]
    assert len(set(prints)) == len(prints)


def test_every_rule_is_described_with_its_source():
    described = {rule["id"]: rule for rule in log_of(("all.cyl", ""))["tool"]["driver"]["rules"]}
    assert described.keys() == {*CORE_RULES, *RULES.rules}
    past_test = described["filled-past-test"]
    assert past_test["properties"] == {
        "signalWord": "danger",
        "pack": "vessel",
        "cite": RULES.rules["filled-past-test"].cite,
    }
    assert RULES.rules["filled-past-test"].cite[0] in past_test["help"]["text"]
    assert past_test["fullDescription"]["text"] and past_test["defaultConfiguration"]["level"] == "error"


@pytest.mark.parametrize("level, standard", [*zip(LEVELS, ("error", "warning", "note", "note"))])
def test_signal_words_and_levels(level, standard):
    rules = log_of(("all.cyl", ""))["tool"]["driver"]["rules"]
    of_level = [rule["defaultConfiguration"]["level"] for rule in rules if rule["properties"]["signalWord"] == level]
    assert of_level and set(of_level) == {standard}


def test_a_result_says_what_the_finding_says():
    (result,) = results(log_of(("cards/k.cyl", CARD)), "filled-past-test")
    (location,) = result["locations"]
    assert location["physicalLocation"] == {
        "artifactLocation": {"uri": "cards/k.cyl", "uriBaseId": "SRCROOT"},
        "region": {"startLine": 9, "startColumn": 3, "endLine": 9, "endColumn": 34},
    }
    assert location["logicalLocations"] == [{"name": "K-1"}]
    assert result["level"] == "error"
    assert result["message"]["text"].startswith("K-1: filled 394 days after its test fell due (2021-01-31).")
    assert "requalify" in result["message"]["text"]
    assert result["suppressions"] == []


def test_columns_count_code_points():
    text = CARD + '  2022-03-02  remarked "\U0001f692\U0001f692" by nobody\n  2022-03-03  remarked "\U0001f692" x\n'
    (result,) = results(log_of(("k.cyl", text)), "unreadable-line")
    region = result["locations"][0]["physicalLocation"]["region"]
    line = text.splitlines()[region["startLine"] - 1]
    assert line[region["startColumn"] - 1 : region["endColumn"] - 1] == "x"


def test_other_places_are_related_locations():
    (result,) = results(log_of(("k.cyl", CARD), ("l.cyl", "2022-03-01 filled K-1 to 2216 psi\n")), "same-entry-twice")
    (related,) = result["relatedLocations"]
    assert related["physicalLocation"]["artifactLocation"]["uri"] == "k.cyl"
    assert related["physicalLocation"]["region"]["startLine"] == 9
    assert related["message"]["text"]


def test_a_waived_finding_is_suppressed_and_kept():
    waiver = 'waived filled-past-test for K-1 until 2026-12-31 by vale "agreed"\nperson vale "V"\n'
    (result,) = results(log_of(("k.cyl", CARD + waiver)), "filled-past-test")
    (suppression,) = result["suppressions"]
    assert suppression["kind"] == "external" and suppression["status"] == "accepted"
    assert suppression["justification"].endswith("by vale: agreed")


@pytest.mark.parametrize(
    "path", ["a b/ü %41#?.cyl", "c:d.cyl", "[x]&=+'\".cyl", "tab\tnewline\n.cyl", os.fsdecode(b"latin-\xe9.cyl"), "-"]
)
def test_paths_are_relative_references(path):
    uri = uri_of(path)
    parts = urlsplit(uri)
    assert (parts.scheme, parts.netloc, parts.query, parts.fragment) == ("", "", "", "")
    assert uri.isascii() and " " not in uri
    assert unquote_to_bytes(uri) == os.fsencode(path)
    assert log_of((path, CARD))["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == uri


def fingerprints(*files) -> list[str]:
    return sorted(result["partialFingerprints"]["cylfileFinding/v1"] for result in log_of(*files)["results"])


def test_fingerprints_outlive_moves_layout_and_file_names():
    faulty = CARD + "  2022-03-05  filled  to 2216 psi  by nobody\n  2022-03-06  filed  to 2216 psi\n  tag T-1\n"
    faulty += "cylinder K-2\n  tag T-1\n"
    here = fingerprints(("k.cyl", faulty))
    assert len(here) > 5
    assert fingerprints(("other/name.cyl", "# moved\n\n" + faulty.replace("  ", " \t "))) == here
    loose = faulty.replace("  2022-03-05  filled  to 2216 psi  by nobody\n", "")
    sheet = "fill sheet 2022-03-05 by nobody\n  K-1 to 2216 psi\n"
    assert fingerprints(("a.cyl", loose), ("b.cyl", sheet)) == here
    assert fingerprints(("k.cyl", faulty.replace("2022-03-05", "2022-03-07"))) != here
