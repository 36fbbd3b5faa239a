"""
A new entry is judged by the cylinders of which it may say something: what it brings is what judging all finds, and of no
other cylinder anything else is said.
"""

import random
from collections import Counter
from datetime import date

from cylfile.judging.judge import air_log, judge, judge_cylinder
from cylfile.judging.new_entry import may_be_told_otherwise
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
OF_SOURCES = ("air sample {1} fail", "cartridge changed {1}")


def verdicts(record, names):
    air = air_log(record, RULES, AS_OF)
    return {name: judge_cylinder(record, RULES, record.cylinders[name], AS_OF, air) for name in names}


def found(record, verdicts, sources=None):
    """The findings of a record, with some of its sources judged, each told whole but for where."""
    findings = judge(record, RULES, AS_OF, (), verdicts, None, sources).findings
    return Counter((each.fingerprint, each.text, *each.working) for each in findings)


def said(verdict):
    """All that is said of a cylinder by itself, but for where."""
    return sorted(
        (
            each.rule,
            each.level,
            each.text,
            each.working,
            each.advice,
            each.cite,
            each.about,
            each.times,
            str(each.last_day),
        )
        for each in verdict.findings
    )


def test_what_an_entry_brings_is_what_judging_all_finds():
    chance = random.Random(5)
    # With waivers of what sources did, all are looked at.
    texts = {source.path: source.text for source in messy_record(5, 300, 0.02) if source.path != "more.cyl"}
    # Cartridges that few fills spend: what one takes from a source tells on those after it.
    sources = [Source(path, text.replace("67000 ft3", "400 ft3")) for path, text in texts.items()]
    record, brought, told_otherwise, looked_at, sources_looked_at = read_record(sources), 0, 0, Counter(), Counter()
    all_before = verdicts(record, record.cylinders)
    before, said_before = found(record, all_before), {name: said(verdict) for name, verdict in all_before.items()}
    # After the last of them no other cylinder was filled, and after the first of them many were.
    fills = (entry.day for name in record.cylinders for entry in record.entries[name] if entry.verb == "filled")
    days = sorted(fills)[-60::4]
    for number in range(8):
        day = f"{chance.choice(days)} 12:0{chance.randrange(9)}"
        words = (
            chance.choice(list(record.cylinders)),
            chance.choice(list(record.air_sources)),
            chance.choice(list(record.people)),
        )
        sentence = chance.choice((OF_SOURCES, FILLS, SENTENCES, FILLS)[number % 4]).format(*words)
        entry, faults = read_entry(Source("", f"{day} {sentence}"))
        assert entry is not None, faults
        try:
            placement = place(record, entry)
        except NoPlace:
            continue
        texts = {source.path: source for source in sources} | {placement.path: Source(placement.path, placement.text)}
        after = read_record(list(texts.values()))
        names = may_be_told_otherwise(record, placement.entry)
        all_after = verdicts(after, after.cylinders)
        others = record.cylinders.keys() - set(names)
        assert all(said(all_after[name]) == said_before[name] for name in others), plain_form(entry)
        told_otherwise += sum(
            said(all_after[name]) != said_before[name] for name in names if name in all_after and name != entry.subject
        )
        cards = [name for name in names if name in record.cylinders]
        some = found(after, {name: all_after[name] for name in cards}, names)
        some -= found(record, {name: all_before[name] for name in cards}, names)
        assert some == found(after, all_after) - before, plain_form(entry)
        brought += bool(some)
        looked_at[len(cards)] += 1
        sources_looked_at[len(names) - len(cards)] += 1
    # One cylinder, all, and some between; no source, one or more, all.
    assert {0, len(record.air_sources)} < sources_looked_at.keys()
    assert brought > 2 and told_otherwise > 2 and {1, len(record.cylinders)} < looked_at.keys()


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
        after = read_record([Source("all.cyl", f"{SPENT}{line}\n")])
        entry, _ = read_entry(Source("", line))
        names = may_be_told_otherwise(record, entry)
        brought = found(after, {}, names) - found(record, {}, names)
        assert brought == found(after, {}) - found(record, {})
        assert any("spent cartridge" in text for _, text, *_ in brought) == spends, brought


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
    names = [name for name in may_be_told_otherwise(record, test) if name in record.cylinders]
    brought = found(after, verdicts(after, names)) - found(record, verdicts(record, names))
    assert brought == found(after, verdicts(after, after.cylinders)) - found(record, verdicts(record, record.cylinders))
    # The test ends what was waived of its own cylinder, and the waiver goes on to cover the other.
    whole = judge(after, RULES, AS_OF).findings
    assert [each.subject for each in whole if each.waived] == ["K-1"]
