"""
What comes: days of tests, inspections, replacements, samples and changes, and what to budget for.
"""

from datetime import date

import pytest

from cylfile.history.due import Due, Outlay, Untold, coming, coming_of_sources, outlays
from cylfile.history.fold import life_of
from cylfile.history.service_state import state_of
from cylfile.history.sources.air_log import AirLog
from cylfile.packs.layering import load_rules
from cylfile.record.dates import Month
from cylfile.record.reader import read_record
from cylfile.text.source import Source

AS_OF = date(2026, 11, 25)
HOUSE = 'pack house "House"\n  over us-dot\nclass dot-3aa\n  visual-every  12 months\n'
RULES, FAULTS = load_rules(["house.cylpack"], lambda name: Source(name, HOUSE))
HEAD = 'department "Pinewater"\nsite quay "Quay"\nperson ash "Ash"\ntester Z999 "Tests"\n'


def life(*lines, as_of=AS_OF):
    record = read_record([Source("a.cyl", HEAD + "cylinder K-1\n" + "".join(f"  {line}\n" for line in lines))])
    assert not FAULTS and not record.faults
    return life_of(record, RULES, record.cylinders["K-1"], as_of)


CARBON = ("class carbon-wrapped", "rated 4500 psi", "made 2019-06", "2019-08-02 entered service at quay")
STEEL = ("class dot-3aa", "rated 2216 psi", "made 2010-01", "2010-03-01 entered service at quay")


def test_a_test_and_the_end_of_its_life():
    assert list(coming(life(*CARBON, "2024-06-20 hydro pass by Z999"))) == [
        Due("replacement", "K-1", "quay", "carbon-wrapped", date(2034, 6, 30), Month(2019, 6, 1), 180),
        Due("test", "K-1", "quay", "carbon-wrapped", date(2029, 6, 30), date(2024, 6, 20), 60),
    ]


def test_a_visual_inspection_where_the_rules_have_a_period():
    due = {each.kind: each for each in coming(life(*STEEL, "2024-06-20 hydro pass by Z999", "2026-02-03 visual pass"))}
    assert due["visual"][4:7] == (date(2027, 2, 28), date(2026, 2, 3), 12)
    assert set(due) == {"test", "visual"}, "it has no service life limit"


def test_no_test_at_the_end_of_its_life():
    kinds = [each.kind for each in coming(life(*CARBON, "2030-01-05 hydro pass by Z999", as_of=date(2031, 1, 1)))]
    assert kinds == ["replacement"], "the test would fall due after the life ends"
    assert [each.kind for each in coming(life(*CARBON, as_of=date(2035, 1, 1)))] == ["replacement"]


def test_a_test_shortly_before_the_end_says_so():
    test = list(coming(life(*CARBON, "2028-09-05 hydro pass by Z999", as_of=date(2033, 1, 1))))[1]
    assert test.day == date(2033, 9, 30) and test.life_end == date(2034, 6, 30)
    assert list(coming(life(*CARBON, "2028-01-05 hydro pass by Z999", as_of=date(2029, 1, 1))))[1].life_end is None


def kinds(*lines, as_of=AS_OF):
    return [each.kind for each in coming(life(*lines, as_of=as_of))]


def test_what_falls_due_on_the_last_day_of_a_life_is_not_made_and_what_is_overdue_is_asked_for_up_to_it():
    assert kinds(*CARBON, "2029-06-05 hydro pass by Z999", as_of=date(2033, 1, 1)) == ["replacement"]
    assert kinds(*CARBON, "2029-05-05 hydro pass by Z999", as_of=date(2033, 1, 1)) == ["replacement", "test"]
    assert kinds(*CARBON, "2024-06-20 hydro pass by Z999", as_of=date(2034, 6, 30)) == ["replacement", "test"]
    assert kinds(*CARBON, "2024-06-20 hydro pass by Z999", as_of=date(2034, 7, 1)) == ["replacement"]
    steel = (*STEEL, "life until 2030-02", "2026-02-03 hydro pass by Z999")
    assert kinds(*steel, "2029-02-03 visual pass", as_of=date(2029, 3, 1)) == ["replacement"]
    assert kinds(*steel, "2029-01-03 visual pass", as_of=date(2030, 2, 28)) == ["replacement", "visual"]
    assert kinds(*steel, "2029-01-03 visual pass", as_of=date(2030, 3, 1)) == ["replacement"]


def test_a_test_a_year_before_the_end_says_so_and_one_a_month_earlier_does_not():
    for month, end in ((6, date(2034, 6, 30)), (5, None)):
        *_, test = coming(life(*CARBON, f"2028-{month:02}-05 hydro pass by Z999", as_of=date(2030, 1, 1)))
        assert test.life_end == end


def test_an_end_that_the_card_or_an_extension_states_is_reckoned_from_nothing():
    stated = next(coming(life(*CARBON, "life until 2030-01")))
    assert (stated.day, stated.since, stated.every) == (date(2030, 1, 31), None, None)
    extended = life(*CARBON)
    extended.life_end = date(2039, 6, 30)
    assert [(each.day, each.since) for each in coming(extended)][0] == (date(2039, 6, 30), None)


@pytest.mark.parametrize(
    "lines",
    [
        STEEL[:3],
        (*STEEL, '2026-01-01 out of service "valve"'),
        (*STEEL, "2026-01-01 retired"),
        (*STEEL, '2026-01-01 condemned "cut"'),
    ],
    ids=["not-entered", "out of service", "retired", "condemned"],
)
def test_nothing_comes_for_what_is_not_in_service(lines):
    assert list(coming(life(*lines))) == [] and list(outlays(life(*lines), 2040)) == []


