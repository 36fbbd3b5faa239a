"""
What packs laid over each other come to: the rules that judge, the classes and the settings.
"""

import hashlib
from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from cylfile.history.figures import Card, Figures
from cylfile.packs.classes import CylinderClass
from cylfile.packs.expressions import Value
from cylfile.packs.judges import judge_on
from cylfile.packs.pack import ClassSheet, Pack
from cylfile.packs.resolution import Kind, Resolution, kind_of, resolution_of
from cylfile.packs.rule import Rule

if TYPE_CHECKING:
    from cylfile.packs.laxer import Easing


class Ruleset:
    """
    The rules of a department.

    `names` are the packs by the names they were asked for, in the order they are laid. `rules`
    maps a name to its rule, suspended ones included; `laxer` lists what packs of the house ask less
    strictly than the shipped ones; `suspended` maps the names of those to the
    reason. `settings` maps a name to its value and `setting_cites` to
    its source, where it has one. `packs` maps the name of every pack, those lain over too, to it. `levels` holds the levels of the rules of the
    reader itself.
    """

    def __init__(
        self, names: tuple[str, ...], rules: dict[str, Rule], suspended: dict[str, str], settings: dict[str, Value],
        levels: dict[str, str], classes: dict[str, CylinderClass], of_every: Figures,
        laxer: list["Easing"], setting_cites: dict[str, str], packs: dict[str, Pack],
    ):  # fmt: skip
        self.names = names
        self.rules = rules
        self.suspended = suspended
        self.settings = settings
        self.levels = levels
        self.classes = classes
        self.of_every = of_every
        self.laxer = laxer
        self.setting_cites = setting_cites
        self.packs = packs
        self._kinds: dict[tuple[tuple[str, ...], str | None], Kind] = {}
        self._judges: dict[str, Callable | None] = {}

    @cached_property
    def digests(self) -> dict[str, str]:
        """The SHA-256 of the text of every pack, in hexadecimal, by its name."""
        texts = {name: pack.source.text.encode("utf-8", "surrogatepass") for name, pack in self.packs.items()}
        return {name: hashlib.sha256(text).hexdigest() for name, text in texts.items()}

    def judge_of(self, place: str) -> Callable | None:
        """
        One function for all rules that stand on a place of the fact table; see `judges.judge_on`.

        None where no rule does. It is made when it is first asked for.
        """
        if place not in self._judges:
            rules = [rule for rule in self.rules.values() if place in rule.on and rule.name not in self.suspended]
            self._judges[place] = judge_on(place, rules) if rules else None
        return self._judges[place]

    def level_of(self, name: str) -> str:
        """The level of a rule, one of the reader itself or of a pack. Raises KeyError where there is none."""
        return self.levels[name] if name in self.levels else self.rules[name].level

    def figures(self, class_name: str | None) -> Figures:
        """The figures of a class; of an unknown one only what the packs say of every cylinder."""
        known = self.classes.get(class_name or "")
        return known.figures if known else self.of_every

    def kind(self, marked: tuple[str, ...], class_name: str | None) -> Kind:
        """What class a cylinder is of, by its markings and the class on its card."""
        key = marked, class_name
        if key not in self._kinds:
            self._kinds[key] = kind_of(self.classes, self.of_every, marked, class_name)
        return self._kinds[key]

    def resolve(self, card: Card) -> Resolution:
        """What kind of cylinder one is, and its own figures."""
        return resolution_of(self.kind(tuple(card.marked), card.class_name), card)

    def with_rules(self, rules: dict[str, Rule]) -> "Ruleset":
        """The same classes and settings with other rules."""
        other = object.__new__(Ruleset)
        other.__dict__.update(self.__dict__)
        other.rules, other._judges = rules, {}
        return other

    def with_classes(self, sheets: list[ClassSheet]) -> "Ruleset":
        """The same rules with classes laid over for one example record."""
        if not sheets:
            return self
        other = object.__new__(Ruleset)
        other.__dict__.update(self.__dict__)
        other.classes = lay_classes(self.classes, [("an example", sheet) for sheet in sheets], self.of_every)
        other._kinds = {}
        return other


def lay_classes(
    classes: dict[str, CylinderClass], sheets: list[tuple[str, ClassSheet]], of_every: Figures
) -> dict[str, CylinderClass]:
    """Classes with sheets laid over them one after the other, property by property, each with its pack's name."""
    laid = dict(classes)
    for pack, sheet in sheets:
        of_none = of_every._replace(class_name=sheet.name)
        under = laid.get(sheet.name) or CylinderClass(sheet.name, "", of_none, (), pack)
        laid[sheet.name] = under.over(sheet, pack)
    return laid
