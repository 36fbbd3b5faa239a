"""
The expressions of a pack after they were checked: facts found, settings put in, dimensions known.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from cylfile.history.facts import Fact


@dataclass(frozen=True, slots=True)
class Value:
    """A figure, a day, a text or yes or no; a setting's value too. None is never one."""

    value: Any
    dimension: str


@dataclass(frozen=True, slots=True)
class Asked:
    """The value of a fact, which may not be known."""

    fact: Fact

    @property
    def dimension(self) -> str:
        return self.fact.dimension


@dataclass(frozen=True, slots=True)
class Times:
    """How often a rule that reports once a cylinder held; only its texts may ask."""

    dimension = "count"


@dataclass(frozen=True, slots=True)
class Known:
    """`known FACT`: always yes or no."""

    fact: Fact
    dimension = "flag"


@dataclass(frozen=True, slots=True)
class Not:
    inner: "Node"
    dimension = "flag"


@dataclass(frozen=True, slots=True)
class And:
    left: "Node"
    right: "Node"
    dimension = "flag"


@dataclass(frozen=True, slots=True)
class Or:
    left: "Node"
    right: "Node"
    dimension = "flag"


@dataclass(frozen=True, slots=True)
class Comparison:
    """`sign` is one of < <= = != >= >."""

    sign: str
    left: "Node"
    right: "Node"
    dimension = "flag"


@dataclass(frozen=True, slots=True)
class Arithmetic:
    """`sign` is one of + - * /; `dimension` is the result's."""

    sign: str
    left: "Node"
    right: "Node"
    dimension: str


Node = Value | Asked | Times | Known | Not | And | Or | Comparison | Arithmetic


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
