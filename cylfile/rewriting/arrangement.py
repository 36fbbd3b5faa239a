"""
How the words of one sentence are set: which of them stand together, in what order and how far apart.

An arrangement depends on the shape of a sentence alone, so one serves all sentences of a shape. Sentences that are
given by their acts have the shape of what they say in canonical order.
"""

import re
from collections.abc import Callable, Sequence
from functools import cache
from itertools import count
from typing import Any, NamedTuple

from cylfile.record.plans import slots
from cylfile.record.vocabulary import CORRECTIONS, ENTRY_RULES, SHEETS, STRUCK, TELLS, Clause, Verb
from cylfile.text.acts import Act
from cylfile.text.language import Damaged, Sentence, Shape, Token
from cylfile.text.ledger import LEDGER, TOP
from cylfile.text.parse_table import Slot, Tree
from cylfile.text.source import Source
from cylfile.text.spelling import american
from cylfile.text.units import UNITS

# A line longer than this has its remark and its corrections, or a waiver's reason, on lines of their own.
LONGEST_LINE = 100
INDENT = "  "
FURTHER_IN = "    "
_GAP = 2
# The gap before a correction: it should catch the eye.
_CORRECTION_GAP = 4
# The text of a waiver.
_REASON = "reason"
_MAY_BREAK = ("remark", *CORRECTIONS, _REASON)
PROPERTY = "property"

_DAY_AND_TIME_WIDTH = len("2026-03-14 09:42")
# A name on a sheet is padded to the first of 6, 10, 14, ... that holds it.
_FIRST_STOP, _STOP = 6, 4
_ROWS = {row.row_rule: row for row in SHEETS.values()}

_QUANTITY = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)[ \t]*°?(.+)")


class Piece(NamedTuple):
    """
    Words of a sentence that stand together: those numbered from `first` up to `end`.

    `gap` is the number of spaces before them, `width` what they are padded to where another
    piece follows on the line; with `to_stop` they are padded to the next stop. `field` is the
    clause that they are, or `PROPERTY` for the word that a property begins with.
    """

    first: int
    end: int
    gap: int = _GAP
    field: str = ""
    width: int = 0
    to_stop: bool = False


class _Template(NamedTuple):
    """The text of some pieces, with a `%s` for each of the values in these places, and how each of them is written."""

    text: str
    values: tuple[tuple[int, Callable[[str], str]], ...]

    def filled(self, values: Sequence[str]) -> str:
        return self.text % tuple([write(values[place]) for place, write in self.values])


class Arrangement:
    """
    How the sentences of a shape are set: their `pieces`, in canonical order.

    `order` are the places of their values among those that are given; without it they are in the order of the words.
    """

    __slots__ = ("pieces", "_words", "_whole")

    def __init__(self, shape: Shape, order: Sequence[int] | None = None):
        self.pieces = _pieces(shape)
        places = iter(order) if order is not None else count()
        # Of each word its text, or the place of its value and how that is written.
        self._words = [
            _keyword(terminal) if terminal in LEDGER.keyword_terminals else (next(places), _writer(terminal))
            for terminal in shape.terminals
        ]
        self._whole: dict[tuple[str | None, int], _Template] = {}

    def lines(
        self,
        values: Sequence[str],
        indent: str,
        further_in: str | None,
        gap: str | None = None,
        property_width: int = 0,
    ) -> list[str]:
        """
        The physical lines of a sentence of these values; those after the first stand `further_in`,
        and with None there are none.

        With `gap`, that parts all pieces that stand apart, and none is padded.
        """
        template = self._whole.get((gap, property_width))
        if template is None:
            template = self._whole[gap, property_width] = self._template(self.pieces, gap, property_width)
        line = indent + template.filled(values)
        if len(line) <= LONGEST_LINE or further_in is None:
            return [line]
        broken_off = [piece for piece in self.pieces if piece.field in _MAY_BREAK]
        if not broken_off:
            return [line]
        first = [piece for piece in self.pieces if piece.field not in _MAY_BREAK]
        others = [further_in + self._template([piece], gap).filled(values) for piece in broken_off]
        return [indent + self._template(first, gap, property_width).filled(values), *others]

    def _template(self, pieces: list[Piece], gap: str | None, property_width: int = 0) -> _Template:
        text, values = "", []
        for number, piece in enumerate(pieces):
            if number:
                text += " " * piece.gap if gap is None or piece.gap == 1 else gap
            words = self._words[piece.first : piece.end]
            said = " ".join(word if isinstance(word, str) else "%s" for word in words)
            own = [word for word in words if not isinstance(word, str)]
            if number + 1 < len(pieces) and gap is None:
                width = property_width if piece.field == PROPERTY else piece.width
                if piece.to_stop:
                    own = [(place, _to_stop) for place, _ in own]
                elif own and width:
                    # What is padded ends with its only value.
                    said = f"{said.removesuffix('%s')}%-{max(0, width - len(said) + len('%s'))}s"
                else:
                    said = said.ljust(width)
            text += said
            values += own
        return _Template(text, tuple(values))


