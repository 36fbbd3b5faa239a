"""
How the words of one sentence are set: which of them stand together, in what order and how far apart.

An arrangement depends on the shape of a sentence alone, so one serves all sentences of a shape.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from cylfile.text.language import Shape, Slot, Token
from cylfile.text.ledger import LEDGER, LINES_OF, TOP
from cylfile.text.source import Source
from cylfile.text.spelling import american

# A line longer than this has its note and its corrections, or a waiver's reason, on lines of their own.
LONGEST_LINE = 100
INDENT = "  "
FURTHER_IN = "    "
_GAP = 2
# The gap before a correction: it should catch the eye.
_CORRECTION_GAP = 4
_CORRECTIONS = ("struck", "late")
# The text of a waiver.
_REASON = "reason"
_MAY_BREAK = ("remark", *_CORRECTIONS, _REASON)
# On the header of a sheet the place comes first: it is what a reader looks for.
_PLACES = ("at_site", "on")
PROPERTY = "property"

# Clause -> the width it is padded to on cards and sheets where another clause follows: that of
# the figures that are usual, so that lines of the same clauses are in line with each other.
# fmt: off
_WIDTHS = {
    "from_pressure": len("from 1150 psi"), "reading": len("to 4500 psi"), "at_temperature": len("at 88 F"),
    "over": len("over 12 min"), "at_pressure": len("at 7500 psi"), "total": len("total 192.1 cc"),
    "permanent": len("permanent 1.8 cc"), "elastic": len("elastic 190.3 cc"),
    "co": len("CO 1.2 ppm"), "co2": len("CO2 410 ppm"), "o2": len("O2 20.9 %"), "oil": len("oil 0.1 mg/m3"),
}
# fmt: on
_BARE_READING_WIDTH = len("4200 psi")
_DAY_AND_TIME_WIDTH = len("2026-03-14 09:42")
# A name on a sheet is padded to the first of 6, 10, 14, ... that holds it.
_FIRST_STOP, _STOP = 6, 4
# Clauses without a value that are written with two words; the others of them have one.
_TWO_WORDS = ("with_visual", "odor")
_SHEETS = ("fill_sheet", "visual_sheet", "hydro_sheet", "gauge_sheet")
_ROWS = tuple(LINES_OF[sheet] for sheet in _SHEETS)

_QUANTITIES = ("PRESSURE", "TEMPERATURE", "VOLUME", "DURATION", "SHARE", "PPM", "DENSITY")
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


# The pieces of the sentences of a shape.
Arrangement = Callable[[Shape], list[Piece]]
# Rule of the grammar -> its clauses in canonical order. Each has a `field`, the clause's own
# rule, and a `form`, which is `{}` for a clause that is its value and no more.
ClauseOrder = Mapping[str, Sequence]


def arrange(shape: Shape, order: ClauseOrder) -> list[Piece]:
    """The pieces of the sentences of a shape, in canonical order."""
    words = len(shape.terminals)
    children = shape.tree.children
    valued = [number for number, terminal in enumerate(shape.terminals) if terminal in LEDGER.terminals]
    if shape.place in _ROWS:
        return _row(shape.place, children, valued, order)
    if isinstance(children[0], Slot):
        return _entry(shape.place, children, valued, order)
    rule = children[0].data
    if shape.place != TOP:
        return [Piece(0, 1, 0, PROPERTY), Piece(1, words)] if words > 1 else [Piece(0, 1, 0)]
    if rule in _SHEETS:
        heading = valued[0] + 1
        clauses = _clauses(children[0].children[1:], heading, valued, order[rule], padded=False)
        clauses.sort(key=lambda piece: _PLACES.index(piece.field) if piece.field in _PLACES else len(_PLACES))
        return [Piece(0, heading, 0), *clauses]
    if rule == "waived":
        return [Piece(0, words - 1, 0), Piece(words - 1, words, 1, _REASON)]
    return [Piece(0, words, 0)]


def _row(place: str, children, valued: list[int], order: ClauseOrder) -> list[Piece]:
    timed = isinstance(children[0], Slot)
    head = [Piece(0, 1, 0), Piece(1, 2, to_stop=True)] if timed else [Piece(0, 1, 0, to_stop=True)]
    return [*head, *_clauses(children[len(head) :], len(head), valued, order[place], padded=True)]


def _entry(place: str, children, valued: list[int], order: ClauseOrder) -> list[Piece]:
    *head, act = children
    on_card = place != TOP
    timed = len(head) == 2
    pieces = [Piece(0, 1, 0, width=_DAY_AND_TIME_WIDTH if on_card and not timed else 0)]
    if timed:
        pieces.append(Piece(1, 2, 1))
    named = bool(act.children) and act.children[0].data == "name"
    verb_end = len(head) + act.data.count("_") + 1 + named
    pieces.append(Piece(len(head), verb_end))
    clauses = _clauses(act.children[named:], verb_end, valued, order[act.data], padded=on_card)
    if clauses and clauses[0].field == order[act.data][0].field and order[act.data][0].form == "{}":
        # What a verb needs and what says no more than its value reads as one with the verb.
        clauses[0] = clauses[0]._replace(gap=1)
    return [*pieces, *clauses]


def _clauses(trees, at: int, valued: list[int], order: Sequence, padded: bool) -> list[Piece]:
    """The pieces of clauses that begin with word number `at`, in their order."""
    pieces = []
    for tree in trees:
        last = _last_slot(tree)
        end = valued[last] + 1 if last is not None else at + (2 if tree.data in _TWO_WORDS else 1)
        width = _WIDTHS.get(tree.data, 0) if padded else 0
        if width and tree.data == "reading" and end - at == 1:
            width = _BARE_READING_WIDTH
        gap = _CORRECTION_GAP if tree.data in _CORRECTIONS else _GAP
        pieces.append(Piece(at, end, gap, tree.data, width))
        at = end
    place = {clause.field: number for number, clause in enumerate(order)}
    return sorted(pieces, key=lambda piece: place[piece.field])


def _last_slot(tree) -> int | None:
    """The number of the last value of a tree, None where it has none."""
    last = None
    for child in tree.children:
        found = child.index if isinstance(child, Slot) else _last_slot(child)
        last = found if found is not None else last
    return last


def set_line(
    pieces: list[Piece], words: list[Token], indent: str, further_in: str | None, gap: str | None = None
) -> list[str]:
    """
    The physical lines of a sentence of these words; those after the first stand `further_in`,
    and with None there are none.

    With `gap`, that parts all pieces that stand apart, and none is padded.
    """
    line = indent + _join(pieces, words, gap)
    broken_off = [piece for piece in pieces if piece.field in _MAY_BREAK]
    if len(line) <= LONGEST_LINE or not broken_off or further_in is None:
        return [line]
    line = indent + _join([piece for piece in pieces if piece.field not in _MAY_BREAK], words, gap)
    return [line, *(further_in + _join([piece], words, gap) for piece in broken_off)]


def set_text(
    text: str,
    place: str,
    arrangement: Arrangement,
    indent: str,
    further_in: str | None,
    gap: str | None = None,
) -> list[str]:
    """
    The physical lines of a sentence of `place`, which must be one that the grammar takes; see `set_line`.

    `arrangement` gives the pieces of a shape; see `arrange`.
    """
    sentence = LEDGER.read(Source("", text), 0, len(text), place)
    return set_line(arrangement(sentence.shape), LEDGER.words(text), indent, further_in, gap)


def _join(pieces: list[Piece], words: list[Token], gap: str | None) -> str:
    text = ""
    for number, piece in enumerate(pieces):
        said = " ".join(write_word(word) for word in words[piece.first : piece.end])
        if number:
            text += " " * piece.gap if gap is None or piece.gap == 1 else gap
        if number + 1 < len(pieces) and gap is None:
            said = said.ljust(_stop_after(said) if piece.to_stop else piece.width)
        text += said
    return text


def _stop_after(name: str) -> int:
    return _FIRST_STOP + -(-max(0, len(name) - _FIRST_STOP) // _STOP) * _STOP


def write_word(word: Token) -> str:
    """A word as tidying writes it: a quantity with one space before its unit, all else as it is."""
    if word.type in LEDGER.keyword_terminals:
        return american(word.text)
    if word.type not in _QUANTITIES:
        return word.text
    return " ".join(_QUANTITY.fullmatch(word.text).groups())
