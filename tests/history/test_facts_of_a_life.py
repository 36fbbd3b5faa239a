"""Facts that no shipped rule asks for and a house pack may: each has the value that its meaning says."""

from datetime import date

import pytest

from cylfile.air import settled
from cylfile.history.facts import FACTS
from cylfile.history.fold import life_of
from cylfile.history.recalls import Recalls
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot"], lambda name: None)
AS_OF = date(2026, 11, 25)
CARD = "cylinder K-1\n  class dot-3aa\n  rated 3000 psi\n  made 2020-01\n  2020-02-03  entered service\n"


def of_today(fact: str, *entries: str):
    """A fact of the as-of day, of a card with some entries."""
    record = read_record([Source("a.cyl", CARD + "".join(f"  {entry}\n" for entry in entries))])
    return FACTS[fact].value(life_of(record, RULES, record.cylinders["K-1"], AS_OF), None)


@pytest.mark.parametrize(
    "fact, entries, value",
    [
        ("entered-day", [], date(2020, 2, 3)),
        ("retired-day", [], None),
        ("retired-day", ["2021-05-06  retired"], date(2021, 5, 6)),
        ("condemned-day", ['2021-05-06  condemned "cut"', '2021-06-06  condemned "cut"'], date(2021, 5, 6)),
        ("condemned-day", ["2021-05-06  hydro condemned"], date(2021, 5, 6)),
        ("out-of-service-day", ['2021-05-06  out of service "x"'], date(2021, 5, 6)),
        ("out-of-service-day", ['2021-05-06  out of service "x"', "2021-05-07  returned to service"], None),
        ("damaged-day", ['2021-05-06  damaged "x"'], date(2021, 5, 6)),
        ("damaged-day", ['2021-05-06  damaged "x"', "2021-05-07  hydro pass"], None),
        ("failed-day", ["2021-05-06  visual fail", "2021-05-05  hydro fail"], date(2021, 5, 5)),
        ("failed-day", ["2021-05-06  hydro pass  total 10.0 cc  permanent 1.1 cc"], date(2021, 5, 6)),
        ("failed-day", ["2021-05-06  hydro pass  crack fail"], date(2021, 5, 6)),
        ("last-fill-settled", ["2021-05-06  filled to 2900 psi  at 70 F", "2021-05-07  gauged 2000 psi"], 2900.0),
        ("last-fill-settled", ["2021-05-06  filled to 2900 psi"], None),
        ("last-fill-day", ["2021-05-06  filled to 2900 psi"], date(2021, 5, 6)),
        ("settled-or-read", ["2021-05-06  filled to 2900 psi"], 2900.0),
        ("settled-or-read", ["2021-05-06  filled to 2900 psi  at 21 C", "2021-05-07  emptied"], None),
    ],
)
def test_a_fact_of_the_day(fact, entries, value):
    found = of_today(fact, *entries)
    assert found == (pytest.approx(value, abs=0.01) if isinstance(value, float) else value)


def test_what_a_cylinder_holds_is_not_known_after_a_fill_that_nobody_read():
    read, unread = "2021-05-06  gauged 2700 psi", "2021-05-07  filled to unread"
    assert of_today("charge", read) == pytest.approx(0.9)
    assert of_today("charge", read, unread) is None
    assert of_today("charge", read, unread, "2021-05-08  gauged 1500 psi") == pytest.approx(0.5)
    # It is no less than before, so what was over the limit still is.
    assert of_today("over-limit", "2021-05-06  gauged 3200 psi", unread) == pytest.approx(199, abs=0.01)


@pytest.mark.parametrize(
    "entries, may",
    [
        (["2024-12-31  filled to 3000 psi"], True),
        (["2025-01-30  filled to 3000 psi"], True),
        (["2025-01-31  filled to 3000 psi"], False),
        (["2025-02-01  filled to 3000 psi"], False),
        (["2024-12-31  filled to 3000 psi", "2025-02-01  filled to 3000 psi"], False),
        ([], False),
    ],
)
def test_what_may_be_used_until_emptied_was_filled_before_the_due_day(entries, may):
    """49 CFR 180.205(c): a cylinder filled before requalification becomes due may remain in service until emptied."""
    assert ("until emptied" in of_today("may-be-used", *entries)) is may


@pytest.mark.parametrize("fact", ["over-test-pressure", "over-limit", "rounding", "charge", "settled-or-read"])
def test_a_pressure_that_cannot_be_compared_is_not_known(fact):
    """Neither where the class gives no limit, nor where nobody read the gauge."""
    for properties, fill in (("class special-permit", "to 2900 psi"), ("class dot-3aa\n  rated 3000 psi", "to unread")):
        record = read_record([Source("a.cyl", f"cylinder K-1\n  {properties}\n  2021-05-06  filled {fill}\n")])
        (entry,) = record.entries["K-1"]
        life = life_of(record, RULES, record.cylinders["K-1"], date(2021, 1, 1))
        read = fact == "settled-or-read" and fill == "to 2900 psi"
        assert FACTS[fact].value(life, entry) == (2900.0 if read else None)


