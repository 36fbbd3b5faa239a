"""
A new entry is judged by the cylinders of which it may say something: what it brings is what judging all finds, and of no
other cylinder anything else is said.
"""

import random
import re
from collections import Counter
from datetime import date

import pytest

from cylfile.judging.case import Case
from cylfile.judging.judge import judge
from cylfile.judging.new_entry import NewEntry, may_be_told_otherwise
from cylfile.packs.layering import load_rules
from cylfile.record.entries import plain_form
from cylfile.record.one_sentence import read_entry
from cylfile.record.reader import read_record
from cylfile.rewriting.insertion import NoPlace, place
from cylfile.text.source import Source
from support.messy_records import messy_record

AS_OF = date(2026, 1, 10)
RULES, _ = load_rules(["us-dot", "osha", "practice", "air"], lambda name: None)
FILLS = ("filled {} to 2900 psi on {} by {}", "filled {} from 900 psi to 9000 psi at 80 F on {} by {} at st1")
SENTENCES = (
    "hydro {} pass", "visual {0} fail by {2}", "moved {} to st1", 'damaged {} "cut"', "retired {}", "filled {} to 3000 psi",
    "gauged {} 4400 psi",
)  # fmt: skip
_LINE = re.compile(r"(?<=\.cyl:)[0-9]+")
OF_SOURCES = (
    "air sample {1} fail",
    "cartridge changed C1",
    "filled B1 from 0 psi to 4500 psi at 70 F on C1",
    "emptied B2",
)


def told(finding):
    """All that a finding says, with where."""
    return [getattr(finding, field) for field in finding.__slots__]


def brought(record, entry, after, before):
    """What an entry brings, which is what judging all with it finds that was not found `before`, with all that it says."""
    whole, known = judge(after, RULES, AS_OF), Counter(finding.fingerprint for finding in before.findings)
    (written,) = (each for each in after.entries[entry.subject] if plain_form(each) == plain_form(entry))
    new = []
    for finding in whole.findings:
        if known[finding.fingerprint]:
            known[finding.fingerprint] -= 1
        else:
            new.append(finding)
    found = NewEntry(Case(record, RULES, AS_OF, ()), after, written).findings
    assert list(map(repr, map(told, found))) == list(map(repr, map(told, new))), plain_form(entry)
    return found, whole


def said(verdict):
    """All that is said of a cylinder by itself, but for where."""
    return sorted(
        (
            each.rule,
            each.level,
            _LINE.sub("", each.text),
            each.working,
            each.advice,
            each.cite,
            each.about,
            each.times,
            str(each.last_day),
        )
        for each in verdict.findings
    )


def with_line(sources, path, line):
    """Some sources with one more line at the end of a file."""
    return [Source(each.path, f"{each.text}{line}\n") if each.path == path else each for each in sources]