@pytest.mark.parametrize(
    "lines, untold",
    [
        (("rated 2216 psi", STEEL[3]), [("replacement", "class"), ("test", "class")]),
        (("class carbon-wrapped", "rated 4500 psi", STEEL[3]), [("replacement", "made"), ("test", "made")]),
        (("class special-permit", "rated 4500 psi", "made 2019-01", STEEL[3]), [("replacement", "life"), ("test", "test-every")]),
        ((*STEEL, "2024-06-20 hydro fail by Z999"), [("visual", "visual pass")]),
    ],
)  # fmt: skip
def test_what_nobody_can_tell_says_what_is_lacking(lines, untold):
    assert [(each.kind, each.lacks) for each in coming(life(*lines)) if isinstance(each, Untold)] == untold


def sources(*lines, as_of=AS_OF, sample=3, cartridge=12):
    record = read_record([Source("a.cyl", HEAD + "".join(f"{line}\n" for line in lines))])
    assert not record.faults
    return list(coming_of_sources(AirLog(record, as_of), sample, cartridge))


COMPRESSOR = ('source C1 "Air room"', "  kind compressor", "  cartridge 67000 ft3", "  at quay")


def test_the_next_sample_and_the_next_cartridge():
    found = sources(
        *COMPRESSOR, "  2026-01-31 cartridge changed", "  2026-08-31 air sample pass",
        "  2026-11-20 air sample pass  struck 2026-11-21 by ash \"another source\"",
    )  # fmt: skip
    assert found == [
        Due("air-sample", "C1", "quay", None, date(2026, 11, 30), date(2026, 8, 31), 3),
        Due("cartridge", "C1", "quay", None, date(2027, 1, 31), date(2026, 1, 31), 12),
    ]


def test_after_a_failed_sample_the_next_one_is_due_at_once():
    (sample, _) = sources(*COMPRESSOR, "  2026-08-31 air sample pass", "  2026-11-01 air sample fail CO 30 ppm")
    assert sample == Due("air-sample", "C1", "quay", None, date(2026, 11, 1), date(2026, 11, 1), None)


def test_a_storage_that_is_sampled_itself_needs_its_next_sample():
    (sample,) = sources('source BANK "Bank"', "  kind storage", "  2026-08-31 air sample pass")
    assert (sample.kind, sample.day) == ("air-sample", date(2026, 11, 30))


def test_sources_that_need_none():
    assert sources('source BANK "Bank"', "  kind storage") == []
    assert sources(*COMPRESSOR, '  2026-01-31 out of service "belt"') == []
    assert sources(*COMPRESSOR, sample=None, cartridge=None) == []


def test_a_source_that_was_never_sampled():
    assert [(each.kind, each.lacks) for each in sources(*COMPRESSOR)] == [
        ("air-sample", "air sample pass"),
        ("cartridge", "cartridge changed"),
    ]
    assert len(sources(*COMPRESSOR[:2])) == 1, "without a cartridge none has to be changed"


def test_tests_are_counted_in_the_years_they_fall_due():
    found = list(outlays(life(*STEEL, "2022-06-20 hydro pass by Z999"), 2040))
    assert [(each.kind, each.year) for each in found] == [("test", 2027), ("test", 2032), ("test", 2037)]
    assert not any(each.is_overdue for each in found)


@pytest.mark.parametrize(
    "day, kinds", [("2033-06-30", ["test", "replacement"]), ("2034-06-30", ["test", "replacement"]), ("2034-07-01", ["replacement"])]
)  # fmt: skip
def test_a_test_that_is_overdue_is_budgeted_for_up_to_the_last_day_of_its_life(day, kinds):
    found = outlays(life(*CARBON, "2024-06-20 hydro pass by Z999", as_of=date.fromisoformat(day)), 2034)
    assert [each.kind for each in found if each.year >= 2033] == kinds


def test_a_star_is_worth_ten_years():
    found = list(outlays(life(*STEEL, "2022-06-20 hydro pass by Z999 star"), 2040))
    assert [each.year for each in found] == [2032]


def test_what_is_overdue_is_counted_this_year_and_reckoned_on_from_it():
    found = list(outlays(life(*STEEL, "2015-06-20 hydro pass by Z999"), 2032))
    assert found == [
        Outlay("test", "K-1", "dot-3aa", 2026, True),
        Outlay("test", "K-1", "dot-3aa", 2031, False),
    ]


def test_a_life_that_ends_ends_the_tests():
    found = list(outlays(life(*CARBON, "2024-06-20 hydro pass by Z999"), 2040))
    assert [(each.kind, each.year) for each in found] == [("test", 2029), ("replacement", 2034)]
    over = list(outlays(life(*CARBON, as_of=date(2036, 1, 1)), 2040))
    assert over == [Outlay("replacement", "K-1", "carbon-wrapped", 2036, True)]


@pytest.mark.parametrize(
    "line, state",
    [
        ("", "in-service"),
        ('2026-01-01 out of service "valve"', "out-of-service"),
        ("2026-01-01 visual fail", "failed"),
        ('2026-01-01 damaged "cut"', "damaged"),
        ("2026-01-01 filled to 9000 psi", "over-pressurized"),
        ('2026-01-01 condemned "cut"', "condemned"),
        ("2026-01-01 retired", "retired"),
    ],
)
def test_states(line, state):
    assert state_of(life(*STEEL, *filter(None, [line]))) == state
    assert state_of(life(*STEEL[:3])) == "not-entered"


def test_a_source_that_is_out_of_use_hides_none_that_stands_after_it():
    out = ('source C0 "Old"', "  kind compressor", "  at quay", '  2026-02-01 out of service "worn"')
    alone = sources(*COMPRESSOR, "  2026-08-31 air sample pass")
    assert alone and sources(*out, *COMPRESSOR, "  2026-08-31 air sample pass") == alone
