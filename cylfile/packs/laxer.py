"""
What packs laid over the shipped ones make laxer: levels, rules turned off, figures and settings.
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from cylfile.findings.finding import severity
from cylfile.history.figures import STRICTER, Figures
from cylfile.packs.expressions import And, Arithmetic, Comparison, Node, Not, Or, Value
from cylfile.packs.pack_sentences import LINES
from cylfile.packs.rule import Rule
from cylfile.packs.wording import in_words
from cylfile.text.source import Span


class Easing(NamedTuple):
    """Something that a pack asks less strictly than the shipped one that it is laid over, and where."""

    text: str
    pack: str
    span: Span

    def __str__(self) -> str:
        return f"{self.text} ({self.span.place})"


def eased_level(rule: str, shipped: str, level: str, pack: str, span: Span) -> Iterable[Easing]:
    """A rule whose level is lowered."""
    if severity(level) > severity(shipped):
        yield Easing(f"{rule} lowered from {shipped} to {level}", pack, span)


def eased_figures(
    of: str, shipped: Figures, figures: Figures, where: Mapping[str, tuple[str, Span]]
) -> Iterable[Easing]:
    """
    The figures of a class, or of all where `of` is empty, that are laxer than those of the shipped
    packs. `where` gives pack and place by the name of the property.
    """
    for field, choose in STRICTER.items():
        own, now, word = getattr(shipped, field), getattr(figures, field), field.replace("_", "-")
        if now != own and choose(own, now) != now and word in where:
            pack, span = where[word]
            said = f"class {of}: {word}" if of else word
            yield Easing(f"{said} {_written(word, now)} in place of {_written(word, own)}", pack, span)


def eased_setting(shipped: Value, value: Value, rules: Iterable[Rule], pack: str, span: Span) -> Iterable[Easing]:
    """
    A setting that makes its rules hold less often.

    Where that cannot be told from their conditions, any change is one.
    """
    signs = {sign for rule in rules for sign in _truth(rule.condition, value.setting)}
    grows = value.value > shipped.value
    if value.value != shipped.value and signs != {1 if grows else -1}:
        words = (in_words(each.value, each.dimension, "psi") for each in (value, shipped))
        yield Easing(f"setting {value.setting} {' in place of '.join(words)}", pack, span)


def _truth(node: Node, setting: str) -> set[int]:
    """How a condition goes as a setting grows: 1 where it holds more often, -1 where less."""
    match node:
        case Not(inner=inner):
            return _turned(_truth(inner, setting))
        case And(left=left, right=right) | Or(left=left, right=right):
            return _truth(left, setting) | _truth(right, setting)
        case Comparison(sign=sign, left=left, right=right):
            above, below = _amount(left, setting), _amount(right, setting)
            if sign in (">", ">="):
                return above | _turned(below)
            if sign in ("<", "<="):
                return _turned(above) | below
            return {1, -1} if above | below else set()
    return set()


def _amount(node: Node, setting: str) -> set[int]:
    """How a figure goes as a setting grows, all figures being above nothing."""
    match node:
        case Value(setting=name):
            return {1} if name == setting else set()
        case Arithmetic(sign=sign, left=left, right=right):
            other = _amount(right, setting)
            return _amount(left, setting) | (_turned(other) if sign in "-/" else other)
    return set()


def _turned(signs: set[int]) -> set[int]:
    return {-sign for sign in signs}


def _written(word: str, figure) -> str:
    """A figure of a class as a pack writes it."""
    dimension = LINES["class"].get(word) or LINES["pack"][word]
    return "none given" if figure is None else in_words(figure, dimension, "psi")
