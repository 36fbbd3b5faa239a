"""What is known of a cylinder after its entries: dates that fall due, what blocks it, service, readings."""

from datetime import date, timedelta
from itertools import product

import pytest

from cylfile.history.facts import FACTS
from cylfile.history.figures import NO_LIMIT, Figures, figures_of
from cylfile.history.hydro_test import why_not_counted
from cylfile.history.life import Life
from cylfile.history.order import in_order
from cylfile.record.dates import NEVER, Month
from cylfile.record.reader import read_record
from cylfile.text.source import Source

HEAD = """\
tester Z900 "Tests"
  authorized until 2020-12
tester Z901 "Tests"
  authorized until 2021-01
tester Z902 "Tests"
tester north "Tests"
site st1 "One"
site st2 "Two"
person p "P"
"""
# A class as an American one is: five years, ten with the star, a tenth more with the plus.
STEEL = Figures(
    "steel",
    rated=3000.0,
    test_every=60,
    star_test_every=120,
    test_factor=5 / 3,
    plus_fill=0.1,
    visual_every=12,
    life=NO_LIMIT,
    reference=294.2611,
)
# And rated in whole psi.
ROUNDED = STEEL._replace(rated_rounding=0.5)
CARBON = Figures(
    "carbon", rated=4500.0, test_every=60, test_factor=5 / 3, life=180, visual_every=12, reference=294.2611,
    from_permit=("life",),
)  # fmt: skip


# And with what its tests are judged by.
TESTABLE = ROUNDED._replace(expansion_limit=0.1, ree=60.0)


def record_of(text: str):
    """The record of a card whose lines these are."""
    lines = "".join(f"  {line.strip()}\n" for line in text.strip().splitlines())
    record = read_record([Source("a.cyl", f"{HEAD}cylinder K-1\n{lines}")])
    assert [fault.text for fault in record.faults] == []
    return record


def life(text: str, figures: Figures = STEEL, as_of: date = date(2026, 11, 25)) -> Life:
    """The life of the card whose lines these are."""
    record = record_of(text)
    card = record.cylinders["K-1"]
    if card.rated:
        figures = figures._replace(rated=card.rated.value)
    found = Life(card, figures_of(card, figures)[0], record.authority, as_of)
    for entry in in_order([entry for entry in record.entries["K-1"] if entry.struck is None]).entries:
        if entry.day <= as_of:
            found.take_in(entry)
    return found


class TestTests:
    @pytest.mark.parametrize(
        "made, due",
        [
            ("2020-03", "2025-03-31"), ("2020-03-01", "2025-03-31"), ("2020-03-31", "2025-03-31"),
            ("2020-02-29", "2025-02-28"),
            ("2019-02", "2024-02-29"), ("2020-12-31", "2025-12-31"),
        ],
    )  # fmt: skip
    def test_the_month_it_was_made_is_the_first_test_and_the_due_day_ends_a_month(self, made, due):
        found = life(f"made {made}")
        assert (found.test_due, found.due_month) == (date.fromisoformat(due), date.fromisoformat(due).replace(day=1))
        assert found.last_test is None

    def test_without_a_month_or_a_period_it_is_not_known(self):
        assert life("serial A").test_due is None
        found = life("made 2020-03", Figures())
        assert found.test_due is None and found.test_day == Month(2020, 3, 1)

    def test_the_last_pass_counts(self):
        found = life("made 2010-01\n2015-01-10 hydro pass\n2020-06-15 hydro pass")
        assert (found.test_day, found.test_due) == (date(2020, 6, 15), date(2025, 6, 30))
        assert found.last_test.day == date(2020, 6, 15)

    @pytest.mark.parametrize("result", ["fail", "condemned"])
    def test_a_test_that_is_not_passed_moves_nothing(self, result):
        found = life(f"made 2010-01\n2015-01-10 hydro pass plus star\n2020-06-15 hydro {result}")
        assert (found.test_day, found.test_due, found.fill_limit) == (date(2015, 1, 10), date(2025, 1, 31), 3300)

    def test_the_star_gives_ten_years_and_a_later_pass_without_it_takes_them_back(self):
        assert life("made 2010-01\n2015-01-10 hydro pass star").test_due == date(2025, 1, 31)
        found = life("made 2010-01\n2015-01-10 hydro pass star\n2024-01-10 hydro pass")
        assert (found.test_every, found.test_due) == (60, date(2029, 1, 31))

    def test_the_star_gives_nothing_where_the_class_has_none(self):
        assert life("made 2010-01\n2015-01-10 hydro pass star", CARBON).test_due == date(2020, 1, 31)

    def test_the_card_prevails(self):
        assert life("made 2020-03\ntest-every 3 years").test_due == date(2023, 3, 31)
        assert life("made 2020-03\ntest-every 3 years\n2021-05-01 hydro pass").test_due == date(2024, 5, 31)

    def test_a_class_that_needs_none_is_never_due(self):
        found = life("made 2020-03", STEEL._replace(test_every=NO_LIMIT))
        assert (found.test_due, found.test_needed) == (NEVER, False)
        assert life("made 2020-03").test_needed is True and life("made 2020-03", Figures()).test_needed is None

    def test_to_the_day(self):
        figures = STEEL._replace(to_the_day=True)
        assert life("made 2020-03-15", figures).test_due == date(2025, 3, 15)
        assert life("made 2020-03", figures).test_due == date(2025, 3, 31)
        found = life("made 2010-01\n2016-02-29 hydro pass", figures)
        assert (found.test_due, found.due_month) == (date(2021, 2, 28), date(2021, 2, 28))

    def test_a_test_of_the_day_counts_before_the_fill_of_the_day(self):
        found = life("made 2010-01\n2020-06-15 filled to 3000 psi\n2020-06-15 hydro pass")
        assert found.test_due == date(2025, 6, 30) and found.last_fill.day == date(2020, 6, 15)


