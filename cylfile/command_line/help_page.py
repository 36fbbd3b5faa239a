"""
What pages of help are set on, as wide as the terminal or as COLUMNS says.
"""

from cylfile.show.terminal.layout import Layout

_USUAL = (80, 24)
_LEAST_WIDTH, _MOST_WIDTH = 40, 100


def help_layout() -> Layout:
    import shutil

    return Layout(min(max(shutil.get_terminal_size(_USUAL).columns, _LEAST_WIDTH), _MOST_WIDTH))


def help_text(layout: Layout) -> str:
    """What has been put on a layout, as plain text."""
    return "".join("".join(text for text, _ in line).rstrip(" ") + "\n" for line in layout.lines)
