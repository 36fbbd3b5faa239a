"""
The canonical layout of a ledger: where its words stand, and nothing of what they say.

One entry is one physical line, so that one new fact is one changed line. Two spaces part the
clauses, and clauses have one order. Figures and names are padded to widths that depend on
nothing but their own kind: a row that is added or changed moves no other row. Comments stay as
they are, and a line that cannot be read stays as it is to the byte.
"""

from collections.abc import Iterator, Set
from functools import cache
from typing import NamedTuple

from cylfile.rewriting.arrangement import FURTHER_IN, INDENT, PROPERTY, Piece, arrange, write_word
from cylfile.rewriting.extents import BlockExtents, Extent, extents, newline_of, physical_lines
from cylfile.text.language import Damaged, Sentence, Shape, Token
from cylfile.text.ledger import CONFLICT, LEDGER
from cylfile.text.source import Source

# Kind of block -> the least width of the column of its property words.
_PROPERTY_WIDTHS = {"department": len("rules ")}
_PROPERTY_WIDTH = len("cartridge")
_BLANK_LINES = ("\n", "\r\n")


def lay_out(source: Source, untouched: Set[int] = frozenset()) -> str:
    """
    The text of a source in canonical layout.

    `untouched` are the numbers, from 0, of physical lines that are to stay as they are, beside those
    that the grammar refuses: a line may be a sentence and mean nothing.
    """
    return _Layout(source, untouched).text()


class _Place(NamedTuple):
    """
    Where the lines of a block are to stand: how far in, and how far in what goes on with one.

    `inside` is for comments between the lines. None is as far in as they stand, and nothing new
    goes on with another line. `width` is that of the block's column of property words.
    """

    indent: str | None
    further_in: str | None
    inside: str | None
    width: int = 0


@cache
def _place_of_lines(are_free: bool, has_place: bool, width: int) -> _Place:
    """
    Where the lines of a block are to stand, which `has_place` for lines or has none.

    How far in a line stands can tell whether it goes on with the line above it. So where one
    of them stays as it is, and they are not free, all the others keep their indents too.
    """
    if not are_free:
        return _Place(None, None, None, width)
    return _Place(INDENT, INDENT + FURTHER_IN, INDENT if has_place else None, width)


@cache
def _place_of_header(inside: str | None, is_alone: bool) -> _Place:
    # A line that stands under what takes none would be read as its end, were it broken.
    return _Place("", FURTHER_IN if is_alone else None, inside)


class _Layout:
    """One pass over the physical lines of a source."""

    def __init__(self, source: Source, untouched: Set[int]):
        self.source = source
        self.untouched = untouched
        self.lines = physical_lines(source)
        self.newline = newline_of(self.lines)
        self.out: list[str] = []

    def text(self) -> str:
        number, inside = 0, None
        for extent, place, stays in self._sentences():
            for other in range(number, extent.first):
                self._put_other(other, inside)
            number, inside = extent.last + 1, place.inside
            sentence = extent.readable
            if sentence is None or stays:
                for line in self.lines[extent.first : number]:
                    self._put(line.text, line.end)
            else:
                self._put_sentence(extent, sentence, place)
        for other in range(number, len(self.lines)):
            self._put_other(other, inside)
        while self.out and self.out[-1] in _BLANK_LINES:
            self.out.pop()
        return "".join(self.out)

    def _sentences(self) -> Iterator[tuple[Extent, _Place, bool]]:
        """All sentences, where each is to stand, and whether it stays as it is."""
        for block in extents(self.source, self.lines):
            stay = list(map(self._stays, block.lines))
            has_place = block.block.place is not None
            place = _place_of_lines(True not in stay, has_place, self._property_width(block, stay))
            if block.header is not None:
                is_alone = has_place or not block.lines
                yield block.header, _place_of_header(place.inside, is_alone), self._stays(block.header)
            for extent, stays in zip(block.lines, stay):
                yield extent, place, stays

    def _stays(self, extent: Extent) -> bool:
        first, last, sentence = extent
        return type(sentence) is Damaged or not self.untouched.isdisjoint(range(first, last + 1))

    def _property_width(self, block: BlockExtents, stay: list[bool]) -> int:
        width = _PROPERTY_WIDTHS.get(block.block.kind or "", _PROPERTY_WIDTH)
        for (_, _, sentence), stays in zip(block.lines, stay):
            # No entry is a property, and so no line that is given by its act.
            if not stays and isinstance(sentence, Sentence) and isinstance(sentence.shape, Shape):
                if arrange(sentence).pieces[0].field == PROPERTY:
                    width = max(width, len(LEDGER.keyword_terminals[sentence.shape.terminals[0]]))
        return width

    def _put(self, text: str, end: str) -> None:
        # With a line feed after it, a carriage return that was an error would become half a line end.
        self.out.append(text + (end or ("" if text.endswith("\r") else self.newline)))

    def _put_other(self, number: int, indent: str | None) -> None:
        """Put a comment, a blank line, or what is neither a sentence nor either of them."""
        line = self.lines[number]
        text = line.text.rstrip(" \t")
        if text.endswith("\r") or CONFLICT.match(text):
            text = line.text
        if not text:
            if self.out and self.out[-1] not in _BLANK_LINES:
                self._put("", line.end)
            return
        comment = text.lstrip(" \t")
        if comment.startswith("#") and comment != text and indent is not None:
            text = indent + comment
        self._put(text, line.end)

    def _put_sentence(self, extent: Extent, sentence: Sentence, place: _Place) -> None:
        first, last = self.lines[extent.first], self.lines[extent.last]
        arrangement, comment = arrange(sentence), ""
        # Nearly every sentence is one line without a comment.
        if first is not last or "#" in first.text:
            tokens = list(LEDGER.tokens(self.source.text, first.start, last.start + len(last.text)))
            words = [token for token in tokens if token.type not in ("BLANK", "COMMENT")]
            comments = [token for token in tokens if token.type == "COMMENT"]
            if self._holds_more(tokens, words[-1]):
                self._put_broken(extent, words, comments, arrangement.pieces, place)
                return
            if comments:
                comment = "  " + comments[0].text.rstrip(" \t")
        indent = first.indent if place.indent is None else place.indent
        *lines, end = arrangement.lines(sentence.values, indent, place.further_in, property_width=place.width)
        for line in lines:
            self._put(line, first.end)
        self._put(end + comment, last.end)

    @staticmethod
    def _holds_more(tokens: list[Token], last_word: Token) -> bool:
        """Whether comments or blank lines stand among the words of a sentence."""
        inside = [token for token in tokens if token.start < last_word.start]
        return any(
            token.type == "COMMENT" or (token.type == "BLANK" and token.text.count("\n") > 1) for token in inside
        )

    def _put_broken(
        self, extent: Extent, words: list[Token], comments: list[Token], pieces: list[Piece], place: _Place
    ) -> None:
        """Put a sentence that holds comments: its line breaks and the order of its words stay as they are."""
        gaps = {piece.first: " " if piece.gap == 1 else "  " for piece in pieces}
        for number in range(extent.first, extent.last + 1):
            line = self.lines[number]
            here = range(line.start, line.start + len(line.text) + 1)
            text = ""
            for index, word in enumerate(words):
                if word.start in here:
                    text += gaps.get(index, " ") * bool(text) + write_word(word)
            if not text:
                self._put_other(number, place.further_in)
                continue
            indent = place.indent if number == extent.first else place.further_in
            comment = next((comment.text.rstrip(" \t") for comment in comments if comment.start in here), "")
            self._put((line.indent if indent is None else indent) + f"{text}  {comment}".rstrip(" "), line.end)
