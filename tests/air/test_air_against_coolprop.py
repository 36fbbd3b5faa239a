"""Density, settled pressure and free air against CoolProp, an independent coding of the same equation."""

import random

import pytest

from cylfile.air import PASCAL_PER_PSI, free_air, free_air_added, molar_density, settled

CoolProp = pytest.importorskip("CoolProp")

CELSIUS = range(-40, 81, 5)
PSI = range(0, 7501, 125)
ATMOSPHERE_PA = 101325.0
SEVENTY_FAHRENHEIT = (70 + 459.67) / 1.8

AIR = CoolProp.AbstractState("HEOS", "Air")


def their_density(psi, kelvin, atmosphere_pa=ATMOSPHERE_PA):
    AIR.update(CoolProp.PT_INPUTS, psi * PASCAL_PER_PSI + atmosphere_pa, kelvin)
    return AIR.rhomolar()


def their_settled(psi, kelvin, reference_kelvin, atmosphere_pa=ATMOSPHERE_PA):
    AIR.update(CoolProp.DmolarT_INPUTS, their_density(psi, kelvin, atmosphere_pa), reference_kelvin)
    return (AIR.p() - atmosphere_pa) / PASCAL_PER_PSI


@pytest.mark.parametrize("celsius", CELSIUS)
def test_density_over_the_range(celsius):
    kelvin = celsius + 273.15
    for psi in PSI:
        ours = molar_density(psi * PASCAL_PER_PSI + ATMOSPHERE_PA, kelvin)
        assert ours == pytest.approx(their_density(psi, kelvin), rel=1e-11), psi


@pytest.mark.parametrize("celsius", CELSIUS)
@pytest.mark.parametrize("reference", [SEVENTY_FAHRENHEIT, 288.15, 328.15], ids=["70F", "15C", "131F"])
def test_settled_pressure_over_the_range(celsius, reference):
    kelvin = celsius + 273.15
    for psi in PSI:
        assert settled(psi, kelvin, reference) == pytest.approx(
            their_settled(psi, kelvin, reference), rel=1e-9, abs=1e-7
        ), psi


def random_fills(count):
    """Fills of all sizes at all temperatures, anywhere from sea level to 3000 m; some let air out."""
    chance = random.Random(4500)
    for _ in range(count):
        yield (
            chance.uniform(0, 7500),
            chance.uniform(233.15, 353.15),
            chance.uniform(0, 7500),
            chance.uniform(233.15, 353.15),
            chance.uniform(1000, 50_000),
            chance.uniform(70e3, 105e3),
        )


@pytest.mark.parametrize("fill", list(random_fills(500)), ids=lambda fill: f"{fill[0]:.0f}-{fill[2]:.0f}-psi")
def test_random_fill(fill):
    psi_before, kelvin_before, psi_after, kelvin_after, water_ml, atmosphere_pa = fill
    before = their_density(psi_before, kelvin_before, atmosphere_pa)
    after = their_density(psi_after, kelvin_after, atmosphere_pa)
    reference = their_density(0, SEVENTY_FAHRENHEIT)

    held = free_air(psi_after, kelvin_after, water_ml, atmosphere_pa=atmosphere_pa)
    assert held == pytest.approx(water_ml * after / reference, rel=1e-11)

    added = free_air_added(psi_before, kelvin_before, psi_after, kelvin_after, water_ml, atmosphere_pa=atmosphere_pa)
    assert added == pytest.approx(water_ml * (after - before) / reference, rel=1e-11, abs=1e-11 * held)

    assert settled(psi_after, kelvin_after, SEVENTY_FAHRENHEIT, atmosphere_pa=atmosphere_pa) == pytest.approx(
        their_settled(psi_after, kelvin_after, SEVENTY_FAHRENHEIT, atmosphere_pa), rel=1e-9, abs=1e-7
    )
