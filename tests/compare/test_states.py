"""Blocks, lines and findings of two states of a record."""

from datetime import date

from cylfile.compare.states import compare_records
from cylfile.findings.new_findings import new_findings
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot"], lambda name: None)

OLD = """\
department "Hollin Creek Fire"
  rules us-dot
person vale "Ada Vale"
  fills 2020-01-01 until 2026-12-31
source C1 "Compressor"
  kind compressor
cylinder K-1
  class dot-3aa
  rated 2216 psi
  made 2015-01
  2015-02-01 entered service
  2019-12-31 filled to 2216 psi by vale
cylinder K-2
  class dot-3aa
  rated 2216 psi
  made 2024-01
  tag T1
"""


def record_of(text, path="f.cyl"):
    return read_record([Source(path, text)])


def compare(old, new):
    old, new = record_of(old), record_of(new)
    judged = [judge(record, RULES, date(2026, 6, 1)).findings for record in (old, new)]
    return compare_records(old, new, *judged)


def test_nothing_differs_from_itself():
    comparison = compare(OLD, OLD)
    assert comparison.is_empty and not comparison.is_grave


def test_properties_that_differ():
    new = OLD.replace("rated 2216 psi\n  made 2015-01", "rated 3000 psi\n  made 2015-01\n  owner County")
    new = new.replace("tag T1", "tag T2\n  tag T1").replace("until 2026-12-31", "until 2028-12-31")
    found = [(change.kind, change.header, change.properties) for change in compare(OLD, new).blocks]
    assert found == [
        ("changed", "cylinder K-1", (("rated", ("2216 psi",), ("3000 psi",)), ("owner", (), ("County",)))),
        ("changed", "cylinder K-2", (("tag", ("T1",), ("T1", "T2")),)),
        ("changed", "person vale", (("fills", ("2020-01-01 until 2026-12-31",), ("2020-01-01 until 2028-12-31",)),)),
    ]  # fmt: skip


def test_blocks_that_are_new_or_gone():
    new = OLD.replace("source C1", "source C2").replace("Hollin Creek Fire", "Hollin Fire")
    found = [(change.kind, change.header) for change in compare(OLD, new).blocks]
    assert found == [("changed", "department"), ("removed", "source C1"), ("added", "source C2")]


def test_a_card_that_is_gone_takes_its_entries_with_it():
    new = OLD.replace("cylinder K-1", "cylinder K-9")
    comparison = compare(OLD, new)
    assert [(change.kind, change.name) for change in comparison.blocks] == [("removed", "K-1"), ("added", "K-9")]
    assert [change.kind for change in comparison.entries["K-1"]] == ["removed", "removed"]
    assert comparison.is_grave


def test_seals_waivers_and_recalls():
    seal = f"sealed 2020-12-31 by vale 2 entries {'0' * 64}\n"
    waiver = 'waived test-overdue for K-1 from 2026-01-02 until 2027-01-01 by vale "agreed"\n'
    recall = 'recall 2026-01-01 "Valves"\n  maker "Elm"\n'
    comparison = compare(OLD, OLD + seal + waiver + recall)
    assert sorted((change.kind, change.what) for change in comparison.lines) == [
        ("added", "recall"), ("added", "seal"), ("added", "waiver")
    ]  # fmt: skip
    assert list(comparison.grave) == ["seals broken"]
    assert not compare(OLD, OLD + waiver + recall).is_grave
    assert compare(OLD + waiver + recall, OLD).grave == {"seals, recalls and waivers removed": 2}
    early = waiver.replace("from 2026-01-02", "from 2019-01-02")
    assert compare(OLD, OLD + early).grave == {"signatures backdated": 1}
    assert compare(OLD, OLD + early.replace("from 2019-01-02 ", "")).grave == {"signatures backdated": 1}
    assert compare(OLD + seal, OLD).is_grave
    assert compare(OLD + seal, OLD + seal.replace("by vale 2", "by vale 3")).is_grave


def test_findings_that_appeared_and_went():
    late_fill = OLD.replace("2019-12-31 filled", "2020-02-01 filled")
    comparison = compare(OLD, late_fill)
    assert [finding.rule for finding in comparison.appeared] == ["filled-past-test"]
    assert comparison.gone == []
    assert [finding.rule for finding in compare(late_fill, OLD).gone] == ["filled-past-test"]


def test_findings_that_only_moved_are_not_new():
    past_test = OLD.replace("2019-12-31 filled", "2020-02-01 filled")
    lines = past_test.splitlines(keepends=True)
    loose = [line for line in lines if "filled" not in line]
    moved = "# moved\n\n2020-02-01 filled K-1 by vale to 2216 psi\n" + "".join(loose)
    assert [finding.rule for finding in compare(OLD, past_test).appeared] == ["filled-past-test"]
    assert compare(past_test, moved).is_empty


def test_a_waived_finding_went_and_comes_back():
    past_test = OLD.replace("2019-12-31 filled", "2020-02-01 filled")
    waived = past_test + 'waived filled-past-test for K-1 until 2020-12-31 by vale "agreed"\n'
    assert "filled-past-test" in [finding.rule for finding in compare(past_test, waived).gone]
    assert "filled-past-test" in [finding.rule for finding in compare(waived, past_test).appeared]


def test_new_findings_are_counted_and_not_only_told():
    judged = judge(record_of(OLD.replace("rules us-dot", "zone Nowhere/Such")), RULES, date(2026, 6, 1)).findings
    assert judged
    assert new_findings(judged, judged) == []
    assert new_findings(judged, judged + judged[:1]) == judged[:1]
    assert new_findings([], judged) == judged
