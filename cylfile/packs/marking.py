"""
Markings: the words on the shoulder of a cylinder that tell its class and its rated pressure,
read as people stamp and type them.
"""

import re
from functools import cached_property
from typing import NamedTuple

from cylfile.record.quantities import Quantity, quantity

# A marking is a line or two on a shoulder; a longer text is not searched.
LONGEST_MARKING = 200
_TOKEN = re.compile(r"\{[a-z]*\}|[-\s]+|.", re.IGNORECASE)
_DASHES = str.maketrans("‐‑‒–—−_", "-------")
_GAPS = {
    "{psi}": "(?P<psi>[0-9]{2,5})(?![0-9])(?:-?PSIG?)?",
    "{bar}": "(?P<bar>[0-9]{2,4})(?![0-9])(?:-?BAR)?",
    "{number}": "[0-9]{1,6}(?![0-9])",
}
# What a test has earned, stamped behind its date and often copied behind the marking.
_EARNED = re.compile(r"(?:[-\s]*(?:[+*★☆]|(?<![A-Z])(?:PLUS|STAR)))+\s*$")
# Two markings on one line: a sign between them, and not the one in a date such as 2000/12.
_BETWEEN = re.compile(r"\s*[;,&]\s*|\s+/\s+|\s*/\s*(?=[A-Z])")


class PatternRefused(ValueError):
    """A pattern of a marking that cannot be read."""


class Reading(NamedTuple):
    """
    What a pattern reads in a marking: the rated pressure, where it is in there. The more `letters`
    of its own the pattern has, the better it fits.
    """

    rated: Quantity | None
    letters: int


class Pattern:
    """
    A marking with gaps, as a pack writes it: `[DOT-]3AA{psi}`.

    `{psi}` and `{bar}` stand for the rated pressure, `{number}` for a number, `{any}` for anything;
    what is in brackets may be missing. Between the parts of a marking there may be a hyphen, a
    blank or nothing, but for two gaps, which something has to keep apart; capitals are as small
    letters. Raises PatternRefused.
    """

    def __init__(self, written: str):
        self.written = written
        tokens = [token.lower() if token[0] == "{" else token.upper() for token in _TOKEN.findall(written)]
        if tokens.count("{psi}") + tokens.count("{bar}") > 1:
            raise PatternRefused("a marking with two rated pressures")
        if len(written) > LONGEST_MARKING:
            raise PatternRefused("a marking that is too long to search for")
        if any(token not in (*_GAPS, "{any}") and token[0] in "{}" for token in tokens):
            raise PatternRefused("a gap that is none of {psi}, {bar}, {number} and {any}")
        stretches = _split(tokens, "{any}")
        first, *others = [_expression(stretch, index > 0) for index, stretch in enumerate(stretches)]
        # Where a stretch is found first, it is found for good: so nothing is searched twice.
        middle = "".join(f"(?>.*?{stretch})" for stretch in others[:-1])
        last = f".*{others[-1]}" if others else ""
        self._text = first + middle + last
        self._fixed = _fixed(tokens)
        self.letters = "".join(token for token in tokens if token.isalnum())

    @cached_property
    def _expression(self) -> re.Pattern:
        # Made for a stamp that it may fit: no record has all the markings that packs know of.
        return re.compile(self._text)

    def read(self, stamp: str) -> Reading | None:
        """What one of `stamps` says by this pattern, None where it is no such marking."""
        if self._fixed not in stamp.replace("-", "") or not (found := self._expression.fullmatch(stamp)):
            return None
        gaps = found.groupdict()
        unit = next((unit for unit in ("psi", "bar") if gaps.get(unit)), None)
        rated = quantity("PRESSURE", f"{gaps[unit]} {unit}") if unit else None
        return Reading(rated, len(self.letters))


def _split(tokens: list[str], at: str) -> list[list[str]]:
    stretches: list[list[str]] = [[]]
    for token in tokens:
        if token == at:
            stretches.append([])
        else:
            stretches[-1].append(token)
    return stretches


def _fixed(tokens: list[str]) -> str:
    """The longest stretch of letters that every such marking has, but for hyphens between them."""
    stretches, is_open = [""], False
    for token in tokens:
        if token in ("[", "]"):
            is_open = token == "["
        if is_open or token[0] in "]{":
            stretches.append("")
        else:
            stretches[-1] += token.strip("- \t")
    return max(stretches, key=len)


def _expression(tokens: list[str], after_gap: bool) -> str:
    """The expression of a stretch of a pattern without `{any}`; `after_gap` where one is before it."""
    pieces: list[str] = []
    between, is_open = "", False
    for token in tokens:
        if token.strip("- \t") == "":
            between = "-" if after_gap else between
        elif token == "[":
            if is_open:
                raise PatternRefused("brackets in brackets")
            pieces.append(f"{between}(?:")
            between, is_open = "", True
        elif token == "]":
            if not is_open:
                raise PatternRefused("a bracket that is not opened")
            pieces.append("-?)?")
            between, is_open, after_gap = "", False, False
        else:
            gap = _GAPS.get(token)
            # Two numbers have to be kept apart; letters need nothing to be told from what is before them.
            pieces.append((between if gap else between and "-?") + (gap or re.escape(token)))
            between, after_gap = "-?", gap is not None
    if is_open:
        raise PatternRefused("a bracket that is not closed")
    return "".join(pieces)


class Marking(NamedTuple):
    """
    A marking taken apart: its `stamps`, each as one pattern reads it, and the signs of a test,
    `+` or `*`, that were behind it.
    """

    stamps: tuple[str, ...]
    earned: str


def take_apart(lines: tuple[str, ...]) -> Marking:
    """
    The markings on the lines of a card. One line may hold two, as `TC-3ALM 207 / DOT-3AL3000`;
    what names an authority alone, as in `CTC/DOT-3AL3000`, is none.
    """
    stamps, earned = [], ""
    for line in lines:
        line = line[: LONGEST_MARKING + 1].upper().translate(_DASHES)
        for part in (line, *_BETWEEN.split(line)):
            signs = _EARNED.search(part)
            if signs:
                earned += signs[0]
                part = part[: signs.start()]
            stamp = re.sub(r"[-\s]+", "-", part).strip("-")
            if len(stamp) <= LONGEST_MARKING and any(map(str.isdigit, stamp)):
                stamps.append(stamp)
    plus, star = re.search(r"\+|PLUS", earned), re.search(r"[*★☆]|STAR", earned)
    return Marking(tuple(dict.fromkeys(stamps)), ("+" if plus else "") + ("*" if star else ""))
