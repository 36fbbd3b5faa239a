"""
A language of one-line sentences: its words, its sentences and the shape memo.

The grammar is lark's and stays the one source of truth. But the LALR parse of a line
depends only on the types of its tokens, its *shape*. So lark parses the first line of
every shape, and the shape keeps the parse tree together with one regular expression,
put together from lark's own terminals, that matches exactly the lines of this shape.
Later lines of a known shape are matched, not parsed.
"""

from functools import cached_property
from itertools import islice
import re
from typing import Iterator, NamedTuple

from cylfile.text.explain import explain
from cylfile.text.grammar import load_parser
from cylfile.text.source import Fault, Source, Span

# Never matched by a sentence; they stand in every grammar so that no text is unlexable.
_LAYOUT = ("BLANK", "COMMENT")
# A text longer than this is not a line that somebody wrote. It is refused unread, so that a
# hostile or broken file costs no time.
LONGEST_LINE = 20_000
# How many shapes are tried on a line before it is lexed.
_TRIED = 6


class Token(NamedTuple):
    """A word of a text: the terminal it belongs to, its letters, and its offset in the text."""

    type: str
    text: str
    start: int

    @property
    def end(self) -> int:
        return self.start + len(self.text)


class Slot(NamedTuple):
    """A leaf of a shape's tree: the value at `index` of a sentence of this shape."""

    index: int
    terminal: str


class Shape:
    """
    What all lines with the same sequence of token types have in common.

    `tree` is lark's parse tree with a `Slot` in place of every word that carries a value;
    `terminals` are the token types, keywords among them; `pattern` matches a whole line of
    this shape, indent, comment and line end included, with one group a slot, or is None
    where words of the line can only be told apart by lexing.
    """

    __slots__ = ("place", "terminals", "tree", "pattern")

    def __init__(self, place: str, terminals: tuple[str, ...], tree, pattern):
        self.place = place
        self.terminals = terminals
        self.tree = tree
        self.pattern = pattern

    def __repr__(self) -> str:
        return f"Shape({self.place}: {' '.join(self.terminals)})"


class Sentence(NamedTuple):
    """A line that could be read: its shape, the words that fill the slots, and its offset."""

    shape: Shape
    values: tuple[str, ...]
    start: int


class Damaged(NamedTuple):
    """A line that could not be read, from `start` to `end`, and what is wrong with it."""

    start: int
    end: int
    fault: Fault


