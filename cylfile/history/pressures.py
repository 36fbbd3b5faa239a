"""
Pressures as they were read: settled to another temperature, and what their last written places leave open.

Two figures that are compared may differ by rounding alone: by half a unit in the last place
written of each, and never by more than a five-hundredth of the limit.
"""

from cylfile.air import settled
from cylfile.record.entries import Entry
from cylfile.record.quantities import MOST_ROUNDING, half_place

# Gas temperatures that nobody meets at a fill: below -40 F, which is -40 C, and above 150 F, in kelvin.
COLDEST = (-40 + 459.67) / 1.8
HOTTEST = (150 + 459.67) / 1.8
# What a sum of floating-point numbers may be off, psi: far below any gauge.
_HAIR = 1e-6


def settled_pressure(entry: Entry, kelvin: float | None) -> float | None:
    """
    The pressure, at another temperature, of what a fill or a gauge reading found; psi.

    Not known without the temperature of the gas, where that is one that nobody meets, or where no
    air can be what was written: see `cylfile.air`.
    """
    temperature, reading = entry.at_temperature, entry.reading
    if temperature is None or kelvin is None or reading is None or not COLDEST <= temperature.value <= HOTTEST:
        return None
    try:
        return settled(reading.value, temperature.value, kelvin)
    except ValueError:
        return None


def is_likely(kelvin: float) -> bool:
    """Whether a gas temperature is one that is met at a fill."""
    return COLDEST <= kelvin <= HOTTEST


def within(left_open: float, limit: float) -> float:
    """What rounding leaves open between a figure and a limit, psi, of which the written places leave `left_open`."""
    return min(left_open, MOST_ROUNDING * limit) + _HAIR


def left_open(entry: Entry, kelvin: float | None, upward: bool = False) -> float:
    """
    How far below a pressure of a reading, at another temperature, it may truly lie, psi.

    That is by half a place of the reading and half a place of the temperature, where one is
    written; with `upward` how far above.
    """
    reading, at = entry.reading, entry.at_temperature
    sign = 1 if upward else -1
    edge = sign * half_place(reading)
    pressure = settled_pressure(entry, kelvin)
    if pressure is None or kelvin is None:
        return abs(edge)
    farthest = settled_to(reading.value + edge, at.value - sign * half_place(at), kelvin)
    return abs(edge) if farthest is None else abs(farthest - pressure)


def settled_to(psi: float, kelvin: float, to_kelvin: float) -> float | None:
    """The pressure of a reading at another temperature, psi; None where no air can be what was read."""
    try:
        return settled(psi, kelvin, to_kelvin)
    except ValueError:
        return None