class TestLimits:
    def test_the_plus_gives_a_tenth_more_as_long_as_the_last_pass_has_it(self):
        assert life("made 2010-01").fill_limit == 3000
        assert life("made 2010-01\n2015-01-10 hydro pass plus").fill_limit == 3300
        assert life("made 2010-01\n2015-01-10 hydro pass plus\n2020-01-10 hydro pass").fill_limit == 3000
        assert life("made 2010-01\n2015-01-10 hydro pass plus\n2020-01-10 hydro fail plus").fill_limit == 3300

    def test_the_plus_gives_nothing_where_the_class_has_none(self):
        assert life("made 2010-01\n2015-01-10 hydro pass plus", CARBON).fill_limit == 4500

    def test_the_rated_pressure_of_the_card_prevails(self):
        found = life("rated 310 bar\n2015-01-10 hydro pass plus")
        assert found.rated == pytest.approx(4496.16987) and found.fill_limit == pytest.approx(4945.786857)
        assert found.pressure_unit == "bar" and life("made 2010-01").pressure_unit == "psi"

    def test_no_rated_pressure_no_limit(self):
        found = life("made 2010-01\n2015-01-10 hydro pass plus", STEEL._replace(rated=None))
        assert (found.rated, found.fill_limit) == (None, None)

    def test_a_reading_over_the_test_pressure_blocks_for_good(self):
        text = "made 2020-01\n2020-02-01 entered service\n2021-01-01 {}\n2021-01-02 hydro pass\n2021-01-03 visual pass"
        for entry in ("filled to 5003 psi", "gauged 5003 psi"):
            found = life(text.format(entry))
            assert found.over_pressurized_day == date(2021, 1, 1)
            assert found.blocked_by == "over-pressurized on 2021-01-01: 5003 psi, over its test pressure"
        # Half a psi of the reading, and half a psi times 5/3 of the rating, are rounding.
        assert life(text.format("filled to 5001 psi"), ROUNDED).blocked_by is None
        assert life(text.format("filled to 5002 psi"), ROUNDED).blocked_by is not None

    def test_what_a_gauge_may_be_off_bars_nothing(self):
        figures = ROUNDED._replace(gauge_allowance=0.01)
        assert life("2021-01-01 gauged 5031 psi", figures).blocked_by is None
        assert life("2021-01-01 gauged 5032 psi", figures).over_pressurized_day == date(2021, 1, 1)
        assert life("2021-01-01 gauged 5032 psi", figures).gauge_allowance == 30


