"""
The expressions of a pack after they were checked: facts found, settings put in, dimensions known.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from cylfile.history.facts import Fact

if TYPE_CHECKING:
    Node: TypeAlias = "Value | Asked | Times | Known | Not | And | Or | Comparison | Arithmetic"
else:
    # A name in quotation marks would be compiled when its class is made, which no start should wait for.
    Node = Any


class Value(NamedTuple):
    """A figure, a day, a text or yes or no; of a setting, with its name. The value is never None."""

    value: Any
    dimension: str
    setting: str = ""


class Asked(NamedTuple):
    """The value of a fact, which may not be known."""

    fact: Fact

    @property
    def dimension(self) -> str:
        return self.fact.dimension


class Times:
    """How often a rule that reports once a cylinder held; only its texts may ask."""

    __slots__ = ()
    dimension = "count"


class Known(NamedTuple):
    """`known FACT`: always yes or no."""

    fact: Fact
    dimension: str = "flag"


class Not(NamedTuple):
    inner: Node
    dimension: str = "flag"


class And(NamedTuple):
    left: Node
    right: Node
    dimension: str = "flag"


class Or(NamedTuple):
    left: Node
    right: Node
    dimension: str = "flag"


class Comparison(NamedTuple):
    """`sign` is one of < <= = != >= >."""

    sign: str
    left: Node
    right: Node
    dimension: str = "flag"


class Arithmetic(NamedTuple):
    """`sign` is one of + - * /; `dimension` is the result's."""

    sign: str
    left: Node
    right: Node
    dimension: str


def parts(node: Node) -> Iterator[Node]:
    """The expression and everything inside it, from left to right."""
    yield node
    for name in ("inner", "left", "right"):
        inside = getattr(node, name, None)
        if inside is not None:
            yield from parts(inside)


def asked(node: Node) -> list[Fact]:
    """The facts whose values an expression needs, each once; those under `known` are not among them."""
    return list({part.fact.name: part.fact for part in parts(node) if isinstance(part, Asked)}.values())
