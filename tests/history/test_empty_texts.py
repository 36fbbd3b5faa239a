"""A text that says nothing is told of, wherever it stands, and once."""

from datetime import date

import pytest

from cylfile.findings.empty_texts import empty_texts
from cylfile.findings.finding import known_by
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

AS_OF = date(2026, 6, 1)
HEAD = """\
department "D"
site quay "Quay"
person bell "Rae Bell"
person orr "Ada Orr"
cylinder K-1
  made  2024-01
"""


def told(text: str) -> list[tuple[int, str, str]]:
    """(line after the head, subject, what says nothing)"""
    record = read_record([Source("a.cyl", HEAD + text), Source("b.cyl", "cylinder K-2\n")])
    assert not [fault for fault in record.faults if fault.rule == "unreadable-line"]
    found = empty_texts(record, AS_OF, lambda rule: "caution")
    return [(each.span.line - HEAD.count("\n"), each.subject, each.text.split("`")[1]) for each in found]


@pytest.mark.parametrize("text", ["", " ", "   ", "\u00a0", "\u200b", " \u2003\u2060"])
def test_a_text_of_nothing_that_anybody_sees(text):
    assert told(f'  2026-01-01  remarked  "{text}"\n') == [(1, "K-1", "remarked")]


@pytest.mark.parametrize("text", ["-", ".", "?", "0", "\u6c34", '\\"\\"', "\\\\"])
def test_a_text_of_one_sign_is_one(text):
    assert told(f'  2026-01-01  remarked  "{text}"\n') == []


@pytest.mark.parametrize(
    "line, what",
    [
        ('  2026-01-01  out of service  ""  by bell', "out of service"),
        ('  2026-01-01  emptied  remark ""', "remark"),
        ('  2026-01-01  remarked  "x"  struck 2026-01-02 by bell ""', "struck"),
        ('  2026-01-01  remarked  "x"  late 2026-01-02 by bell " "', "late"),
        ('  2026-01-01  emptied  by bell  answered late-entry 2026-01-02 by orr ""', "answered"),
        ('  2026-01-01  emptied\n      remark ""', "remark"),
        ('2026-01-01 retired K-1 ""', "retired"),
        ('gauge sheet 2026-01-01\n  K-1  2000 psi\n  K-1  2001 psi  remark ""', "remark"),
    ],
)  # fmt: skip
def test_of_an_entry_it_is_told_on_its_line_and_can_be_answered(line, what):
    ((at, subject, said),) = told(line + "\n")
    assert (subject, said) == ("K-1", what) and at == (1 if "\n      " in line else line.count("\n") + 1)
    more = "" if "answered" in line else '  answered empty-text 2026-02-01 by orr "nobody knows any more"'
    record = read_record([Source("a.cyl", f"{HEAD}{line}{more}\n")])
    judgement = judge(record, load_rules([], lambda name: None)[0], AS_OF)
    (finding,) = (each for each in judgement.findings if each.rule == "empty-text")
    assert finding.level == "caution" and finding.about == known_by(record.entries["K-1"][-1])
    assert finding.stands == (not more)


@pytest.mark.parametrize(
    "text, found",
    [
        ('  serial ""\n', [(1, "K-1", "serial")]),
        ('  serial ""  struck 2026-01-01 by bell "never read"\n', []),
        ('  serial "A"  struck 2026-01-01 by bell ""\n', [(1, "K-1", "struck")]),
        ('site pier ""\n  contact ""\n', [(1, "pier", "site"), (2, "pier", "contact")]),
        ('waived visual-overdue for K-1 until 2026-05-01 by bell ""\n', [(1, "", "waived")]),
        ('recall 2026-01-01 ""\n  maker ""\n', [(1, "", "recall"), (2, "", "maker")]),
        ('\n# "" in a comment\n  2026-01-01  emptied  # ""\n', []),
        ('  2026-01-01  remarked ""  struck 2026-01-02 by bell "typed twice"\n', []),
        ('  2026-01-01  remarked ""  struck 2026-07-01 by bell "not yet"\n', [(1, "K-1", "remarked")]),
    ],
)  # fmt: skip
def test_of_a_block_it_is_told_of_what_the_block_declares_unless_it_is_struck(text, found):
    assert told(text) == found
