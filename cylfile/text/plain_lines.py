"""
Lines of cylinders that nobody asks about, told by an expression, so that they need not be read.

A *plain* line is an entry of one of some cylinders, and nothing is wrong with it. Much that can be read is not plain:
only what most lines are like. That each of them is read as such an entry is held by `tests/record/test_plain_lines.py`.
"""

import re
from collections.abc import Iterable
from functools import cached_property

from cylfile.text.ledger import LEDGER, SHEETS

NAME = "[A-Za-z0-9][A-Za-z0-9._/-]*"
_IN_WORD = "[A-Za-z0-9._/-]"
_WORD_END = f"(?!{_IN_WORD})"
# Nothing is as long as what is refused for its length.
_GAP = "[ \t]{1,60}"
_NUMBER = r"[0-9]{1,5}(?:\.[0-9]{1,3})?"
_PRESSURE = f"{_NUMBER}[ \t]{{0,9}}(?:psi|bar){_WORD_END}"
_TEMPERATURE = rf"(?:-[0-9]{{1,2}}|[0-9]{{1,4}})(?:\.[0-9]{{1,3}})?{_GAP}[FC]{_WORD_END}"
_DURATION = f"{_NUMBER}{_GAP}min{_WORD_END}"
# A figure with its unit, or what may be one.
_FIGURE = "[0-9]+[ \t]*(?:p|ba|k|M|°|[FCLsh][ \t\r\n]|m|c|in|ft|%)"
_CLOCK = "(?:[01][0-9]|2[0-3]):[0-5][0-9]"
# A day that there is. Leap days are looked at more closely.
_DAY = (
    "(?:19|20)[0-9]{2}-"
    "(?:(?:0[1-9]|1[0-2])-(?:0[1-9]|1[0-9]|2[0-8])|(?:0[13-9]|1[0-2])-(?:29|30)|(?:0[13578]|1[02])-31)" + _WORD_END
)
_TEXT = r'"[^"\\\n]{0,500}(?:\\["\\][^"\\\n]{0,500}){0,2}"'
_LINE_END = r"[ \t]{0,60}(?:#[^\n]{0,500})?(?:\r?\n|\Z)"
_NO_LINE = r"[ \t]*+(?:#[^\n]*+)?\r?\n"
# What may follow is neither a row nor a line that goes on with the one above.
_BLOCK_END = "(?![ \t#\r\n])"


