"""
What packs laid over each other come to: the rules that judge, the classes and the settings.
"""

from collections.abc import Callable

from cylfile.history.figures import Figures
from cylfile.packs.classes import CylinderClass, Resolution, resolve_class
from cylfile.packs.compiling import compile_judge
from cylfile.packs.expressions import Value
from cylfile.packs.pack import ClassSheet
from cylfile.packs.rule import Rule


class Ruleset:
    """
    The rules of a department.

    `names` are the packs by the names they were asked for, in the order they are laid. `rules`
    maps a name to its rule, suspended ones included; `suspended` maps the names of those to the
    reason. `settings` maps a name to its value. `levels` holds the levels of the rules of the
    reader itself.
    """

    def __init__(
        self, names: tuple[str, ...], rules: dict[str, Rule], suspended: dict[str, str], settings: dict[str, Value],
        levels: dict[str, str], classes: dict[str, CylinderClass], of_every: Figures,
    ):  # fmt: skip
        self.names = names
        self.rules = rules
        self.suspended = suspended
        self.settings = settings
        self.levels = levels
        self.classes = classes
        self.of_every = of_every
        self._resolved: dict[tuple[str | None, str | None], Resolution] = {}
        self._judges: dict[str, Callable | None] = {}

    def judge_of(self, place: str) -> Callable | None:
        """
        One function for all rules that stand on a place of the fact table, `judge(life, entry, hits)`.

        None where no rule does. It is compiled when it is first asked for; see `compile_judge`.
        """
        if place not in self._judges:
            rules = [rule for rule in self.rules.values() if place in rule.on and rule.name not in self.suspended]
            self._judges[place] = compile_judge(rules, place) if rules else None
        return self._judges[place]

    def level_of(self, name: str) -> str:
        """The level of a rule, one of the reader itself or of a pack. Raises KeyError where there is none."""
        return self.levels[name] if name in self.levels else self.rules[name].level

    def figures(self, class_name: str | None) -> Figures:
        """The figures of a class; of an unknown one only what the packs say of every cylinder."""
        known = self.classes.get(class_name)
        return known.figures if known else self.of_every

    def resolve_class(self, marked: str | None, class_name: str | None) -> Resolution:
        """What class a cylinder is of, by its marking and the class on its card."""
        key = marked, class_name
        if key not in self._resolved:
            self._resolved[key] = resolve_class(self.classes, self.of_every, marked, class_name)
        return self._resolved[key]

    def with_classes(self, sheets: list[ClassSheet]) -> "Ruleset":
        """The same rules with classes laid over for one example record."""
        if not sheets:
            return self
        other = object.__new__(Ruleset)
        other.__dict__.update(self.__dict__)
        other.classes = lay_classes(self.classes, sheets, self.of_every)
        other._resolved = {}
        return other


def lay_classes(
    classes: dict[str, CylinderClass], sheets: list[ClassSheet], of_every: Figures
) -> dict[str, CylinderClass]:
    """Classes with the sheets laid over them one after the other, property by property."""
    laid = dict(classes)
    for sheet in sheets:
        under = laid.get(sheet.name) or CylinderClass(sheet.name, "", of_every._replace(class_name=sheet.name), (), {})
        laid[sheet.name] = under.over(sheet)
    return laid
