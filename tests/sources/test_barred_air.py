"""
What bars the air of a source, and what clears it, as somebody finds it who runs the rules: failed samples,
sources out of service, and days of which nothing tells the order.
"""

from datetime import date
from types import SimpleNamespace

import pytest

from cylfile.history.facts import FACTS
from cylfile.judging.judge import judge
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from tests.support.air_records import LATE, air_rules, findings, log_of

RECORD = """\
source C1 "Compressor"
  kind  compressor
  2024-01-05  air sample pass  CO 1 ppm
{source}source B1 "Bank"
  kind  storage
{bank}cylinder T-1
{cylinder}"""
OF_AIR = (
    "filled-on-failed-air",
    "filled-from-barred-source",
    "holds-suspect-air",
    "storage-holds-suspect-air",
    "order-not-told",
)


def lines(text: str) -> str:
    return "".join(f"  {line.strip()}\n" for line in text.split("\n") if line.strip())


def said(source: str = "", bank: str = "", cylinder: str = "", as_of: date = LATE) -> list[tuple[str, str]]:
    text = RECORD.format(source=lines(source), bank=lines(bank), cylinder=lines(cylinder))
    return findings(text, as_of, *OF_AIR)


FAILED = "2024-02-05  air sample fail  CO 22 ppm\n"


@pytest.mark.parametrize(
    "sample, clears",
    [
        ("2024-02-08  air sample pass  CO 2 ppm", True),
        ("2024-02-08  air sample pass  CO 90 ppm", False),
        ("2024-02-08  air sample pass", True),
        ("2024-02-08  cartridge changed", False),
    ],
)
def test_only_a_sample_within_the_limits_clears_a_failed_one(sample, clears):
    found = said(FAILED + sample, cylinder="2024-02-09  filled  to 4500 psi  on C1")
    assert found == ([] if clears else [("filled-on-failed-air", "T-1"), ("holds-suspect-air", "T-1")])


def test_a_sample_over_a_limit_is_followed_like_one_that_is_marked_as_failed():
    found = said("2024-02-05  air sample pass  CO 90 ppm", cylinder="2024-01-20  filled  to 4500 psi  on C1")
    assert found == [("holds-suspect-air", "T-1")]


@pytest.mark.parametrize(
    "source, barred",
    [
        ('2024-02-05  out of service "CO alarm"', True),
        ('2024-02-05  out of service "CO alarm"\n2024-02-05  returned to service', False),
        ('2024-02-05  returned to service\n2024-02-05  out of service "CO alarm"', True),
        ('2024-02-05 10:00  out of service "CO alarm"\n2024-02-05 09:00  returned to service', True),
        ('2024-02-07  out of service "CO alarm"', False),
    ],
)
def test_a_source_that_is_out_of_service_fills_nobody(source, barred):
    cylinder, bank = "2024-02-06  filled  to 4500 psi  on C1", "2024-02-06  filled  to 5000 psi  on C1"
    of_both = [("filled-from-barred-source", "B1"), ("filled-from-barred-source", "T-1")]
    assert said(source, bank, cylinder) == (of_both if barred else [])


# What a storage's own sample says, and emptying it: one order for all rules.


@pytest.mark.parametrize(
    "bank, of_fill, of_bank",
    [
        ("2024-02-07  air sample fail  CO 22 ppm", True, True),
        ("2024-02-07  air sample fail  CO 22 ppm\n2024-02-08  emptied", False, False),
        ("2024-02-07  air sample fail  CO 22 ppm\n2024-02-08  filled  from 0 psi  to 5000 psi  on C1", False, False),
        ("2024-02-07  air sample fail  CO 22 ppm\n2024-02-08  filled  from 9 psi  to 5000 psi  on C1", True, True),
        ("2024-02-07  air sample fail  CO 22 ppm\n2024-02-08  air sample pass  CO 1 ppm", False, False),
        ("2024-02-08  emptied\n2024-02-09  air sample fail  CO 22 ppm", True, True),
    ],
)
def test_a_failed_sample_of_a_storage_holds_until_what_it_holds_is_gone_or_good(bank, of_fill, of_bank):
    fill = "2024-02-10  filled  to 4500 psi  on B1"
    expected = [("filled-on-failed-air", "T-1"), ("holds-suspect-air", "T-1")] if of_fill else []
    expected += [("storage-holds-suspect-air", "B1")] if of_bank else []
    assert said(bank="2024-01-01  filled  to 5000 psi\n" + bank, cylinder=fill) == expected