class PlainLines:
    """
    The plain lines of the cylinders of some names, which are names and nothing else; see `are_names`.

    Who has to know of them whether they can be read gives no `concerned`. Else these are all the names that matter to
    whoever asks, and a row of one of those cylinders that mentions none of them may be past reading too.
    """

    def __init__(self, names: Iterable[str], concerned: Iterable[str] | None = None):
        self._subject = f"(?:{_any_of(names)}){_WORD_END}"
        self._concerned = None if concerned is None else list(concerned)

    @cached_property
    def _name(self) -> str:
        keywords = [word for word in LEDGER.keywords if re.fullmatch(NAME, word)]
        # What begins with a digit is a name for certain where it is all digits, and no digest.
        letters = f"(?!(?:{_any_of(keywords)}){_WORD_END})[A-Za-z][A-Za-z0-9._/-]{{0,62}}"
        return f"(?:{letters}|[0-9]{{1,60}}){_WORD_END}"

    @cached_property
    def _tail(self) -> str:
        """What may be said of any entry, and the end of the line."""
        signed = f"(?:struck|late){_GAP}{_DAY}{_GAP}by{_GAP}{self._name}{_GAP}{_TEXT}"
        return f"(?:{_GAP}remark{_GAP}{_TEXT})?(?:{_GAP}{signed})?{_LINE_END}"

    @cached_property
    def _fill_row(self) -> str:
        """A row of a fill sheet, its clauses in the order in which everybody writes them."""
        clauses = [
            f"(?:{_GAP}from{_GAP}{_PRESSURE})?{_GAP}to{_GAP}{_PRESSURE}",
            *(f"at{_GAP}{_TEMPERATURE}", f"over{_GAP}{_DURATION}"),
            *(f"{word}{_GAP}{self._name}" for word in ("by", "on", "at")),
        ]
        said = clauses[0] + "".join(f"(?:{_GAP}{clause})?" for clause in clauses[1:])
        return f"[ \t]{{1,60}}(?:{_CLOCK}{_GAP})?{self._subject}{said}{self._tail}"

    @cached_property
    def _row(self) -> str:
        """A row of a sheet that may be passed over."""
        if self._concerned is None:
            return self._fill_row
        # `12 psi` and `12:30` at the beginning of a line are no names.
        name = f"(?!{_FIGURE}){self._subject}(?=[ \t\r\n]|\\Z)"
        rest = f"(?:(?!{mention(self._concerned).pattern})[^\n])*+(?:\n|\\Z)"
        return f"(?:{self._fill_row}|[ \t]{{1,60}}(?:{_CLOCK}{_GAP})?{name}{rest})"

    @cached_property
    def sheets(self) -> re.Pattern:
        """Matches sheets of which each row may be passed over."""
        header = self._header("fill" if self._concerned is None else f"(?:{'|'.join(SHEETS)})")
        return re.compile(f"(?:{header}(?:{_NO_LINE}|{self._row})*+{_BLOCK_END})++")

    @cached_property
    def header(self) -> re.Pattern:
        """Matches the header of a fill sheet."""
        return re.compile(self._header("fill"))

    def _header(self, kind: str) -> str:
        orders = ("at", "on", "by"), ("by", "on", "at")
        places = ("".join(f"(?:{_GAP}{word}{_GAP}{self._name})?" for word in order) for order in orders)
        return f"{kind} sheet{_GAP}{_DAY}(?:{'|'.join(f'{place}{_LINE_END}' for place in places)})"

    @cached_property
    def fill_rows(self) -> re.Pattern:
        """Matches plain rows of a fill sheet."""
        return re.compile(f"(?:{_NO_LINE}|{self._fill_row})*+")

    @cached_property
    def loose(self) -> re.Pattern:
        """Matches a plain loose line, up to the next block."""
        return re.compile(f"{self._entry(_GAP + self._subject)}(?:{_NO_LINE})*+{_BLOCK_END}")

    @cached_property
    def card(self) -> re.Pattern:
        """Matches the header of a card."""
        return re.compile(f"cylinder{_GAP}{self._subject}{_LINE_END}")

    def _entry(self, subject: str) -> str:
        """An entry, from its day to the end of the line, its clauses in any order."""
        warm, site = f"at{_GAP}{_TEMPERATURE}", f"at{_GAP}{self._name}"
        by, to, after = f"by{_GAP}{self._name}", f"to{_GAP}{_PRESSURE}", f"from{_GAP}{_PRESSURE}"
        verbs: dict[str, tuple[str, str, tuple[str, ...]]] = {
            "filled": ("", to, (after, warm, f"over{_GAP}{_DURATION}", by, f"on{_GAP}{self._name}", site)),
            "gauged": (_GAP + _PRESSURE, "", (warm, by, site)),
            "visual": (f"{_GAP}(?:pass|fail)", "", (by, site)),
            "moved": ("", f"to{_GAP}{self._name}", (f"from{_GAP}{self._name}", by)),
            "emptied": ("", "", (by, site)),
            "remarked": ("", _TEXT, (by,)),
        }
        # A group tells which verb it is, and one a clause that it has been met.
        met = len(verbs)
        said = []
        for number, (first, needed, others) in enumerate(verbs.values(), 1):
            clauses = []
            for clause in (*filter(None, [needed]), *others):
                met += 1
                clauses.append(f"{clause}(?({met})(?!))()")
            is_whole = f"(?({met - len(others)})|(?!))" if needed else ""
            said.append(f"(?({number}){first}(?:{_GAP}(?:{'|'.join(clauses)}))*{is_whole})")
        verb = "|".join(f"({verb})" for verb in verbs)
        return f"{_DAY}{_GAP}(?:{_CLOCK}{_GAP})?(?:{verb}){subject}{''.join(said)}{self._tail}"


def are_names(words: Iterable[str]) -> frozenset[str]:
    """Those of some words that are names wherever they stand: no keyword, no figure, and not too long."""
    found = set()
    for word in words:
        (token, *more) = LEDGER.words(word)
        if token.type in ("NAME", "COUNT") and not more and len(word) <= 64:
            found.add(word)
    return frozenset(found)


def mention(words: Iterable[str]) -> re.Pattern:
    """
    Matches any of some words where they stand as words.

    What stands before one is looked at after it, so that the search for a single word goes as fast as one for its letters.
    """
    words = sorted(words)
    if len(words) == 1:
        (letters,) = map(re.escape, words)
        return re.compile(f"{letters}(?<!{_IN_WORD}{letters}){_WORD_END}")
    return re.compile(f"(?<!{_IN_WORD})(?:{_any_of(words)}){_WORD_END}")


def _any_of(words: Iterable[str]) -> str:
    """An expression for any of some words, branching where they differ; the longer of two that begin alike is taken."""
    tree: dict = {}
    for word in words:
        node = tree
        for letter in word:
            node = node.setdefault(letter, {})
        node[""] = {}
    return _branches(tree) if tree else "(?!)"


def _branches(node: dict) -> str:
    branches = [re.escape(letter) + _branches(below) for letter, below in sorted(node.items()) if letter]
    expression = branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})" if branches else ""
    return f"(?:{expression})?" if "" in node and branches else expression
