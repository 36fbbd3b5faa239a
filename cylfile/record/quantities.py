"""
Quantities: a number with a unit, kept as it was written and as a plain number to reckon with.
"""

from collections.abc import Callable
from datetime import timedelta
from functools import cache
from typing import Any, NamedTuple

# How many of the program's own unit one of each is, as a fraction: 1e5 Pa over 4.4482216152605 N / (0.0254 m)^2, exact
# by the definition of the pound and the inch. Whole numbers, so that what is equal is equal in every unit.
_BAR, _PASCALS = 645_160_000_000_000, 44_482_216_152_605
_PSI = {"psi": (1, 1), "bar": (_BAR, _PASCALS), "MPa": (10 * _BAR, _PASCALS), "kPa": (_BAR, 100 * _PASCALS)}
PSI_IN_BAR = _BAR / _PASCALS
# Cubic inch and cubic foot by the inch of 25.4 mm, exact.
_MILLILITERS = {
    "L": (1000, 1), "mL": (1, 1), "cc": (1, 1),
    "in3": (16_387_064, 1_000_000), "ft3": (28_316_846_592, 1_000_000), "m3": (1_000_000, 1),
}  # fmt: skip
CUBIC_FOOT_ML = 28316.846592
# What rounding explains at most between two figures that are compared, as a share of the limit.
MOST_ROUNDING = 0.002
_KELVIN = {"F": (5, 9), "C": (1, 1)}
_SECONDS = {"s": 1, "min": 60, "h": 3600}


class Quantity(NamedTuple):
    """
    A quantity of a ledger or a pack.

    `text` is the number and unit as written, with one space between them. `value` is in the
    unit that the program reckons in: psi gauge, kelvin, milliliters, a fraction of 1 for a
    share, ppm, mg/m3, and a `timedelta` for a duration.
    """

    text: str
    value: Any
    unit: str

    def __str__(self) -> str:
        return self.text


def quantity(terminal: str, word: str) -> Quantity:
    """The quantity that a word of a quantity terminal (PRESSURE, VOLUME, ...) of words.lark says."""
    end = 1
    while end < len(word) and word[end] in "0123456789.":
        end += 1
    number, unit = word[:end], word[end:].strip(" \t").lstrip("°")
    return Quantity(f"{number} {unit}", _VALUE[terminal](*_digits(number), unit), unit)


@cache
def half_place(written: Quantity) -> float:
    """
    Half a unit in the last place written of a pressure or a temperature, psi or kelvin; zeros at
    the end are digits: 0.5 psi of 4500 psi, 0.5 bar of 310 bar.
    """
    number, unit = written.text.split(" ")
    _, tens = _digits(number)
    over, under = _PSI.get(unit) or _KELVIN[unit]
    return over / (under * tens * 2)


def _digits(number: str) -> tuple[int, int]:
    """A number as written, as its digits and the power of ten that they are over."""
    return int(number.replace(".", "")), 10 ** len(number.partition(".")[2])


def _times(factors: dict[str, tuple[int, int]]) -> Callable:
    """A number of a unit in the program's own; the division of whole numbers gives the nearest float."""
    return lambda digits, tens, unit: digits * factors[unit][0] / (tens * factors[unit][1])


def _kelvin(digits: int, tens: int, unit: str) -> float:
    zero, (over, under) = (45967 if unit == "F" else 27315), _KELVIN[unit]
    return (100 * digits + zero * tens) * over / (100 * tens * under)


_VALUE = {
    "PRESSURE": _times(_PSI),
    "TEMPERATURE": _kelvin,
    "VOLUME": _times(_MILLILITERS),
    "DURATION": lambda digits, tens, unit: timedelta(seconds=digits / tens * _SECONDS[unit]),
    "SHARE": lambda digits, tens, unit: digits / (100 * tens),
    "PPM": lambda digits, tens, unit: digits / tens,
    "DENSITY": lambda digits, tens, unit: digits / tens,
}
