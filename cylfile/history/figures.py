"""
What kind of cylinder it is, in figures: the class of a rule pack, with the card's own figures over it.

Shapes and units throughout the histories: pressures are psi gauge, temperatures kelvin,
volumes milliliters, shares fractions of 1, calendar periods whole months, all plain numbers;
days are `datetime.date` and durations `datetime.timedelta`.
"""

from datetime import date
from typing import NamedTuple

# The period of what never ends: a test that is not required, a life without limit.
NO_LIMIT = 0


class Figures(NamedTuple):
    """
    The figures that hold for one kind of cylinder, or for one cylinder; None is not known.

    `test_every`, `star_test_every`, `life` and `visual_every` are months, `NO_LIMIT` for a
    period that never ends. `hot_factor` is the greatest pressure at `hot` as a multiple of the
    fill limit. `reference` is the temperature at which the rated pressure is meant.
    """

    class_name: str | None = None
    rated: float | None = None
    test_every: int | None = None
    star_test_every: int | None = None
    test_factor: float | None = None
    test_pressure: float | None = None
    plus_fill: float | None = None
    expansion_limit: float | None = None
    ree: float | None = None
    life: int | None = None
    life_until: date | None = None
    visual_every: int | None = None
    cycle_limit: int | None = None
    aluminum: bool | None = None
    reference: float | None = None
    hot: float | None = None
    hot_factor: float | None = None
    # Periods run to the end of the month they fall due in, unless a pack asks for the very day.
    to_the_day: bool = False

    @property
    def proof_pressure(self) -> float | None:
        """The test pressure of card or class, else the factor times rated."""
        if self.test_pressure is not None:
            return self.test_pressure
        if self.test_factor is None or self.rated is None:
            return None
        return round(self.test_factor * self.rated, 6)

    @property
    def test_pressure_required(self) -> float | None:
        """The least pressure that a test must have: a psi below, for rounding, where only the factor is known."""
        if self.test_pressure is not None or self.proof_pressure is None:
            return self.test_pressure
        return self.proof_pressure - 1
