"""
What is read about one cylinder gives the same answer as the whole record, damaged ones too.
"""

import random
import sys
from datetime import date
from pathlib import Path

import pytest

from cylfile.judging.by_itself import judge_cylinder
from cylfile.judging.fill_answer import answer
from cylfile.judging.fill_verdict import doubts, must_not_be_filled
from cylfile.judging.heads import head_of
from cylfile.packs.layering import load_rules
from cylfile.record.called import marks_in_texts
from cylfile.record.reader import read_record
from cylfile.record.relevant import card_names, cylinders_of, read_part
from cylfile.show.pages.may_fill_page import Asked, may_fill_page
from cylfile.show.terminal.layout import Layout
from cylfile.text.source import Source, decode
from support.messy_records import messy_record

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "bench"))
from make_record import make_record  # noqa: E402

AS_OF = date(2026, 11, 25)
RULES, _ = load_rules(["us-dot", "osha", "practice"], lambda name: None)
# Findings of fills may rest on what others took from the same source; whether a cylinder may be filled does not.
WITH_AIR, _ = load_rules(["us-dot", "osha", "practice", "air"], lambda name: None)

CARDS = """\
department "Pinewater Fire Department"
  zone   Etc/UTC
  rules  us-dot
site quay "Quay Street"
site hill "Hill Road"
person ash "Rowan Ash"
  fills  2020-01-01
tester Z999 "Invented Testing"
source C1 "Compressor"
  kind  compressor
  2024-01-02  air sample pass
source BANK "Storage bank"
  kind  storage
  at    quay
  2024-01-02  air sample pass
cylinder 12
  serial  "P 12"
  marked  "DOT-SP 99999-4500"
  class   carbon-wrapped
  made    2019-06
  tag     AA01
  2019-08-02  entered service  at quay
  2024-06-20  hydro pass  by Z999  at 7500 psi  total 92.1 cc
              permanent 1.8 cc
  2025-01-01  filled  to 4500 psi  at 70 F
# 12 had its valve changed in spring.
cylinder 120
  serial  "P 120"
  marked  "DOT-3AA2216"
  made    2010-01
  tag     AA02
  2010-03-02  entered service  at hill

  2023-06-20  hydro pass  by Z999
    remark "Tested with 12 and V-7."
cylinder V-7
  serial  "P 12"
  class   dot-3al
  rated   2216 psi
  made    2015-05
  2015-06-01  entered service
  2021-01-01  out of service "valve"
"""
SHEETS = """\
2026-03-12  filled BANK to 5000 psi on C1
fill sheet 2026-03-15  at quay  on BANK
    by ash
  09:42  12   from 900 psi  to 4500 psi  at 85 F
  09:58  V-7  to 2200 psi
  10:04  12   to 5400 psi
      struck 2026-03-15 by ash "typed 5400 for 4500"

  # V-7 again
  10:30  120  to 2216 psi

fill sheet 2026-03-16  at hill  by ash
  12  to 4500 psi
  V-7  to 2216 psi  remark "right after 120"
  120  to 2216 psi
2026-03-20  retired V-7 "outer wrap cut, level 3"
2026-03-21 10:00  filled 120
  to 2216 psi  on BANK
visual sheet 2026-03-22  by ash
  120  pass
  12   fail
gauge sheet 2026-04-01
  12   4400 psi
  V-7  2000 psi
waived filled-past-test for 120 until 2027-01-01 by ash "stand-by only"
recall 2026-05-01 "Valves"
  class  dot-3al
2026-06-01  air sample BANK fail
2026-06-01  air sample C1 fail
2026-06-02 09:00  filled BANK to 5000 psi on BANK
"""


def seen(record, name):
    """All that an answer about a cylinder rests on, places included."""
    card = record.cylinders.get(name)
    common = (
        record.department and record.department.rules,
        *map(sorted, (record.sites, record.people, record.testers, record.air_sources)),
        record.waivers and [waiver.rule for waiver in record.waivers],
        len(record.recalls),
        {source: [entry.facts for entry in record.entries.get(source, ())] for source in record.air_sources},
    )
    lines = [(fault.text, fault.span.source.path, fault.span.line, fault.span.column) for fault in doubts(record, name)]
    if card is None:
        return common, lines
    entries = sorted(
        (entry.span.source.path, entry.span.line, entry.span.column, repr(entry.facts))
        for entry in record.entries[name]
    )
    head = {field: value for field, value in vars(card).items() if field not in ("span", "where")}
    verdict = judge_cylinder(record, RULES, card, AS_OF)
    findings = [(finding.rule, finding.text, finding.working, finding.span.line) for finding in verdict.findings]
    in_doubt = doubts(record, name)
    by_air = judge_cylinder(record, WITH_AIR, card, AS_OF)
    reasons = must_not_be_filled(by_air.life, WITH_AIR, in_doubt, by_air.findings)
    return common, lines, head, entries, findings, must_not_be_filled(verdict.life, RULES, in_doubt), reasons


def assert_the_same(sources, names):
    whole = read_record(sources)
    for name in names:
        part = read_part(sources, name)
        assert seen(part, name) == seen(whole, name), name


