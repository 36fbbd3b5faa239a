"""
What was done in a period, counted: fills with their free air, tests and inspections, by month, source, site, ...
"""

from collections.abc import Callable, Iterable
from datetime import date

from cylfile.history.sources.air_log import AirLog
from cylfile.history.standing import standing
from cylfile.record.entries import Entry, Filled
from cylfile.record.record import Record

# What totals can be made by -> what an entry counts under; `class` by the name of the class of its cylinder.
PER: dict[str, Callable] = {
    "month": lambda entry, class_of: f"{entry.day:%Y-%m}",
    "source": lambda entry, class_of: getattr(entry, "on", None),
    "site": lambda entry, class_of: getattr(entry, "at_site", None),
    "person": lambda entry, class_of: entry.by,
    "class": lambda entry, class_of: class_of.get(entry.subject),
    "cylinder": lambda entry, class_of: entry.subject,
}


class Total:
    """Counts of what was done; `free_air` in mL is that of the fills that say enough, `unknown` counts the others."""

    def __init__(self) -> None:
        self.fills = 0
        self.free_air = 0.0
        self.unknown = 0
        self.tests_passed = 0
        self.tests_failed = 0
        self.visuals_passed = 0
        self.visuals_failed = 0

    def take_in(self, entry: Entry, air: AirLog) -> None:
        if entry.__class__ is Filled:
            self.fills += 1
            volume = air.free_air_of(entry)
            self.unknown += volume is None
            self.free_air += max(volume or 0.0, 0.0)
        elif entry.verb == "hydro":
            self.tests_passed += entry.result == "pass"
            self.tests_failed += entry.result != "pass"
        if entry.verb == "visual" or getattr(entry, "with_visual", None) is not None:
            outcome = entry.outcome if entry.verb == "visual" else entry.with_visual
            self.visuals_passed += outcome == "pass"
            self.visuals_failed += outcome != "pass"


def totals_of(
    record: Record, air: AirLog, class_of: dict[str, str | None], per: Iterable[str], first: date, last: date
) -> dict[tuple, Total]:
    """
    The totals of cylinders from the first to the last day, by the values of `per`, in their order.

    None stands for what an entry does not say.
    """
    found: dict[tuple, Total] = {}
    keys = [PER[name] for name in per]
    for name in record.cylinders:
        for entry in standing(record.entries.get(name, ()), last):
            if entry.day >= first and (entry.verb in ("filled", "visual", "hydro")):
                key = tuple(each(entry, class_of) for each in keys)
                found.setdefault(key, Total()).take_in(entry, air)
    return dict(sorted(found.items(), key=lambda item: [(value is None, value or "") for value in item[0]]))
