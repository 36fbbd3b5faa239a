"""
How facts about sources and their air are had; see `facts` for what they mean.

Each takes the life of a cylinder or a source and the entry that is judged, None on the as-of day.
"""

from collections.abc import Callable

from cylfile.history.sources.suspect_air import way_of


def of_fill_air(name: str) -> Callable:
    """What the air log has of a fill under this name; see `air_log.FillAir`."""
    return lambda life, entry: getattr(life.air.at(entry), name)


def free_air(life, entry):
    return life.air.at(entry).free_air.volume


def source(life, entry):
    """The source that a fill names, if it is one; else the one whose life it is."""
    if entry is None or entry.verb != "filled":
        return life.name
    return entry.on if life.air.at(entry).source is not None else None


def source_kind(life, entry):
    return life.air.at(entry).kind if entry.verb == "filled" else life.kind


def source_rated(life, entry):
    return life.air.at(entry).rated if entry.verb == "filled" else life.rated


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
