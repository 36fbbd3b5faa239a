"""
Free air through the facts: against trade figures, arithmetic that needs no program, and CoolProp.

Free air is at 1 atm and 70 F. The usual contents at 4500 psi are trade figures: 45 ft3 for 4.7 L, 66 for
6.8 L, 87 to 88 for 9.0 L; a purifier of 67,000 ft3 and one of 150,000 ft3 are common practice.
"""

from datetime import timedelta
from math import floor

import CoolProp.CoolProp as coolprop
import pytest

from cylfile.air import SEVENTY_FAHRENHEIT_IN_KELVIN
from support.air_records import FillAir, last_fill, log_of

FT3 = 28316.846592
PSI = 6894.757293168361
ATM = 101325.0


def free_air_ft3(clauses: str, holds: str) -> float:
    fill = last_fill(
        f'source C1 "C"\n  kind  compressor\ncylinder T-1\n{holds}  2024-01-05  filled  {clauses}  on C1\n'
    )
    return fill.free_air / FT3


@pytest.mark.parametrize("liters, feet", [("4.7", 45.7), ("6.8", 66.1), ("9.0", 87.5)])
def test_the_usual_contents_at_4500_psi(liters, feet):
    """What a cylinder holds; a fill from 0 psi puts in all but the liters that are in it at 0 psi."""
    added = free_air_ft3("from 0 psi  to 4500 psi  at 70 F", f"  holds  {liters} L\n")
    assert added + float(liters) * 1000 / FT3 == pytest.approx(feet, abs=0.05)


@pytest.mark.parametrize("kelvin, feet", [("70 F", 57.62), ("120 F", 51.21)])
def test_a_fill_from_500_psi(kelvin, feet):
    assert free_air_ft3(f"from 500 psi  to 4500 psi  at {kelvin}", "  holds  6.8 L\n") == pytest.approx(feet, abs=0.005)


@pytest.mark.parametrize(
    "before, after, fahrenheit, liters",
    [(0, 4500, 70, 6.8), (500, 4500, 88, 6.8), (1150, 4400, 105, 9.0), (0, 2216, 60, 11.1), (2600, 5500, 95, 9.0)],
)
def test_a_fill_against_another_equation_of_state(before, after, fahrenheit, liters):
    """CoolProp's air: density before at 70 F, after at the gas temperature, over that at 1 atm and 70 F."""

    def density(psi, degrees):
        return coolprop.PropsSI("Dmolar", "P", psi * PSI + ATM, "T", (degrees + 459.67) / 1.8, "Air")

    expected = liters * 1000 * (density(after, fahrenheit) - density(before, 70)) / density(0, 70) / FT3
    added = free_air_ft3(f"from {before} psi  to {after} psi  at {fahrenheit} F", f"  holds  {liters} L\n")
    assert added == pytest.approx(expected, rel=1e-6)


def test_what_is_not_written_is_assumed_and_said_to_be():
    text = 'source C1 "C"\n  kind  compressor\ncylinder T-1\n  holds  6.8 L\n  2024-01-05  filled  {}  on C1\n'

    def free_air(clauses: str):
        record, log = log_of(text.format(clauses))
        fill = record.entries["T-1"][0]
        return log.free_air_of(fill), log.is_assumed(fill)

    whole, is_assumed = free_air("from 500 psi  to 4500 psi  at 70 F")
    assert not is_assumed
    for clauses in ("to 4500 psi  at 70 F", "from 500 psi  to 4500 psi", "to 4500 psi"):
        assert free_air(clauses) == (whole, True)


def test_no_cylinders_volume_is_taken_for_that_of_a_storage():
    record, log = log_of(
        'source C1 "C"\n  kind  compressor\nsource B1 "B"\n  kind  storage\n  2024-01-05  filled  to 5000 psi  on C1\n'
    )
    assert log.free_air_of(record.entries["B1"][0]) is None


def test_a_pressure_that_no_air_can_have_gives_no_figure():
    record, log = log_of(
        'source C1 "C"\n  kind  compressor\ncylinder T-1\n  2024-01-05  filled  to 400000 psi  on C1\n'
    )
    assert log.free_air_of(record.entries["T-1"][0]) is None


# How long a cartridge lasts.


def fills_of(rating_ft3: int, fills: int) -> str:
    """Fills of a 6.8 L cylinder from 500 to 4500 psi at 70 F, one every second day."""
    lines = [
        'source C1 "C"', "  kind       compressor", f"  cartridge  {rating_ft3} ft3", "  2000-01-01  cartridge changed",
        "cylinder T-1", "  holds  6.8 L",
    ]  # fmt: skip
    from datetime import date

    first = date(2000, 1, 2)
    lines += [
        f"  {first + timedelta(days=2 * number)}  filled  from 500 psi  to 4500 psi  at 70 F  on C1"
        for number in range(fills)
    ]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("rating_ft3, lasts", [(67_000, 1162), (150_000, 2603)])
def test_a_purifier_lasts_as_many_fills_as_arithmetic_says(rating_ft3, lasts):
    """Each fill takes 57.62 ft3, so 67,000 ft3 are 1162 fills and a part of one, and 150,000 ft3 2603."""
    assert lasts == floor(rating_ft3 / 57.62)
    text = fills_of(rating_ft3, lasts + 1)
    record, log = log_of(text)
    fills = record.entries["T-1"]
    at_last, past = FillAir(log, fills[lasts - 1]), FillAir(log, fills[lasts])
    assert at_last.cartridge_used <= rating_ft3 * FT3
    assert past.cartridge_used > rating_ft3 * FT3 == pytest.approx(past.then.cartridge_rated)
    assert at_last.cartridge_assumed is None


def test_the_temperature_of_reference_is_70_f():
    assert SEVENTY_FAHRENHEIT_IN_KELVIN == pytest.approx(294.2611, abs=1e-4)
