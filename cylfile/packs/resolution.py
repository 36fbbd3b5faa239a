"""
What kind of cylinder one is: by the markings and the class on its card, taken together.
"""

import re
from functools import reduce
from operator import attrgetter
from typing import Any, NamedTuple

from cylfile.history.figures import Card, Figures, Laxer, figures_of, stricter
from cylfile.packs.classes import CylinderClass
from cylfile.packs.marking import Marking, take_apart
from cylfile.packs.wording import in_words
from cylfile.record.quantities import MOST_ROUNDING, Quantity, half_place
from cylfile.text.source import clip
from cylfile.text.spelling import american

_NEAR = 0.6
_MOST_NEAR = 4


class Kind(NamedTuple):
    """
    What class a cylinder is of.

    `figures` are those of the class, with its name; without a class they hold only what the packs
    say of every cylinder. `marked` are the lines of its markings, `marking` what was read in them
    and `ratings` the rated pressures, the lowest first. `fits` are the classes whose markings it
    could be, `nearest` those that are most like what fits none. `disagrees` says in words how the
    class on the card contradicts the marking: then `contradicting` are the figures of the marking's.
    """

    figures: Figures
    marked: tuple[str, ...]
    marking: Marking
    ratings: tuple[Quantity, ...] = ()
    fits: tuple[str, ...] = ()
    nearest: tuple[str, ...] = ()
    disagrees: str | None = None
    contradicting: tuple[Figures, ...] = ()


class Resolution(NamedTuple):
    """
    What kind a cylinder is, and its own figures.

    `disagrees` says in words how the card contradicts the marking, `laxer` what on the card is not
    used, as pairs of a property and what is wrong with it.
    """

    kind: Kind
    figures: Figures
    disagrees: str | None = None
    laxer: tuple[tuple[str, str], ...] = ()


def kind_of(
    classes: dict[str, CylinderClass], of_every: Figures, marked: tuple[str, ...], class_name: str | None
) -> Kind:
    """
    The class of a cylinder by its markings and by the class on its card.

    Markings give the class only where they fit exactly one. A class without markings of its own
    never contradicts one.
    """
    marking = take_apart(marked)
    readings = [reading for stamp in marking.stamps if (reading := _readings(classes, stamp))]
    in_all = [name for name in classes if readings and all(name in reading for reading in readings)]
    fits = tuple(in_all or [name for name in classes if any(name in reading for reading in readings)])
    name = class_name and american(class_name.casefold())
    of = name if name in fits else None
    ratings = {
        rated for reading in readings for fit, rated in reading.items() if rated is not None and of in (None, fit)
    }
    rated = tuple(sorted(ratings, key=attrgetter("value")))
    if name is None:
        figures = classes[fits[0]].figures if len(fits) == 1 else of_every
        nearest = () if fits or not marked else nearest_classes(classes, marking=marking)
        return Kind(figures, marked, marking, rated, fits, nearest)
    if name not in classes:
        return Kind(
            of_every, marked, marking, rated, fits, tuple(dict.fromkeys((*fits, *nearest_classes(classes, name))))
        )
    figures = classes[name].figures
    if not fits or name in fits or not classes[name].patterns:
        return Kind(figures, marked, marking, rated, fits)
    disagrees = f"the card says class {name}, the marking {', '.join(marked)} is one of {' or '.join(fits)}"
    return Kind(figures, marked, marking, rated, fits, (), disagrees, tuple(classes[fit].figures for fit in fits))


def _readings(classes: dict[str, CylinderClass], stamp: str) -> dict[str, Quantity | None]:
    """The classes that a stamp fits best, each with the rated pressure in it."""
    found = {name: reading for name, of in classes.items() if (reading := of.read_marking(stamp))}
    best = max((reading.letters for reading in found.values()), default=0)
    return {name: reading.rated for name, reading in found.items() if reading.letters == best}