@pytest.mark.parametrize(
    "line, missing",
    [
        ("hydro pass  by A123", "test pressure, result of the visual inspection, total expansion, permanent expansion"),
        ("hydro pass  by A123  at 5000 psi  visual pass  total 60 cc  permanent 2 cc", ""),
        ("hydro pass  by A123  at 5000 psi  visual pass  by ultrasonic", ""),
        ("hydro fail  by A123  at 5000 psi  visual pass  total 60 cc  permanent 2 cc", "reason for rejection or condemnation (a remark)"),
    ],
)  # fmt: skip
def test_what_a_test_says_too_little_of(line, missing):
    """49 CFR 180.215(b)(2). The REE is asked for of a class that is marked with it, and of no other."""
    line = line.replace("by ultrasonic", "method ultrasonic")
    text = f'tester A123 "T"\ncylinder K-1\n  serial 7\n  marked "DOT-3AA3000"\n  made 2020-01\n  2021-05-06  {line}\n'
    record = read_record([Source("a.cyl", text)])
    assert [fault.text for fault in record.faults] == []
    (entry,) = record.entries["K-1"]
    life = life_of(record, RULES, record.cylinders["K-1"], date(2021, 1, 1))
    assert FACTS["missing-fields"].value(life, entry) == missing


def test_the_ree_is_asked_for_where_no_elastic_expansion_of_a_marked_class_is_written():
    for clauses, is_missing in (("", True), ("  elastic 58 cc", False), ("  total 60 cc  permanent 2 cc", False)):
        text = f'tester A123 "T"\ncylinder K-1\n  marked "DOT-3HT1850"\n  2021-05-06  hydro pass  by A123{clauses}\n'
        record = read_record([Source("a.cyl", text)])
        (entry,) = record.entries["K-1"]
        life = life_of(record, RULES, record.cylinders["K-1"], date(2021, 1, 1))
        assert ("REE (on the card)" in FACTS["missing-fields"].value(life, entry)) is is_missing


def test_the_rounding_of_a_test_is_that_of_both_pressures_and_at_most_a_share_of_one():
    text = "cylinder K-1\n  class dot-3aa\n  rated 3000 psi\n  2021-05-06  hydro pass  at {}\n"
    for written, rounding in (
        ("5000 psi", 0.5 + 0.5 * 5 / 3),
        ("34.47 MPa", 0.005 * 145.0377 + 0.5 * 5 / 3),
        ("34 MPa", 10),
    ):
        record = read_record([Source("a.cyl", text.format(written))])
        (entry,) = record.entries["K-1"]
        life = life_of(record, RULES, record.cylinders["K-1"], date(2021, 1, 1))
        assert FACTS["rounding"].value(life, entry) == pytest.approx(rounding, rel=1e-4), written


def test_the_day_of_a_recall_is_that_of_the_first_that_means_the_cylinder():
    recalls = 'recall 2024-03-01 "Threads"\n  class dot-3aa\nrecall 2024-01-15 "Valves"\n  class dot-3aa\n'
    record = read_record([Source("a.cyl", recalls + CARD)])
    life = life_of(record, RULES, record.cylinders["K-1"], AS_OF)
    life.recalls = Recalls(record.cylinders["K-1"], "dot-3aa", record.recalls)
    assert FACTS["recall-day"].value(life, None) == date(2024, 1, 15)


def test_how_far_a_fill_is_over_the_hot_limit_by_more_than_rounding():
    """Half a place of the reading, of its temperature and, five quarters of it, of the rated pressure (49 CFR 173.301a(d))."""
    text = "cylinder K-1\n  class dot-3aa\n  rated 3000 psi\n  2021-05-06  filled to 3400 psi  at 70.0 F\n"
    record = read_record([Source("a.cyl", text)])
    (entry,) = record.entries["K-1"]
    life = life_of(record, RULES, record.cylinders["K-1"], date(2021, 1, 1))
    at, half_a_place, hot = (70 + 459.67) / 1.8, 0.05 / 1.8, (131 + 459.67) / 1.8
    over = settled(3399.5, at + half_a_place, hot) - 3750 - 0.5 * 5 / 4
    assert FACTS["over-hot-limit"].value(life, entry) == pytest.approx(over, abs=1e-4)


@pytest.mark.parametrize(
    "at, unlikely", [("70 F", False), ("-40 F", False), ("150 F", False), ("-41 F", True), ("151 F", True), ("", None)]
)
def test_a_gas_temperature_that_nobody_meets_is_told_as_it_was_written(at, unlikely):
    clause = f"  at {at}" if at else ""
    record = read_record([Source("a.cyl", f"cylinder K-1\n  2021-05-06  filled to 2900 psi{clause}\n")])
    (entry,) = record.entries["K-1"]
    life = life_of(record, RULES, record.cylinders["K-1"], date(2021, 1, 1))
    value = FACTS["unlikely-temperature"].value(life, entry)
    assert value == (entry.at_temperature.value if unlikely else None)
