"""
Laying packs over each other: in the order they are named, each after those that it lies over.

A later pack may add rules, classes and settings; change a class property by property, a setting
to a figure of the same kind, a rule's level; and suspend a rule. It may not say a rule anew.
"""

import posixpath
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.figures import Figures
from cylfile.packs.checking import Checker
from cylfile.packs.classes import CylinderClass
from cylfile.packs.expressions import Node, Value, parts
from cylfile.packs.pack import ClassSheet, Named, Pack, RuleSheet, Template
from cylfile.packs.rule import Phrase, Rule
from cylfile.packs.ruleset import Ruleset, lay_classes
from cylfile.packs.shipped import read_shipped, shipped_names
from cylfile.packs.suggest import did_you_mean, nearest
from cylfile.text.source import Fault, Source, Span, clip

if TYPE_CHECKING:
    from cylfile.packs.laxer import Easing

_BARE = re.compile("[a-z][a-z0-9-]*")
_MOST_PACKS = 50
# Of all packs together, and of those that do not ship: so that any record is loaded in a second.
MOST_RULES = 2_000
MOST_CHARACTERS = 100_000


def load_rules(
    names: Iterable[str],
    open_pack: Callable[[str], Source | str | None],
    places: Mapping[str, Span] | None = None,
    above: int = 0,
) -> tuple[Ruleset, list[Fault]]:
    """
    The ruleset of the packs that a department names, and all that is wrong with them.

    A bare name is that of a shipped pack; any other name is a path, relative to the record or to
    the pack that lies over it, and `open_pack` gives its source, None where there is none, or in
    words why it cannot be read. Paths that lead out of the record, further up than `above`
    folders, are refused unopened. `places` says where the names were written; the fault of a name
    that is not in it stands at the start of an empty source of this name.
    """
    loading = _Loading(open_pack, above)
    for name in names:
        span = (places or {}).get(name) or Span(Source(name, ""), 0, 0)
        loading.load(Named(name, span), "", ())
    asked_for = tuple(name for name in loading.packs if name in loading.asked_for)
    return _Laying(list(loading.packs.values()), loading.faults).ruleset(asked_for, loading.packs), loading.faults


class _Loading:
    """Opens and reads packs, each once and each after those it lies over."""

    def __init__(self, open_pack: Callable[[str], Source | str | None], above: int):
        self.open_pack = open_pack
        self.above = above
        self.packs: dict[str, Pack] = {}
        self.faults: list[Fault] = []
        self._opened: set[str] = set()
        self._characters = 0
        self._rules = 0
        # Those that a department or a pack of its own names, and no pack that ships lies over for its own purposes.
        self.asked_for: set[str] = set()

    def load(self, named: Named, folder: str, through: tuple[str, ...]) -> None:
        """Load a pack that a pack in `folder` names; `through` are those that lie over it."""
        key = named.name if _BARE.fullmatch(named.name) else _inside(named.name, folder, self.above)
        if key is not None and not (through and _BARE.fullmatch(through[-1])):
            self.asked_for.add(key)
        if key is None:
            self._fault(
                named,
                f"the path `{clip(named.name)}` leads out of the record",
                "Keep the packs of a record beside it or below it.",
            )
        elif key in through:
            way = " over ".join((*through[through.index(key) :], key))
            self._fault(
                named, f"packs cannot lie over each other in a circle: {clip(way)}", "Take one of the `over` lines out."
            )
        elif key not in self._opened:
            self._opened.add(key)
            shipped = read_shipped(key)
            read = shipped or self._read(named, key)
            if read is not None:
                self._take_in(*read, key, through, named, shipped is not None)

    def _read(self, named: Named, key: str) -> tuple[Pack, list[Fault]] | None:
        if len(self._opened) > _MOST_PACKS:
            self._fault(named, f"more than {_MOST_PACKS} packs", "Put rules that belong together in one pack.")
            return None
        source = self.open_pack(key)
        if isinstance(source, str):
            self._fault(
                named,
                f"the rule pack `{clip(named.name)}` cannot be read: {source}",
                "Put that right, or take the line out.",
            )
            return None
        if source is None:
            otherwise = f"The shipped packs are {', '.join(shipped_names())}; any other is named by its file, in quotation marks."
            self._fault(
                named,
                f"there is no rule pack `{clip(named.name)}`",
                did_you_mean(named.name, shipped_names(), otherwise),
                nearest(named.name, shipped_names()),
            )
            return None
        self._characters += len(source.text)
        if self._characters > MOST_CHARACTERS:
            text = f"with the rule pack `{clip(named.name)}` the packs that do not ship have {self._characters:,} characters"
            self._fault(named, text, f"At most {MOST_CHARACTERS:,} are read. Take out what judges nothing.")
            return None
        # Those that ship were read when the program was installed.
        from cylfile.packs.pack_reader import read_pack

        return read_pack(source)

    def _take_in(
        self, pack: Pack, faults: list[Fault], key: str, through: tuple[str, ...], named: Named, is_shipped: bool
    ) -> None:
        self._rules += len(pack.rules)
        if self._rules > MOST_RULES:
            text = f"with the rule pack `{clip(named.name)}` there are {self._rules:,} rules"
            self._fault(named, text, f"At most {MOST_RULES:,} are judged. Take out what judges nothing.")
            return
        pack.is_shipped = is_shipped
        self.faults += faults
        for under in pack.over:
            self.load(under, "" if _BARE.fullmatch(key) else posixpath.dirname(key), (*through, key))
        self.packs[key] = pack

    def _fault(self, named: Named, text: str, cure: str, instead: str | None = None) -> None:
        self.faults.append(Fault(named.span, text, cure, instead))


