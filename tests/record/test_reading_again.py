"""
A file of which only the blocks around a change are read again says exactly what it says when it is read whole.
"""

import random

import pytest

from cylfile.record.blocks import Declared, StruckProperty
from cylfile.record.entries import Entry
from cylfile.record.file_reader import FileReader
from cylfile.record.reading_again import move_of, read_again
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source, Span
from support.workspaces import CARDS, HEAD, SHEET

LOOSE = """\
2026-03-01  visual H-12 pass by quill
2026-03-02 09:00  filled H-99 to 4500 psi by nobody
# between two loose lines

2026-03-02 10:00  filled H-14 to 4400 psi by nobody on B9
    remark "goes on"
waived no-class for H-99 until 2027-01-01 by vance "x"
2026-03-03  gauged H-12 4400 psi
2026-03-03  gaged H-12 4400 psi
2026-03-04  gauged H-14 4400 psi   answered fill-over-limit 2026-03-05 by vance "x"
sealed through 2026-03-04 by vance 3 entries deadbeef
2026-03-05  emptied H-12 by stranger
"""
CARD = """\
cylinder H-16
  serial 17
  made 2020-01
  2020-02-01  entered service at st9
  2020/03/01  gauged 4400 psi
  2020-03-02  gauged 4400 psi
  2020-03-03  gauged 4400 psi
    remark "goes on"
  # a comment
  2020-03-04  gauged 4400 psi by stranger
  2020-03-05  gaged 4400 psi

  2020-03-06  gauged 4400 psi
  2020-03-07  emptied
  by stranger
  2020-03-08  gauged 4400 psi by stranger
  2020-03-09  gauged 4400 psi
"""
OTHERS = """\
  an indented line under nothing
cylinder H-15
  serial 16   struck 2026-01-01 by vance "wrong"
  serial 16
  made 2020-01
  2020-02-01  entered service at st9
      by nobody
recall 2026-01-05 "r"
  maker "Harrow"
recall 2026-01-06 "empty"
fill sheet 2026-03-15 at st9 on B9
  by nobody
  09:42  H-15  from 900 psi  to 4500 psi  at 85 F
  09:43  H-15  to
  09:44  H-12  to 4400 psi by somebody
fill sheet 2026-02-30
  09:58  H-14  to 4400 psi
cylinder H-15 x
  tag E1
"""
TEXT = LOOSE + HEAD + CARDS + SHEET + OTHERS + CARD + LOOSE + SHEET + CARD.replace("H-16", "H-17")
# What is typed where: all that may begin a block, end one, or hide one.
PIECES = [
    " ", "  ", "\t", '"', "#", "\n", "\r\n", "\r", "x", "1", "psi", "\n\n", "\n# \n", "\n  ", "cylinder H-16\n", "H-12",
    "2026-03-01  gauged H-12 4000 psi by nobody\n", "\n    remark \"x\"\n", "fill sheet 2026-03-15\n", "\u202e", "\n<<<<<<< a\n", "\n>>>>>>> b\n", "  serial 17\n",
    "waived no-class for H-15 until 2027-01-01 by vance \"x\"\n", "  by quill\n", "  09:44  H-13  to 4400 psi by nobody\n", "\u0663", "é",
]  # fmt: skip


def flat(thing):
    """All that a reading holds, as plain tuples and lists, each place with the very text that it is in."""
    if isinstance(thing, Span):
        return id(thing.source), thing.start, thing.end
    if isinstance(thing, Entry):
        return thing.facts, id(thing.source), thing.start, thing.block, thing.span.end
    if isinstance(thing, Declared):
        return type(thing), {name: flat(value) for name, value in vars(thing).items()}
    if isinstance(thing, dict):
        return {key: flat(value) for key, value in thing.items()}
    if isinstance(thing, StruckProperty) or isinstance(thing, list) or (isinstance(thing, tuple) and thing):
        return [flat(each) for each in thing]
    return thing


def all_of(file: FileReader):
    record = file.record
    # A fault in a comment comes after all others where a file is read whole; of no other order is anything made.
    faults = sorted(map(str, flat(record.faults)))
    tables = record.entries, record.damaged, record.recalls, record.waivers, record.seals
    # Its act or its shape, whichever it was read by.
    used = {
        key: (LEDGER.value_span(record.sources[0], line.start, line.shape, slot)[1:], count)
        for key, (line, slot, count) in file.used.items()
    }
    return [flat(each) for each in (*tables, file.things, file.damaged_lines, used)], faults