def words_in(sources):
    """Every word that is a name or a tag, and one that is none."""
    record = read_record(sources)
    tags = [tag.name for card in record.cylinders.values() for tag in card.tags]
    return [*record.cylinders, *tags, "NOBODY"]


def test_the_whole_of_it():
    sources = [Source("cards.cyl", CARDS), Source("sheets.cyl", SHEETS)]
    assert_the_same(sources, ["12", "120", "V-7"])
    about = read_part(sources, "12")
    assert len(about.entries["12"]) == 8
    assert "120" not in about.cylinders or about.entry_count < read_record(sources).entry_count


def test_rows_about_others_are_left_out():
    text = make_record(800, 40)
    about = read_part([Source("all.cyl", text)], "K-0007")
    whole = read_record([Source("all.cyl", text)])
    assert about.entries["K-0007"] == [] or len(about.entries["K-0007"]) == len(whole.entries["K-0007"])
    assert about.entry_count < whole.entry_count / 5


def test_by_tag():
    sources = [Source("cards.cyl", CARDS), Source("sheets.cyl", SHEETS)]
    by_tag = read_part(sources, "AA01")
    assert [card.name for card in cylinders_of(by_tag, "AA01")] == ["12"]
    assert seen(by_tag, "12") == seen(read_record(sources), "12")


def test_a_tag_on_two_cards_finds_both():
    text = CARDS.replace("AA02", "AA01")
    found = cylinders_of(read_part([Source("cards.cyl", text)], "AA01"), "AA01")
    assert [card.name for card in found] == ["12", "120"]


def test_two_cards_of_one_serial_number_know_of_each_other():
    """`P 12` is on the cards of 12 and V-7."""
    for cards in (CARDS, CARDS.replace("P 12", "p 12", 1)):
        for name in ("12", "V-7"):
            record = read_part([Source("cards.cyl", cards)], name)
            assert [fault.rule for fault in doubts(record, name)] == ["name-taken"]


def test_a_serial_number_of_several_words_finds_its_card():
    found = cylinders_of(read_part([Source("cards.cyl", CARDS)], "P 120"), "P 120")
    assert [card.serial for card in found] == ["P 120"]


def test_the_examples():
    folders = [folder for folder in (ROOT / "examples").iterdir() if folder.is_dir()]
    assert folders
    for folder in folders:
        sources = [decode(path.relative_to(folder).as_posix(), path.read_bytes())[0] for path in folder.rglob("*.cyl")]
        assert_the_same(sources, words_in(sources))


@pytest.mark.parametrize("fills, cylinders", [(0, 3), (1, 1), (700, 9), (900, 400)])
def test_generated_records(fills, cylinders):
    sources = [Source("all.cyl", make_record(fills, cylinders))]
    names = words_in(sources)
    assert_the_same(sources, random.Random(fills).sample(names, min(len(names), 12)))


def test_line_ends_of_windows():
    sources = [Source("all.cyl", (CARDS + SHEETS).replace("\n", "\r\n"))]
    assert_the_same(sources, words_in(sources))


DAMAGES = (
    "", " ", "\n", "\r", "\t", '"', "#", "\n  ", "\n      ", "\n12 ", "12", "V-7", "\u202e", "\x07", "at", "to 80 F",
    "\n<<<<<<< ours\n", "\n=======\n", "\n>>>>>>> theirs\n", "\n  at quay", "\n  to 1 psi", "\ncylinder 12\n", "\nsource 12\n",
    "\nfill sheet 2026-01-01\n", "\n2026-01-01 ", "  # ", "é", "\n\t12 to 9 psi", "cylinder", '\n    remark "12"',
)  # fmt: skip


@pytest.mark.parametrize("seed", range(24))
def test_damaged_records(seed):
    """Pieces are put in, cut out and repeated anywhere; what is left has to read the same both ways."""
    chance = random.Random(seed)
    for _ in range(4):
        text = CARDS + SHEETS
        for _ in range(chance.randrange(1, 6)):
            at = chance.randrange(len(text))
            cut = chance.choice((0, 0, 1, 2, 5, 40))
            text = text[:at] + chance.choice(DAMAGES) + text[at + cut :]
        at = text.find("\n", chance.randrange(len(text))) + 1
        sources = [Source("a.cyl", text[:at]), Source("b.cyl", text[at:])]
        assert_the_same(sources, ["12", "120", "V-7", "AA01", "quay"])


def told(record, sources, name):
    """Every word of the answer about a cylinder."""
    names = [] if cylinders_of(record, name) else card_names(sources)
    found = answer(record, WITH_AIR, AS_OF, name, names=names)
    head = head_of(record, WITH_AIR, found.life, []) if found.life is not None else None
    return [
        "".join(text for text, _ in line) for line in may_fill_page(Asked(found, head, WITH_AIR, record), Layout(None))
    ]


@pytest.mark.parametrize("seed", range(3))
def test_the_answer_is_that_of_the_whole(seed):
    sources = messy_record(seed)
    whole = read_record(sources)
    marks = marks_in_texts(sources)
    names = words_in(sources)
    for name in [*random.Random(seed).sample(names, 5), "TWIN-K-0001", "STRANGER"]:
        part = read_part(sources, name, marks=marks)
        assert told(part, sources, name) == told(whole, sources, name), name
        assert seen(part, name) == seen(whole, name), name
