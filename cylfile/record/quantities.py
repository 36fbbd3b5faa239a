"""
Quantities: a number with a unit, kept as it was written and as a plain number to reckon with.
"""

from datetime import timedelta
from functools import cache
from typing import NamedTuple

PSI_IN_BAR = 14.503773773020923  # 1e5 Pa / 6894.757293168 Pa, exact by the definition of the pound and inch
_PSI = {"psi": 1.0, "bar": PSI_IN_BAR, "MPa": 10 * PSI_IN_BAR, "kPa": PSI_IN_BAR / 100}
# Cubic inch and cubic foot by the inch of 25.4 mm, exact.
CUBIC_FOOT_ML = 28316.846592
_MILLILITERS = {"mL": 1.0, "cc": 1.0, "L": 1000.0, "m3": 1e6, "in3": 16.387064, "ft3": CUBIC_FOOT_ML}
_SECONDS = {"s": 1, "min": 60, "h": 3600}


class Quantity(NamedTuple):
    """
    A quantity of a ledger or a pack.

    `text` is the number and unit as written, with one space between them. `value` is in the
    unit that the program reckons in: psi gauge, kelvin, milliliters, a fraction of 1 for a
    share, ppm, mg/m3, and a `timedelta` for a duration.
    """

    text: str
    value: float | timedelta
    unit: str

    def __str__(self) -> str:
        return self.text


def quantity(terminal: str, word: str) -> Quantity:
    """The quantity that a word of a quantity terminal (PRESSURE, VOLUME, ...) of words.lark says."""
    end = 1
    while end < len(word) and word[end] in "0123456789.":
        end += 1
    number, unit = word[:end], word[end:].strip(" \t").lstrip("°")
    return Quantity(f"{number} {unit}", _VALUE[terminal](float(number), unit), unit)


@cache
def half_place(written: Quantity) -> float:
    """
    Half a unit in the last place written of a pressure or a temperature, psi or kelvin; zeros at
    the end are digits: 0.5 psi of 4500 psi, 0.5 bar of 310 bar.
    """
    number, _, _ = written.text.partition(" ")
    half = 0.5 * 10.0 ** -len(number.partition(".")[2])
    return half * (_PSI.get(written.unit) or (1 / 1.8 if written.unit == "F" else 1.0))


_VALUE = {
    "PRESSURE": lambda number, unit: number * _PSI[unit],
    "TEMPERATURE": lambda number, unit: (number + 459.67) / 1.8 if unit == "F" else number + 273.15,
    "VOLUME": lambda number, unit: number * _MILLILITERS[unit],
    "DURATION": lambda number, unit: timedelta(seconds=number * _SECONDS[unit]),
    "SHARE": lambda number, unit: number / 100,
    "PPM": lambda number, unit: number,
    "DENSITY": lambda number, unit: number,
}
