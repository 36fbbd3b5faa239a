"""
The line structure of a pack: headers in column 1, their properties, and the records under them.

A property is an indented line; a line indented further goes on with the one above it, or, under
`breaks` and `keeps`, is part of the example record. The first word of a line tells what it is.
"""

import re
from collections.abc import Iterator
from os.path import commonprefix
from typing import NamedTuple

from cylfile.text.source import Fault, Source, Span
from cylfile.text.spelling import american

_WORD = re.compile('[^ \t\n"#]+|"')
_RECORDS = ("breaks", "keeps")


class Line:
    """
    One logical line: its first word, and from where to where the rest of it and its record run.

    `record` is None where nothing further in stands under a `breaks` or `keeps`.
    """

    def __init__(self, word: str, start: int, rest: int, end: int):
        self.word = word
        self.start = start
        self.rest = rest
        self.end = end
        self.record: tuple[int, int] | None = None


class Block(NamedTuple):
    """A header and its properties."""

    header: Line
    lines: list[Line]


def read_lines(
    source: Source, start: int = 0, end: int | None = None, margin: int = 0
) -> tuple[list[Block], list[Fault]]:
    """
    The blocks of a pack, or of a stretch of it whose lines are all `margin` further in.

    `start` is the start of a line. The one fault that layout can have is an indented line with no
    header above it.
    """
    blocks: list[Block] = []
    faults: list[Fault] = []
    inner = 0
    at, stop = start, len(source.text) if end is None else end
    while at < stop:
        line_end = min(source.line_end(at), stop)
        text = source.text[at:line_end]
        content = text.lstrip(" \t")
        indent = width(text) - margin
        first = line_end - len(content)
        after = source.text.find("\n", at, stop) + 1 or stop
        at = after
        if not content or content.startswith("#"):
            continue
        if indent <= 0:
            blocks.append(Block(_line(source, first, line_end), []))
            inner = 0
            continue
        if not blocks:
            span = Span(source, first, line_end)
            faults.append(
                Fault(span, "an indented line without a header above it", "Start the line above it in column 1.")
            )
            continue
        lines = blocks[-1].lines
        if lines and indent > inner:
            _goes_on(lines[-1], line_end - len(content) - (len(text) - len(content)), line_end)
        else:
            inner = inner or indent
            lines.append(_line(source, first, line_end))
    return blocks, faults


def records(source: Source) -> Iterator[tuple[int, int]]:
    """Where the example records of a pack start and end."""
    for block in read_lines(source)[0]:
        for line in block.lines:
            if line.record is not None:
                yield line.record


def margin_of(lines: list[str]) -> str:
    """The blanks that all lines of an example record begin with."""
    return commonprefix([text[: len(text) - len(text.lstrip(" \t"))] for text in lines if text.strip()])


def width(text: str) -> int:
    """How far in the text of a line stands, a tab going to the next multiple of eight."""
    return len(text[: len(text) - len(text.lstrip(" \t"))].expandtabs(8))


def _line(source: Source, first: int, end: int) -> Line:
    word = _WORD.match(source.text, first, end)
    assert word is not None, "a line begins with its word, be that empty"
    return Line(american(word.group()), first, word.end(), end)


def _goes_on(line: Line, start: int, end: int) -> None:
    if line.word in _RECORDS:
        line.record = (line.record[0] if line.record else start, end)
    else:
        line.end = end