class TestServiceLife:
    @pytest.mark.parametrize(
        "lines, end",
        [
            ("made 2011-06", "2026-06-30"), ("made 2011-06-01", "2026-06-30"), ("made 2012-02-29", "2027-02-28"),
            ("made 2011-06\nlife 20 years", "2031-06-30"), ("life until 2030-02", "2030-02-28"),
            ("made 2011-06\nlife until 2030-02", "2030-02-28"),
            # A class that nothing extends.
            ('made 2011-06\n2026-01-05 life extended until 2031-06 "x"', "2026-06-30"),
            ('made 2011-06\n2026-11-26 life extended until 2031-06 "to come"', "2026-06-30"),
            ('made 2011-06\n2026-01-05 life extended until 2031-06 "x" struck 2026-01-06 by p "y"', "2026-06-30"),
        ],
    )  # fmt: skip
    def test_it_ends_with_a_month(self, lines, end):
        assert life(lines, CARBON).life_end == date.fromisoformat(end)

    @pytest.mark.parametrize(
        "lines, end",
        [
            ('2026-01-05 life extended until 2031-06 "x"', "2031-06-30"),
            # On the last day of it, and not on the day after.
            ('2026-06-30 life extended until 2031-06 "x"', "2031-06-30"),
            ('2026-07-01 life extended until 2031-06 "x"', "2026-06-30"),
            # Five years at a time.
            ('2026-01-05 life extended until 2031-07 "x"', "2026-06-30"),
            ('2025-01-05 life extended until 2031-06 "x"\n2026-01-05 life extended until 2036-02 "y"', "2036-02-29"),
            # Thirty years in all.
            ('2025-01-05 life extended until 2031-06 "x"\n2026-01-05 life extended until 2036-06 "y"\n'
             '2026-01-06 life extended until 2041-06 "z"', "2041-06-30"),
            ('2025-01-05 life extended until 2031-06 "x"\n2026-01-05 life extended until 2036-06 "y"\n'
             '2026-01-06 life extended until 2041-06 "z"\n2026-01-07 life extended until 2041-07 "one more"', "2041-06-30"),
            ('2026-11-26 life extended until 2031-06 "to come"', "2026-06-30"),
            ('2026-01-05 life extended until 2031-06 "x" struck 2026-01-06 by p "y"', "2026-06-30"),
        ],
    )  # fmt: skip
    def test_it_is_extended_as_far_as_the_class_allows(self, lines, end):
        extendable = CARBON._replace(life_extendable=360, life_step=60)
        assert life(f"made 2011-06\n{lines}", extendable).life_end == date.fromisoformat(end)

    def test_a_life_of_unknown_beginning_is_not_extended(self):
        extendable = CARBON._replace(life_extendable=360)
        assert life('2026-01-05 life extended until 2031-06 "x"', extendable).life_end is None

    def test_it_may_have_no_end_or_none_that_is_known(self):
        assert life("made 2011-06").life_end == NEVER
        assert life("serial A", CARBON).life_end is None and life("made 2011-06", Figures()).life_end is None


# What bars a cylinder -> the kind of the bar.
BLOCKS = {
    "hydro fail": "hydro",
    "visual fail": "visual",
    'damaged "x"': "damage",
    'out of service "x"': "out-of-service",
    'condemned "x"': "condemned",
    "hydro condemned": "condemned",
    "retired": "retired",
    "gauged 6000 psi": "overpressure",
    "filled to 6000 psi": "overpressure",
    "hydro fail total 100 cc permanent 10.1 cc": "expansion",
    "hydro pass total 100 cc permanent 10.1 cc": "expansion",
    "hydro fail total 70 cc permanent 1 cc": "expansion",
    "hydro pass elastic 60.1 cc": "expansion",
    'damaged "x" heat': "heat",
    "hydro pass visual fail": "visual",
    "hydro fail visual fail": "visual",
}
# What clears which kinds; nothing clears the others.
CLEARS = {
    "hydro pass": {"hydro", "damage"},
    "hydro pass visual pass": {"hydro", "damage", "visual"},
    # None of these counts.
    "hydro pass visual fail": set(), "hydro pass at 4900 psi visual pass": set(),
    "hydro pass by Z900 visual pass": set(), "hydro pass total 100 cc permanent 10.1 cc visual pass": set(),
    "hydro fail visual pass": set(), "hydro condemned visual pass": set(),
    "visual pass": {"visual"},
    "returned to service": {"out-of-service"},
    "filled to 1 psi": set(), "gauged 1 psi": set(), 'remarked "x"': set(), "emptied": set(), "moved to st1": set(),
    "entered service": set(),
    'life extended until 2040-01 "x"': set(), "hydro fail": set(), "visual fail": set(),
}  # fmt: skip
WITH_ALUMINUM = STEEL._replace(expansion_limit=0.1, ree=60.0, aluminum=True)


