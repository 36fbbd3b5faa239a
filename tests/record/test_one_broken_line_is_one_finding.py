"""What cannot be read because of one line is told with that line, as one finding, and none of it is lost."""

from collections import Counter
from datetime import date

import pytest

from cylfile.judging.fill_verdict import doubts
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.packs.shipped import open_shipped
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules([], open_shipped)
ALL_RULES, _ = load_rules(["us-dot", "osha", "practice", "air"], open_shipped)
# Each line of it is needed by some rule.
LEDGER = """\
department "Pinder Creek"
  zone America/Anchorage
  rules us-dot
  rules osha
  rules practice
  rules air
  usual-source comp
site ferry "Ferry"
  contact "555"
site upper "Upper"
person wren "Wren"
  fills 2020-01-01
  inspects 2020-01-01
person odell "Odell"
  fills 2020-01-01
tester Z901 "Saltmarsh"
  authorized until 2028-03
source comp "Compressor"
  kind compressor
  rated 6000 psi
  cartridge 67000 ft3
  at ferry
  2026-01-14 air sample pass CO 1.2 ppm CO2 410 ppm O2 20.9 % oil 0.1 mg/m3 water 12 ppm odor none by wren
  2026-01-14 cartridge changed by wren
  2026-01-14 gauge checked by wren
cylinder V-07
  serial PC-40117
  maker Aldgate
  marked "DOT-SP 99123-4500"
  class carbon-wrapped
  rated 4500 psi
  made 2023-06
  holds 6.8 L
  tag 12
  2023-08-02 entered service at ferry
  2026-01-20 visual pass by wren
  2026-01-21 09:42 filled from 1150 psi to 4500 psi at 70 F by wren on comp
cylinder V-08
  serial PC-40118
  class carbon-wrapped
  made 2023-06
  holds 6.8 L
  2026-01-20 visual pass by wren
  2023-08-02 entered service at ferry
fill sheet 2026-01-22 on comp by odell
  09:42 V-07 from 4300 psi to 4500 psi at 70 F
  09:47 V-08 from 1150 psi to 4500 psi at 70 F
recall 2026-01-02 "valves"
  maker Nobody
waived charge-below-90 for V-08 from 2026-01-01 until 2026-02-01 by wren "test"
2026-01-25 gauged V-07 4450 psi at 70 F by wren
2026-01-25 gauged V-08 4450 psi at 70 F by odell
"""
LINES = LEDGER.splitlines()


def read(text: str):
    return read_record([Source("a.cyl", text)])


def findings(text: str, rules=RULES) -> list[tuple[int, str, str]]:
    judged = judge(read(text), rules, date(2026, 1, 26)).findings
    return [(each.span.line, each.rule, each.text) for each in judged if each.rule != "no-rules"]


BELOW = "the 2 lines below cannot be read because of it"


@pytest.mark.parametrize(
    "text, said",
    [
        ("cylindre K-1\n  made 2020-01\n  made 2020-02\n", f"`cylindre` is not allowed here; {BELOW}"),
        ("cylinder K-1 x\n  made 2020-01\n    x\n", f"`x` does not belong on this line; {BELOW}"),
        ("fill sheet 2026-01-01 foo\n  K-1 to 4500 psi\n  K-2 x\n", f"`foo` is not allowed here; {BELOW}"),
        ("fill sheet 2026-02-30\n  K-1 to 4500 psi\n  K-2 x\n", f"there is no day 2026-02-30; {BELOW}"),
        (
            f"cylinder {'K' * 65}\n  made 2020-01\n  x\n",
            f"a name of 65 characters; the longest has 64; {BELOW}",
        ),
        (
            "  made 2020-01\n  made 2020-02\n",
            "an indented line with no header above it; the same is true of the line below",
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


@pytest.mark.parametrize("line", ["fill sheet 2026-01-01\n  09:42 K-1 too 4500 psi", "2026-1-1 emptied K-1"])
def test_a_broken_entry_declares_no_name(line):
    told = findings(f"{line}\nfill sheet 2026-01-02\n  K-1 to 4500 psi\n")
    assert told[-1][1:] == ("unknown-name", "no card declares `K-1`")
    assert not any("block declares" in text for *_, text in told)


def broken(line: str) -> list[str]:
    """A line as people break it: a letter lost, words or a mark too many, the last word lost, the letter O for a zero."""
    indent, words = line[: len(line) - len(line.lstrip())], line.split()
    misspelled = indent + " ".join([words[0][0] + words[0][2:], *words[1:]])
    return [
        misspelled,
        f"{line} xyzzy",
        f'{line} "',
        indent + " ".join(words[:-1]),
        line.replace("20", "2O", 1),
        f"{indent}the {line.strip()}",
    ]


@pytest.mark.parametrize("number", range(len(LINES)), ids=lambda number: LINES[number].strip()[:40])
def test_a_broken_line_is_one_finding_and_no_second_for_what_it_would_have_told(number):
    """But for what is wrong without it, and for a header that has lost the very name that others look for."""
    usual = Counter(rule for _, rule, _ in findings(LEDGER, ALL_RULES))
    for line in broken(LINES[number]):
        more = Counter(
            rule for _, rule, _ in findings("\n".join([*LINES[:number], line, *LINES[number + 1 :]]), ALL_RULES)
        )
        more -= usual
        if more["unreadable-line"] and line != "cylinder":
            assert more == {"unreadable-line": 1}, line
