"""
What is passed over as plain is an entry of a cylinder whose name is known, and nothing is wrong with it.
"""

import random
import re
from datetime import date

from cylfile.record.reader import read_record
from cylfile.text.ledger import LEDGER
from cylfile.text.plain_lines import PlainLines, are_names
from cylfile.text.source import Source

NAMES = ("K-1", "12", "V-7", "AA.01", "7/b", "12-3")
LINES = (
    "2024-03-15 filled K-1 to 4500 psi", "2024-02-28 09:42 filled 12 from 90 psi to 310 bar at 80 F over 12 min by ash on C1 at quay",
    "2024-03-31 filled V-7 by ash to 2216 psi at quay at -5 C on C1 from 0 psi", '2024-11-30 visual K-1 pass by ash remark "as told"',
    "2024-03-15 gauged 12 4400 psi at 70 F by ash", "2024-03-15 moved AA.01 to quay from hill by ash", "2024-03-15 emptied K-1",
    '2024-03-15 remarked 7/b "to \\"12\\"" by ash', '2024-03-15 filled K-1 to 9 psi struck 2024-03-16 by ash "no"  # seen',
    "fill sheet 2024-03-15\n  K-1 to 4500 psi", "fill sheet 2024-03-15 at quay on C1 by ash\n  09:42 12 from 9 psi to 310 bar at 8 C",
    'fill sheet 2024-03-15 by ash on C1 at quay\n  12-3 to 9 psi over 3 min by ash on C1 at 5 remark "x"\n\n  12 to 9 psi # y',
)  # fmt: skip
# What may come in the place of a word, or beside it.
WORDS = (
    *NAMES, *("K-2", "to", "at", "by", "on", "from", "filled", "pass", "fail", "F", "psi", "min", "s", "5", "80", "2024-02-30", "99:00"),
    *("09:10", "2023-02-29", "2024-01", "12:30", "-9", "-99999", "999999999999", '"', '"a"', "remark", "late", "struck", "# z", "\n", "\n   "),
    *("\n      ", "\t", "x" * 70, "0" * 64, "4500psi", "80F", "12 cc", "é", "unread", "over", "heat", "cylinder", "fill sheet"),
)  # fmt: skip


def test_names_are_those_that_are_read_as_such():
    assert are_names([*NAMES, "to", "2024-01-01", "4500psi", "09:10", "x" * 65, "80F", "12cc"]) == {*NAMES, "80F"}


def test_no_day_is_plain_that_there_is_not():
    plain = PlainLines(NAMES)
    days = [f"{year}-{month:02}-{day:02}" for year in (1900, 2024) for month in range(14) for day in range(33)]
    passed = [day for day in days if plain.loose.match(f"{day} emptied K-1\n")]
    assert len(passed) == 2 * 365
    for day in passed:
        date.fromisoformat(day)


def test_what_is_plain_can_be_read():
    chance = random.Random(5)
    plain = PlainLines(NAMES)
    passed = []
    for number in range(9_000):
        line = LINES[number % len(LINES)]
        words = re.split("([ \n]+)", line)
        for _ in range(chance.choice((0, 1, 1, 1, 2, 3))):
            at = chance.randrange(len(words))
            words[at] = chance.choice((words[at], "", words[at] + " ")) + chance.choice(
                (*WORDS, *LEDGER.keywords, *words)
            )
        text = "".join(words) + chance.choice(("\n", "\r\n", "", "\n# more\n"))
        found = plain.sheets.fullmatch(text) or plain.loose.fullmatch(text)
        if found:
            passed.append(text)
            record = read_record([Source("x.cyl", text)])
            assert not record.unread, text
            assert record.entries.keys() <= {*NAMES}, text
    # Every line of the table, and others that say something else.
    assert all(any(text.startswith(line) for text in passed) for line in LINES)
    assert len(set(passed)) > 400