def edited(chance: random.Random, text: str) -> str:
    """A text after one to three edits anywhere, at its very ends too, as an editor may send them in one message."""
    if chance.random() < 0.2:
        # As somebody types on in one line.
        at = len(text) // 2
        return text[:at] + chance.choice("x1 ") + text[at:]
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        lines = text.splitlines(keepends=True)
        at = chance.choice((0, len(text), *(chance.randrange(len(text) + 1) for _ in range(6))))
        match chance.randrange(6):
            case 0 | 1:
                text = text[:at] + chance.choice(PIECES) + text[at:]
            case 2:
                text = text[:at] + text[at + chance.choice((1, 1, 2, 9, 200)) :]
            case 3 if lines:
                first = chance.randrange(len(lines))
                del lines[first : first + chance.choice((1, 1, 2, 5))]
                text = "".join(lines)
            case 4 if lines:
                first = chance.randrange(len(lines))
                text = "".join([*lines[:first], chance.choice(lines), *lines[first:]])
            case 5 if lines:
                # The end of a line to Windows and back, or a line further in or out.
                first = chance.randrange(len(lines))
                line = lines[first]
                changed = (line.replace("\n", "\r\n"), line.replace("\r\n", "\n"), f"  {line}", line.lstrip(" "))
                text = "".join([*lines[:first], chance.choice(changed), *lines[first + 1 :]])
    return text


@pytest.mark.parametrize("seed", range(5))
def test_what_is_read_again_in_part_is_what_is_read_whole(seed):
    chance, text = random.Random(seed), TEXT.replace("\n", "\r\n") if seed == 1 else TEXT
    file, again, in_part = FileReader(Source("a.cyl", text)).read(), None, 0
    for number in range(80):
        if number % 40 == 0 or (again is None and chance.random() < 0.4):
            # Not only ever worse texts.
            text = TEXT
        before, text = text, edited(chance, text)
        source = Source("a.cyl", text)
        whole = FileReader(source).read()
        again = read_again(file, move_of(file.record.sources[0], source), again)
        if again is not None:
            in_part += 1
            assert all_of(again.file) == all_of(whole), (before, text)
        file = again.file if again is not None else whole
    assert in_part > 40


@pytest.mark.parametrize(
    "lines, old, new",
    [
        # The property that was written twice is behind the entries.
        ("  serial 17\n  2020-03-01  gauged 4400 psi\n  serial 18\n  2020-03-02  gauged 4400 psi\n", "ser", "sex"),
        # What may go on with an entry, once the one between cannot be read.
        ('  made 2020\n  2020-03-01  emptied\n  2020-03-02  emptied\n    remark "x"\n  by vance\n', '"x"', "x"),
        # A property among entries.
        ("  2020-03-01  emptied\n  2020-03-02  emptied\n  serial 17\n  2020-03-03  emptied\n", "al 17", "al 18"),
        # How far in lines stand, by the first.
        ("  made 2020\n  2020-03-01  emptied\n  2020-03-02  gauged\n    4400 psi\n", "  made", "    made"),
        # A fault above the first line.
        (
            "  # \u202e\n  made 2020\n  2020-03-01  emptied\n  2020-03-02  emptied\n  2020-03-03  emptied\n",
            "-03-03",
            "-03-04",
        ),
        # The end of one card and the beginning of the next.
        (
            "  made 2020\n" + "  2020-03-01  emptied\n" * 3 + 'site st8 "x"\n',
            '  2020-03-01  emptied\nsite st8 "x"\n',
            "",
        ),
    ],
)
def test_lines_of_a_card_that_hang_on_others_are_read_with_them(lines, old, new):
    before = f"cylinder H-16\n{lines}cylinder H-17\n  2020-03-01  emptied\n"
    at = before.rindex(old)
    after = before[:at] + new + before[at + len(old) :]
    file, source = FileReader(Source("a.cyl", before)).read(), Source("a.cyl", after)
    again = read_again(file, move_of(file.record.sources[0], source))
    assert again is not None
    assert all_of(again.file) == all_of(FileReader(source).read())
