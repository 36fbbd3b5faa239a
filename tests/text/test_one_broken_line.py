"""One wrong character harms the line it is in and no other."""

import pytest

from cylfile.record.reader import read_record
from cylfile.text.source import Source

# One sentence a physical line, so that each line stands for itself.
LEDGER = """\
department "Pinder Creek"
  rules us-dot
person wren "Wren"
  fills 2021-05-03 until 2027-05-31
site st1 "Ferry"
source comp "Air"
  kind storage
  at st1
  2026-01-14 air sample pass CO 1.2 ppm
cylinder V-1
  made 2019-06
  2026-03-14 09:42 filled to 4500 psi by wren remark "a # b"
  2026-03-15 hydro pass total 92.1 cc # c
fill sheet 2026-03-16 at st1
  09:50 V-1 to 4500 psi at 61 F
  114 to 31 MPa

2026-03-20 moved V-1 to st1 by wren
cylinder 114
"""
LINES = LEDGER.split("\n")
# What people and machines slip in: marks, letters, digits, blanks, and what nobody sees.
STRAYS = ['"', "#", "7", " ", "\t", "\u202e"]


def said(text: str) -> dict[int, list]:
    """What each line of a ledger says: its entries, and what it puts into the block that it stands in."""
    record = read_record([Source("one.cyl", text)])
    by_line: dict[int, list] = {}
    for entries in record.entries.values():
        for entry in entries:
            by_line.setdefault(entry.span.line, []).append(entry.facts)
    for thing in [*record.declared.values(), *filter(None, [record.department])]:
        by_line.setdefault(thing.span.line, []).append((thing.word, thing.name, thing.title))
        for word, span in thing.where.items():
            by_line.setdefault(span.line, []).append((thing.name, word, span.text))
    return by_line


WHOLE = said(LEDGER)
# Line, from 1 -> the line that heads its block.
HEADER_OF = {}
for number, line in enumerate(LINES, 1):
    HEADER_OF[number] = HEADER_OF[number - 1] if line.startswith(" ") else number


NUMBERS = [number for number, line in enumerate(LINES, 1) if line]


def test_each_line_says_something():
    """But for the header of the sheet, whose words its rows say."""
    assert sorted([*WHOLE, LINES.index("fill sheet 2026-03-16 at st1") + 1]) == NUMBERS


def check(number: int, line: str) -> None:
    """The ledger with this line in place of its line `number` says the same on all other lines."""
    text = "\n".join([*LINES[: number - 1], line, *LINES[number:]])
    now = said(text)
    for other in WHOLE:
        # What a header says holds for the lines under it; whose they are is not known without it.
        if other != number and HEADER_OF[other] != number:
            assert now.get(other) == WHOLE[other], (line, LINES[other - 1])


@pytest.mark.parametrize("number", NUMBERS, ids=lambda number: LINES[number - 1].strip())
def test_a_character_lost_harms_no_other_line(number):
    line = LINES[number - 1]
    for place in range(len(line)):
        check(number, line[:place] + line[place + 1 :])


@pytest.mark.parametrize("number", NUMBERS, ids=lambda number: LINES[number - 1].strip())
def test_a_stray_character_harms_no_other_line(number):
    line = LINES[number - 1]
    indent = len(line) - len(line.lstrip())
    for place in range(len(line) + 1):
        for stray in STRAYS:
            # A sign in column 1 opens a block, and a blank there makes a header a line of the block above.
            if place >= indent and (place or not stray.isspace()) or place and stray in " \t":
                check(number, line[:place] + stray + line[place:])


@pytest.mark.parametrize("number", NUMBERS, ids=lambda number: LINES[number - 1].strip())
def test_a_line_lost_takes_only_itself(number):
    less = said("\n".join([*LINES[: number - 1], "", *LINES[number:]]))
    if HEADER_OF[number] != number:
        assert less == {other: words for other, words in WHOLE.items() if other != number}


@pytest.mark.parametrize("number", NUMBERS, ids=lambda number: LINES[number - 1].strip())
def test_a_file_cut_off_in_a_line_says_what_its_lines_before_say(number):
    before = len("\n".join(LINES[: number - 1])) + (number > 1)
    for cut in range(len(LINES[number - 1])):
        now = said(LEDGER[: before + cut])
        assert {other: now[other] for other in now if other < number} == {
            other: WHOLE[other] for other in WHOLE if other < number
        }


@pytest.mark.parametrize("number", [n for n in NUMBERS if HEADER_OF[n] != n], ids=lambda n: LINES[n - 1].strip())
@pytest.mark.parametrize(
    "broken",
    [
        "serail 12",
        "2026-02-30 remarked",
        '"open',
        "by",
        ": :",
        "to 4500 psi",
        "filled",
        "<<<<<<<",
        "\u202e",
        "x" * 30_000,
    ],
)
def test_a_broken_line_between_reads_as_if_it_were_absent(number, broken):
    """The lines before and after a broken one of the same block, and of the blocks around it, say what they said."""
    now = said("\n".join([*LINES[:number], f"  {broken}", *LINES[number:]]))
    without = {line if line <= number else line - 1: words for line, words in now.items() if line != number + 1}
    assert without == WHOLE
