"""What cannot be read because of one line is told with that line, as one finding, and none of it is lost."""

from datetime import date

import pytest

from cylfile.judging.fill_verdict import doubts
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.packs.shipped import open_shipped
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules([], open_shipped)


def read(text: str):
    return read_record([Source("a.cyl", text)])


def findings(text: str) -> list[tuple[int, str, str]]:
    judged = judge(read(text), RULES, date(2026, 5, 1)).findings
    return [(each.span.line, each.rule, each.text) for each in judged if each.rule != "no-rules"]


BELOW = "the 2 lines below cannot be read because of it"


@pytest.mark.parametrize(
    "text, said",
    [
        ("cylindre K-1\n  made 2020-01\n  made 2020-02\n", f"`cylindre` is not allowed here; {BELOW}"),
        ("cylinder K-1 x\n  made 2020-01\n    x\n", f"`x` is more than this line can hold; {BELOW}"),
        ("fill sheet 2026-01-01 foo\n  K-1 to 4500 psi\n  K-2 x\n", f"`foo` is not allowed here; {BELOW}"),
        ("fill sheet 2026-02-30\n  K-1 to 4500 psi\n  K-2 x\n", f"there is no day 2026-02-30; {BELOW}"),
        (
            f"cylinder {'K' * 65}\n  made 2020-01\n  x\n",
            f"a name of 65 characters; the longest has 64; {BELOW}",
        ),
        (
            "  made 2020-01\n  made 2020-02\n",
            "an indented line with no header above it; the line below stands the same way",
        ),
    ],
)
def test_the_lines_below_are_told_with_their_header(text, said):
    ((line, rule, words),) = findings(text)
    assert (line, rule, words) == (1, "unreadable-line", said)
    # None is lost: each line is in doubt by itself.
    assert [fault.span.line for fault in read(text).unread] == list(range(1, len(text.splitlines()) + 1))


def test_a_cylinder_in_a_line_below_is_in_doubt_by_that_line():
    record = read("cylinder K-1\nfill sheet 2026-01-01 foo\n  K-1 to 4500 psi\n")
    assert {fault.span.line for fault in doubts(record, "K-1")} == {3}
    assert [(line, rule) for line, rule, _ in findings(record.sources[0].text)] == [(2, "unreadable-line")]


@pytest.mark.parametrize("header", ["person wren Wren Castell", 'persn wren "Wren"', 'the person wren "Wren"'])
def test_a_name_that_a_broken_header_may_declare_is_told_with_it(header):
    text = f"{header}\n  fills 2020-01-01\ncylinder K-1\n  2026-01-01 emptied by wren\n  2026-01-02 emptied by wren\n"
    told = [each for each in findings(text) if each[1] in ("unreadable-line", "unknown-name")]
    assert [(line, rule) for line, rule, _ in told] == [(1, "unreadable-line")]
    assert told[0][2].endswith("; the line below cannot be read because of it; no other block declares wren")
