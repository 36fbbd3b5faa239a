"""
The lines of a known act, read with one regular expression, and those of known shapes, with another.

An expression is put together from lark's own terminals. That of an act has a group for each of its values; that of shapes is a tree of
them, branching where they differ, with an empty group at the end of each that tells which one matched. It
matches a line only when lexing it would give the token types of one of its shapes, or those of a line of its act;
but that a word is no keyword has to be seen afterwards, for an expression that looks for all of them is slow to make.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from cylfile.text.acts import GAP, LINE_END, Act

_WORD_END = "(?![A-Za-z0-9._/-])"
_NAMES = frozenset(("NAME", "COUNT"))


class Matcher(NamedTuple):
    """
    Matches whole lines of one place, from the indent to the line end: those of one act, or of some shapes.

    `match(text, offset, end)` gives a match object or None. The groups of one of an act are its values; where there is no `act`,
    `shapes` maps the `lastindex` of a match to its shape and to the numbers of the groups that hold its values. A match of
    which a value is a keyword is none.
    """

    match: Callable
    act: Act | None
    shapes: dict[int, tuple[Any, tuple[int, ...]]]


def act_matcher(act: Act, terminals: Mapping[str, str], keywords: Mapping[str, str], indent: str) -> Matcher:
    """Matches the lines of an act, after what the expression `indent` matches."""
    return Matcher(re.compile(act.expression(_keywords(keywords) | _values(terminals), indent)).match, act, {})


def shape_matcher(
    shapes: Iterable, terminals: Mapping[str, str], keywords: Mapping[str, str], indent: str
) -> Matcher | None:
    """Matches the lines of those shapes that are worth an expression, after what the expression `indent` matches; None of none."""
    tree: dict = {}
    for shape in shapes:
        if _can_match(shape.terminals, terminals):
            node = tree
            for terminal in shape.terminals:
                node = node.setdefault(terminal, {})
            node[None] = shape
    if not tree:
        return None
    grouped = {terminal: f"({expression})" for terminal, expression in _values(terminals).items()}
    branches = _Branches(_keywords(keywords) | grouped)
    return Matcher(re.compile(indent + branches.expression(tree, (), "")).match, None, branches.shapes)


class _Branches:
    """The expression of a tree of shapes: `shapes` are as of the matcher."""

    def __init__(self, words: dict[str, str]):
        self._words = words
        self._groups = 0
        self.shapes: dict[int, tuple[Any, tuple[int, ...]]] = {}

    def expression(self, node: dict, groups: tuple[int, ...], gap: str) -> str:
        """What may follow once the shapes of `node` have matched up to here."""
        branches = []
        for terminal, below in node.items():
            held = groups
            if terminal is not None:
                if self._words[terminal].startswith("("):
                    self._groups += 1
                    held = (*groups, self._groups)
                branches.append(self._words[terminal] + self.expression(below, held, GAP))
        expression = gap + (branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})")
        if None not in node:
            return expression
        self._groups += 1
        self.shapes[self._groups] = (node[None], groups)
        return f"(?:{expression}|{LINE_END}())" if branches else f"{LINE_END}()"


class Matchers(dict):
    """The matchers of each place, to be tried in turn, made when they are asked for; of no place none."""

    def __init__(self, make: Callable[[str], Sequence[Matcher]]):
        super().__init__({None: ()})
        self._make = make

    def __missing__(self, place: str) -> Sequence[Matcher]:
        matchers = self[place] = self._make(place)
        return matchers


def _can_match(shape_terminals, terminals) -> bool:
    """Whether a shape is worth the expression: one of fewer than two values is not. See `_values` for names."""
    values = [terminal for terminal in shape_terminals if terminal in terminals]
    return len(values) > 1 and not any(map(_NAMES.issuperset, pairwise(shape_terminals)))


def _keywords(keywords: Mapping[str, str]) -> dict[str, str]:
    return {terminal: re.escape(text) for text, terminal in keywords.items()}


def _values(terminals: Mapping[str, str]) -> dict[str, str]:
    """
    By terminals, what matches a word where the lexer would find one of them; NAME matches keywords too, and no name
    that looks like a figure. COUNT matches the number of a figure too, whose unit nothing then matches: it is no
    keyword, and no name comes after a name.
    """
    figure = f"[0-9][0-9.:-]*[A-Za-z/%]{{0,4}}[0-9]?{_WORD_END}"
    return {
        **{terminal: f"(?>{pattern})" for terminal, pattern in terminals.items()},
        "NAME": f"(?!{figure})(?!{terminals['DIGEST']})(?>{terminals['NAME']})",
        "COUNT": f"(?!{terminals['DIGEST']})(?>{terminals['COUNT']})",
    }