class TestWhatBars:
    @pytest.mark.parametrize("block, later", list(product(BLOCKS, CLEARS)))
    def test_only_what_clears_it(self, block, later):
        found = life(f"made 2020-01\n2021-01-02 entered service\n2021-01-03 {block}\n2021-01-04 {later}", WITH_ALUMINUM)
        kind = BLOCKS[block]
        bars = {bar.kind: bar.day for bar in found.bars}
        assert bars.get(kind) == (None if kind in CLEARS[later] else date(2021, 1, 3))
        assert found.blocked_by == (found.bars[0].text if found.bars else None)

    @pytest.mark.parametrize("block", BLOCKS)
    def test_what_nothing_clears_is_final(self, block):
        (bar,) = (bar for bar in life(f"2021-01-03 {block}", WITH_ALUMINUM).bars if bar.kind == BLOCKS[block])
        assert bar.is_final is not any(bar.kind in kinds for kinds in CLEARS.values())
        assert bar.what_clears.startswith("Nothing clears it" if bar.is_final else "Cleared by ")

    def test_heat_on_what_nobody_knows_to_be_lined_with_aluminum_bars_until_the_card_tells(self):
        text = '2021-01-03 damaged "x" heat\n2021-01-04 hydro pass visual pass'
        (bar,) = life(text, STEEL._replace(aluminum=None)).bars
        assert (bar.kind, bar.is_final) == ("heat", False) and "liner" in bar.what_clears
        assert life(text, STEEL._replace(aluminum=False)).bars == []

    def test_a_bar_stands_from_its_first_day(self):
        found = life("2021-01-03 visual fail\n2021-01-04 visual fail\n2021-01-05 hydro fail visual fail")
        assert [(bar.kind, bar.day.day) for bar in found.bars] == [("hydro", 5), ("visual", 3)]

    def test_figures_at_the_limit_condemn_nothing(self):
        text = (
            "2021-01-03 hydro fail total 61 cc permanent 1.0 cc\n2021-01-04 hydro pass total 10.0 cc permanent 1.0 cc"
        )
        assert life(text, WITH_ALUMINUM).bars == []

    def test_a_hydro_that_says_how_the_visual_went(self):
        found = life("2021-01-03 visual fail\n2021-01-04 hydro fail visual pass")
        # A failed test counts as an inspection, and clears nothing.
        assert found.visual_day == date(2021, 1, 4) and {bar.kind for bar in found.bars} == {"visual", "hydro"}
        found = life("2021-01-04 hydro condemned visual fail")
        assert {bar.kind for bar in found.bars} == {"visual", "condemned"}
        found = life("2021-01-03 visual pass\n2021-01-04 hydro pass")
        assert found.visual_day == date(2021, 1, 3), "a test that says nothing of an inspection is none"

    def test_a_visual_or_a_return_clears_no_damage(self):
        found = life(
            '2021-01-03 damaged "dropped"\n2021-01-04 out of service "x"\n'
            "2021-01-05 visual pass\n2021-01-06 returned to service"
        )
        assert found.blocked_by == "damaged on 2021-01-03: dropped" and found.in_service

    @pytest.mark.parametrize(
        "text, because",
        [
            ('2021-01-03 condemned "cracked"', "condemned on 2021-01-03: cracked"),
            ("2021-01-03 hydro condemned", "condemned on 2021-01-03: by its hydrostatic test"),
            ("2021-01-03 retired", "retired on 2021-01-03"),
            ("2021-01-03 hydro fail", "failed its hydrostatic test on 2021-01-03"),
            ("2021-01-03 visual fail", "failed its visual inspection on 2021-01-03"),
            ('2021-01-03 damaged "cut"', "damaged on 2021-01-03: cut"),
            ('2021-01-03 out of service "valve"', "out of service since 2021-01-03: valve"),
            ('2021-01-03 out of service "valve"\n2021-01-04 out of service "again"',
             "out of service since 2021-01-03: valve"),
            ('2021-01-03 visual fail\n2021-01-04 damaged "cut"\n2021-01-05 hydro fail',
             "failed its hydrostatic test on 2021-01-05"),
            ('2021-01-03 hydro fail\n2021-01-04 retired\n2021-01-05 condemned "cracked"',
             "condemned on 2021-01-05: cracked"),
        ],
    )  # fmt: skip
    def test_it_says_why_the_gravest_first(self, text, because):
        assert life(text).blocked_by == because

    def test_in_use_though_barred(self):
        def is_used(text: str) -> bool:
            known = life(text)
            return bool(known.bars) and (known.in_service or known.used_though_out is not None)

        barred = 'made 2020-01\n2021-01-02 entered service\n2021-01-03 condemned "x"'
        assert not is_used(barred)
        assert is_used("2021-01-02 entered service\n2021-01-03 visual fail")
        assert not is_used("2021-01-02 entered service")
        for use in ("filled to 1 psi", "gauged 301 psi", "returned to service"):
            assert is_used(f"{barred}\n2021-01-04 {use}"), use
            for end in ("emptied", "hydro pass"):
                assert not is_used(f"{barred}\n2021-01-04 {use}\n2021-01-05 {end}"), use
        for none in ("gauged 300 psi", 'remarked "x"', "emptied", "moved to st1"):
            assert not is_used(f"{barred}\n2021-01-04 {none}"), none

    @pytest.mark.parametrize("later", ['condemned "again"', "hydro condemned"])
    @pytest.mark.parametrize(
        "first, reason", [('condemned "cracked"', "cracked"), ("hydro condemned", "by its hydrostatic test")]
    )
    def test_the_first_condemnation_counts(self, first, reason, later):
        found = life(f"2021-01-03 {first}\n2021-01-04 {later}\n2021-01-05 retired\n2021-01-06 retired")
        assert (found.condemned_day, found.retired_day) == (date(2021, 1, 3), date(2021, 1, 5))
        assert found.blocked_by == f"condemned on 2021-01-03: {reason}"

    def test_the_failed_day_is_the_first_that_no_pass_has_cleared(self):
        assert life("2021-01-03 visual fail\n2021-01-04 hydro fail").failed_day == date(2021, 1, 3)
        assert life("2021-01-03 visual fail\n2021-01-04 hydro fail\n2021-01-05 visual pass").failed_day == date(
            2021, 1, 4
        )
        assert life("2021-01-03 visual fail\n2021-01-05 visual pass").failed_day is None

    def test_a_struck_entry_never_happened(self):
        assert life('2021-01-03 condemned "x" struck 2021-01-04 by p "wrong cylinder"').blocked_by is None