def arrange(sentence: Sentence) -> Arrangement:
    """How a sentence is set: for `Arrangement.lines` of its values."""
    act, values, _ = sentence
    if isinstance(act, Shape):
        return _of_shape(act)
    keywords = [value and value.lstrip(" \t") for value in map(values.__getitem__, _keyword_places(act))]
    return _of_act(act, tuple(map(bool, values)), tuple(keywords))


@cache
def _of_shape(shape: Shape) -> Arrangement:
    return Arrangement(shape)


@cache
def _keyword_places(act: Act) -> list[int]:
    """The places of the values of an act that are keywords."""
    return [place for place, part in enumerate(act.values) if part.is_keyword]


@cache
def _of_act(act: Act, is_said: tuple[bool, ...], keywords: tuple[str | None, ...]) -> Arrangement:
    """How the sentences of an act are set that say these of its values; of those that are keywords it is told which."""
    keyword_at = dict(zip(_keyword_places(act), keywords))
    terminals: list[str] = []
    order, places = [], count()
    for part in (*act.head, *act.clauses):
        place = next(places) if part.terminals else None
        if place is None or is_said[place]:
            terminals += map(min, part.before)
        if place is not None and is_said[place]:
            keyword = keyword_at.get(place)
            terminals.append(LEDGER.keywords[keyword] if keyword else part.terminals[0])
            if not keyword:
                order.append(place)
    shape = LEDGER.shape(Source("", ""), [Token(terminal, "", 0) for terminal in terminals], act.place)
    assert isinstance(shape, Shape), "what an act takes is a sentence"
    return Arrangement(shape, order)


def _pieces(shape: Shape) -> list[Piece]:
    """The pieces of the sentences of a shape, in canonical order."""
    words = len(shape.terminals)
    children = shape.tree.children
    valued = [number for number, terminal in enumerate(shape.terminals) if terminal in LEDGER.terminals]
    if shape.place in _ROWS:
        return _row(_ROWS[shape.place], children, valued)
    if isinstance(children[0], Slot):
        return _entry(shape.place, children, valued)
    rule = children[0].data
    if shape.place != TOP:
        return _property(words, children, valued)
    if rule in SHEETS:
        heading = valued[0] + 1
        clauses = _clauses(children[0].children[1:], heading, valued, SHEETS[rule].clauses, padded=False)
        # The place comes first: it is what a reader looks for.
        clauses.sort(key=lambda piece: TELLS.index(piece.field) if piece.field in TELLS else len(TELLS))
        return [Piece(0, heading, 0), *clauses]
    if rule == "waived":
        return [Piece(0, words - 1, 0), Piece(words - 1, words, 1, _REASON)]
    return [Piece(0, words, 0)]


