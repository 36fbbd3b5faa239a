"""
What kind of cylinder it is, in figures: the class of a rule pack, with the card's own figures over it.

Shapes and units throughout the histories: pressures are psi gauge, temperatures kelvin,
volumes milliliters, shares fractions of 1, calendar periods whole months, all plain numbers;
days are `datetime.date` and durations `datetime.timedelta`.
"""

from collections.abc import Callable
from datetime import date
from typing import NamedTuple, Protocol

from cylfile.record.dates import Month, month_end, months_after
from cylfile.record.quantities import Quantity, half_place

# The period of what never ends: a test that is not required, a life without limit.
NO_LIMIT = 0
# How a test is made where nothing is said.
EXPANSION = "expansion"


class Figures(NamedTuple):
    """
    The figures that hold for one kind of cylinder, or for one cylinder; None is not known.

    `test_every`, `first_test_every`, `star_test_every`, `life`, `visual_every`, `life_extendable`
    and `life_step` are months, `NO_LIMIT` for a period that never ends; `life_extendable` is
    counted from manufacture, and `life_step` is the most by which one entry may move the end. The
    first test is due `first_test_every` after manufacture, where that differs from the period, or
    after it entered service, where `count_from` says so. `hot_factor` is the greatest pressure at
    `hot` as a multiple of the fill limit; where `hot_at_test_pressure` is true, that pressure is the
    test pressure instead. `reference` is the temperature at which the rated pressure is meant.
    `methods` are the ways in which a test may be made, by expansion alone where it is None.
    `ree_marked` says that its REE is marked on it, `export_only` that it may be filled for export
    only. `gauge_allowance` is what a gauge may be off, as a share of rated. `rated_rounding` and
    `test_pressure_rounding` are half a unit in the last written place of the rated pressure and of
    a test pressure that is written, psi. `from_permit` are the properties that the permit settles,
    so that the card may say them. `cites` gives the source of a figure by the name of its property,
    `rule_cites` the sources of a rule for this class.
    """

    class_name: str | None = None
    rated: float | None = None
    test_every: int | None = None
    first_test_every: int | None = None
    count_from: tuple[str, ...] | None = None
    star_test_every: int | None = None
    test_factor: float | None = None
    test_pressure: float | None = None
    # What a test must have, where card and marking do not agree on it: the higher.
    least_test_pressure: float | None = None
    plus_fill: float | None = None
    expansion_limit: float | None = None
    ree: float | None = None
    life: int | None = None
    life_until: date | None = None
    life_extendable: int | None = None
    life_step: int | None = None
    visual_every: int | None = None
    cycle_limit: int | None = None
    methods: tuple[str, ...] | None = None
    crack_examination: bool | None = None
    aluminum: bool | None = None
    ree_marked: bool | None = None
    export_only: bool | None = None
    reference: float | None = None
    hot: float | None = None
    hot_factor: float | None = None
    hot_at_test_pressure: bool | None = None
    gauge_allowance: float | None = None
    rated_rounding: float = 0.0
    test_pressure_rounding: float = 0.0
    # Periods run to the end of the month they fall due in, unless a pack asks for the very day.
    to_the_day: bool = False
    # Filled in time it may be used until it is emptied, though its test has fallen due since.
    until_emptied: bool = False
    from_permit: tuple[str, ...] | None = None
    cites: dict[str, str] = {}
    rule_cites: dict[str, tuple[str, ...]] = {}

    @property
    def allowed_methods(self) -> tuple[str, ...]:
        """The ways in which a test may be made."""
        return self.methods or (EXPANSION,)

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
        """The least pressure that a test must have."""
        return self.proof_pressure if self.least_test_pressure is None else self.least_test_pressure

    @property
    def proof_rounding(self) -> float:
        """What rounding leaves open in the test pressure, psi."""
        if self.test_pressure is not None:
            return self.test_pressure_rounding
        return (self.test_factor or 0.0) * self.rated_rounding


# The stricter of two figures. What is not known, None, gives way to what is; of what a class may
# have, such as the plus, None is that it may not.


def _known(choose: Callable) -> Callable:
    return lambda one, other: other if one is None else one if other is None else choose(one, other)


def _allowed(choose: Callable) -> Callable:
    return lambda one, other: None if one is None or other is None else choose(one, other)


def _period(one: int | None, other: int | None) -> int | None:
    """The shorter; one that is not known is stricter than one without an end."""
    return min(
        one, other, key=lambda months: (2, 0) if months == NO_LIMIT else (1, 0) if months is None else (0, months)
    )


def _methods(one: tuple[str, ...] | None, other: tuple[str, ...] | None) -> tuple[str, ...]:
    return tuple(method for method in one or (EXPANSION,) if method in (other or (EXPANSION,)))


def _in_both(one: tuple[str, ...], other: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in one if name in other)