class TestService:
    @pytest.mark.parametrize(
        "text, since",
        [
            ("2021-01-03 entered service", "2021-01-03"), ("2021-01-03 filled to 1 psi", "2021-01-03"),
            ("2021-01-03 gauged 1 psi", "2021-01-03"),
            ("2021-01-03 moved to st1", "2021-01-03"), ("2021-01-03 emptied", "2021-01-03"),
            ("2021-01-03 visual pass", None),
            ('2021-01-03 remarked "x"', None), ("2021-01-03 hydro pass", None),
            ("2021-01-03 gauged 1 psi\n2021-02-03 gauged 1 psi\n2021-03-03 filled to 1 psi", "2021-01-03"),
            ("2021-01-03 visual fail\n2021-01-04 filled to 1 psi\n2021-01-05 visual pass", "2021-01-04"),
            ("2021-01-03 gauged 1 psi\n2021-02-03 entered service", "2021-01-03"),
            ("2021-01-03 entered service\n2021-02-03 entered service", "2021-01-03"),
            ('2021-01-03 entered service\n2021-02-03 out of service "x"', None),
            ('2021-01-03 entered service\n2021-02-03 out of service "x"\n2021-02-04 filled to 1 psi\n'
             "2021-02-05 gauged 1 psi",
             None),
            ('2021-02-03 out of service "x"\n2021-02-04 filled to 1 psi\n2021-02-05 gauged 1 psi', None),
            ('2021-01-03 entered service\n2021-02-03 out of service "x"\n2021-02-05 returned to service', "2021-02-05"),
            ('2021-01-03 entered service\n2021-02-03 condemned "x"\n2021-02-05 returned to service', None),
            ("2021-01-03 entered service\n2021-02-03 retired\n2021-02-05 filled to 1 psi", None),
            ("2021-01-03 retired\n2021-02-05 filled to 1 psi", None),
            ("2021-01-03 entered service\n2021-02-03 hydro condemned", None),
            ("2021-01-03 entered service\n2021-02-03 hydro fail", "2021-01-03"),
            ('2021-01-03 entered service\n2021-02-03 damaged "x"', "2021-01-03"),
        ],
    )  # fmt: skip
    def test_entered_or_used_and_neither_out_nor_condemned_nor_retired(self, text, since):
        found = life(text)
        assert found.in_service is (since is not None)
        if since:
            assert found.in_service_since == date.fromisoformat(since)

    def test_the_site_is_where_it_last_came_to(self):
        assert life("2021-01-03 entered service at st1").site == "st1"
        assert life("2021-01-03 entered service at st1\n2021-01-04 moved to st2").site == "st2"
        assert (
            life("2021-01-03 entered service at st1\n2021-01-04 moved to st2\n2021-01-05 returned to service").site
            == "st2"
        )
        assert life("2021-01-03 entered service at st1\n2021-01-05 returned to service at st2").site == "st2"
        assert life("2021-01-03 entered service at st1\n2021-01-05 filled to 1 psi at st2").site == "st1"
        assert life("2021-01-03 filled to 1 psi at st2").site is None


