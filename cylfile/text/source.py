"""
Sources, spans and faults: where a piece of text stands and what is wrong with it.

Offsets inside the program are 0-based code points of a source's text. Lines and
columns, 1-based, are worked out only when somebody is told about a place.
"""

import re
from array import array
from bisect import bisect_right
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterator, Sequence
from typing import NamedTuple

# Control characters and the characters of the Unicode property Bidi_Control. A carriage
# return is allowed as the first half of a Windows line end and nowhere else.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]|\r(?!\n)")
# Of a text that is quoted in a message at most so many letters are shown.
SHOWN = 60
_PLAIN = bytes([0x09, 0x0A, 0x0D, *range(0x20, 0x7F)])


class Source:
    """One file's text under the name that a reader knows it by."""

    __slots__ = ("path", "text", "_line_starts", "_is_clean")

    def __init__(self, path: str, text: str):
        self.path = path
        self.text = text
        self._line_starts: array[int] | None = None
        self._is_clean: bool | None = None

    @property
    def line_starts(self) -> Sequence[int]:
        """The offset of the first character of every line."""
        if self._line_starts is None:
            # A list would have a number of 32 bytes for each line, and of nearly every text 4 bytes are enough.
            text = self.text
            starts = array("I" if len(text) < 1 << 32 else "Q", [0])
            at = text.find("\n")
            while at >= 0:
                starts.append(at + 1)
                at = text.find("\n", at + 1)
            self._line_starts = starts
        return self._line_starts

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of `offset`, both from 1, the column in code points."""
        line = bisect_right(self.line_starts, offset)
        return line, offset - self.line_starts[line - 1] + 1

    def place(self, offset: int) -> str:
        """The path and the line of `offset`, as people and editors name a place."""
        return f"{self.path}:{self.position(offset)[0]}"

    def line_end(self, offset: int) -> int:
        """Offset of the end of the line that holds `offset`, before its line end."""
        end = self.text.find("\n", offset)
        if end < 0:
            return len(self.text)
        return end - 1 if end > offset and self.text[end - 1] == "\r" else end

    def is_parted(self, start: int, end: int) -> bool:
        """Whether something of the file is left out between two offsets that no loose line is."""
        return False

    def is_clean(self) -> bool:
        """Whether the text has no character that `forbidden` gives."""
        if self._is_clean is None:
            self._is_clean = self._looked_through()
        return self._is_clean

    def _looked_through(self) -> bool:
        text = self.text
        if "\r" in text and text.count("\r") != text.count("\r\n"):
            return False
        # Nearly all of nearly every file is plain ASCII, and bytes are looked through ten times faster.
        others = text.encode(errors="surrogatepass").translate(None, _PLAIN)
        return not _FORBIDDEN.search(others.decode(errors="surrogatepass"))

    def forbidden(self, start: int = 0, end: int | None = None) -> Iterator[int]:
        """Offsets of the control and bidirectional characters of a stretch, which are errors anywhere."""
        stop = len(self.text) if end is None else end
        return (found.start() for found in _FORBIDDEN.finditer(self.text, start, stop))

    def __repr__(self) -> str:
        return f"Source({self.path!r}, {len(self.text)} characters)"


class Span(NamedTuple):
    """A stretch of one source, from `start` up to but not including `end`."""

    source: Source
    start: int
    end: int

    @property
    def line(self) -> int:
        return self.source.position(self.start)[0]

    @property
    def column(self) -> int:
        return self.source.position(self.start)[1]

    @property
    def end_line(self) -> int:
        return self.source.position(self.end)[0]

    @property
    def end_column(self) -> int:
        """Column just after the last character."""
        return self.source.position(self.end)[1]

    @property
    def place(self) -> str:
        """Its file and its first line, see `Source.place`."""
        return self.source.place(self.start)

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.end]


def clip(text: str) -> str:
    """A stretch of the user's text short enough for a message."""
    return text if len(text) <= SHOWN else text[: SHOWN - 3] + "..."


class Fault(NamedTuple):
    """
    Something that cannot be read: its place, what is wrong, and what would put it right.

    `cure` is advice in words; `instead` is the text to put in place of the span, given
    only where it is certain. What is wrong only `because` of another fault has the span of that one, and
    is no finding of its own.
    """

    span: Span
    text: str
    cure: str = ""
    instead: str | None = None
    rule: str = "unreadable-line"
    subject: str | None = None
    because: Span | None = None


def decode(path: str, data: bytes) -> tuple[Source, list[Fault]]:
    """
    Turn a file's bytes into a source.

    UTF-8, strictly: a file that is anything else is one fault that names the byte's
    place, and its source is empty, for half a history is worse than none. A byte-order
    mark at the start is passed over.
    """
    mark = len(BOM_UTF8) if data.startswith(BOM_UTF8) else 0
    try:
        return Source(path, data[mark:].decode("utf-8")), []
    except UnicodeDecodeError as refusal:
        at = mark + refusal.start
    line = data.count(b"\n", 0, at) + 1
    column = at - (data.rfind(b"\n", 0, at) + 1) + 1
    text = f"not UTF-8 text: byte {data[at]:#04x} at offset {at} (line {line}, byte {column} of it)"
    if data.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        text = "not UTF-8 text but UTF-16"
    elif b"\0" in data[:8192]:
        text = f"a binary file, not a ledger: {text}"
    source = Source(path, "")
    return source, [Fault(Span(source, 0, 0), text, "Save the file as UTF-8 text; nothing of it was read.")]
