"""
What bars a cylinder from being filled, and what clears it.
"""

from datetime import date
from typing import NamedTuple

from cylfile.record.entries import Entry


class _Kind(NamedTuple):
    """What is said before the day, and what clears it, in words; empty where nothing does."""

    what: str
    clears: str = ""


_HYDRO = "a hydrostatic test by an authorized tester (`hydro pass`)"
# The worst first.
_KINDS = {
    "condemned": _Kind("condemned on"),
    "retired": _Kind("retired on"),
    "overpressure": _Kind("over-pressurized on"),
    "expansion": _Kind("expanded over its limit on"),
    "crack": _Kind("failed its crack examination on"),
    "heat": _Kind("exposed to heat on", "`liner` on its card, if not aluminum"),
    "hydro": _Kind("failed its hydrostatic test on", _HYDRO),
    "visual": _Kind(
        "failed its visual inspection on",
        "a visual inspection (`visual pass`), or a test that counts and says so",
    ),
    "damage": _Kind("damaged on", _HYDRO),
    "struck": _Kind(
        "what barred it was struck on",
        "another person looks at it and writes `answered bar-struck` on the line",
    ),
    # What another department filled it with; of its own air a rule tells.
    "suspect-air": _Kind("holds suspect air since", "`emptied`"),
    "out-of-service": _Kind("out of service since", "the cause corrected and `returned to service`"),
}
# Source: 49 CFR 180.205, condemnation, (1)(iii) to (ix) and (3): what nothing clears.
FINAL = ("condemned", "retired", "overpressure", "expansion", "crack", "heat")
CLEARED_BY_HYDRO = ("hydro", "damage")
HYDRO_CLEARS = f"Cleared by {_HYDRO}."
_RANK = {kind: rank for rank, kind in enumerate(_KINDS)}


class Bar(NamedTuple):
    """
    What bars a cylinder since a day, by an entry.

    `because` is what that entry says of it. Nothing clears it where `is_final` is true: then its
    condemnation follows, or the striking of a line that was wrong.
    """

    kind: str
    day: date
    because: str
    entry: Entry
    is_final: bool

    @property
    def text(self) -> str:
        return f"{_KINDS[self.kind].what} {self.day}" + (f": {self.because}" if self.because else "")

    @property
    def what_clears(self) -> str:
        """What clears it, as a sentence; where nothing does, what follows."""
        if not self.is_final:
            return f"Cleared by {_KINDS[self.kind].clears}."
        if self.kind in ("condemned", "retired"):
            return "Nothing clears it."
        return "Nothing clears it: condemn."


def worst_first(bars: list[Bar]) -> list[Bar]:
    return sorted(bars, key=lambda bar: _RANK[bar.kind])