class Language:
    """The words and sentences of one grammar file; `places` are its start rules."""

    def __init__(self, file_name: str, places: tuple[str, ...]):
        self.file_name = file_name
        self.places = places
        self._shapes: dict[tuple, Shape | Fault] = {}
        # Per place, the shapes seen, the last used first: a sheet is many lines of few shapes.
        self.recent: dict[str, list[Shape]] = {place: [] for place in places}

    @cached_property
    def _lark(self):
        return load_parser(self.file_name, (*self.places, "unreadable"))

    @cached_property
    def _terminals(self) -> dict[str, re.Pattern | str]:
        """Regular expressions of the terminals that are not keywords, in the order lark tries them."""
        from lark.lexer import PatternStr

        found = [t for t in self._lark.terminals if not isinstance(t.pattern, PatternStr)]
        found.sort(key=lambda t: (-t.priority, -t.pattern.max_width, -len(t.pattern.value), t.name))
        return {t.name: t.pattern.to_regexp() for t in found}

    @cached_property
    def keywords(self) -> dict[str, str]:
        """Text of every keyword and operator -> name of its terminal."""
        from lark.lexer import PatternStr

        return {t.pattern.value: t.name for t in self._lark.terminals if isinstance(t.pattern, PatternStr)}

    @cached_property
    def keyword_terminals(self) -> dict[str, str]:
        """Name of every terminal that is a keyword or operator -> its text."""
        return {terminal: text for text, terminal in self.keywords.items()}

    @cached_property
    def _lexer(self):
        words = [f"(?P<{name}>{pattern})" for name, pattern in self._terminals.items()]
        names = re.compile(self._terminals["NAME"])
        marks = [text for text in self.keywords if not names.fullmatch(text)]
        marks.sort(key=len, reverse=True)
        if marks:
            # Operators come after the figures and names, before what cannot be read.
            at = next(i for i, word in enumerate(words) if word.startswith(("(?P<OPEN_TEXT>", "(?P<STRAY>")))
            words.insert(at, f"(?P<MARK>{'|'.join(map(re.escape, marks))})")
        return re.compile("|".join(words))

    def tokens(self, text: str, start: int = 0, end: int | None = None) -> Iterator[Token]:
        """All tokens of a stretch of text, layout and unreadable words too: joined, they are the text."""
        keywords = self.keywords
        for found in self._lexer.finditer(text, start, len(text) if end is None else end):
            kind, word = found.lastgroup, found.group()
            if kind in ("NAME", "MARK"):
                kind = keywords.get(word, kind)
            yield Token(kind, word, found.start())

    def words(self, text: str, start: int = 0, end: int | None = None) -> list[Token]:
        """The tokens that count: neither blank nor comment."""
        return [token for token in self.tokens(text, start, end) if token.type not in _LAYOUT]

    def words_of(self, text: str, start: int, count: int) -> list[Token]:
        """The first `count` words of a text from `start` on: those of a sentence that stands there."""
        words = (token for token in self.tokens(text, start) if token.type not in _LAYOUT)
        return list(islice(words, count))

    def read(self, source: Source, start: int, end: int, place: str) -> Sentence | Damaged:
        """
        Read the logical line of `source` that runs from `start` to `end` as a sentence of `place`.

        The line is not blank. Nothing is ever guessed or left out: a line that the grammar
        refuses comes back whole as `Damaged`, with the place of the first word that does not fit.
        """
        if end - start > LONGEST_LINE:
            text = f"a line of {end - start:,} characters; the longest that is read has {LONGEST_LINE:,}"
            return Damaged(start, end, Fault(Span(source, start, start + 80), text, "Was the file damaged?"))
        words = self.words(source.text, start, end)
        terminals = tuple(word.type for word in words)
        shape = self._shapes.get((place, terminals))
        if shape is None:
            outcome = self._parse(words, place)
            if isinstance(outcome, tuple):
                return Damaged(start, end, explain(self, source, words, *outcome))
            shape = Shape(place, terminals, outcome, self._pattern(terminals))
            self._shapes[place, terminals] = shape
        if shape.pattern is not None:
            recent = self.recent[place]
            if shape in recent:
                recent.remove(shape)
            recent.insert(0, shape)
            del recent[_TRIED:]
        return Sentence(shape, tuple(word.text for word in words if word.type in self._terminals), start)

    def _parse(self, words: list[Token], place: str):
        """The tree of a line with slots for leaves, or (index of the word that does not fit, what would)."""
        from lark import Token as LarkToken, UnexpectedToken

        parser = self._lark.parse_interactive(start=place)
        slots = 0
        for index, word in enumerate(words):
            try:
                parser.feed_token(LarkToken(word.type, word.text, start_pos=slots))
            except UnexpectedToken:
                return index, parser.accepts()
            slots += word.type in self._terminals
        try:
            return _with_slots(parser.feed_eof(LarkToken("$END", "")))
        except UnexpectedToken:
            return len(words), parser.accepts()

    def _pattern(self, terminals: tuple[str, ...]):
        """The regular expression of a shape; see `Shape`."""
        parts = []
        for here, after in zip(terminals, (*terminals[1:], None)):
            if here in self._terminals:
                # Only lexing tells whether `12 C` is a count and a name or a temperature.
                if here == "COUNT" and after in self._terminals:
                    return None
                parts.append(f"({self._exactly(here)})")
            else:
                parts.append(re.escape(self.keyword_terminals[here]))
        return re.compile("[ \t]*+" + "[ \t]++".join(parts) + "[ \t]*+(?:#[^\n]*+)?+(?:\r?\n|\\Z)")

    @cached_property
    def _not_a_name(self) -> str:
        """Lookaheads that keep NAME from matching what lark would take for another word."""
        end = "(?![A-Za-z0-9._/-])"
        figures = [p for name, p in self._terminals.items() if name not in (*_LAYOUT, "NAME", "TEXT", "OPEN_TEXT", "STRAY")]
        return f"(?!(?=[0-9a-f])(?:{'|'.join(figures)}))(?!(?:{_any_of(self.keywords)}){end})"

    def _exactly(self, terminal: str) -> str:
        pattern = self._terminals[terminal]
        return f"{self._not_a_name}(?>{pattern})" if terminal == "NAME" else f"(?>{pattern})"


def _with_slots(tree):
    """Lark's tree with slots for leaves; a token was fed in with its slot's number as its position."""
    tree.children = [
        _with_slots(child) if hasattr(child, "children") else Slot(child.start_pos, child.type) for child in tree.children
    ]
    tree.data = str(tree.data)
    return tree


def _any_of(words) -> str:
    """One expression for any of `words`, branching letter by letter so that it is quick to refuse."""
    branches: dict[str, list[str]] = {}
    whole = False
    for word in words:
        if word:
            branches.setdefault(word[0], []).append(word[1:])
        else:
            whole = True
    if not branches:
        return ""
    alternatives = "|".join(re.escape(first) + _any_of(rests) for first, rests in sorted(branches.items()))
    return f"(?:{alternatives}){'?' if whole else ''}"
