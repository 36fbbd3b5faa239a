"""
Lines of styled text set out for a width: the one layout behind plain and colored output.

A piece is a text and the name of a style; a line is a list of pieces. Widths are counted in
terminal cells. What a style looks like is the business of `terminal`.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from itertools import groupby
from operator import itemgetter

from cylfile.show.terminal.signs import ASCII, Signs
from cylfile.show.visible import visible

Piece = tuple[str, str]
Line = list[Piece]

# Where output that goes to no terminal puts its right-hand column. It is not wrapped at all.
UNBOUND = 120
# Lines longer than this are hard to follow from the left to the right-hand column.
_WIDEST = 120
# What keeps words apart that stand side by side.
_BETWEEN = "   "
_BETWEEN_ITEMS = "  "
# What keeps facts apart that have nothing to do with each other.
_APART = "    "
# A left-hand column narrower than this is not worth a right-hand one beside it.
_NARROWEST_COLUMN = 40


class Layout:
    """
    Sets text out in lines of `width` cells, or without wrapping where the width is None.

    Every text given to it is made visible first; see `visible`. Pictures are drawn with `signs`. `height`
    is how many lines are seen at once, None where nobody knows.
    """

    def __init__(self, width: int | None, signs: Signs = ASCII, height: int | None = None):
        self.wraps = width is not None
        self.width = UNBOUND if width is None else min(width, _WIDEST)
        self.signs = signs
        self.height = height
        self.lines: list[Line] = []

    def blank(self) -> None:
        self.lines.append([])

    def put_pieces(self, pieces: Iterable[Piece]) -> None:
        """Put pieces that stand side by side, as one line that is never wrapped."""
        self.lines.append([(_plain(text), style) for text, style in pieces])

    def put_line(self, text: str) -> None:
        """Put a line that is shown as it stands; what of it there is no room for goes on further in."""
        text = _plain(text)
        indent = " " * (len(text) - len(text.lstrip(" ")))
        further_in = f"{indent}    "
        room, room_under = self.width - len(indent), self.width - len(further_in)
        for number, line in enumerate(self._wrapped(text.lstrip(" "), room, room_under)):
            self.lines.append([(f"{further_in if number else indent}{line}", "")])

    def put_facts(self, facts: Iterable[Piece]) -> None:
        """Put pieces side by side, as many a line as there is room for; one that is wider than a line is wrapped."""
        line: Line = []
        taken = 0
        for text, style in facts:
            size = cells(_plain(text))
            if line and self.wraps and taken + len(_APART) + size > self.width:
                self.put_pieces(line)
                line, taken = [], 0
            if not line and self.wraps and size > self.width:
                self.put(text, style=style)
                continue
            if line:
                line.append((_APART, ""))
            line.append((text, style))
            taken += size + len(_APART)
        if line:
            self.put_pieces(line)

    def put(self, text: str, indent: int = 0, style: str = "", first: Iterable[Piece] = (), right: Iterable[str] = (),
            right_style: str = "", narrows: bool = True) -> None:  # fmt: skip
        """
        Put a text that hangs at `indent`.

        `first` are pieces that stand before its first line, no wider than the indent in all, or
        on a line of their own where they are. `right` are words set to the right of the first
        line where there is room for a column, else under the text; whether the text may be
        wrapped to make room for them, `narrows` says.
        """
        text = _plain(text)
        first = [(_plain(piece), piece_style) for piece, piece_style in first]
        right = [_plain(word) for word in right if word]
        taken = sum(cells(piece) for piece, _ in first)
        if taken > indent:
            self.lines.append(first)
            first, taken = [], 0
        before = [*first, (" " * (indent - taken), "")]
        room = self.width - indent
        beside = _BETWEEN.join(right)
        column = room - cells(beside) - len(_BETWEEN)
        if right and text and column >= (min(_NARROWEST_COLUMN, cells(text)) if narrows else cells(text)):
            top, *under = self._wrapped(text, column)
            pad = " " * (max(column - cells(top), 0) + len(_BETWEEN))
            self.lines.append([*before, (top, style), (pad, ""), (beside, right_style)])
            self._stack(indent, [(" " * indent, "")], under, style)
            return
        if text or not right:
            self._stack(indent, before, self._wrapped(text, room), style)
            before = [(" " * indent, "")]
        if right:
            self._stack(indent, before, self._rows(right, room), right_style)

    def put_items(self, items: Iterable[tuple[str, str]], indent: int, goes_on: bool = False) -> None:
        """
        Put items side by side at `indent`, as many a line as there is room for: a name, which is strong, and what is told of it.

        What `goes_on` begins at the end of the line before where it takes a line less so.
        """
        items = [(_plain(name), _plain(told)) for name, told in items]
        lines = self._side_by_side(items, indent, [])
        if goes_on and self.wraps and lines:
            *_, last = self.lines
            further = self._side_by_side(items, indent, last)
            if len(further) <= len(lines):
                self.lines.pop()
                lines = further
        self.lines += lines

    def _side_by_side(self, items: list[tuple[str, str]], indent: int, line: Line) -> list[Line]:
        """Lines of items, the first of which begin at the end of a line where that is not empty."""
        room = self.width - indent
        before = (" " * indent, "")
        lines = [line] if line else []
        line, taken = [*line], sum(cells(piece) for piece, _ in line) - indent
        for name, told in items:
            text = f"{name}{told}"
            if line and (not self.wraps or taken + len(_BETWEEN_ITEMS) + cells(text) <= room):
                line += [(_BETWEEN_ITEMS, ""), (name, "strong"), (told, "")]
                lines[-1] = line
                taken += len(_BETWEEN_ITEMS) + cells(text)
                continue
            top, *under = self._wrapped(text, room)
            line = [before, (top[: len(name)], "strong"), (top[len(name) :], "")]
            lines.append(line)
            taken = cells(top)
            for more in under:
                lines.append([before, (more, "")])
                line = []
        return lines

    def put_flow(self, first: Iterable[Piece], text: str, indent: int, right: str, under: Sequence[str] = (),
                 joint: str = "; ", last: str = "") -> None:  # fmt: skip
        """
        Put a text that begins after the pieces `first`, and what belongs under it at `indent`.

        `right` stands at the end of the line where the text is one line, and in parentheses after it where that takes
        fewer lines: then what is under it goes on, after the `joint`, where that ends. The text itself is strong, what
        comes `last` faint.
        """
        first = [(_plain(piece), style) for piece, style in first]
        text, right, last = _plain(text), _plain(right), _plain(last)
        *lines, end = [*map(_plain, under)] or [""]
        room = self.width - sum(cells(piece) for piece, _ in first) - cells(text) - cells(right)
        after = joint.join(["", *lines, end]) if end else ""
        tail = f" {last}" if last and (end or not text) else last and f"{joint}{last}"
        if self.wraps and room - cells(after + tail) >= len(_BETWEEN):
            pad = " " * (room - cells(after + tail)) if right else ""
            self.lines.append([*first, (text, "strong"), (after, ""), (tail, "faint"), (pad, ""), (right, "faint")])
            return
        place = f" ({right})" if right else ""
        flowing = self._flow(first, [(text, "strong"), (f"{place}{after}", ""), (tail, "faint")], indent)
        beside: list[Line] = []
        if not self.wraps or (room >= len(_BETWEEN) and right):
            pad = " " * max(room, len(_BETWEEN)) if right else ""
            beside.append([*first, (text, "strong"), (pad, ""), (right, "faint")])
            hanging = [(" " * indent, "")]
            for line in lines:
                beside += self._flow(hanging, [(line, "")], indent)
            beside += self._flow(hanging, [(end, ""), (f" {last}" if end and last else last, "faint")], indent)
        self.lines += beside if beside and (not self.wraps or len(beside) <= len(flowing)) else flowing

    def _flow(self, before: Line, pieces: list[Piece], indent: int) -> list[Line]:
        """Pieces as one text that begins after others and hangs at `indent`, wrapped where lines are."""
        whole = "".join(text for text, _ in pieces)
        if not whole:
            return []
        styles = [style for text, style in pieces for _ in text]
        taken = sum(cells(piece) for piece, _ in before)
        set_out: list[Line] = []
        at = 0
        for line in self._wrapped(whole, self.width - taken, self.width - indent):
            at = whole.index(line, at)
            runs = groupby(zip(line, styles[at:]), key=itemgetter(1))
            set_out.append([*before, *(("".join(sign for sign, _ in run), style) for style, run in runs)])
            before, at = [(" " * indent, "")], at + len(line)
        return set_out

    def _rows(self, words: list[str], room: int) -> list[str]:
        """Words side by side, as many a row as there is room for."""
        rows = [words[0]]
        for word in words[1:]:
            row = f"{rows[-1]}{_BETWEEN}{word}"
            if self.wraps and cells(row) > room:
                rows.append(word)
            else:
                rows[-1] = row
        return [line for row in rows for line in self._wrapped(row, room)]

    def _stack(self, indent: int, before: Line, texts: list[str], style: str) -> None:
        for text in texts:
            self.lines.append([*before, (text, style)])
            before = [(" " * indent, "")]

    def _wrapped(self, text: str, room: int, room_under: int | None = None) -> list[str]:
        return wrapped(text, max(room, 8), max(room_under or room, 8)) if self.wraps else [text]


def _plain(text: str) -> str:
    """A text as it can stand in a column."""
    return visible(text).replace("\t", " ")


def wrapped(text: str, room: int, room_under: int | None = None) -> list[str]:
    """
    The text in lines of at most `room` cells, broken at blanks, and within words that are longer.

    Lines after the first have `room_under` cells, where that is given.
    """
    if cells(text) <= room:
        return [text]
    lines, line, taken = [], "", 0
    room_under = room_under or room
    for word in text.split(" "):
        size = cells(word)
        if line and taken + 1 + size <= room:
            line, taken = f"{line} {word}", taken + 1 + size
            continue
        if line:
            lines.append(line)
            room = room_under
        while size > room:
            fit = _fitting(word, room)
            lines.append(word[:fit])
            room = room_under
            word = word[fit:]
            size = cells(word)
        line, taken = word, size
    return [*lines, line] if line else lines


def _fitting(word: str, room: int) -> int:
    """How many characters of a word fit, at least one."""
    taken = 0
    for index, sign in enumerate(word):
        taken += cells(sign)
        if taken > room:
            return max(index, 1)
    return len(word)


def cells(text: str) -> int:
    """How many terminal cells a visible text takes."""
    if text.isascii():
        return len(text)
    return sum(_cells_of(sign) for sign in text)


def _cells_of(sign: str) -> int:
    if unicodedata.combining(sign) or unicodedata.category(sign) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in ("W", "F") else 1
