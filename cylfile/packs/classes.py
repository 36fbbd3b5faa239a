"""
Classes of cylinders, and what the marking on a cylinder says of its class and rated pressure.
"""

import re
from functools import cached_property
from typing import NamedTuple

from cylfile.history.figures import Figures
from cylfile.packs.pack import ClassSheet
from cylfile.packs.suggest import did_you_mean
from cylfile.record.quantities import PSI_IN_BAR

_GAP = re.compile(r"\{(psi|bar|any)\}")
_GAPS = {"psi": "(?P<psi>[0-9]{2,5})(?![0-9])", "bar": "(?P<bar>[0-9]{2,4})(?![0-9])"}
_BLANKS = re.compile(r"\s+")
# A marking is one line on a shoulder; a longer text is not searched.
_LONGEST_MARKING = 200


class PatternRefused(ValueError):
    """A pattern of a marking that cannot be read."""


class CylinderClass:
    """
    One class with the figures of all packs laid over each other.

    `figures` holds them in the units of `cylfile.history.figures`; `patterns` are its markings
    as written; `cites` gives the source of a figure by the name of its property.
    """

    def __init__(self, name: str, title: str, figures: Figures, patterns: tuple[str, ...], cites: dict[str, str]):
        self.name = name
        self.title = title
        self.figures = figures
        self.patterns = patterns
        self.cites = cites

    @cached_property
    def _expressions(self) -> list[re.Pattern]:
        return [marking_expression(pattern) for pattern in self.patterns]

    def over(self, sheet: ClassSheet) -> "CylinderClass":
        """This class with what a pack says of it laid over, property by property; its markings are added."""
        patterns = tuple(dict.fromkeys((*self.patterns, *sheet.patterns)))
        figures = self.figures._replace(**sheet.figures)
        return CylinderClass(self.name, sheet.title or self.title, figures, patterns, {**self.cites, **sheet.cites})

    def read_marking(self, marking: str) -> tuple[bool, float | None]:
        """Whether a marking is one of this class, and the rated pressure in it, psi."""
        squeezed = _BLANKS.sub("", marking)
        if len(squeezed) > _LONGEST_MARKING:
            return False, None
        for expression in self._expressions:
            found = expression.fullmatch(squeezed)
            if found:
                gaps = found.groupdict()
                if gaps.get("psi"):
                    return True, float(gaps["psi"])
                return True, float(gaps["bar"]) * PSI_IN_BAR if gaps.get("bar") else None
        return False, None


def marking_expression(pattern: str) -> re.Pattern:
    """
    The regular expression of a marking: `{psi}` and `{bar}` stand for the rated pressure, `{any}`
    for anything. Blanks count for nothing, and capitals are as small letters. Raises PatternRefused.
    """
    squeezed = _BLANKS.sub("", pattern)
    gaps = _GAP.findall(squeezed)
    if gaps.count("psi") + gaps.count("bar") > 1:
        raise PatternRefused("a marking with two rated pressures")
    if len(squeezed) > _LONGEST_MARKING:
        raise PatternRefused("a marking that is too long to search for")
    if any(brace in _GAP.sub("", squeezed) for brace in "{}"):
        raise PatternRefused("a gap that is none of {psi}, {bar} and {any}")
    first, *others = [_fixed(stretch) for stretch in squeezed.split("{any}")]
    # Where a stretch is found first, it is found for good: so nothing is searched twice.
    middle = "".join(f"(?>.*?{stretch})" for stretch in others[:-1])
    return re.compile(first + middle + (f".*{others[-1]}" if others else ""), re.IGNORECASE)


def _fixed(stretch: str) -> str:
    """The expression of a stretch of a marking without `{any}`."""
    pieces = _GAP.split(stretch)
    return "".join(_GAPS[piece] if index % 2 else re.escape(piece) for index, piece in enumerate(pieces))


class Resolution(NamedTuple):
    """
    What class a cylinder is of.

    `figures` are those of the class, with its name and the rated pressure of the marking; without
    a class they hold only what the packs say of every cylinder. `rated` is the rated pressure in
    the marking, psi. `fits` are the classes whose markings it could be. `disagrees` says in words
    how the class on the card contradicts the marking; `unknown` that no pack has the class,
    in which case there is none.
    """

    figures: Figures
    rated: float | None = None
    fits: tuple[str, ...] = ()
    disagrees: str | None = None
    unknown: str | None = None


def resolve_class(
    classes: dict[str, CylinderClass], of_every: Figures, marked: str | None, class_name: str | None
) -> Resolution:
    """
    The class of a cylinder by its marking and by the class on its card, which wins.

    A marking gives the class only where it fits exactly one. A class without markings of its own
    never contradicts one.
    """
    readings = {name: of.read_marking(marked) for name, of in classes.items()} if marked else {}
    fits = tuple(name for name, (fit, _) in readings.items() if fit)
    ratings = {readings[name][1] for name in ([class_name] if class_name in fits else fits)}
    rated = ratings.pop() if len(ratings) == 1 else None
    name = class_name or (fits[0] if len(fits) == 1 else None)
    if name is None:
        return Resolution(of_every._replace(rated=rated), rated, fits)
    if name not in classes:
        cure = did_you_mean(name, classes, "A house pack can say what it is.")
        unknown = f"no rule pack has a class `{name}`. {cure}"
        return Resolution(of_every._replace(rated=rated), rated, fits, None, unknown)
    disagrees = None
    if fits and name not in fits and classes[name].patterns:
        disagrees = f"the card says class {name}, and the marking {marked} is one of {' or '.join(fits)}"
    return Resolution(classes[name].figures._replace(rated=rated), rated, fits, disagrees)
