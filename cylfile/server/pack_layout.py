"""
The layout of a rule pack: lines of a block two blanks in, what they say in one column, and the proof that it says the same.
"""

from collections.abc import Iterator

from cylfile.packs.pack_lines import Block, Line, margin_of, read_lines, width
from cylfile.packs.pack_sentences import pack_language
from cylfile.server.cursor import line_start
from cylfile.text.source import Source

_INDENT = 2
_BETWEEN = "  "
# What they say stands in no column: it is a title.
_UNALIGNED = ("breaks", "keeps")


def laid_out(source: Source) -> str:
    """The text of a pack in its layout; as it is where that would change what it says, or cannot be told."""
    blocks, faults = read_lines(source)
    if faults:
        return source.text
    text = "".join(_lines(source, blocks))
    return text if _said(Source(source.path, text)) == _said(source) else source.text


def _lines(source: Source, blocks: list[Block]) -> Iterator[str]:
    firsts = {
        line_start(source, line.start): (line, _column(source, block)) for block in blocks for line in block.lines
    }
    headers = {line_start(source, block.header.start) for block in blocks}
    # How much further in the lines that go on with one stand now, and until where they do.
    shift, until = 0, 0
    for start in source.line_starts:
        text = source.text[start : source.text.find("\n", start) + 1 or len(source.text)]
        content, end = text.rstrip("\r\n"), text[len(text.rstrip("\r\n")) :]
        content = content.rstrip(" \t")
        inner = content.lstrip(" \t")
        if start in firsts:
            line, column = firsts[start]
            shift, until = _INDENT - width(content), max(line.end, line.record[1] if line.record else 0)
            yield _property(inner, line, source, column) + end
        elif start < until and start not in headers:
            yield (" " * max(width(content) + shift, 0) + inner if inner else "") + end
        elif inner.startswith("#") and inner != content:
            yield " " * _INDENT + inner + end
        else:
            yield content + end


def _property(text: str, line: Line, source: Source, column: int) -> str:
    word = source.text[line.start : line.rest]
    said = text.removeprefix(word)
    rest = said.lstrip(" \t")
    # What stands right behind the word, such as a comment, stays there.
    if rest == said:
        return " " * _INDENT + text
    return " " * _INDENT + (word if line.word in _UNALIGNED else word.ljust(column)) + _BETWEEN + rest


def _column(source: Source, block: Block) -> int:
    return max((line.rest - line.start for line in block.lines if line.word not in _UNALIGNED), default=0)


def _said(source: Source) -> list[object]:
    """All that a pack says, its comments and its examples, apart from where it stands."""
    language = pack_language()
    said: list[object] = [
        token.text.rstrip(" \t\r") for token in language.tokens(source.text) if token.type == "COMMENT"
    ]
    for block in read_lines(source)[0]:
        for line in (block.header, *block.lines):
            said += [line.word, *((word.type, word.text) for word in language.words(source.text, line.rest, line.end))]
            if line.record is not None:
                record = source.text[slice(*line.record)].split("\n")
                margin = margin_of(record)
                said += [each.removeprefix(margin).rstrip(" \t\r") for each in record]
    return said
