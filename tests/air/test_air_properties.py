"""What must hold for any air: the laws of the functions, their limits and what they refuse."""

from math import exp, inf, nan

import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats

from cylfile.air import (
    PASCAL_PER_PSI,
    SEVENTY_FAHRENHEIT_IN_KELVIN,
    STANDARD_ATMOSPHERE_PA,
    compressibility,
    equation,
    free_air,
    free_air_added,
    molar_density,
    pressure,
    settled,
)

# Higher readings of the coldest gas would leave the range of pressures when made as warm as happens below.
readings = floats(0, 6000)
temperatures = floats(233.15, 353.15)
volumes = floats(500, 60_000)
# Large enough to show in a settled pressure above its rounding.
pressure_rises = floats(0.001, 500)
temperature_rises = floats(0.001, 40)

unhurried = settings(deadline=None)


@unhurried
@given(readings, temperatures)
def test_settling_to_the_same_temperature_returns_the_reading_exactly(psi, kelvin):
    assert settled(psi, kelvin, kelvin) == psi


@unhurried
@given(floats(1, 100e6), floats(200, 400))
def test_density_and_pressure_are_inverse(pressure_pa_abs, kelvin):
    # A pressure solved for at the very top of the range may come back beyond it by a rounding error.
    density = molar_density(pressure_pa_abs, kelvin) * (1 - 1e-14)
    assert pressure(density, kelvin) == pytest.approx(pressure_pa_abs, rel=1e-12)


@unhurried
@given(readings, temperatures, temperatures)
def test_settling_there_and_back_returns_the_reading(psi, kelvin, other):
    assert settled(settled(psi, kelvin, other), other, kelvin) == pytest.approx(psi, rel=1e-11, abs=1e-9)


@unhurried
@given(readings, temperatures, temperatures)
def test_contents_do_not_change_while_settling(psi, kelvin, other):
    before = free_air(psi, kelvin, 6800)
    assert free_air(settled(psi, kelvin, other), other, 6800) == pytest.approx(before, rel=1e-11)


@unhurried
@given(readings, pressure_rises, temperatures, temperatures)
def test_a_higher_reading_settles_higher_and_holds_more(psi, rise, kelvin, other):
    assert settled(psi + rise, kelvin, other) > settled(psi, kelvin, other)
    assert free_air(psi + rise, kelvin, 6800) > free_air(psi, kelvin, 6800)


@unhurried
@given(readings, temperatures, temperature_rises, temperatures)
def test_a_warmer_reading_settles_lower_and_holds_less(psi, kelvin, rise, other):
    assert settled(psi, kelvin + rise, other) < settled(psi, kelvin, other)
    assert free_air(psi, kelvin + rise, 6800) < free_air(psi, kelvin, 6800)


@unhurried
@given(readings, temperatures, temperatures, temperature_rises)
def test_pressure_rises_with_temperature_at_constant_contents(psi, kelvin, other, rise):
    assert settled(psi, kelvin, other + rise) > settled(psi, kelvin, other)


@unhurried
@given(floats(1, STANDARD_ATMOSPHERE_PA), temperatures)
def test_thin_air_tends_to_the_ideal_gas(pressure_pa_abs, kelvin):
    # The second virial coefficient over R T is at most 1.4e-8 per pascal in this range.
    assert abs(compressibility(pressure_pa_abs, kelvin) - 1) < 1.4e-8 * pressure_pa_abs + 1e-14


@unhurried
@given(readings, temperatures, volumes, floats(0.1, 10))
def test_free_air_is_proportional_to_the_volume(psi, kelvin, water_ml, factor):
    larger = free_air(psi, kelvin, water_ml * factor)
    assert larger == pytest.approx(factor * free_air(psi, kelvin, water_ml), rel=1e-14)


@unhurried
@given(readings, temperatures, readings, temperatures, volumes)
def test_added_is_the_difference_of_held(psi_before, kelvin_before, psi_after, kelvin_after, water_ml):
    before = free_air(psi_before, kelvin_before, water_ml)
    after = free_air(psi_after, kelvin_after, water_ml)
    added = free_air_added(psi_before, kelvin_before, psi_after, kelvin_after, water_ml)
    assert added == pytest.approx(after - before, abs=1e-13 * (before + after))


def test_an_open_cylinder_at_the_reference_condition_holds_its_water_volume():
    assert free_air(0, SEVENTY_FAHRENHEIT_IN_KELVIN, 6800) == 6800


