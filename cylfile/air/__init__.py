"""Breathing air as a real gas.

At 4500 psi the ideal gas law promises 11.5 percent more air than a cylinder holds, so pressures at another
temperature and volumes of free air are worked out here with the published equation of state for dry air.
`settled`, `free_air` and `free_air_added` speak the units of the rest of the program: pressures in psi gauge,
temperatures in kelvin, water volumes and free air in mL. Beneath them `molar_density`, `pressure` and
`compressibility` are in SI units with absolute pressures. All are pure functions that raise ValueError
outside 200 to 400 K and above 100 MPa.
"""

from cylfile.air.contents import (
    PASCAL_PER_PSI,
    SEVENTY_FAHRENHEIT_IN_KELVIN,
    STANDARD_ATMOSPHERE_PA,
    free_air,
    free_air_added,
    settled,
)
from cylfile.air.equation import compressibility, molar_density, pressure

__all__ = [
    "PASCAL_PER_PSI",
    "SEVENTY_FAHRENHEIT_IN_KELVIN",
    "STANDARD_ATMOSPHERE_PA",
    "compressibility",
    "free_air",
    "free_air_added",
    "molar_density",
    "pressure",
    "settled",
]
