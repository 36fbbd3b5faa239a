"""
What to select further and further out: the word, its line, the lines that go with it, its block, the file.
"""

from cylfile.server.cursor import headers, line_start, word_at
from cylfile.text.source import Source


def selections(source: Source, offset: int) -> list[tuple[int, int]]:
    """Stretches around an offset, each within the next, the smallest first."""
    text, found = source.text, []
    word = word_at(source, offset)
    if word is not None:
        if word.type == "TEXT" and word.start < offset < word.end:
            found.append((word.start + 1, word.end - 1))
        found.append((word.start, word.end))
    start = line_start(source, offset)
    end = source.line_end(start)
    first = start + len(text[start:end]) - len(text[start:end].lstrip(" \t"))
    found += [(first, end), (start, end)]
    found += [(begin, last) for begin, _, last in headers(source) if begin <= start and end <= last]
    found.append((0, len(text)))
    nested: list[tuple[int, int]] = []
    for stretch in found:
        inner = nested[-1] if nested else (offset, offset)
        if stretch not in nested and stretch[0] <= inner[0] and inner[1] <= stretch[1]:
            nested.append(stretch)
    return nested
