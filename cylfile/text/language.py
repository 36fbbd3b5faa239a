"""
A language of one-line sentences: its words, its sentences and the shape memo.

The grammar is lark's and stays the one source of truth. But the LALR parse of a line
depends only on the types of its tokens, its *shape*. So the first line of every shape is
parsed, by lark's table, and its tree is kept; later lines of the shape are lexed and not parsed. The
lines of shapes met often are not even lexed: `matcher` reads them with one expression.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import islice, takewhile
from typing import Any, NamedTuple, final

from cylfile.text.acts import GAP, Act, act_of, acts_of
from cylfile.text.grammar import make_parser
from cylfile.text.made import MadeOnce
from cylfile.text.matcher import Matcher, Matchers, act_matcher, shape_matcher
from cylfile.text.parse_table import END, ParseTable, Tree, table_of
from cylfile.text.source import Fault, Source, Span

# Never matched by a sentence; they stand in every grammar so that no text is unlexable.
_LAYOUT = ("BLANK", "COMMENT")
_BLANKS = " \t"
_NAMES = ("NAME", "COUNT")
# Of the group of a terminal: whether no word of it begins with a letter.
_BEGINS_WITH_DIGIT = re.compile(r"\(\?P<\w+>(?:-\?)?\[[01]-9\]")
# A text longer than this is not a line that somebody wrote. It is refused unread, so that a
# hostile or broken file costs no time.
LONGEST_LINE = 20_000
# To make an expression takes as long as to lex some hundred lines, and longer the more shapes there are.
# So one is made for the shapes met often when so many lines of a place were lexed, and again when twice
# as many were: a varied record costs few of them, and a shape that gets common late is not lexed for ever.
_OFTEN = 10
_MANY = 250
# There are few acts, and each has lines of many shapes.
_OFTEN_AN_ACT = 25

# What a NamedTuple's own constructor calls, without the call.
_new_tuple: Any = tuple.__new__


class Token(NamedTuple):
    """A word of a text: the terminal it belongs to, its letters, and its offset in the text."""

    type: str
    text: str
    start: int

    @property
    def end(self) -> int:
        return self.start + len(self.text)


class Shape:
    """
    What all lines with the same sequence of token types have in common.

    `terminals` are the token types, keywords among them; `tree` is lark's parse tree with a
    `Slot` in place of every word that carries a value; `act` is the one whose lines its are, if there is one.
    """

    __slots__ = ("place", "terminals", "tree", "seen", "heading", "act")

    def __init__(self, place: str, terminals: tuple[str, ...], tree: Tree, acts: Mapping[str, Act]):
        self.place = place
        self.terminals = terminals
        self.tree = tree
        self.seen = 0
        self.act = act_of(tree, acts)
        # The rule of the first part: of a header what it opens; None where a line begins with a word.
        first = next(iter(tree.children), None)
        self.heading: str | None = getattr(first, "data", None)

    def __repr__(self) -> str:
        return f"Shape({self.place}: {' '.join(self.terminals)})"


class Sentence(NamedTuple):
    """
    A line that could be read: its shape, the words that fill the slots, and its offset.

    Who asked for lines in any order is given acts in place of shapes: then a value that is not said is None.
    """

    shape: Any
    values: tuple[str, ...]
    start: int


@final
class Damaged(NamedTuple):
    """
    A line that could not be read, from `start` to `end`, and what is wrong with it.

    `names` are those that it mentions, whole numbers among them, where its words were looked at; else None.
    """

    start: int
    end: int
    fault: Fault
    names: frozenset[str] | None = None


class Made(NamedTuple):
    """What lark makes of a grammar; see `Language`."""

    terminals: dict[str, str]
    keywords: dict[str, str]
    acts: dict[str, dict[str, Act]]
    table: ParseTable


class Language:
    """
    The words and sentences of one grammar file; `places` are its start rules.

    Sentences of the first place stand in column 1, all others are indented. Where it `has_acts`, clauses come in any
    order.
    """

    def __init__(self, file_name: str, places: tuple[str, ...], has_acts: bool = False):
        self.file_name = file_name
        self._places = places
        self._has_acts = has_acts
        self._starts = (*places, "unreadable")
        self._kept = MadeOnce(f"{file_name}.table", file_name, self._starts, ("text",))
        # Of token types that are a sentence of a place, their shape; of others, what `_parse` said of them.
        self._shapes: dict[tuple, Shape | tuple] = {}
        self._refusals: dict[tuple, tuple[set[str], list[str], list[str]]] = {}
        # How many lines were lexed, by place and by act; the shapes and the acts met often, and what reads their lines.
        self._top = places[0]
        self._lexed: Counter[str | Act] = Counter()
        self._shapes_often: dict[str, list[Shape]] = {place: [] for place in places}
        self._acts_often: dict[str, list[Act]] = {place: [] for place in places}
        self.matchers = Matchers(lambda place: self.matchers_of(place, (), self._shapes_often[place]))
        self.act_matchers = Matchers(
            lambda place: self.matchers_of(place, self._acts_often[place], self._shapes_often[place])
        )
        self._of_act: dict[Act, Matcher] = {}

    @cached_property
    def _lark(self):
        return make_parser(self.file_name, self._starts)

    @cached_property
    def _made(self) -> Made:
        kept = self._kept.load()
        if kept is not None:
            return kept
        terminals = self._lark_terminals
        acts = acts_of(self._lark.rules if self._has_acts else (), self._places, terminals)
        return Made(terminals, self._lark_keywords, acts, table_of(self._lark))

    def save(self) -> None:
        """Keep all that was made of the grammar by lark."""
        self._kept.save(self._made)

    @cached_property
    def terminals(self) -> dict[str, str]:
        """Regular expressions of the terminals that are not keywords, in the order lark tries them."""
        return self._made.terminals

    @cached_property
    def keywords(self) -> dict[str, str]:
        """Text of every keyword and operator -> name of its terminal."""
        return self._made.keywords

    @property
    def acts(self) -> dict[str, dict[str, Act]]:
        """Of every place its acts by their rules."""
        return self._made.acts

    @property
    def _table(self) -> ParseTable:
        return self._made.table

    @property
    def _lark_terminals(self) -> dict[str, str]:
        from lark.lexer import PatternStr

        found = [t for t in self._lark.terminals if not isinstance(t.pattern, PatternStr)]
        found.sort(key=lambda t: (-t.priority, -t.pattern.max_width, -len(t.pattern.value), t.name))
        # Plain strings: comparing lark's own names costs more than all the rest of a look-up.
        return {str(t.name): t.pattern.to_regexp() for t in found}

    @property
    def _lark_keywords(self) -> dict[str, str]:
        from lark.lexer import PatternStr

        return {t.pattern.value: str(t.name) for t in self._lark.terminals if isinstance(t.pattern, PatternStr)}

    @cached_property
    def keyword_terminals(self) -> dict[str, str]:
        """Name of every terminal that is a keyword or operator -> its text."""
        return {terminal: text for text, terminal in self.keywords.items()}

    @cached_property
    def _lexer(self):
        # Layout first, for half of all tokens is, and no other word begins as it does.
        layout = [f"(?P<{name}>{self.terminals[name]})" for name in _LAYOUT]
        return re.compile("|".join([*layout, *self._words]))

    @cached_property
    def _word_lexer(self):
        """Matches a word with the layout before it; at the end of the text, the layout and no word."""
        layout = "|".join(self.terminals[name] for name in _LAYOUT)
        return re.compile(f"[{_BLANKS}]*+(?:{layout})*+(?:{'|'.join(self._words)}|\\Z)")

    @cached_property
    def _words(self) -> list[str]:
        """A named group for each terminal that is no layout, in the order in which they are tried."""
        words = [f"(?P<{name}>{pattern})" for name, pattern in self.terminals.items() if name not in _LAYOUT]
        names = re.compile(self.terminals["NAME"])
        marks = [text for text in self.keywords if not names.fullmatch(text)]
        marks.sort(key=len, reverse=True)
        if marks:
            # Operators come after the figures and names, before what cannot be read.
            at = next(i for i, word in enumerate(words) if word.startswith(("(?P<OPEN_TEXT>", "(?P<STRAY>")))
            words.insert(at, f"(?P<MARK>{'|'.join(map(re.escape, marks))})")
        # Most words begin with a letter, and none of the figures that are tried first does.
        figures = list(takewhile(_BEGINS_WITH_DIGIT.match, words))
        return [f"(?=[0-9-])(?:{'|'.join(figures)})", *words[len(figures) :]]

    def tokens(self, text: str, start: int = 0, end: int | None = None) -> Iterator[Token]:
        """All tokens of a stretch of text, layout and unreadable words too: joined, they are the text."""
        keywords = self.keywords
        for found in self._lexer.finditer(text, start, len(text) if end is None else end):
            word = found.group()
            yield Token(keywords.get(word, found.lastgroup), word, found.start())

    def words(self, text: str, start: int = 0, end: int | None = None) -> list[Token]:
        """The tokens that count: neither blank nor comment."""
        return list(self.each_word(text, start, end))

    def each_word(self, text: str, start: int, end: int | None) -> Iterator[Token]:
        """Those tokens, one by one."""
        keywords = self.keywords
        for found in self._word_lexer.finditer(text, start, len(text) if end is None else end):
            group = found.lastindex
            if group is None:
                break
            word = found[group]
            yield _new_tuple(Token, (keywords.get(word, found.lastgroup), word, found.start(group)))

    def words_of(self, source: Source, start: int, shape: Shape | Act) -> list[Token]:
        """The words of a sentence that stands at `start`."""
        if isinstance(shape, Act):
            return self.words(source.text, start, source.line_end(start))
        return list(islice(self.each_word(source.text, start, None), len(shape.terminals)))

    def value_span(self, source: Source, start: int, shape: Shape | Act, index: int) -> Span:
        """The place of one of the values of a sentence that stands at `start`."""
        if isinstance(shape, Act):
            found = self._matcher_of(shape).match(source.text, start, len(source.text))
            return Span(source, *found.span(index + 1))
        valued = [word for word in self.words_of(source, start, shape) if word.type in self.terminals]
        return Span(source, valued[index].start, valued[index].end)

    def extent(self, source: Source, start: int, shape: Shape | Act) -> tuple[int, int]:
        """Where the first of those words begins and the last of them ends, without a token for each."""
        text, end, count = source.text, None, None
        if isinstance(shape, Act):
            end = source.line_end(start)
            line = text[start:end]
            if "#" not in line:
                # There is no comment, so that nothing but blanks is around the words.
                return start + len(line) - len(line.lstrip(_BLANKS)), start + len(line.rstrip(_BLANKS))
        else:
            count = len(shape.terminals)
        found_in = self._word_lexer.finditer(text, start, len(text) if end is None else end)
        spans = list(islice((found.span(found.lastgroup) for found in found_in if found.lastgroup), count))
        return spans[0][0], spans[-1][1]

    def read(self, source: Source, start: int, end: int, place: str) -> Sentence | Damaged:
        """
        Read the logical line of `source` that runs from `start` to `end` as a sentence of `place`.

        The line is not blank. Nothing is ever guessed or left out: a line that the grammar
        refuses comes back whole as `Damaged`, with the place of the first word that does not fit.
        """
        if end - start > LONGEST_LINE:
            text = f"a line of {end - start:,} characters; the longest that is read has {LONGEST_LINE:,}"
            return Damaged(start, end, Fault(Span(source, start, start + 80), text, "Was the file damaged?"))
        kinds, values, all_found = [], [], []
        keywords, values_in = self.keywords, self.terminals
        for found in self._word_lexer.finditer(source.text, start, end):
            group = found.lastindex
            if group is None:
                break
            word = found[group]
            kind = keywords.get(word, found.lastgroup)
            kinds.append(kind)
            all_found.append(found)
            if kind in values_in:
                values.append(word)
        shape = self._known(place, tuple(kinds))
        if not isinstance(shape, Shape):
            words = [
                _new_tuple(Token, (kind, found[found.lastindex], found.start(found.lastindex)))
                for kind, found in zip(kinds, all_found)
            ]
            names = frozenset([word.text for word in words if word.type in _NAMES])
            return Damaged(start, end, self._refused(source, words, shape), names)
        self._note(shape)
        return _new_tuple(Sentence, (shape, tuple(values), start))

    def read_alone(self, text: str, place: str) -> Sentence | Damaged:
        """Read a line of `place` that stands by itself, without an indent; by its act, where that is met often."""
        # What reads the lines of a place looks for their indent.
        line = text if place == self._top else f" {text}"
        for match, act, _ in self.act_matchers[place]:
            found = match(line) if act is not None else None
            if found is not None and self.keywords.keys().isdisjoint(found.groups()):
                return Sentence(act, found.groups(), 0)
        return self.read(Source("", text), 0, len(text), place)

    def in_order(self, source: Source, line: Sentence) -> Sentence:
        """A sentence by its shape, where it was given by its act: its line is read again."""
        if isinstance(line.shape, Shape):
            return line
        read = self.read(source, line.start, source.line_end(line.start), line.shape.place)
        assert isinstance(read, Sentence), "a line of an act has a shape"
        return read

    def shape(self, source: Source, words: list[Token], place: str) -> Shape | Fault:
        """The shape of some words of a source that are a sentence of `place`; a fault where they are none."""
        known = self._known(place, tuple([word.type for word in words]))
        return known if isinstance(known, Shape) else self._refused(source, words, known)

    def _refused(self, source: Source, words: list[Token], why: tuple) -> Fault:
        # What there is to say of lines that are no sentence is not needed where all are.
        from cylfile.text.refusals import explain

        return explain(self, source, words, *why)

    def _known(self, place: str, terminals: tuple[str, ...]) -> Shape | tuple:
        """The shape of token types that are a sentence of a place; of others, what `_parse` says of them."""
        known = self._shapes.get((place, terminals))
        if known is None:
            outcome = self._parse(terminals, place)
            known = outcome if isinstance(outcome, tuple) else Shape(place, terminals, outcome, self.acts[place])
            self._shapes[place, terminals] = known
        return known

    def shape_of_tree(self, place: str, terminals: tuple[str, ...], tree: Tree) -> Shape:
        """The shape of token types of which somebody has the tree already."""
        return self._shapes.setdefault((place, terminals), Shape(place, terminals, tree, self.acts[place]))  # type: ignore[return-value]

    def _note(self, shape: Shape) -> None:
        """Take note of a line that was lexed: what is met often gets a matcher."""
        place, act = shape.place, shape.act
        if act is not None:
            self._lexed[act] += 1
            if self._lexed[act] == _OFTEN_AN_ACT:
                self._acts_often[place].append(act)
                self.act_matchers.pop(place, None)
        shape.seen += 1
        if shape.seen == _OFTEN:
            self._shapes_often[place].append(shape)
        self._lexed[place] += 1
        times, rest = divmod(self._lexed[place], _MANY)
        if not rest and times.bit_count() == 1:
            self.matchers.pop(place, None)
            self.act_matchers.pop(place, None)

    def matchers_of(self, place: str, acts: Sequence[Act], shapes: Iterable[Shape]) -> Sequence[Matcher]:
        """What reads lines of a place that are of these acts, or of those of these shapes that are of no such act."""
        others = [shape for shape in shapes if shape.act not in acts]
        of_shapes = shape_matcher(others, self.terminals, self.keywords, self._indent(place))
        return (*map(self._matcher_of, acts), *([of_shapes] if of_shapes else ()))

    def _matcher_of(self, act: Act) -> Matcher:
        matcher = self._of_act.get(act)
        if matcher is None:
            matcher = self._of_act[act] = act_matcher(act, self.terminals, self.keywords, self._indent(act.place))
        return matcher

    def _indent(self, place: str) -> str:
        return "" if place == self._top else GAP

    def may_begin(self, place: str) -> set[str]:
        """The terminals that a sentence of a place can begin with."""
        return self.may_follow(place, ())

    def may_follow(self, place: str, terminals: Iterable[str]) -> set[str]:
        """The terminals with which a sentence that begins with these could go on, `$END` among them; none where none does."""
        states = self._table.begin(place)
        for terminal in terminals:
            states = self._table.after(states, terminal)
        return self._table.accepted(states)

    def _parse(self, terminals: tuple[str, ...], place: str) -> Tree | tuple:
        """
        The tree of a line of these token types, with slots for leaves.

        Of a line that is no sentence: the index of the word that does not fit, the terminals that
        would, the keywords that would make it fit if one of them stood before it, and all keywords
        that would, with those that must follow them.
        """
        outcome = self._table.parse(place, terminals, self.terminals)
        if isinstance(outcome, Tree):
            return outcome
        return outcome.index, *self._refusal(outcome.states, (*terminals, END)[outcome.index])

    def _refusal(self, states: tuple[int, ...], terminal: str) -> tuple[set[str], list[str], list[str]]:
        """
        What fits where the parser is and a word of a terminal does not. Of the keywords that do, those that
        may be followed by that word; and all, with those that must follow them: `out of service`.
        """
        if (states, terminal) not in self._refusals:
            leading, phrases = [], []
            accepted = self._table.accepted(states)
            for keyword in accepted & self.keyword_terminals.keys():
                ahead = self._table.after(states, keyword)
                if self._table.after(ahead, terminal):
                    leading.append(self.keyword_terminals[keyword])
                phrase = [self.keyword_terminals[keyword]]
                while len(follows := self._table.accepted(ahead)) == 1 and follows <= self.keyword_terminals.keys():
                    (following,) = follows
                    phrase.append(self.keyword_terminals[following])
                    ahead = self._table.after(ahead, following)
                phrases.append(" ".join(phrase))
            self._refusals[states, terminal] = accepted, sorted(leading), sorted(phrases)
        return self._refusals[states, terminal]
