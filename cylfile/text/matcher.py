"""
The lines of known shapes, read with one regular expression.

The expression is put together from lark's own terminals: a tree of the shapes, branching
where they differ, with an empty group at the end of each that tells which one matched. It
matches a line only when lexing it would give the token types of one of its shapes; but that a word
is no keyword has to be seen afterwards, for an expression that looks for all of them is slow to make.
"""

import re

_LINE_END = "[ \t]*+(?:#[^\n]*+)?+(?:\r?\n|\\Z)"
_WORD_END = "(?![A-Za-z0-9._/-])"


class Matcher:
    """
    Matches whole lines, from the indent that `indent` matches to the line end, of some shapes of one place.

    `match(text, offset)` gives a match object or None; `shapes` maps the `lastindex` of a match
    to its shape and to the numbers of the groups that hold the shape's values. A match of which a value
    is a keyword is none. `size` is the number of shapes that it was made of.
    """

    __slots__ = ("match", "shapes", "size", "_groups")

    def __init__(self, shapes, terminals: dict[str, str], keywords: dict[str, str], indent: str):
        texts = {terminal: text for text, terminal in keywords.items()}
        tree: dict = {}
        for shape in shapes:
            if _can_match(shape.terminals, terminals):
                node = tree
                for terminal in shape.terminals:
                    node = node.setdefault(terminal, {})
                node[None] = shape
        words = {terminal: re.escape(text) for terminal, text in texts.items()}
        words.update({terminal: f"((?>{pattern}))" for terminal, pattern in terminals.items()})
        words["NAME"] = f"({_no_figure(terminals)}(?>{terminals['NAME']}))"
        words["COUNT"] = f"((?!{terminals['DIGEST']})(?>{terminals['COUNT']}))"
        self.shapes: dict[int, tuple] = {}
        self.size = len(shapes)
        self._groups = 0
        self.match = re.compile(indent + self._branches(tree, words, (), "")).match if tree else never.match

    def _branches(self, node: dict, words: dict[str, str], groups: tuple[int, ...], gap: str) -> str:
        """The expression of what may follow once the shapes of `node` have matched up to here."""
        branches = []
        for terminal, below in node.items():
            held = groups
            if terminal is not None:
                if words[terminal].startswith("("):
                    self._groups += 1
                    held = (*groups, self._groups)
                branches.append(words[terminal] + self._branches(below, words, held, "[ \t]++"))
        expression = gap + (branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})")
        if None not in node:
            return expression
        self._groups += 1
        self.shapes[self._groups] = (node[None], groups)
        return f"(?:{expression}|{_LINE_END}())" if branches else f"{_LINE_END}()"


class _Never:
    """A matcher that knows no shape."""

    shapes: dict = {}
    size = 0

    @staticmethod
    def match(text, offset, end):
        return None


never = _Never()


def _can_match(shape_terminals, terminals) -> bool:
    """
    Whether a line of this shape can be told without lexing it.

    Only lexing tells whether `12 C` is a count and a name or a temperature. A shape of fewer
    than two values is not worth the expression.
    """
    values = [terminal for terminal in shape_terminals if terminal in terminals]
    pairs = zip(shape_terminals, shape_terminals[1:])
    return len(values) > 1 and not any(here == "COUNT" and after in terminals for here, after in pairs)


def _no_figure(terminals: dict[str, str]) -> str:
    """Keeps NAME from matching what may be a figure, and so be another word to the lexer: digits, with or without a unit."""
    return f"(?![0-9][0-9.:-]*[A-Za-z/%]{{0,4}}[0-9]?{_WORD_END}|{terminals['DIGEST']})"