def _inside(name: str, folder: str, above: int) -> str | None:
    """The path of a pack from the record's folder, None where it leads further up than `above` folders from there."""
    if not name or name.startswith(("/", "~")) or any(letter in name for letter in "\\:\0"):
        return None
    path = posixpath.normpath(posixpath.join(folder, name))
    return None if path.split("/").count("..") > above or posixpath.basename(path) == ".." else path


class _Laying:
    """Lays the packs that were loaded over each other."""

    def __init__(self, packs: list[Pack], faults: list[Fault]):
        self.packs = packs
        self.faults = faults
        self.rules: dict[str, tuple[Pack, RuleSheet]] = {}
        self.settings: dict[str, Value] = {}
        self.levels: dict[str, str] = {}
        self.suspended: dict[str, str] = {}
        self.sheets: list[tuple[str, ClassSheet]] = []
        self.known_classes: set[str] = set()
        self.figures: dict[str, Any] = {}
        self.figure_cites: dict[str, str] = {}
        self.setting_cites: dict[str, str] = {}
        self.rule_cites: dict[str, list[str]] = {}
        self.unreadable: set[str] = set()
        for pack in packs:
            self._lay(pack)

    @property
    def of_every(self) -> Figures:
        """What holds of every cylinder."""
        return Figures(**self.figures, cites=self.figure_cites)

    def ruleset(self, names: tuple[str, ...], packs: dict[str, Pack]) -> Ruleset:
        """The ruleset of the packs, of these names."""
        used: set[str] = set()
        rules = {}
        for name, (pack, sheet) in self.rules.items():
            rule = self._rule(pack, sheet, used)
            if rule is None:
                self.unreadable.add(name)
            else:
                rules[name] = rule
        if not self.unreadable:
            self._report_unused(used)
        levels = {name: self.levels.get(name, rule.level) for name, rule in CORE_RULES.items()}
        suspended = {name: reason for name, reason in self.suspended.items() if name in rules}
        classes = lay_classes({}, self.sheets, self.of_every)
        laxer = list(self._eased(rules, classes))
        return Ruleset(
            names, rules, suspended, self.settings, levels, classes, self.of_every, laxer, self.setting_cites, packs
        )

    def _eased(self, rules: dict[str, Rule], classes: dict[str, CylinderClass]) -> Iterator["Easing"]:
        """What the packs of the house make laxer than the shipped ones have it; the last of them settles it."""
        house = [pack for pack in self.packs if not pack.is_shipped]
        if not house:
            return
        # Many departments have none.
        from cylfile.packs.laxer import Easing, eased_figures, eased_level, eased_setting

        shipped = _Laying([pack for pack in self.packs if pack.is_shipped], [])
        for pack, change in {change.rule.name: (each, change) for each in house for change in each.levels}.values():
            level = shipped.level_of(change.rule.name)
            if level is not None:
                yield from eased_level(change.rule.name, level, change.level, pack.name, change.rule.span)
        for pack in house:
            for suspension in pack.suspensions:
                if suspension.rule.name in self.suspended:
                    text = f"{suspension.rule.name} suspended: {suspension.reason}"
                    yield Easing(text, pack.name, suspension.rule.span)
        for pack, setting in {word: (each, put) for each in house for word, put in each.settings.items()}.values():
            under = shipped.settings.get(setting.name)
            if under is not None and under.dimension == setting.value.dimension:
                yield from eased_setting(under, setting.value, rules.values(), pack.name, setting.span)
        where = {word: (pack.name, span) for pack in house for word, span in pack.where.items()}
        yield from eased_figures("", shipped.of_every, self.of_every, where)
        for name, of in lay_classes({}, shipped.sheets, shipped.of_every).items():
            laid = [(pack, pack.classes[name]) for pack in house if name in pack.classes]
            where = {word: (pack.name, span) for pack, sheet in laid for word, span in sheet.where.items()}
            yield from eased_figures(name, of.figures, classes[name].figures, where)

    def level_of(self, rule: str) -> str | None:
        """The level of a rule, None where there is none."""
        known = (
            CORE_RULES[rule].level if rule in CORE_RULES else self.rules[rule][1].level if rule in self.rules else None
        )
        return known and self.levels.get(rule, known)

    # One pack over the others.

    def _lay(self, pack: Pack) -> None:
        self.figures.update(pack.figures)
        self.figure_cites.update(pack.cites)
        self.unreadable |= pack.unreadable_rules
        for setting in pack.settings.values():
            under = self.settings.get(setting.name)
            if under is not None and under.dimension != setting.value.dimension:
                text = f"setting `{setting.name}` is a {under.dimension}, and this is a {setting.value.dimension}"
                self._fault(setting.span, text, "Give a figure of the same kind.")
            else:
                self.settings[setting.name] = setting.value
                changed = under is not None and under != setting.value
                if setting.cite or changed:
                    self.setting_cites[setting.name] = setting.cite or f"pack {pack.name}"
        for class_sheet in pack.classes.values():
            self._lay_class(pack, class_sheet)
        for sheet in pack.rules.values():
            if sheet.name in self.rules:
                there = self.rules[sheet.name][0].name
                text = f"there is a rule `{sheet.name}` in pack {there} already, and no other pack can replace it"
                self._fault(
                    sheet.span, text, "Change its `level`, change a `setting` or `suspend` it; or choose another name."
                )
            else:
                self.rules[sheet.name] = pack, sheet
        for change in pack.levels:
            if self._exists(change.rule):
                self.levels[change.rule.name] = change.level
        for suspension in pack.suspensions:
            if suspension.rule.name in CORE_RULES:
                text = f"`{suspension.rule.name}` is a rule of the reader itself and cannot be suspended"
                self._fault(suspension.rule.span, text, f"Change its level: `level  {suspension.rule.name}  notice`.")
            elif self._exists(suspension.rule):
                self.suspended[suspension.rule.name] = suspension.reason
        for source in pack.sources:
            if self._exists(source.rule):
                self.rule_cites.setdefault(source.rule.name, []).append(source.cite)
        for class_sheet in pack.classes.values():
            for rule in class_sheet.cited_rules:
                self._exists(rule)

    def _lay_class(self, pack: Pack, sheet: ClassSheet) -> None:
        if sheet.name not in self.known_classes and not sheet.title:
            otherwise = f'A class that is new needs a title: `class {sheet.name} "what it is"`.'
            self._fault(
                sheet.span,
                f"no class `{sheet.name}` to lay this over",
                did_you_mean(sheet.name, self.known_classes, otherwise),
            )
            return
        self.sheets.append((pack.name, sheet))
        self.known_classes.add(sheet.name)

    def _exists(self, rule: Named) -> bool:
        if rule.name in self.rules or rule.name in CORE_RULES or rule.name in self.unreadable:
            return True
        known = (*self.rules, *CORE_RULES)
        cure = did_you_mean(rule.name, known, "Is its pack named by `over`?")
        self._fault(rule.span, f"there is no rule `{rule.name}`", cure, nearest(rule.name, known))
        return False

    def _report_unused(self, used: set[str]) -> None:
        for pack in self.packs:
            for setting in pack.settings.values():
                if setting.name not in used:
                    cure = did_you_mean(setting.name, used, "Take it out.")
                    self._fault(
                        setting.span, f"no rule asks for setting `{setting.name}`", cure, nearest(setting.name, used)
                    )

    # Rules.

    def _rule(self, pack: Pack, sheet: RuleSheet, used: set[str]) -> Rule | None:
        checker = Checker(sheet.on, self.settings, self.faults)
        condition = checker.condition(sheet.when) if sheet.when is not None else None
        say = _phrase(checker, sheet.say, sheet.once) if sheet.say is not None else None
        phrases = [_phrase(checker, template) for template in sheet.working]
        working = [phrase for phrase in phrases if phrase is not None]
        advice = _phrase(checker, sheet.advice)
        used |= checker.used_settings
        if sheet.when is None or condition is None or say is None or advice is None or len(working) < len(phrases):
            return None
        settings = _settings_in(condition, working)
        words = f"{sheet.when.span.text} {[self.settings[name] for name in settings]}"
        cite = [*sheet.cite, *self.rule_cites.get(sheet.name, ())]
        return Rule(
            name=sheet.name, level=self.levels.get(sheet.name, sheet.level), on=sheet.on, once=sheet.once, pack=pack.name,
            span=sheet.span, condition=condition, words=words, why=sheet.why, cite=cite, breaks=sheet.breaks, keeps=sheet.keeps,
            say=say, working=working, advice=advice,
            setting_cites=[self.setting_cites[name] for name in settings if name in self.setting_cites],
        )  # fmt: skip

    def _fault(self, span: Span, text: str, cure: str, instead: str | None = None) -> None:
        self.faults.append(Fault(span, text, cure, instead))


def _settings_in(condition: Node, working: list[Phrase]) -> list[str]:
    """The settings that the condition and the working of a rule read, each once."""
    read = [condition, *(part for phrase in working for part in phrase.parts if not isinstance(part, str))]
    found = [part.setting for node in read for part in parts(node) if isinstance(part, Value) and part.setting]
    return list(dict.fromkeys(found))


def _phrase(checker: Checker, template: Template, may_count: bool = False) -> Phrase | None:
    """A text with its expressions checked, None where one of them means nothing."""
    checked = [part if isinstance(part, str) else checker.expression(part, may_count) for part in template]
    parts = [part for part in checked if part is not None]
    return Phrase(tuple(parts)) if len(parts) == len(checked) else None
