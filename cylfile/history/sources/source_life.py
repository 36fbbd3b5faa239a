"""
What is known of a source of air while its entries are judged.
"""

from datetime import date

from cylfile.history.figures import Figures
from cylfile.history.pressures import settled_pressure
from cylfile.history.sources.air_log import AirLog
from cylfile.history.sources.air_path import Holding
from cylfile.record.blocks import AirSource
from cylfile.record.entries import Entry

_NO_FIGURES = Figures()


class SourceLife:
    """Stands for a source where a `Life` stands for a cylinder; the attributes are facts."""

    __slots__ = ("block", "name", "kind", "rated", "as_of", "pressure_unit", "air", "figures")

    def __init__(self, block: AirSource, as_of: date, air: AirLog | None = None, figures: Figures = _NO_FIGURES):
        self.block = block
        self.name = block.name
        self.kind = block.kind
        self.rated = block.rated and block.rated.value
        self.as_of = as_of
        self.pressure_unit = "psi" if block.rated is None or block.rated.unit == "psi" else "bar"
        self.air = air
        # A source is of no class; they are those of every cylinder.
        self.figures = figures

    def settled(self, entry: Entry) -> float | None:
        """What a fill of it settles to at the reference temperature, psi."""
        return settled_pressure(entry, self.figures.reference)

    @property
    def suspicion(self) -> Holding | None:
        """The suspect air that a storage holds on the as-of day, None where it holds none."""
        if self.air is None or self.kind != "storage":
            return None
        return self.air.suspect_air.of_storage(self.name)