def test_the_cure_that_is_advised_works_on_one_day():
    bank = '2024-01-20  filled  to 5000 psi  on C1\n2024-02-09  out of service "bad air"\n2024-02-09  emptied\n2024-02-09  returned to service'
    cylinder = '2024-01-20  filled  to 4500 psi  on C1\n2024-02-09  out of service "bad air"\n2024-02-09  emptied\n2024-02-09  returned to service'
    cured = FAILED + "2024-02-08  air sample pass  CO 1 ppm"
    assert said(cured, bank, cylinder) == []
    assert said(cured, bank, "2024-02-10  filled  to 4500 psi  on B1") == []


# A day of which nothing tells the order is read in both ways.


def found_by_rule(source: str, bank: str, cylinder: str) -> dict:
    text = RECORD.format(source=lines(source), bank=lines(bank), cylinder=lines(cylinder))
    found = judge(read_record([Source("a.cyl", text)]), air_rules(), LATE).findings
    return {each.rule: each for each in found if each.rule in OF_AIR and each.subject == "T-1"}


def test_suspect_in_either_order_and_known_to_be_only_in_one():
    source = FAILED + "2024-02-06  air sample pass  CO 1 ppm"
    found = found_by_rule(source, "", "2024-02-05  filled  from 0 psi  to 4500 psi  on C1")
    assert found.keys() == {"holds-suspect-air", "order-not-told"}
    assert "filled-on-failed-air" in found["order-not-told"].text


@pytest.mark.parametrize(
    "source, bank, cylinder, rule, level",
    [
        ('2024-02-05  out of service "alarm"\n2024-02-06  returned to service', "", "2024-02-05  filled  to 4500 psi  on C1",
         "filled-from-barred-source", "warning"),
        (FAILED + "2024-02-08  air sample pass  CO 1 ppm", "", "2024-02-08  filled  to 4500 psi  on C1", "holds-suspect-air", "warning"),
        (FAILED + "2024-02-07  air sample pass  CO 1 ppm", "2024-01-20  filled  to 5000 psi  on C1\n2024-02-08  emptied",
         "2024-02-08  filled  to 4500 psi  on B1", "filled-on-failed-air", "warning"),
        ("", "2024-02-01  filled  to 3000 psi  on C1\n2024-02-08  filled  to 5000 psi  on C1", "2024-02-08  filled  to 4500 psi  on B1",
         "source-too-weak", "caution"),
    ],
)  # fmt: skip
def test_what_only_one_order_says_is_asked_about(source, bank, cylinder, rule, level):
    found = found_by_rule(source, bank, cylinder)
    assert found.keys() == {"order-not-told"}
    finding = found["order-not-told"]
    assert finding.level == level and rule in finding.text and finding.related and "times" in finding.advice


def test_one_question_a_cylinder_and_day():
    fills = "2024-02-05  filled  to 4500 psi  on C1\n2024-02-05  filled  to 4400 psi  on C1"
    found = said('2024-02-05  out of service "alarm"', cylinder=fills)
    assert found == [("order-not-told", "T-1")]


def test_a_fill_on_failed_air_names_the_source_of_the_sample():
    text = RECORD.format(source=lines(FAILED), bank="", cylinder=lines("2024-02-09  filled  to 4500 psi  on C1"))
    found = judge(read_record([Source("a.cyl", text)]), air_rules(), LATE).findings
    (said_of_it,) = (finding.text for finding in found if finding.rule == "filled-on-failed-air")
    assert "after the sample of C1 failed on 2024-02-05" in said_of_it


def test_two_samples_of_a_day_in_no_told_order_are_asked_about_by_the_failed_one():
    head = RECORD.format(source="", bank="", cylinder=lines("2024-02-06  filled  to 4500 psi  on C1"))
    samples = (f"2024-02-05 air sample C1 {said}\n" for said in ("fail CO 22 ppm", "pass CO 2 ppm"))
    record = read_record([Source(f"{number}.cyl", text) for number, text in enumerate((head, *samples))])
    asked = [each for each in judge(record, air_rules(), LATE).findings if each.rule == "order-not-told"]
    assert [(each.subject, each.span.source.path) for each in asked] == [("T-1", "0.cyl"), ("T-1", "1.cyl")]
    assert "filled-on-failed-air" in asked[0].text and "holds-suspect-air" in asked[1].text


def test_suspect_air_names_the_source_of_the_failed_sample():
    text = RECORD.format(source=lines(FAILED), bank="", cylinder=lines("2024-01-20  filled  to 4500 psi  on C1"))
    _, log = log_of(text)
    life = SimpleNamespace(suspicion=log.suspicion("T-1"))
    day, source, way = (FACTS[f"suspect-{what}"].value(life, None) for what in ("day", "source", "way"))
    assert (day, source) == (date(2024, 2, 5), "C1") and "2024-01-20" in way
