"""
What is told of one cylinder alone is what judging all of the record tells of it.
"""

import random
from collections import Counter
from datetime import date

from cylfile.findings.finding import Finding
from cylfile.judging.judge import judge
from cylfile.judging.one_cylinder import judge_one
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.show.machine.card_json import card_json
from cylfile.show.pages.card_page import card_of
from cylfile.text.source import Source
from support.messy_records import messy_record

AS_OF = date(2026, 11, 25)
RULES, _ = load_rules(["us-dot", "osha", "practice", "air"], lambda name: None)
# What others bring to a cylinder: a waiver of its own that covers nothing, one of a person, an answer, a strike, a line
# written late, a text that says nothing, a person at two places, a name that two blocks have and one that stands for a person's.
TOLD = """\
department "Pinewater Fire Department"
  rules us-dot
  rules air
site quay "Quay Street"
site hill "Hill Road"
person ash "Rowan Ash"
  fills  2020-01-01
person ida "Ida Fell"
  fills  2020-01-01
source C1 "Compressor"
  kind  compressor
  2024-01-02  air sample fail
cylinder K-1
  class   carbon-wrapped
  marked  "DOT-SP 99999-4500"
  made    2019-06
  2019-08-02  entered service  at quay
  2025-01-01 10:00  filled  to 5900 psi  at 70 F  by ash  on C1  at quay
    answered filled-over-limit 2025-01-02 by ida "let down"
  2025-01-03  damaged "cut"  by ash  struck 2025-01-04 by ash "other one"
  2025-01-05  gauged 900 psi  late 2025-01-09 by ida " "
cylinder K-2
  class   carbon-wrapped
  marked  "DOT-SP 99999-4500"
  made    2019-06
  2019-08-02  entered service  at hill
  2025-01-01 10:02  filled  to 4500 psi  at 70 F  by ash  on C1  at hill
    remark ""
cylinder K-3
  class   carbon-wrapped
2025-01-07 filled K-2 to 5900 psi at 70 F by K-3 on C1
waived filled-over-limit for K-3 until 2027-01-01 by ida "its name stands for a person's"
waived filled-past-test for K-1 until 2027-01-01 by ida "as told"
waived filled-over-limit for K-2 until 2027-01-01 by ida "as told"
waived filled-suspect-air for ash until 2027-01-01 by ida "as told"
cylinder ash
  class   carbon-wrapped
waived no-class for ash until 2027-01-01 by ida "as told"
"""


def told_of(judgement, name):
    findings = Counter(
        repr([getattr(finding, field) for field in Finding.__slots__]) for finding in judgement.about(name)
    )
    return "".join(card_json(card_of(judgement, name))), findings


def compare(sources, names):
    """The rules of what is told of some cylinders, which is the same both ways."""
    record = read_record(sources)
    whole = judge(record, RULES, AS_OF)
    rules = set()
    for name in names or record.cylinders:
        assert told_of(judge_one(record, RULES, AS_OF, name), name) == told_of(whole, name), name
        rules.update(finding.rule for finding in whole.about(name))
    return rules


def test_what_others_bring():
    rules = compare([Source("all.cyl", TOLD)], [])
    wanted = {"waiver-unused", "late-entry", "empty-text", "two-places-at-once", "bar-struck", "filled-over-limit"}
    assert wanted <= rules


def test_messy_records():
    for seed in range(2):
        sources = messy_record(seed)
        names = list(read_record(sources).cylinders)
        assert compare(sources, random.Random(seed).sample(names, 8)) >= {"cartridge-spent", "unreadable-line"}
