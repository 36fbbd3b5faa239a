"""
The language on one page: its example is read without a fault, it has every kind of entry and of line, and it is one page.
"""

import re
from pathlib import Path

from cylfile.record.plain_form import properties
from cylfile.record.reader import read_record
from cylfile.record.vocabulary import VERBS
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source

PAGE = (Path(__file__).parents[2] / "grammar" / "ONE-PAGE.md").read_text(encoding="utf-8")
(EXAMPLE,) = re.findall(r"^```cyl\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
RECORD = read_record([Source("one.cyl", EXAMPLE)])
ENTRIES = [entry for entries in RECORD.entries.values() for entry in entries]


def test_the_example_is_a_record_without_a_fault():
    assert RECORD.faults == []


def test_every_kind_of_entry_is_on_the_page():
    said = {entry.verb for entry in ENTRIES}
    assert {verb for verb in VERBS if verb not in said and f"`{verb}`" not in PAGE} == set()


def test_every_word_that_opens_a_line_is_on_the_page():
    blocks = (RECORD.cylinders, RECORD.sites, RECORD.people, RECORD.testers, RECORD.air_sources)
    things = [RECORD.department, *RECORD.recalls, *(thing for kind in blocks for thing in kind.values())]
    assert all(properties(thing) for thing in things)
    words = {
        tree.removesuffix("_line")
        for tree in ("department", "site", "person", "tester", "source", "cylinder", "recall")
    }
    assert {word for word in words if not re.search(rf"^{word} ", EXAMPLE, re.MULTILINE)} == set()
    of_lines = {
        "zone", "rules", "usual-source", "contact", "fills", "inspects", "authorized", "kind", "rated", "holds",
        "cartridge", "serial", "maker", "owner", "marked", "class", "made", "tag", "liner", "life", "test-every",
        "test-pressure", "expansion-limit", "ree", "waived", "sealed", "struck", "late", "answered",
    }  # fmt: skip
    assert of_lines <= set(LEDGER.keywords)
    assert {word for word in of_lines if not re.search(rf"(?<![\w-]){word}(?![\w-])", PAGE)} == set()


def test_it_is_one_page():
    lines = PAGE.split("\n")
    # As plain text in letters of nine points on a sheet of letter size, or of A4.
    assert len(lines) <= 68 and max(map(len, lines)) <= 104
