"""
Classes of cylinders: what packs laid over each other say of one kind.
"""

from operator import attrgetter

from cylfile.history.figures import Figures
from cylfile.packs.marking import Pattern, Reading
from cylfile.packs.pack import ClassSheet


class CylinderClass:
    """
    One class with the figures of all packs laid over each other.

    `figures` holds them in the units of `cylfile.history.figures`, with their sources; `patterns`
    are its markings; `pack` names the pack that has it first.
    """

    def __init__(self, name: str, title: str, figures: Figures, patterns: tuple[Pattern, ...], pack: str):
        self.name = name
        self.title = title
        self.figures = figures
        self.patterns = patterns
        self.pack = pack

    @property
    def cites(self) -> dict[str, str]:
        """The source of a figure, by the name of its property."""
        return self.figures.cites

    def over(self, sheet: ClassSheet, pack: str) -> "CylinderClass":
        """
        This class with what the sheet of a pack says of it laid over, property by property; its
        markings are added. A figure that is changed without a source has the pack for its source.
        """
        patterns = tuple({each.written: each for each in (*self.patterns, *sheet.patterns)}.values())
        cites = dict(self.figures.cites)
        for field, figure in sheet.figures.items():
            word = field.replace("_", "-")
            if word in sheet.cites:
                cites[word] = sheet.cites[word]
            elif getattr(self.figures, field) not in (None, figure) and figure is not True:
                cites[word] = f"pack {pack}"
        rule_cites = self.figures.rule_cites | {rule: tuple(cites) for rule, cites in sheet.rule_cites.items()}
        figures = self.figures._replace(**sheet.figures, cites=cites, rule_cites=rule_cites)
        return CylinderClass(self.name, sheet.title or self.title, figures, patterns, self.pack)

    @property
    def letters(self) -> list[str]:
        """The letters of its markings."""
        return [pattern.letters for pattern in self.patterns]

    def read_marking(self, stamp: str) -> Reading | None:
        """What a stamp, as of `marking.take_apart`, says by the marking of this class that fits it best, if one does."""
        readings = [found for pattern in self.patterns if (found := pattern.read(stamp))]
        return max(readings, key=attrgetter("letters"), default=None)
