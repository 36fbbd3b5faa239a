"""
The lines of known acts, read with one regular expression, and those of known shapes, with another.

An expression is put together from lark's own terminals: the acts, or a tree of the shapes, branching
where they differ, with an empty group at the end of each that tells which one matched. It
matches a line only when lexing it would give the token types of one of its shapes, or those of a line of one of its acts;
but that a word is no keyword has to be seen afterwards, for an expression that looks for all of them is slow to make.
"""

import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from cylfile.text.acts import GAP, LINE_END, Act

_WORD_END = "(?![A-Za-z0-9._/-])"
_NAMES = frozenset(("NAME", "COUNT"))


class Matcher:
    """
    Matches whole lines, from the indent that `indent` matches to the line end, of some acts of one place.

    `match(text, offset)` gives a match object or None; `shapes` maps the `lastindex` of a match
    to its shape or act and to the numbers of the groups that hold its values. A match of which a value
    is a keyword is none. `others` matches lines of some shapes, which are few where there are acts and have
    many groups, each of which costs something at every match; without acts they are matched here.
    """

    __slots__ = ("match", "shapes", "others", "_groups")

    def __init__(
        self, acts: Sequence[Act], shapes: Sequence, terminals: dict[str, str], keywords: dict[str, str], indent: str
    ):
        self.others: Any = never
        tree: dict = {}
        if acts and shapes:
            self.others = Matcher((), shapes, terminals, keywords, indent)
            shapes = ()
        for shape in shapes:
            if _can_match(shape.terminals, terminals):
                node = tree
                for terminal in shape.terminals:
                    node = node.setdefault(terminal, {})
                node[None] = shape
        values = _expressions(terminals)
        words = {terminal: re.escape(text) for text, terminal in keywords.items()}
        self.shapes: dict[int, tuple] = {}
        self._groups = 0
        expressions = [self._act(act, words | values, indent) for act in acts]
        if tree:
            grouped = {terminal: f"({expression})" for terminal, expression in values.items()}
            expressions.append(indent + self._branches(tree, words | grouped, (), ""))
        self.match = re.compile("|".join(expressions)).match if expressions else never.match

    def _act(self, act: Act, words: dict[str, str], indent: str) -> str:
        before = self._groups
        self._groups += len(act.values) + 1
        self.shapes[self._groups] = (act, tuple(range(before + 1, self._groups)))
        return f"{act.expression(words, before, indent)}()"

    def _branches(self, node: dict, words: dict[str, str], groups: tuple[int, ...], gap: str) -> str:
        """The expression of what may follow once the shapes of `node` have matched up to here."""
        branches = []
        for terminal, below in node.items():
            held = groups
            if terminal is not None:
                if words[terminal].startswith("("):
                    self._groups += 1
                    held = (*groups, self._groups)
                branches.append(words[terminal] + self._branches(below, words, held, GAP))
        expression = gap + (branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})")
        if None not in node:
            return expression
        self._groups += 1
        self.shapes[self._groups] = (node[None], groups)
        return f"(?:{expression}|{LINE_END}())" if branches else f"{LINE_END}()"


class Matchers(dict):
    """Matchers by their places, or by what else `make` makes them of when they are asked for; of no place none."""

    def __init__(self, make: Callable[[Any], Any]):
        super().__init__({None: never})
        self._make = make

    def __missing__(self, key: Any) -> Any:
        matcher = self[key] = self._make(key)
        return matcher


class _Never:
    """A matcher that knows no shape."""

    shapes: dict = {}

    @staticmethod
    def match(text, offset, end):
        return None


never: Any = _Never()
never.others = never


def _can_match(shape_terminals, terminals) -> bool:
    """Whether a shape is worth the expression: one of fewer than two values is not. See `_expressions` for names."""
    values = [terminal for terminal in shape_terminals if terminal in terminals]
    return len(values) > 1 and not any(map(_NAMES.issuperset, pairwise(shape_terminals)))


def _expressions(terminals: dict[str, str]) -> dict[str, str]:
    """
    By terminals, what matches a word where the lexer would find one of them; NAME matches keywords too, and no name
    that looks like a figure. COUNT matches the number of a figure too, whose unit nothing then matches: it is no
    keyword, and no name comes after a name.
    """
    figure = f"[0-9][0-9.:-]*[A-Za-z/%]{{0,4}}[0-9]?{_WORD_END}"
    return {
        **{terminal: f"(?>{pattern})" for terminal, pattern in terminals.items()},
        "NAME": f"(?!{figure}|{terminals['DIGEST']})(?>{terminals['NAME']})",
        "COUNT": f"(?!{terminals['DIGEST']})(?>{terminals['COUNT']})",
    }