def resolution_of(kind: Kind, card: Card) -> Resolution:
    """
    The figures of a cylinder of a kind: those of its card count, but for what is laxer; see
    `figures_of`. Where card, marking and specification disagree, they are the stricter of all.
    """
    said = [*([card.rated] if card.rated else []), *kind.ratings]
    disagrees = [kind.disagrees] if kind.disagrees else []
    fixed = kind.figures.rated
    if fixed is not None and not kind.ratings:
        said.append(Quantity(f"{fixed:g} psi", fixed, "psi"))
    if said and all(_one_pressure(said[0], other) for other in said):
        # 207 bar is 3000 psi, rounded; what the card says is what people mean.
        del said[1:]
    elif said:
        whose = "the marking" if kind.ratings else f"class {kind.figures.class_name}"
        others = " and ".join(rated.text for rated in said[bool(card.rated) :])
        disagrees.append(
            f"the card says rated {card.rated}, {whose} {others}" if card.rated else f"the marking says {others}"
        )
    of_each = (kind.figures, *kind.contradicting)
    ratings: list[Quantity | None] = [*said] if said else [None]
    figures = reduce(stricter, [_rated(each, rated) for each in of_each for rated in ratings])
    figures, laxer = figures_of(card, figures)
    return Resolution(
        kind, figures, "; ".join(disagrees) or None, tuple(_in_words(each, card, figures) for each in laxer)
    )


def _rated(figures: Figures, rated: Quantity | None) -> Figures:
    return figures._replace(rated=rated.value, rated_rounding=half_place(rated)) if rated else figures


def _one_pressure(one: Quantity, other: Quantity) -> bool:
    """Whether two pressures are one, but for rounding: half a unit in the last place of each."""
    left_open = min(half_place(one) + half_place(other), MOST_ROUNDING * min(one.value, other.value))
    return abs(one.value - other.value) <= left_open


def _in_words(laxer: Laxer, card: Card, figures: Figures) -> tuple[str, str]:
    word = laxer.word
    own: tuple[Any, str] = {
        "test-every": (card.test_every, "period"),
        "test-pressure": (card.test_pressure and card.test_pressure.value, "pressure"),
        "expansion-limit": (card.expansion_limit and card.expansion_limit.value, "share"),
        "life": (card.life, "period") if card.life is not None else (card.life_until, "date"),
    }[word]
    unit = "bar" if card.rated and card.rated.unit != "psi" else "psi"
    limit = in_words(laxer.limit, laxer.dimension, unit)
    cite = figures.cites.get("test-factor" if word == "test-pressure" else word, "")
    source = f" ({cite})" if cite else ""
    text = f"{word} {in_words(*own, unit)} on the card is laxer than {limit} of class {figures.class_name}{source}, and is not used"
    return word, text


def nearest_classes(
    classes: dict[str, CylinderClass], name: str | None = None, marking: Marking | None = None
) -> tuple[str, ...]:
    """
    The classes that are most like a name that is none, `steel` or `3aa`, or a marking that fits
    none, the nearest first.
    """
    scores: dict[str, float] = {}
    for of in classes.values():
        if name is not None:
            scores[of.name] = max(
                _alike(name, of.name), 1.0 if name in re.findall(r"[\w-]+", of.title.lower()) else 0.0
            )
        elif marking is not None:
            alike = [_alike(_letters(stamp), pattern) for stamp in marking.stamps for pattern in of.letters]
            scores[of.name] = max(alike, default=0.0)
    near = sorted((of for of in scores if scores[of] >= _NEAR), key=lambda of: -scores[of])
    return tuple(near[:_MOST_NEAR])


def _letters(stamp: str) -> str:
    """What of a stamp tells its class: its letters and digits, without the pressure at the end."""
    return re.sub(r"[0-9]{3,5}[A-Z]*$", "", re.sub("[^A-Z0-9]", "", stamp.upper()))


def _alike(one: str, other: str) -> float:
    # Most markings fit a class.
    from difflib import SequenceMatcher

    return SequenceMatcher(None, clip(one), clip(other)).ratio()
