"""
The table of a parser that lark has made, without lark: for each state what each terminal does there.

It is all that reading a line needs. It is kept (`made`), so that lark itself is only needed where the program is installed.
"""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

# What lark calls the end of a line.
END = "$END"


class Slot(NamedTuple):
    """A leaf of a shape's tree: the value at `index` of a sentence of this shape."""

    index: int  # type: ignore[assignment]  # in place of what tuples call so
    terminal: str


class Tree:
    """
    lark's tree, as those see it who read a shape: the rule, and the parts of which it was made.

    A part is a tree or a `Slot`; the rule tells which.
    """

    __slots__ = ("data", "children")

    def __init__(self, data: str, children: list[Any]):
        self.data = data
        self.children = children


class Rule(NamedTuple):
    """
    One form of a rule of the grammar: its `name`, and of each of its symbols in turn whether it is a part of the tree.

    `tree` is what the tree is called; None where there is none, for its parts are those of the tree that it is in.
    One that `may_be_its_part` is no tree of its own where it has one part.
    """

    name: str
    is_part: tuple[bool, ...]
    tree: str | None
    may_be_its_part: bool

    def made_of(self, values: Iterable[Any]) -> Any:
        """What lark makes of the parts of this rule: a tree, a list of parts, or the one part."""
        parts: list[Any] = []
        for is_part, value in zip(self.is_part, values):
            if isinstance(value, list):
                parts += value
            elif is_part:
                parts.append(value)
        if self.tree is None:
            return parts
        return parts[0] if self.may_be_its_part and len(parts) == 1 else Tree(self.tree, parts)


class Refused(NamedTuple):
    """The first of some terminals that does not fit, by its index, and the states of the parser before it."""

    index: int  # type: ignore[assignment]  # in place of what tuples call so
    states: tuple[int, ...]


class ParseTable:
    """
    By state, for each terminal and name of a rule: the state that follows, or the `Rule` that is whole before it.

    Where the parser is are its `states`, the last one on top. `starts` and `ends` are those of each place.
    """

    def __init__(self, states: dict[int, dict[str, int | Rule]], starts: dict[str, int], ends: dict[str, int]):
        self._states = states
        self._starts = starts
        self._ends = ends

    def begin(self, place: str) -> list[int]:
        """Where the parser is before the first word of a sentence of a place."""
        return [self._starts[place]]

    def parse(self, place: str, terminals: Sequence[str], valued: Any) -> Tree | Refused:
        """The tree of a sentence of these terminals, with a slot for each that is among those `valued`."""
        rows, states = self._states, self.begin(place)
        values: list[Any] = []
        slots = 0
        for index, terminal in enumerate((*terminals, END)):
            while (does := rows[states[-1]].get(terminal)) is not None:
                if isinstance(does, int):
                    states.append(does)
                    values.append(Slot(slots, terminal))
                    slots += terminal in valued
                    break
                first = len(values) - len(does.is_part)
                made = does.made_of(values[first:])
                del values[first:], states[first + 1 :]
                states.append(rows[states[-1]][does.name])  # type: ignore[arg-type]  # a rule leads to a state
                values.append(made)
                if terminal == END and states[-1] == self._ends[place]:
                    return made
            else:
                return Refused(index, tuple(states))
        raise AssertionError("a line ends or is refused")

    def after(self, states: Sequence[int], terminal: str) -> list[int]:
        """Where the parser is after one more terminal; no state where that cannot be there."""
        rows, after = self._states, [*states]
        while after and (does := rows[after[-1]].get(terminal)) is not None:
            if isinstance(does, int):
                return [*after, does]
            del after[len(after) - len(does.is_part) :]
            after.append(rows[after[-1]][does.name])  # type: ignore[arg-type]
            if terminal == END and after[-1] in self._ends.values():
                return after
        return []

    def accepted(self, states: Sequence[int]) -> set[str]:
        """The terminals that can be where the parser is; none where it is nowhere."""
        return (
            {word for word in self._states[states[-1]] if word.isupper() and self.after(states, word)}
            if states
            else set()
        )


def table_of(lark: Any) -> ParseTable:
    """The table of a parser that lark has made."""
    made = lark.parser.parser.parser.parse_table
    rules = {rule: _rule(rule) for rule in lark.rules}
    # In many states the same follows.
    rows: dict[tuple, dict[str, int | Rule]] = {}

    def row(actions: dict) -> dict[str, int | Rule]:
        does = {str(name): does if isinstance(does, int) else rules[does] for name, (_, does) in actions.items()}
        return rows.setdefault(tuple(does.items()), does)

    return ParseTable(
        {state: row(actions) for state, actions in made.states.items()}, made.start_states, made.end_states
    )


def _rule(rule: Any) -> Rule:
    """Of a rule whose name begins with `_` the tree has only the parts; a `?` before it in the grammar is lark's `expand1`."""
    name = str(rule.origin.name)
    is_part = tuple(not (symbol.is_term and symbol.filter_out) for symbol in rule.expansion)
    tree = None if name.startswith("_") else str(rule.alias or rule.options.template_source or name)
    return Rule(name, is_part, tree, bool(rule.options.expand1 and not rule.alias))