class TestVisuals:
    @pytest.mark.parametrize(
        "text, due",
        [
            ("2021-01-03 visual pass", "2022-01-31"), ("2021-01-31 visual pass", "2022-01-31"),
            ("2020-02-29 visual pass", "2021-02-28"),
            ("2021-01-03 hydro pass visual pass", "2022-01-31"),
            ("2021-01-03 visual pass\n2021-03-03 visual fail", "2022-01-31"),
            ("2021-01-03 visual pass\n2021-03-03 hydro pass visual fail", "2022-01-31"),
            ("2021-01-03 visual pass\n2021-03-03 visual pass", "2022-03-31"),
        ],
    )  # fmt: skip
    def test_due_at_the_end_of_the_month_after_the_last_pass(self, text, due):
        assert life(text).visual_due == date.fromisoformat(due)

    def test_not_known_without_a_pass_or_a_period(self):
        assert life("made 2021-01").visual_due is None
        assert life("2021-01-03 visual pass", STEEL._replace(visual_every=None)).visual_due is None


class TestMonthlyChecks:
    def test_the_full_months_in_service_of_the_last_twelve_without_a_check(self):
        found = life(
            "2026-01-10 entered service\n2026-03-05 gauged 1 psi\n"
            "2026-04-30 visual pass\n2026-07-01 hydro fail\n2026-08-01 filled to 1 psi"
        )
        assert list(map(str, found.unchecked_months())) == [
            "2026-02",
            "2026-05",
            "2026-06",
            "2026-08",
            "2026-09",
            "2026-10",
        ]

    def test_the_month_it_entered_counts_from_its_first_day_only(self):
        assert "2026-09" in map(str, life("2026-09-01 entered service").unchecked_months())
        assert "2026-09" not in map(str, life("2026-09-02 entered service").unchecked_months())

    def test_no_further_back_than_twelve_months_and_not_this_one(self):
        months = list(map(str, life("2020-01-10 entered service").unchecked_months()))
        assert (months[0], months[-1], len(months)) == ("2025-11", "2026-10", 12)

    def test_out_of_service_nothing_is_missed_and_back_again_from_then_on(self):
        text = '2020-01-10 entered service\n2026-02-01 out of service "x"'
        assert life(text).unchecked_months() == []
        assert list(map(str, life(f"{text}\n2026-08-15 returned to service").unchecked_months())) == [
            "2026-09",
            "2026-10",
        ]