STRICTER: dict[str, Callable] = {
    "rated": _known(min),
    "test_every": _period,
    "first_test_every": _allowed(min),
    "count_from": _allowed(_in_both),
    "star_test_every": _allowed(min),
    "test_factor": _known(max),
    "test_pressure": _known(max),
    "plus_fill": _allowed(min),
    "expansion_limit": _known(min),
    "life": _period,
    "life_extendable": _allowed(min),
    "life_step": _allowed(min),
    "visual_every": _known(_period),
    "cycle_limit": _known(min),
    "methods": _methods,
    "crack_examination": _known(max),
    "aluminum": _known(max),
    "ree_marked": _known(max),
    "export_only": _known(max),
    # At a higher temperature the same contents have a higher pressure.
    "reference": _known(max),
    "hot": _known(max),
    "hot_factor": _known(min),
    "hot_at_test_pressure": _known(max),
    "gauge_allowance": _allowed(min),
    "rated_rounding": min,
    "to_the_day": max,
    "until_emptied": min,
    "from_permit": _allowed(_in_both),
}


def stricter(one: Figures, other: Figures) -> Figures:
    """
    The stricter of the figures of two classes, or of one class at two rated pressures, figure by figure.

    A reading is over-pressure from the lower test pressure on, and a test has to have the higher.
    """
    laid = {name: choose(getattr(one, name), getattr(other, name)) for name, choose in STRICTER.items()}
    proofs = [figures.proof_pressure for figures in (one, other) if figures.proof_pressure is not None]
    least = [figures.test_pressure_required for figures in (one, other) if figures.proof_pressure is not None]
    required = [pressure for pressure in least if pressure is not None]
    cites = {}
    for figures in (other, one):
        for word, cite in figures.cites.items():
            if laid[word.replace("-", "_")] == getattr(figures, word.replace("-", "_")):
                cites[word] = cite
    return one._replace(
        **laid
        | {
            "test_pressure": min(proofs, default=None),
            "test_pressure_rounding": min(one.proof_rounding, other.proof_rounding),
            "least_test_pressure": max(required, default=None),
        },
        cites=cites,
        rule_cites=other.rule_cites | one.rule_cites,
    )


class Card(Protocol):
    """What a card may say in place of the class's figures; periods are months."""

    marked: list[str]
    class_name: str | None
    made: date | None
    rated: Quantity | None
    test_every: int | None
    test_pressure: Quantity | None
    expansion_limit: Quantity | None
    ree: Quantity | None
    liner: str | None
    life: int | None
    life_until: Month | None


class Laxer(NamedTuple):
    """
    A figure of a card that is not used, for it is laxer than its class's: its property, the
    class's figure, `limit`, and its dimension.
    """

    word: str
    limit: float | date
    dimension: str


def figures_of(card: Card, of_class: Figures) -> tuple[Figures, list[Laxer]]:
    """
    The figures of a cylinder: its class's, with what its card says in place of them.

    A card's figure counts where the class has none or leaves it to the permit, and where it is the
    stricter. The rated pressure is settled before, by card and marking together.
    """
    own: dict = {}
    laxer: list[Laxer] = []

    def take(
        word: str, limit: float | date | None, dimension: str, is_laxer: bool, **figures: float | date | None
    ) -> None:
        if limit is not None and is_laxer and word not in (of_class.from_permit or ()):
            laxer.append(Laxer(word, limit, dimension))
        else:
            own.update(figures)

    every, factor_pressure, share = of_class.test_every, of_class.test_pressure_required, of_class.expansion_limit
    if card.test_every is not None:
        is_laxer = every not in (None, NO_LIMIT) and card.test_every > every
        take("test-every", every, "period", is_laxer, test_every=card.test_every)
    if card.test_pressure is not None:
        pressure = card.test_pressure.value
        rounding = half_place(card.test_pressure)
        is_laxer = factor_pressure is not None and pressure + rounding + of_class.proof_rounding < factor_pressure
        own_pressure = {"test_pressure": pressure, "test_pressure_rounding": rounding, "least_test_pressure": None}
        take("test-pressure", factor_pressure, "pressure", is_laxer, **own_pressure)
    if card.expansion_limit is not None:
        limit = card.expansion_limit.value
        take("expansion-limit", share, "share", share is not None and limit > share, expansion_limit=limit)
    if card.life is not None:
        take("life", of_class.life, "period", bool(of_class.life and card.life > of_class.life), life=card.life)
    if card.life_until is not None:
        end = month_end(months_after(card.made, of_class.life)) if card.made and of_class.life else None
        is_laxer = end is not None and month_end(card.life_until) > end
        take("life", end, "date", is_laxer, life_until=card.life_until)
    if card.ree is not None:
        own["ree"] = card.ree.value
    if card.liner is not None and of_class.aluminum is None:
        own["aluminum"] = card.liner == "aluminum"
    if card.test_every is not None and of_class.star_test_every is not None:
        # A period on the card holds whatever a test has earned.
        own["star_test_every"] = own.get("test_every", every)
    if not own:
        return of_class, laxer
    from_card = {word for field in own for word in _REPLACED.get(field, ())}
    cites = {word: cite for word, cite in of_class.cites.items() if word not in from_card}
    return of_class._replace(**own, cites=cites), laxer


# Figures of a card -> the properties of a class that they stand in place of.
_REPLACED = {
    "test_every": ("test-every", "star-test-every"),
    "test_pressure": ("test-pressure", "test-factor"),
    "expansion_limit": ("expansion-limit",),
    "life": ("life",),
    "life_until": ("life",),
}
