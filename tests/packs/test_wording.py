"""Values in the reader's words."""

from datetime import date, timedelta

import pytest

from cylfile.packs.wording import in_words
from cylfile.record.dates import Month
from support.house_pack import fill, life, load, load_rule

PSI_A_BAR = 14.503773773020923


@pytest.mark.parametrize(
    "value, dimension, psi, bar",
    [
        (4500, "pressure", "4500 psi", "310.3 bar"),
        (4500.4, "pressure", "4500 psi", "310.3 bar"),
        (300 * PSI_A_BAR, "pressure", "4351 psi", "300.0 bar"),
        (1.3, "pressure", "1.3 psi", "0.1 bar"),
        (2, "pressure", "2 psi", "0.1 bar"),
        (-0.001, "pressure", "0 psi", "0.0 bar"),
        (500, "rate", "500 psi/min", "34.5 bar/min"),
        (600.2, "rate", "600.2 psi/min", "41.4 bar/min"),
        ((88 + 459.67) / 1.8, "temperature", "88 F", "31.1 C"),
        (288.15, "temperature", "59 F", "15 C"),
    ],
)
def test_pressures_and_temperatures_are_in_the_unit_of_the_cylinder(value, dimension, psi, bar):
    assert (in_words(value, dimension, "psi"), in_words(value, dimension, "bar")) == (psi, bar)


@pytest.mark.parametrize(
    "value, dimension, words",
    [
        (1.8, "volume", "1.8 cc"),
        (92, "volume", "92.0 cc"),
        (4999.9, "volume", "4999.9 cc"),
        (5000, "volume", "5 L"),
        (-5000, "volume", "-5 L"),
        (28_316.8, "volume", "28.3 L"),
        (28_316.846592, "volume", "1 ft3"),
        (99.94 * 28_316.846592, "volume", "99.9 ft3"),
        (100.4 * 28_316.846592, "volume", "100 ft3"),
        (0.083, "share", "8.3 %"),
        (0.0833333, "share", "8.3 %"),
        (0.1, "share", "10 %"),
        (0.1004, "share", "10.04 %"),
        (0.0904, "share", "9.04 %"),
        (0.100004, "share", "10.0004 %"),
        (0.09996, "share", "9.996 %"),
        (1.25, "share", "125 %"),
        (0.0, "share", "0 %"),
        (3, "count", "3"),
        (5 / 3, "count", "1.667"),
        (1.5, "count", "1.5"),
        (timedelta(days=1), "duration", "1 day"),
        (timedelta(days=12), "duration", "12 days"),
        (timedelta(days=400), "duration", "400 days"),
        (timedelta(0), "duration", "0 days"),
        (timedelta(days=-3), "duration", "-3 days"),
        (timedelta(minutes=7), "duration", "7 min"),
        (timedelta(hours=1, minutes=12, seconds=5), "duration", "1 h 12 min 5 s"),
        (12, "period", "1 year"),
        (60, "period", "5 years"),
        (18, "period", "18 months"),
        (24, "period", "2 years"),
        (10, "pressure", "10 psi"),
        (10.4, "pressure", "10 psi"),
        (-10.4, "pressure", "-10 psi"),
        (9.96, "pressure", "10 psi"),
        (9.94, "pressure", "9.9 psi"),
        (5 / 3, "factor", "5/3"),
        (1.25, "factor", "5/4"),
        (2.0, "factor", "2"),
        (True, "bare", "yes"),
        (("expansion", "proof"), "names", "expansion, proof"),
        (timedelta(days=2, hours=3), "duration", "2 days 3 h"),
        (timedelta(seconds=-61), "duration", "-1 min 1 s"),
        (1, "period", "1 month"),
        (0, "period", "no limit"),
        (date(2026, 3, 14), "date", "2026-03-14"),
        (Month(2026, 3, 1), "date", "2026-03"),
        (date.max, "date", "never"),
        (12.0, "concentration", "12 ppm"),
        (0.1, "density", "0.1 mg/m3"),
        (True, "flag", "yes"),
        (False, "flag", "no"),
        ("dot-3aa", "text", "dot-3aa"),
    ],
)
def test_a_value_in_words(value, dimension, words):
    assert in_words(value, dimension, "psi") == words


