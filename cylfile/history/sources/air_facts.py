"""
How facts about sources and their air are had; see `facts` for what they mean.

Each takes the life of a cylinder or a source and the entry that is judged, None on the as-of day.
"""

from collections.abc import Callable
from datetime import date

from cylfile.history.life import Life
from cylfile.history.pressures import left_open, settled_pressure, within
from cylfile.history.sources.source_life import SourceLife
from cylfile.history.sources.suspect_air import way_of
from cylfile.record.entries import Entry
from cylfile.record.quantities import half_place


def in_unit(reading: str, unit: str) -> Callable:
    """A reading of a sample that may stand in one of two units, where it stands in this one."""

    def value(life: SourceLife, entry: Entry) -> float | None:
        quantity = getattr(entry, reading)
        return quantity.value if quantity is not None and quantity.unit == unit else None

    return value


def odor_strength(life: SourceLife, entry: Entry) -> int | None:
    return None if entry.odor is None else ("none", "slight", "strong").index(entry.odor)


def over_rated(life: SourceLife, entry: Entry) -> float | None:
    """How far a storage was filled over its rating, settled where the gas temperature tells, by more than rounding; psi."""
    rated, reference = life.block.rated, life.figures.reference
    if rated is None or entry.reading is None:
        return None
    settled = settled_pressure(entry, reference)
    over = (entry.reading.value if settled is None else settled) - rated.value
    return max(0.0, over - within(left_open(entry, reference) + half_place(rated), rated.value))


def lost(life: Life | SourceLife, entry: Entry) -> float | None:
    """How far a fill ends below where it began, by more than rounding; psi."""
    before, after = entry.from_pressure, entry.reading
    if before is None or after is None:
        return None
    if after.value >= before.value:
        return 0.0
    rounding = within(half_place(before) + half_place(after), before.value)
    return max(0.0, before.value - after.value - rounding)


def suspect_day(life: Life | SourceLife, entry: Entry | None) -> date | None:
    held = life.suspicion
    return None if held is None else held.stretch.sample.day


def suspect_source(life: Life | SourceLife, entry: Entry | None) -> str | None:
    held = life.suspicion
    return None if held is None else held.stretch.sample.subject


def suspect_way(life: Life | SourceLife, entry: Entry | None) -> str | None:
    held = life.suspicion
    return None if held is None else way_of(held)