@pytest.mark.parametrize("waived", [False, True])
def test_what_an_entry_brings_is_what_judging_all_finds(waived):
    chance = random.Random(5)
    # With waivers of what sources did, all are looked at.
    texts = {source.path: source.text for source in messy_record(5, 300, 0.02) if waived or source.path != "more.cyl"}
    # Cartridges that few fills spend: what one takes from a source tells on those after it.
    sources = [Source(path, text.replace("67000 ft3", "400 ft3")) for path, text in texts.items()]
    record, bring, told_otherwise, looked_at, sources_looked_at = read_record(sources), 0, 0, Counter(), Counter()
    before = judge(record, RULES, AS_OF)
    said_before = {name: said(verdict) for name, verdict in before.verdicts.items()}
    # After the last of them no other cylinder was filled, and after the first of them many were.
    fills = (entry.day for name in record.cylinders for entry in record.entries[name] if entry.verb == "filled")
    days = sorted(fills)[-60::4]
    for number in range(4 if waived else 12):
        day = f"{chance.choice(days)} 12:0{chance.randrange(9)}"
        words = (
            chance.choice(list(record.cylinders)),
            chance.choice(list(record.air_sources)),
            chance.choice(list(record.people)),
        )
        sentence = (OF_SOURCES, FILLS, SENTENCES, FILLS)[number % 4]
        sentence = (sentence[number // 4] if sentence is OF_SOURCES else chance.choice(sentence)).format(*words)
        entry, faults = read_entry(Source("", f"{day} {sentence}"))
        assert entry is not None, faults
        try:
            placement = place(record, entry)
        except NoPlace:
            continue
        texts = {source.path: source for source in sources} | {placement.path: Source(placement.path, placement.text)}
        after = read_record(list(texts.values()))
        found, whole = brought(record, placement.entry, after, before)
        names = set(may_be_told_otherwise(Case(record, RULES, AS_OF, ()), after, placement.entry))
        said_after = {name: said(verdict) for name, verdict in whole.verdicts.items()}
        changed = {name for name in said_after if said_after[name] != said_before[name]}
        assert changed <= names, plain_form(entry)
        told_otherwise += len(changed - {entry.subject})
        bring += bool(found)
        looked_at[len(names & record.cylinders.keys())] += 1
        sources_looked_at[len(names & record.air_sources.keys())] += 1
    assert bring > 1 and told_otherwise > 1
    # One cylinder and many, where nobody's doing is waived; no source, one or more.
    assert waived or (1 in looked_at and len(looked_at) > 3 and {0, 1} <= sources_looked_at.keys()), looked_at


CROSSED = """\
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
  kind       compressor
  cartridge  400 ft3
  2025-01-01 06:00  air sample pass
  2025-01-01 07:00  cartridge changed
cylinder K-1
  class   carbon-wrapped
  rated   4500 psi
  made    2019-06
  2019-08-02  entered service  at quay
  2025-01-02 10:00  filled  to 4400 psi  at 70 F  by ash  on C1  at quay
cylinder K-2
  class   carbon-wrapped
  rated   4500 psi
  made    2019-06
  2019-08-02  entered service  at hill
  2025-01-02 10:03  filled  to 4400 psi  at 70 F  by ash  on C1  at hill
    answered two-places-at-once 2025-01-03 by ida "the clock of the hill was fast"
  2025-01-05  gauged 900 psi  late 2025-01-09 by ida " "
waived two-places-at-once for K-1 until 2027-01-01 by ida "as told"
waived late-entry for K-1 until 2027-01-01 by ida "as told"
sealed 2025-01-04 by ida 5 entries 00
"""


@pytest.mark.parametrize(
    ("sentence", "rules"),
    [
        # Another is at two places, one was answered that is not there any more, and K-1 is where it was.
        (
            "2025-01-02 10:02 filled K-1 to 4400 psi at 70 F by ash on C1 at hill",
            {"answer-unused", "two-places-at-once"},
        ),
        ("2025-01-02 10:02 filled K-2 to 4400 psi at 70 F by ida on C1 at quay", {"two-places-at-once"}),
        ('2025-01-02 moved K-1 to hill late 2025-01-03 by ash "forgotten"', {"late-entry"}),
        ('2025-01-02 moved K-2 to hill late 2025-01-08 by ash " "', {"late-entry", "empty-text"}),
        ('2025-01-05 gauged K-2 800 psi late 2025-01-02 by ash "before it was"', {"signature-out-of-time"}),
        ("2027-01-05 gauged K-2 800 psi", {"future-entry"}),
        ("2025-01-02 11:00 cartridge changed C1", set()),
        ("2025-01-02 09:00 air sample C1 fail", {"filled-on-failed-air"}),
    ],
)
@pytest.mark.parametrize("together", [True, False])
def test_what_is_of_others_too_is_found_with_a_new_entry(sentence, rules, together):
    """Whether it stands in the file of all others, or in one of its own."""
    sources = [Source("all.cyl", CROSSED), Source("more.cyl", "")]
    record, path = read_record(sources), "all.cyl" if together else "more.cyl"
    entry, faults = read_entry(Source("", sentence))
    assert entry is not None, faults
    after = read_record(with_line(sources, path, sentence))
    found, _ = brought(record, entry, after, judge(record, RULES, AS_OF))
    assert {finding.rule for finding in found} >= rules


SPENT = """\
department "Pinewater Fire Department"
  rules us-dot
  rules air
source C1 "Compressor"
  kind       compressor
  cartridge  400 ft3
  2025-01-01 06:00  air sample pass
  2025-01-01 07:00  cartridge changed
source B1 "Storage"
  kind   storage
  holds  50 L
  rated  5000 psi
  2025-01-02 12:00  filled  from 4800 psi  to 5000 psi  at 70 F  on C1
cylinder K-1
  class   dot-3aa
  rated   4500 psi
  holds   46 L
  made    2019-06
"""


def test_an_entry_tells_on_storages_filled_later_from_the_same_source():
    record = read_record([Source("all.cyl", SPENT)])
    for time, spends in (("09:00", True), ("15:00", False)):
        line = f"2025-01-02 {time} filled K-1 from 0 psi to 4500 psi at 70 F on C1"
        entry, _ = read_entry(Source("", line))
        after = read_record([Source("all.cyl", f"{SPENT}{line}\n")])
        found, _ = brought(record, entry, after, judge(record, RULES, AS_OF))
        of_storage = [finding.text for finding in found if finding.subject == "B1"]
        assert any("spent cartridge" in text for text in of_storage) == spends


WAIVED = """\
department "Pinewater Fire Department"
  rules us-dot
cylinder K-1
  marked  "DOT-3AA2216"
  made    2010-01
  2010-03-02  entered service
  2020-01-01  filled to 2000 psi by K-2
cylinder K-2
  marked  "DOT-3AA2216"
  made    2010-01
  2010-03-02  entered service
  2020-01-01  filled to 2000 psi
waived filled-past-test for K-2 until 2027-01-01 by ash "its name stands for a person's"
"""


def test_all_are_looked_at_where_the_name_that_is_waived_stands_for_a_persons():
    record = read_record([Source("all.cyl", WAIVED)])
    test, _ = read_entry(Source("", "2019-01-01 hydro K-2 pass"))
    after = read_record([Source("all.cyl", WAIVED + plain_form(test) + "\n")])
    _, whole = brought(record, test, after, judge(record, RULES, AS_OF))
    # The test ends what was waived of its own cylinder, and the waiver goes on to cover the other.
    assert [each.subject for each in whole.findings if each.waived] == ["K-1"]
