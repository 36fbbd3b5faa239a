"""The equation of state of dry air.

The residual Helmholtz energy of air, as a fraction of R T, is a sum of nineteen terms

    alpha = sum of N * delta**i * tau**j * exp(-delta**l)      (no exponential where l is 0)

in the reduced density delta and the reduced reciprocal temperature tau. Its slope gives the compressibility
factor, Z = 1 + delta * d(alpha)/d(delta), and that the pressure.

Source: E. W. Lemmon, R. T Jacobsen, S. G. Penoncello and D. G. Friend, "Thermodynamic Properties of Air and
Mixtures of Nitrogen, Argon, and Oxygen From 60 to 2000 K at Pressures to 2000 MPa", Journal of Physical and
Chemical Reference Data 29 (2000) 331-385, Table 13. Its stated uncertainty is 0.1 percent in density up to
70 MPa.
"""

from functools import lru_cache
from math import exp

# The gas constant in J/(mol K) to which the terms were fitted. The value of 2019 would shift every pressure.
GAS_CONSTANT = 8.31451

# The reducing point of the equation, in mol/m3 and kelvin.
REDUCING_DENSITY = 10447.7
REDUCING_KELVIN = 132.6312

# What is accepted: more than any cylinder sees, all of it within the validity of the equation and far enough
# above the critical temperature that a pressure has one density only.
LOWEST_KELVIN = 200.0
HIGHEST_KELVIN = 400.0
HIGHEST_PRESSURE_PA_ABS = 100e6
HIGHEST_DENSITY = 30e3

# N, i, j and l of every term, in the order of the published table.
TERMS = (
    (0.118160747229, 1, 0, 0),
    (0.713116392079, 1, 0.33, 0),
    (-1.61824192067, 1, 1.01, 0),
    (0.0714140178971, 2, 0, 0),
    (-0.0865421396646, 3, 0, 0),
    (0.134211176704, 3, 0.15, 0),
    (0.0112626704218, 4, 0, 0),
    (-0.0420533228842, 4, 0.2, 0),
    (0.0349008431982, 4, 0.35, 0),
    (0.000164957183186, 6, 1.35, 0),
    (-0.101365037912, 1, 1.6, 1),
    (-0.17381369097, 3, 0.8, 1),
    (-0.0472103183731, 5, 0.95, 1),
    (-0.0122523554253, 6, 1.25, 1),
    (-0.146629609713, 1, 3.6, 2),
    (-0.0316055879821, 3, 6, 2),
    (0.000233594806142, 11, 3.25, 2),
    (0.0148287891978, 1, 3.5, 3),
    (-0.00938782884667, 3, 15, 3),
)

# The terms at one temperature, by decay power (l) and in it by density power (i): the weights (N * tau**j).
Isotherm = tuple[tuple[float, ...], ...]


def compressibility(pressure_pa_abs: float, kelvin: float) -> float:
    """The compressibility factor Z = p / (density R T), without unit.

    Takes an absolute pressure in pascal and a temperature in kelvin. Raises ValueError as `molar_density`
    does.
    """
    return pressure_pa_abs / (molar_density(pressure_pa_abs, kelvin) * GAS_CONSTANT * kelvin)


@lru_cache(maxsize=1 << 16)
def molar_density(pressure_pa_abs: float, kelvin: float) -> float:
    """The density in mol/m3 at an absolute pressure in pascal and a temperature in kelvin.

    Raises ValueError unless the temperature is 200 to 400 K and the pressure above 0 and at most 100 MPa.
    """
    _require_temperature(kelvin)
    _require_pressure(pressure_pa_abs)
    return _solved_density(pressure_pa_abs, kelvin)


def pressure(density: float, kelvin: float) -> float:
    """The absolute pressure in pascal at a density in mol/m3 and a temperature in kelvin.

    Raises ValueError unless the temperature is 200 to 400 K, the density above 0 and at most 30 000 mol/m3,
    and the pressure at most 100 MPa.
    """
    _require_temperature(kelvin)
    if not 0 < density <= HIGHEST_DENSITY:
        raise ValueError(f"{density:g} mol/m3 is outside 0 to {HIGHEST_DENSITY:g} mol/m3")
    reduced_pressure, _ = _reduced_pressure_and_slope(density / REDUCING_DENSITY, _isotherm(kelvin))
    pressure_pa_abs = reduced_pressure * REDUCING_DENSITY * GAS_CONSTANT * kelvin
    _require_pressure(pressure_pa_abs)
    return pressure_pa_abs


