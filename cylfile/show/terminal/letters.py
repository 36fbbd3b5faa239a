"""
Letters five lines high, to be read from two meters away.
"""

from collections.abc import Iterator

# fmt: off
_LETTERS = {
    "A": (" ### ", "#   #", "#####", "#   #", "#   #"),
    "B": ("#### ", "#   #", "#### ", "#   #", "#### "),
    "D": ("#### ", "#   #", "#   #", "#   #", "#### "),
    "E": ("#####", "#    ", "###  ", "#    ", "#####"),
    "F": ("#####", "#    ", "###  ", "#    ", "#    "),
    "I": ("###", " # ", " # ", " # ", "###"),
    "K": ("#   #", "#  # ", "###  ", "#  # ", "#   #"),
    "L": ("#    ", "#    ", "#    ", "#    ", "#####"),
    "M": ("#   #", "## ##", "# # #", "#   #", "#   #"),
    "N": ("#   #", "##  #", "# # #", "#  ##", "#   #"),
    "O": (" ### ", "#   #", "#   #", "#   #", " ### "),
    "P": ("#### ", "#   #", "#### ", "#    ", "#    "),
    "R": ("#### ", "#   #", "#### ", "#  # ", "#   #"),
    "S": (" ####", "#    ", " ### ", "    #", "#### "),
    "T": ("#####", "  #  ", "  #  ", "  #  ", "  #  "),
    "Y": ("#   #", " # # ", "  #  ", "  #  ", "  #  "),
    "0": (" ### ", "#  ##", "# # #", "##  #", " ### "),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("#### ", "    #", " ### ", "#    ", "#####"),
    "3": ("#### ", "    #", " ### ", "    #", "#### "),
    "4": ("#   #", "#   #", "#####", "    #", "    #"),
    "5": ("#####", "#    ", "#### ", "    #", "#### "),
    "6": (" ### ", "#    ", "#### ", "#   #", " ### "),
    "7": ("#####", "   # ", "  #  ", " #   ", " #   "),
    "8": (" ### ", "#   #", " ### ", "#   #", " ### "),
    "9": (" ### ", "#   #", " ####", "    #", " ### "),
    ".": (" ", " ", " ", " ", "#"),
    " ": ("  ", "  ", "  ", "  ", "  "),
}
# fmt: on
HEIGHT = 5
KNOWN = frozenset(_LETTERS)


def in_letters(text: str, width: int, ink: str) -> Iterator[list[str]]:
    """
    A text of known letters as groups of lines no wider than `width`, broken at blanks.

    Letters are drawn with `ink`, one character, and twice as wide where all of the text has
    room for that. A word that is too wide for the width is drawn all the same.
    """
    twice = fits(text, width // 2)
    group: list[str] = []
    for word in text.split(" "):
        longer = [*group, word]
        if group and not fits(" ".join(longer), width):
            yield _drawn(" ".join(group), ink, twice)
            longer = [word]
        group = longer
    yield _drawn(" ".join(group), ink, twice)


def fits(text: str, width: int) -> bool:
    """Whether a text of known letters can be drawn on one line of this width."""
    return _width(text) <= width


def _width(text: str) -> int:
    return sum(len(_LETTERS[letter][0]) + 1 for letter in text) - 1


def _drawn(text: str, ink: str, twice: bool) -> list[str]:
    lines = (" ".join(_LETTERS[letter][line] for letter in text) for line in range(HEIGHT))
    return ["".join((ink if dot == "#" else " ") * (1 + twice) for dot in line) for line in lines]
