"""
Writing styled lines: plain, or in color on a terminal. The only user of rich.

The colors are those of ANSI Z535 for its signal words. They only help: the word itself is
always printed.
"""

import os
from collections.abc import Iterable
from typing import Literal, TextIO

from cylfile.show.terminal.layout import Layout, Line
from cylfile.show.terminal.signs import signs_for
from cylfile.show.visible import visible

COLOR_WHEN = ("auto", "always", "never")

# Name of a style -> how rich writes it. Safety red, orange, yellow, blue and green are given as nearly
# as a screen shows them.
_STYLES = {
    "danger": "bold #ffffff on #c8102e",
    "warning": "bold #000000 on #ff8200",
    "caution": "bold #000000 on #ffd100",
    "notice": "bold #ffffff on #0057b8",
    "safe": "bold #ffffff on #007a33",
    "waived": "reverse",
    "strong": "bold",
    "faint": "dim",
}
# Terminals of sixteen colors have no orange; their dark yellow comes nearest.
_STYLES_OF_SIXTEEN = {
    **_STYLES,
    "danger": "bold bright_white on red",
    "warning": "black on yellow",
    "caution": "black on bright_yellow",
    "notice": "bold bright_white on blue",
    "safe": "bold bright_white on green",
}
_LINES_AT_ONCE = 500
_USUAL_WIDTH = 80


def in_color(stream: TextIO, when: str = "auto") -> bool:
    """Whether to write in color: as asked, else on a terminal that has it, where NO_COLOR is not set."""
    if when != "auto":
        return when == "always"
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def layout_for(stream: TextIO) -> Layout:
    """
    A layout as wide as the terminal, with the signs that the stream can write.

    For a pipe or a file it is as wide as COLUMNS says, else unbound.
    """
    signs = signs_for(stream)
    if not stream.isatty():
        columns = os.environ.get("COLUMNS", "")
        return Layout(int(columns) if columns.isascii() and columns.isdigit() and int(columns[:9]) else None, signs)
    width, height = _size(stream)
    # Some terminals do not know how wide they are, and say 0.
    return Layout(width or _USUAL_WIDTH, signs, height or None)


def _size(stream: TextIO) -> tuple[int, int]:
    """Columns and lines of a terminal, 0 where it does not know."""
    try:
        return os.get_terminal_size(stream.fileno())
    except (OSError, ValueError):
        return 0, 0


def write(lines: Iterable[Line], stream: TextIO, color: bool = False) -> None:
    """Write lines to a stream. Hidden characters are made visible here once more, whoever made the lines."""
    if color:
        _write_color(lines, stream)
    else:
        stream.writelines(visible("".join(text for text, _ in line).rstrip(" ")) + "\n" for line in lines)


def write_exactly(texts: Iterable[str], stream: TextIO) -> None:
    """Write texts that have line ends of their own, which no system is to change."""
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(newline="")
    stream.writelines(texts)


def _write_color(lines: Iterable[Line], stream: TextIO) -> None:
    from rich.console import Console
    from rich.style import Style
    from rich.text import Text

    system: Literal["auto", "standard"] = "auto" if os.environ.get("TERM") not in (None, "", "dumb") else "standard"
    console = Console(
        file=stream,
        force_terminal=True,
        color_system=system,
        markup=False,
        emoji=False,
        highlight=False,
        no_color=False,
    )
    named = _STYLES if console.color_system in ("truecolor", "256") else _STYLES_OF_SIXTEEN
    styles = {name: Style.parse(style) for name, style in named.items()}
    text, count = Text(), 0
    for line in lines:
        for piece, style in line:
            text.append(visible(piece), styles.get(style))
        text.append("\n")
        count += 1
        if count == _LINES_AT_ONCE:
            console.print(text, end="", soft_wrap=True)
            text, count = Text(), 0
    console.print(text, end="", soft_wrap=True)