def _require_temperature(kelvin: float) -> None:
    # Here and below the comparison is put so that it refuses a float that is not a number too.
    if not LOWEST_KELVIN <= kelvin <= HIGHEST_KELVIN:
        raise ValueError(f"{kelvin:g} K is outside {LOWEST_KELVIN:g} to {HIGHEST_KELVIN:g} K")


def _require_pressure(pressure_pa_abs: float) -> None:
    if not 0 < pressure_pa_abs <= HIGHEST_PRESSURE_PA_ABS:
        raise ValueError(f"{pressure_pa_abs:g} Pa absolute is outside 0 to {HIGHEST_PRESSURE_PA_ABS:g} Pa")


def _solved_density(pressure_pa_abs: float, kelvin: float) -> float:
    """The density at a pressure, by Newton's method."""
    isotherm = _isotherm(kelvin)
    wanted = pressure_pa_abs / (REDUCING_DENSITY * GAS_CONSTANT * kelvin)
    # An ideal gas when thin, a stiffer one when dense: at most five steps anywhere in a cylinder's range.
    delta = wanted / (1 + wanted * wanted / 16)
    step = delta
    # Each step squares the error, so that after one this small only rounding is left.
    while abs(step) > 1e-8 * delta:
        reduced_pressure, slope = _reduced_pressure_and_slope(delta, isotherm)
        step = (reduced_pressure - wanted) / slope
        delta -= step
    return delta * REDUCING_DENSITY


def _reduced_pressure_and_slope(delta: float, isotherm: Isotherm) -> tuple[float, float]:
    """delta * Z, a pressure in units of (reducing density) * R * T, and its slope in delta.

    Nearly all of the time that air takes is spent here, so the sum over the table is written out. Of the terms
    t of each decay it takes the sums of t, of i * t and of i**2 * t, all still without the decay.
    """
    (a1, a2, a3, a4, a6), (b1, b3, b5, b6), (c1, c3, c11), (d1, d3) = isotherm
    delta2 = delta * delta
    delta3 = delta2 * delta
    delta5 = delta3 * delta2
    delta6 = delta3 * delta3
    a1, a2, a3, a4, a6 = a1 * delta, a2 * delta2, a3 * delta3, a4 * delta2 * delta2, a6 * delta6
    excess = a1 + 2 * a2 + 3 * a3 + 4 * a4 + 6 * a6
    second = a1 + 4 * a2 + 9 * a3 + 16 * a4 + 36 * a6

    b1, b3, b5, b6 = b1 * delta, b3 * delta3, b5 * delta5, b6 * delta6
    plain, first = b1 + b3 + b5 + b6, b1 + 3 * b3 + 5 * b5 + 6 * b6
    decay = exp(-delta)
    excess += decay * (first - delta * plain)
    second += decay * (b1 + 9 * b3 + 25 * b5 + 36 * b6 - 2 * delta * first + delta * (delta - 1) * plain)

    c1, c3, c11 = c1 * delta, c3 * delta3, c11 * delta6 * delta5
    plain, first, fall = c1 + c3 + c11, c1 + 3 * c3 + 11 * c11, 2 * delta2
    decay = exp(-delta2)
    excess += decay * (first - fall * plain)
    second += decay * (c1 + 9 * c3 + 121 * c11 - 2 * fall * first + fall * (fall - 2) * plain)

    d1, d3 = d1 * delta, d3 * delta3
    plain, first, fall = d1 + d3, d1 + 3 * d3, 3 * delta3
    decay = exp(-delta3)
    excess += decay * (first - fall * plain)
    second += decay * (d1 + 9 * d3 - 2 * fall * first + fall * (fall - 3) * plain)
    return delta * (1 + excess), 1 + excess + second


@lru_cache(maxsize=1 << 12)
def _isotherm(kelvin: float) -> Isotherm:
    """The terms at one temperature, those with the same powers of delta taken together."""
    tau = REDUCING_KELVIN / kelvin
    groups: dict[int, dict[int, float]] = {}
    for coefficient, density_power, temperature_power, decay_power in TERMS:
        weights = groups.setdefault(decay_power, {})
        weights[density_power] = weights.get(density_power, 0.0) + coefficient * tau**temperature_power
    return tuple(tuple(weights[power] for power in sorted(weights)) for weights in groups.values())
