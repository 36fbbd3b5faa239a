"""
The demo keeps its promises: the clean record is clean, and the faulty one breaks every rule there is.
"""

import re
from collections import Counter
from datetime import date
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import Finding
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.shipped import shipped_names
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source, decode

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
AS_OF = date(2026, 11, 25)
README = (EXAMPLES / "README.md").read_text(encoding="utf-8")
FILES = sorted(path for path in EXAMPLES.rglob("*") if path.suffix in (".cyl", ".cylpack", ".md"))
LEDGERS = [path for path in FILES if path.suffix == ".cyl"]

# One file alone names no rules; the record that names them cannot break this one as well.
BROKEN_ALONE = {"no-rules": "2024.cyl"}
# What takes more than the text of one record: a disk, a second record, rules that lack a pack, clocks.
NOT_OF_A_TEXT = {
    "unreadable-folder",
    "file-names-alike",
    "serial-in-two-records",
    "barred-elsewhere",
    "samples-not-judged",
    "no-such-time",
    "time-came-twice",
}


class Judged(NamedTuple):
    record: Record
    rules: Ruleset
    findings: list[Finding]


@cache
def judged(name: str, only: str = "*.cyl") -> Judged:
    """A demo record, or what fits `only` of it, as a command would judge it."""
    folder = EXAMPLES / name

    def read(path: Path) -> Source:
        source, faults = decode(path.relative_to(folder).as_posix(), path.read_bytes())
        assert not faults
        return source

    record = read_record([read(path) for path in sorted(folder.rglob(only))])
    named = [pack for pack, _ in record.department.rules] if record.department else []
    rules, faults = load_rules(named, lambda pack: read(folder / pack))
    assert not faults
    return Judged(record, rules, judge(record, rules, AS_OF).findings)


def every_rule() -> set[str]:
    """The rules of the core and of all packs that ship, of which a record alone can tell."""
    rules, faults = load_rules(shipped_names(), lambda pack: None)
    assert not faults
    return {*CORE_RULES, *rules.rules} - NOT_OF_A_TEXT


def name_of(path: Path) -> str:
    return path.relative_to(EXAMPLES).as_posix()


def test_the_clean_record_is_clean():
    findings = judged("clean").findings
    standing = Counter((finding.level, finding.rule) for finding in findings if finding.waived is None)
    assert standing == {("notice", "test-due-soon"): 2, ("notice", "late-entry"): 1}
    waived = {(finding.level, finding.rule, finding.subject) for finding in findings if finding.waived}
    assert waived == {("caution", "monthly-check-missed", "H19-03"), ("warning", "visual-overdue", "H19-06")}


def test_the_clean_record_is_judged_by_all_that_ships():
    assert every_rule() - CORE_RULES.keys() == judged("clean").rules.rules.keys()


def test_the_faulty_record_breaks_every_rule():
    broken = {finding.rule for finding in judged("faulty").findings if finding.waived is None}
    assert broken == every_rule() - BROKEN_ALONE.keys()
    for rule, file in BROKEN_ALONE.items():
        assert rule in {finding.rule for finding in judged("faulty", file).findings}


@pytest.mark.parametrize(
    "name, cylinders, classes, entries, faults",
    [("clean", 51, 9, 1892, 0), ("faulty", 46, 10, 1295, 3)],
)
def test_what_the_records_hold(name, cylinders, classes, entries, faults):
    record, rules, _ = judged(name)
    assert len(record.cylinders) == cylinders
    found = {rules.resolve(card).figures.class_name for card in record.cylinders.values()}
    assert len(found - {None}) == classes
    assert record.entry_count == entries
    assert sum(fault.rule == "unreadable-line" for fault in record.faults) == faults
    assert len(record.sites) >= 2 and len(record.people) >= 5 and len(record.testers) == 2


@pytest.mark.parametrize("name, unreadable", [("clean", 0), ("faulty", 2)])
def test_no_line_is_passed_over(name, unreadable):
    lines = sum(map(entry_lines, sorted((EXAMPLES / name).rglob("*.cyl"))))
    assert judged(name).record.entry_count == lines - unreadable


def entry_lines(path: Path) -> int:
    """How many lines look like an entry to somebody who knows only the look of the page."""
    count, on_sheet = 0, False
    for line in path.read_text(encoding="utf-8").split("\n"):
        if line[:1].strip():
            on_sheet = re.match("(fill|gauge|visual|hydro) sheet ", line) is not None
            count += re.match(r"[0-9]", line) is not None
        elif line.strip():
            count += on_sheet or re.match(r" +[0-9]{4}-[0-9]{2}-[0-9]{2} ", line) is not None
    return count


@pytest.mark.parametrize("path", LEDGERS, ids=name_of)
def test_reading_is_lossless(path):
    text = path.read_text(encoding="utf-8")
    assert "".join(token.text for token in LEDGER.tokens(text)) == text


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_the_files_are_in_order(path):
    data = path.read_bytes()
    assert data.endswith(b"\n") and not data.endswith(b"\n\n")
    assert b"\t" not in data and b"\r" not in data
    assert not re.search(rb" +\n", data)


@pytest.mark.parametrize("name", ["clean", "faulty"])
def test_a_record_can_be_read_at_one_sitting(name):
    lines = sum(path.read_bytes().count(b"\n") for path in (EXAMPLES / name).rglob("*.*"))
    assert 1_500 <= lines <= 3_000


def table_of_slips() -> list[tuple[str, list[str]]]:
    """The rows of the README's table: the rule, and the cylinders, names and files where it is broken."""
    rows = re.findall(r"^\| ([a-z0-9-]+) \| ([^|]+) \| [^|]+ \|$", README, re.MULTILINE)
    return [(rule, re.findall("`([^`]+)`", where)) for rule, where in rows if rule != "rule" and "`" in where]


def test_the_readme_tells_every_slip():
    told = [rule for rule, _ in table_of_slips()]
    assert len(told) == len(set(told))
    assert set(told) == every_rule()


@pytest.mark.parametrize("rule, where", table_of_slips(), ids=lambda value: value if isinstance(value, str) else "")
def test_the_slips_are_where_the_readme_says(rule, where):
    findings = judged("faulty", BROKEN_ALONE.get(rule, "*.cyl")).findings
    places = {place for f in findings if f.rule == rule for place in (f.subject, f.span.source.path)}
    assert set(where) <= places
