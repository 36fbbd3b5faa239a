"""
What a hydrostatic test says: whether it counts, how short its pressure is, and whether its figures condemn.
"""

from typing import TYPE_CHECKING

from cylfile.history.figures import EXPANSION, Figures
from cylfile.history.pressures import within
from cylfile.record.entries import Entry
from cylfile.record.quantities import half_place

if TYPE_CHECKING:
    from cylfile.history.life import Life


def why_not_counted(life: "Life", entry: Entry) -> str | None:
    """
    Why a passed test does not count; None where it does.

    A test that does not count moves no date, clears nothing and earns nothing.
    """
    figures = life.figures
    if life.people.had_authority(entry.by, entry.day) is False:
        return f"tester {entry.by} had no authority on {entry.day}"
    if entry.with_visual == "fail":
        return "its visual inspection failed"
    if pressure_short(life, entry):
        return f"its pressure of {entry.at_pressure} is too low"
    if (condemning := condemning_figures(figures, entry)) is not None:
        return condemning
    if method_of(entry) not in figures.allowed_methods:
        return f"the method ({method_of(entry)}) is not one of its class"
    if entry.crack == "fail" or (figures.crack_examination and entry.crack is None):
        return "no crack examination was passed"
    return None


def method_of(entry: Entry) -> str:
    """How a test was made."""
    return entry.method or EXPANSION


def pressure_short(life: "Life", entry: Entry) -> float | None:
    """How far a test is short of the test pressure, by more than rounding, psi; 0 where it is not."""
    if entry.at_pressure is None or life.test_pressure_required is None or life.test_needed is False:
        return None
    return max(0.0, life.test_pressure_required - entry.at_pressure.value - pressure_left_open(life, entry))


def pressure_left_open(life: "Life", entry: Entry) -> float | None:
    """What the last places of the pressure of a test and of the test pressure leave open, psi."""
    if entry.at_pressure is None or life.test_pressure_required is None:
        return None
    return within(half_place(entry.at_pressure) + life.figures.proof_rounding, life.test_pressure_required)


def condemning_figures(figures: Figures, entry: Entry) -> str | None:
    """Why a test condemns by its expansions, whatever its outcome (49 CFR 180.205, condemnation, (1)(iv) to (vii))."""
    share, limit = permanent_share(entry), figures.expansion_limit
    if share is not None and limit is not None and share > limit:
        return f"{entry.permanent} permanent of {entry.total}"
    elastic, ree = worst_elastic(entry), figures.ree
    if elastic is not None and ree is not None and elastic > ree:
        return "elastic expansion over REE"
    return None


def figures_lacking(life: "Life") -> dict[str, Entry]:
    """The figures without which nobody can tell whether a test that was not passed condemned it, and such a test."""
    lacking: dict[str, Entry] = {}
    for entry in life.entries:
        if entry.verb == "hydro" and entry.result != "pass":
            if life.figures.expansion_limit is None and permanent_share(entry) is not None:
                lacking.setdefault("expansion-limit", entry)
            if life.figures.ree is None and life.figures.ree_marked and worst_elastic(entry) is not None:
                lacking.setdefault("ree", entry)
    return lacking


def permanent_share(entry: Entry) -> float | None:
    """Permanent over total expansion of a test (49 CFR 180.203), rounded so that exactly 10 % is 10 %."""
    if entry.total is None or entry.permanent is None or not entry.total.value:
        return None
    return round(entry.permanent.value / entry.total.value, 9)


def worst_elastic(entry: Entry) -> float | None:
    """Elastic expansion of a test, mL: of what is written and total less permanent (49 CFR 180.203) the greater."""
    figures = [] if entry.elastic is None else [entry.elastic.value]
    if entry.total is not None and entry.permanent is not None:
        figures.append(round(entry.total.value - entry.permanent.value, 6))
    return max(figures, default=None)
