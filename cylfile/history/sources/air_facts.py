"""
How facts about sources and their air are had; see `facts` for what they mean.

Each takes the life of a cylinder or a source and the entry that is judged, None on the as-of day.
"""

from collections.abc import Callable

from cylfile.history.sources.suspect_air import way_of


def in_unit(reading: str, unit: str) -> Callable:
    """A reading of a sample that may stand in one of two units, where it stands in this one."""

    def value(life, entry):
        quantity = getattr(entry, reading)
        return quantity.value if quantity is not None and quantity.unit == unit else None

    return value


def suspect_day(life, entry):
    held = life.suspicion
    return held and held.stretch.origin.day


def suspect_source(life, entry):
    held = life.suspicion
    return held and held.stretch.origin.subject


def suspect_way(life, entry):
    held = life.suspicion
    return held and way_of(held)