class TestReadings:
    @pytest.mark.parametrize(
        "text, psi",
        [
            ("2021-01-03 filled to 2900 psi", 2900),
            ("2021-01-03 filled to 2900 psi\n2021-01-04 gauged 2800 psi", 2800),
            ("2021-01-03 filled to 2900 psi\n2021-01-04 emptied", 0), ("2021-01-03 filled to 2900 psi\n2021-01-04 hydro fail", 0),
            ("2021-01-03 gauged 200 bar", 2900.7547546),
            ('2021-01-03 remarked "x"', None),
        ],
    )  # fmt: skip
    def test_the_last_pressure_is_that_of_the_last_reading(self, text, psi):
        assert life(text).last_pressure == (None if psi is None else pytest.approx(psi))

    def test_it_is_settled_where_the_temperature_is_written(self):
        hot = life("2021-01-03 gauged 2900 psi at 110 F").last_pressure
        # An ideal gas of 110 F would settle to 2900 x 529.67 / 569.67; real air of this density loses more.
        assert 2600 < hot < (2900 + 14.7) * 529.67 / 569.67 - 14.7
        assert life("2021-01-03 gauged 2900 psi at 70 F").last_pressure == pytest.approx(2900, abs=0.1)
        assert life("2021-01-03 gauged 2900 psi at 110 F", STEEL._replace(reference=None)).last_pressure == 2900

    def test_what_no_air_can_be_is_taken_as_read(self):
        assert life("2021-01-03 gauged 999999999 psi at 110 F").last_pressure == 999999999

    def test_fills_are_counted(self):
        found = life(
            '2021-01-03 filled to 1 psi\n2021-01-03 filled to 2 psi struck 2021-01-04 by p "x"\n'
            "2021-01-05 filled to 3 psi\n2026-11-26 filled to 4 psi"
        )
        assert (found.fill_count, found.last_fill.reading.value) == (2, 3)


TESTED = "made 2010-01\n2021-01-03 hydro pass {}"


class TestWhichTestsCount:
    @pytest.mark.parametrize(
        "clauses",
        [
            "", "by Z901", "by Z902", "by north", "at 4999 psi", "at 345 bar", "total 10.0 cc permanent 1.0 cc", "visual pass",
            "elastic 60 cc",
        ],
    )  # fmt: skip
    def test_unless_the_record_shows_why_not(self, clauses):
        found = life(TESTED.format(clauses), TESTABLE)
        assert found.test_day == date(2021, 1, 3) and why_not_counted(found, found.last_test) is None

    @pytest.mark.parametrize(
        "clauses, why",
        [
            ("by Z900", "tester Z900 had no authority on 2021-01-03"),
            ("visual fail", "its visual inspection failed"),
            ("at 4998 psi", "its pressure of 4998 psi is too low"),
            # 4989.3 psi, and half a bar is 7.3 psi.
            ("at 344 bar", "its pressure of 344 bar is too low"),
            ("total 10.0 cc permanent 1.1 cc", "1.1 cc permanent of 10.0 cc"),
            ("elastic 60.1 cc", "elastic expansion over REE"),
            ("total 61.2 cc permanent 1.0 cc elastic 60.0 cc", "elastic expansion over REE"),
        ],
    )
    def test_and_what_it_shows(self, clauses, why):
        found = life(TESTED.format(clauses), TESTABLE)
        assert str(found.test_day) == "2010-01" and found.last_test is None
        entry = found.cylinder and next(iter(record_of(TESTED.format(clauses)).entries["K-1"]))
        assert why_not_counted(found, entry) == why

    @pytest.mark.parametrize(
        "clauses, why",
        [
            ("crack pass", None),
            ("", "no crack examination was passed"),
            ("crack fail", "no crack examination was passed"),
            ("method proof crack pass", None),
            ("method expansion crack pass", None),
            ("method ultrasonic crack pass", "the method (ultrasonic) is not one of its class"),
        ],
    )
    def test_a_class_may_ask_for_a_crack_examination_and_have_other_methods(self, clauses, why):
        figures = TESTABLE._replace(crack_examination=True, methods=("expansion", "proof"))
        found = life(TESTED.format(clauses), figures)
        (entry,) = record_of(TESTED.format(clauses)).entries["K-1"]
        assert why_not_counted(found, entry) == why and (found.last_test is None) is (why is not None)

    @pytest.mark.parametrize("method, empties", [("", True), ("method proof", True), ("method ultrasonic", False)])
    def test_a_test_with_water_leaves_it_empty(self, method, empties):
        found = life(f"2021-01-03 gauged 2900 psi\n2021-01-04 hydro pass {method}")
        assert found.last_pressure == (0 if empties else 2900)

    def test_one_that_does_not_count_earns_nothing(self):
        found = life(TESTED.format("plus star visual fail"), TESTABLE)
        assert (found.fill_limit, found.test_every) == (3000, 60)

    @pytest.mark.parametrize(
        "head, due",
        [
            ("made 1946-01", "2031-01-31"), ("made 1945-12", "2026-01-31"), ("made 1950-01\nholds 56.7 L", "2031-01-31"),
            ("made 1950-01\nholds 56.8 L", "2026-01-31"), ("serial A", "2026-01-31"),
        ],
    )  # fmt: skip
    def test_the_star_is_for_those_made_after_1945_of_at_most_125_lb_of_water(self, head, due):
        """49 CFR 180.209(b)(1); 125 lb are 56.7 kg."""
        assert life(f"{head}\n2021-01-03 hydro pass star").test_due == date.fromisoformat(due)