def test_the_reference_condition_scales_free_air():
    at_seventy_fahrenheit = free_air(4500, 300, 6800)
    at_freezing = free_air(4500, 300, 6800, reference_kelvin=273.15)
    at_one_bar_and_20_celsius = free_air(4500, 300, 6800, 1e5, 293.15)
    assert at_freezing / at_seventy_fahrenheit == pytest.approx(0.92804, abs=1e-5)
    assert at_one_bar_and_20_celsius / at_seventy_fahrenheit == pytest.approx(1.00942, abs=1e-5)


def test_the_pascal_in_a_psi_is_a_pound_force_on_a_square_inch():
    assert PASCAL_PER_PSI == pytest.approx(0.45359237 * 9.80665 / 0.0254**2, rel=1e-15)


@pytest.mark.parametrize("kelvin", [0, -10, 199.9, 400.1, nan, inf])
def test_temperatures_out_of_range_are_refused(kelvin):
    for attempt in (
        lambda: settled(4500, kelvin, 294),
        lambda: settled(4500, 294, kelvin),
        lambda: settled(4500, kelvin, kelvin),
        lambda: free_air(4500, kelvin, 6800),
        lambda: free_air(4500, 294, 6800, reference_kelvin=kelvin),
        lambda: free_air_added(500, 294, 4500, kelvin, 6800),
        lambda: free_air_added(500, kelvin, 4500, 294, 6800),
        lambda: compressibility(1e5, kelvin),
        lambda: molar_density(1e5, kelvin),
        lambda: pressure(40, kelvin),
    ):
        with pytest.raises(ValueError, match=" K is outside 200 to 400 K"):
            attempt()


@pytest.mark.parametrize("psi", [-14.7, -1000, 14_500, nan, inf])
def test_pressures_out_of_range_are_refused(psi):
    for attempt in (
        lambda: settled(psi, 294, 300),
        lambda: free_air(psi, 294, 6800),
        lambda: free_air_added(psi, 294, 4500, 294, 6800),
        lambda: free_air_added(500, 294, psi, 294, 6800),
    ):
        with pytest.raises(ValueError, match=r" Pa absolute is outside 0 to 1e\+08 Pa"):
            attempt()


def test_a_pressure_that_would_settle_out_of_range_is_refused():
    with pytest.raises(ValueError, match="Pa absolute"):
        settled(12_000, 250, 350)


@pytest.mark.parametrize("density", [0, -40, 31_000, 1e300, nan, inf])
def test_densities_out_of_range_are_refused(density):
    with pytest.raises(ValueError, match="mol/m3"):
        pressure(density, 294)


def test_a_reading_below_the_atmosphere_is_air_all_the_same():
    assert settled(0, 294, 284) == pytest.approx(-0.5, abs=0.01)


def test_repeated_readings_are_remembered():
    settled(4321, 301, 294)
    hits = settled.cache_info().hits
    settled(4321, 301, 294)
    assert settled.cache_info().hits == hits + 1


def test_the_bounds_themselves_are_answered():
    for kelvin in (200.0, 400.0):
        assert 0 < molar_density(1e8, kelvin) and pressure(40, kelvin) > 0
    with pytest.raises(ValueError, match="0 Pa absolute"):
        molar_density(0.0, 294)


@pytest.mark.parametrize("kelvin", [233.15, 255, 280, 294.26, 310, 338.7])
def test_a_density_is_found_in_five_steps_anywhere_in_a_cylinder_s_range(kelvin, monkeypatch):
    """A record asks for it at every fill: so the search begins near where it ends."""
    steps = []
    evaluated = equation._reduced_pressure_and_slope
    monkeypatch.setattr(equation, "_reduced_pressure_and_slope", lambda *asked: steps.append(1) or evaluated(*asked))
    for pressure_pa_abs in (1e3, 101_325, 1e6, 3e6, 1e7, 1.5e7, 2e7, 3e7, 4e7, 5e7, 6e7, 7e7):
        steps.clear()
        equation._solved_density(pressure_pa_abs, kelvin)
        assert 1 <= len(steps) <= 5, (pressure_pa_abs, len(steps))


@given(delta=floats(1e-6, equation.HIGHEST_DENSITY / equation.REDUCING_DENSITY), kelvin=floats(200, 400))
def test_the_sum_that_is_written_out_is_that_over_the_table(delta, kelvin):
    excess, slope, tau = 0.0, 1.0, equation.REDUCING_KELVIN / kelvin
    for weight, i, j, l in equation.TERMS:
        fall = l * delta**l
        term = weight * delta**i * tau**j * (exp(-(delta**l)) if l else 1.0)
        excess += term * (i - fall)
        slope += term * ((i - fall) * (i - fall + 1) - l * fall)
    asked = equation._reduced_pressure_and_slope(delta, equation._isotherm(kelvin))
    assert asked == pytest.approx((delta * (1 + excess), slope), rel=1e-11, abs=1e-13)