@pytest.mark.parametrize("dimension", ["pressure", "share", "count", "date", "text", "flag", "duration"])
def test_what_is_not_known_says_so(dimension):
    assert in_words(None, dimension, "psi") == "not known"


@pytest.mark.parametrize("value", [float("inf"), float("nan")])
@pytest.mark.parametrize("dimension", ["pressure", "share", "count", "rate", "volume"])
def test_no_number_fails(value, dimension):
    assert in_words(value, dimension, "psi")


@pytest.mark.parametrize(
    "say, words",
    [
        ("{to} on {day}", "4500 psi on 2024-01-01"),
        ("{day - test-due} late", "31 days late"),
        ("{test-day} + {test-every}", "2018-12 + 5 years"),
        ("{made + 5 years} {made - 1 month} {made + 1 day}", "2023-12-01 2018-11-01 2018-12-02"),
        ("{to / rated} of {rated}, {rated - to} short", "112.5 % of 4000 psi, -500 psi short"),
        ("class {class}", "class not known"),
        ("{day > test-due}, {not in-service}, {class = site}", "yes, no, not known"),
        (r"a \"quoted\" word and a back\\slash", r'a "quoted" word and a back\slash'),
        ("{ to }", "4500 psi"),
        ("{2 * 3 + 4 / 8}", "6.5"),
    ],
)
def test_expressions_in_a_text(say, words):
    ruleset, faults = load_rule("yes", say=f'"{say}"')
    assert not faults
    a_life = life(
        rated=4000.0, test_due=date(2023, 12, 1), test_day=Month(2018, 12, 1), test_every=60, made=Month(2018, 12, 1)
    )
    assert ruleset.rules["a-rule"].say(a_life, fill()) == words


def test_a_rule_once_a_cylinder_counts():
    ruleset, faults = load_rule("yes\n  once cylinder", say='"{times} fills"')
    assert not faults
    rule = ruleset.rules["a-rule"]
    assert rule.once
    assert rule.say(life(), fill(), 3) == "3 fills"


def test_texts_are_asked_for_where_the_rule_stands():
    """`day` is the entry's day, and the as-of day where there is no entry."""
    ruleset, faults = load_rule("day > test-due", on="filled, status", say='"on {day}"')
    assert not faults
    rule = ruleset.rules["a-rule"]
    assert rule.say(life(as_of=date(2024, 5, 1)), fill(day=date(2024, 1, 1))) == "on 2024-01-01"
    assert rule.say(life(as_of=date(2024, 5, 1)), None) == "on 2024-05-01"


def test_much_air_is_in_cubic_meters_where_pressures_are_in_bar():
    assert in_words(9_999_999, "volume", "bar") == "10000 L" and in_words(10_000_000, "volume", "bar") == "10 m3"
    assert in_words(50_000, "volume", "bar") == "50 L"


TEXTS = """
pack p "P"
rule said  danger
  on       filled
  when     to > 1 psi
  say      "{by} filled {cylinder}{class}, to {to}: {blocked-by}"
  working  "{site}"
  advice   "Ask {by}"
  cite     "c"
"""


@pytest.mark.parametrize(
    "way, sentence, texts",
    [
        ("said", "ann filled K-1steel, to 5 psi: out of service: a: b", ["ann", "out of service: a: b"]),
        ("said", "ann filled K-1steel, to 5 psi; x", []), ("said", "", []), ("said", "Ask ann", []),
        ("said", " filled x, to : ", ["", ""]),
        ("worked_with", "Quay Street", ["Quay Street"]), ("advised", "Ask ann", ["ann"]), ("advised", "Asked", []),
    ],
)  # fmt: skip
def test_the_texts_that_a_sentence_passes_on_are_found(way, sentence, texts):
    rule = load(TEXTS)[0].rules["said"]
    assert [sentence[start:end] for start, end in getattr(rule, f"texts_{way}")(sentence)] == texts


def test_a_sentence_of_many_texts_is_searched_once():
    many = "{by}" * 40 + "!"
    ruleset, _ = load(TEXTS.replace("{by} filled {cylinder}{class}, to {to}: {blocked-by}", many))
    assert ruleset.rules["said"].texts_said("a" * 100_000) == []