@pytest.mark.parametrize(
    "rated, psi, is_use", [("", "0.1", True), ("", "0", False), ("rated 3000 psi\n", "300", False), ("rated 3000 psi\n", "301", True)]
)  # fmt: skip
def test_more_than_a_tenth_of_its_rating_shows_use_and_where_that_is_not_known_anything(rated, psi, is_use):
    figures = Figures(rated=3000.0 if rated else None)
    out = life(f'{rated}2021-01-03 out of service "valve"\n2021-01-04 gauged {psi} psi', figures)
    assert (out.used_though_out is not None) is is_use


def test_a_figure_that_nobody_gives_allows_nothing():
    assert (
        life("", Figures(rated=3000.0)).gauge_allowance == life("", Figures(gauge_allowance=0.01)).gauge_allowance == 0
    )
    assert life("", Figures(rated=3000.0, gauge_allowance=0.01)).gauge_allowance == 30
    assert Figures(rated=3000.0, rated_rounding=0.5).proof_rounding == 0
    tested = "2021-01-03 hydro pass{}"
    assert life(tested.format(" plus"), Figures(rated=3000.0)).fill_limit == 3000
    assert life(tested.format(""), Figures(rated=3000.0, plus_fill=0.1)).fill_limit == 3000


def test_what_the_last_place_leaves_open_grows_with_the_plus():
    rating = "class dot-3aa\nrated 3000 psi\nmade 2020-01\n"
    figures = STEEL._replace(rated=3000, rated_rounding=0.5, plus_fill=0.1)
    assert life(rating, figures).fill_limit_rounding == 0.5
    tested = life(rating + "2021-01-03 hydro pass plus", figures)
    assert (tested.fill_limit, tested.fill_limit_rounding) == (3300, pytest.approx(0.55))


def test_seconds_count_between_two_fills():
    text = "2021-01-03 09:01:59 filled to 1 psi\n2021-01-03 09:02 filled to 2 psi"
    first, second = record_of(text).entries["K-1"]
    found = life("made 2020-01")
    found.take_in(first)
    assert FACTS["since-last-fill"].value(found, second) == timedelta(seconds=1)


@pytest.mark.parametrize(
    "line, clears",
    [
        ('condemned "cut"', "Nothing clears it."),
        ("retired", "Nothing clears it."),
        ("gauged 9999 psi", "Nothing clears it: condemn."),
        (
            'damaged "cut"',
            "Cleared by a hydrostatic test by an authorized tester (`hydro pass`).",
        ),
    ],
)
def test_what_clears_a_bar_and_what_follows_where_nothing_does(line, clears):
    assert life(f"2021-01-03 {line}", Figures(rated=3000.0, test_pressure=5000.0)).what_clears == clears
