"""What a cylinder holds: pressures at constant contents, and volumes of free air.

A cylinder is taken as rigid. By estimate, the give of a real one adds 7 to 19 psi to the settled pressure of
a reading of 4500 psi at 120 F; a gas temperature wrong by 5 F changes it by 48 psi.
"""

from functools import lru_cache

from cylfile.air.equation import molar_density, pressure

PASCAL_PER_PSI = 6894.757293168361

STANDARD_ATMOSPHERE_PA = 101325.0
SEVENTY_FAHRENHEIT_IN_KELVIN = (70 + 459.67) / 1.8


@lru_cache(maxsize=1 << 16)
def settled(
    psi: float, kelvin: float, reference_kelvin: float, *, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA
) -> float:
    """The gauge pressure in psi that a reading becomes when the gas reaches another temperature.

    Takes the reading in psi gauge, the temperature of the gas at the reading and the one it settles to, both
    in kelvin, and the pressure of the atmosphere around the gauge in pascal. Settled to 131 F it is the
    developed pressure that filling limits speak of. The result is below 0 where the air ends up thinner than
    the atmosphere. Raises ValueError where either state is outside 200 to 400 K, at no absolute pressure, or
    above 100 MPa.
    """
    density = molar_density(psi * PASCAL_PER_PSI + atmosphere_pa, kelvin)
    if reference_kelvin == kelvin:
        # Solving would add a rounding error, enough to put a reading that is right at a limit beyond it.
        return psi
    return (pressure(density, reference_kelvin) - atmosphere_pa) / PASCAL_PER_PSI


def free_air(
    psi: float,
    kelvin: float,
    water_ml: float,
    reference_pressure_pa: float = STANDARD_ATMOSPHERE_PA,
    reference_kelvin: float = SEVENTY_FAHRENHEIT_IN_KELVIN,
    *,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> float:
    """The air a cylinder holds, in mL at the reference condition.

    Takes the reading in psi gauge, the temperature of the gas in kelvin, the water volume in mL, and the
    reference condition as absolute pascal and kelvin, by default one standard atmosphere and 70 F. All the
    air counts, also what stays behind when the gauge shows nothing. Raises ValueError as `settled` does.
    """
    density = molar_density(psi * PASCAL_PER_PSI + atmosphere_pa, kelvin)
    return water_ml * (density / molar_density(reference_pressure_pa, reference_kelvin))


def free_air_added(
    psi_before: float,
    kelvin_before: float,
    psi_after: float,
    kelvin_after: float,
    water_ml: float,
    reference_pressure_pa: float = STANDARD_ATMOSPHERE_PA,
    reference_kelvin: float = SEVENTY_FAHRENHEIT_IN_KELVIN,
    *,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> float:
    """The air that a fill put into a cylinder, in mL at the reference condition; negative where air left.

    Takes the readings before and after in psi gauge, each with the temperature of the gas in kelvin at that
    reading, and the rest as `free_air` does. Raises ValueError as `settled` does.
    """
    before = molar_density(psi_before * PASCAL_PER_PSI + atmosphere_pa, kelvin_before)
    after = molar_density(psi_after * PASCAL_PER_PSI + atmosphere_pa, kelvin_after)
    return water_ml * ((after - before) / molar_density(reference_pressure_pa, reference_kelvin))