def _property(words: int, children: list[Any], valued: list[int]) -> list[Piece]:
    """The line of a head; where it is struck, the strike begins a word before its first value."""
    strike = next((next(slots(tree)).index for tree in children if tree.data == STRUCK.field), None)
    end = words if strike is None else valued[strike] - 1
    pieces = [Piece(0, 1, 0, PROPERTY), Piece(1, end)] if end > 1 else [Piece(0, 1, 0)]
    return pieces if strike is None else [*pieces, Piece(end, words, _CORRECTION_GAP, STRUCK.field)]


def _row(verb: Verb, children: list[Any], valued: list[int]) -> list[Piece]:
    timed = isinstance(children[0], Slot)
    head = [Piece(0, 1, 0), Piece(1, 2, to_stop=True)] if timed else [Piece(0, 1, 0, to_stop=True)]
    return [*head, *_clauses(children[len(head) :], len(head), valued, verb.clauses, padded=True)]


def _entry(place: str, children: list[Any], valued: list[int]) -> list[Piece]:
    *head, act = children
    on_card = place != TOP
    timed = len(head) == 2
    pieces = [Piece(0, 1, 0, width=_DAY_AND_TIME_WIDTH if on_card and not timed else 0)]
    if timed:
        pieces.append(Piece(1, 2, 1))
    named = bool(act.children) and act.children[0].data == "name"
    verb_end = len(head) + act.data.count("_") + 1 + named
    pieces.append(Piece(len(head), verb_end))
    order = ENTRY_RULES[act.data].clauses
    clauses = _clauses(act.children[named:], verb_end, valued, order, padded=on_card)
    if clauses and clauses[0].field == order[0].field and not order[0].word:
        # What a verb needs and what says no more than its value reads as one with the verb.
        clauses[0] = clauses[0]._replace(gap=1)
    return [*pieces, *clauses]


def _clauses(trees: list[Tree], at: int, valued: list[int], order: Sequence[Clause], padded: bool) -> list[Piece]:
    """The pieces of clauses that begin with word number `at`, in their order."""
    rows = {clause.field: clause for clause in order}
    pieces = []
    for tree in trees:
        row, last = rows[tree.data], _last_slot(tree)
        end = valued[last] + 1 if last is not None else at + len(row.form.split())
        gap = _CORRECTION_GAP if row.field in CORRECTIONS else _GAP
        pieces.append(Piece(at, end, gap, row.field, row.width if padded else 0))
        at = end
    place = list(rows).index
    return sorted(pieces, key=lambda piece: place(piece.field))


def _last_slot(tree: Tree) -> int | None:
    """The number of the last value of a tree, None where it has none."""
    last = None
    for child in tree.children:
        found = child.index if isinstance(child, Slot) else _last_slot(child)
        last = found if found is not None else last
    return last


def set_text(text: str, place: str, indent: str, further_in: str | None, gap: str | None = None) -> list[str]:
    """The physical lines of a sentence of `place`, ValueError where it is none; see `Arrangement.lines`."""
    sentence = LEDGER.read_alone(text, place)
    if isinstance(sentence, Damaged):
        raise ValueError(sentence.fault.text)
    return arrange(sentence).lines(sentence.values, indent, further_in, gap)


@cache
def _to_stop(name: str) -> str:
    return name.ljust(_FIRST_STOP + -(-max(0, len(name) - _FIRST_STOP) // _STOP) * _STOP)


def write_word(word: Token) -> str:
    """A word as neatening writes it: a quantity with one space before its unit, all else as it is."""
    return _keyword(word.type) or _writer(word.type)(word.text)


def _writer(terminal: str) -> Callable[[str], str]:
    """How the values of a terminal are written."""
    return _with_space if terminal in UNITS else str


@cache
def _with_space(quantity: str) -> str:
    return _QUANTITY.sub(r"\1 \2", quantity)


@cache
def _keyword(terminal: str) -> str:
    """The text of a keyword, empty where the terminal is of other words."""
    return american(LEDGER.keyword_terminals.get(terminal, ""))
