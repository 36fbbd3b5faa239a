"""
Laying packs over each other: in the order they are named, each after those that it lies over.

A later pack may add rules, classes and settings; change a class property by property, a setting
to a figure of the same kind, a rule's level; and suspend a rule. It may not say a rule anew.
"""

import posixpath
import re
from collections.abc import Callable, Iterable, Mapping

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.figures import Figures
from cylfile.packs.checking import Checker
from cylfile.packs.expressions import Node, Value, parts
from cylfile.packs.marking import Pattern, PatternRefused
from cylfile.packs.pack import ClassSheet, Named, Pack, RuleSheet, Template
from cylfile.packs.pack_reader import read_pack
from cylfile.packs.rule import Phrase, Rule
from cylfile.packs.ruleset import Ruleset, lay_classes
from cylfile.packs.shipped import open_shipped, shipped_names
from cylfile.packs.suggest import did_you_mean, nearest
from cylfile.text.refusals import clip
from cylfile.text.source import Fault, Source, Span

_BARE = re.compile("[a-z][a-z0-9-]*")
_MOST_PACKS = 50


def load_rules(
    names: Iterable[str], open_pack: Callable[[str], Source | str | None], places: Mapping[str, Span] | None = None
) -> tuple[Ruleset, list[Fault]]:
    """
    The ruleset of the packs that a department names, and all that is wrong with them.

    A bare name is that of a shipped pack; any other name is a path, relative to the record or to
    the pack that lies over it, and `open_pack` gives its source, None where there is none, or in
    words why it cannot be read. Paths that lead out of the record are refused unopened. `places`
    says where the names were written; the fault of a name that is not in it stands at the start
    of an empty source of this name.
    """
    loading = _Loading(open_pack)
    for name in names:
        span = (places or {}).get(name) or Span(Source(name, ""), 0, 0)
        loading.load(Named(name, span), "", ())
    return _Laying(loading).ruleset(), loading.faults


class _Loading:
    """Opens and reads packs, each once and each after those it lies over."""

    def __init__(self, open_pack: Callable[[str], Source | str | None]):
        self.open_pack = open_pack
        self.packs: dict[str, Pack] = {}
        self.faults: list[Fault] = []
        self._opened: set[str] = set()

    def load(self, named: Named, folder: str, through: tuple[str, ...]) -> None:
        """Load a pack that a pack in `folder` names; `through` are those that lie over it."""
        key = named.name if _BARE.fullmatch(named.name) else _inside(named.name, folder)
        if key is None:
            self._fault(
                named,
                f"the path `{clip(named.name)}` leads out of the record",
                "Keep the packs of a record beside it or below it.",
            )
        elif key in through:
            way = " over ".join((*through[through.index(key) :], key))
            self._fault(
                named, f"packs cannot lie over each other in a ring: {clip(way)}", "Take one of the `over` lines out."
            )
        elif key not in self._opened:
            self._opened.add(key)
            source = self._open(named, key)
            if source is not None:
                self._read(source, key, through)

    def _open(self, named: Named, key: str) -> Source | None:
        if len(self._opened) > _MOST_PACKS:
            self._fault(named, f"more than {_MOST_PACKS} packs", "Put rules that belong together in one pack.")
            return None
        source = open_shipped(key) or self.open_pack(key)
        if isinstance(source, str):
            self._fault(
                named,
                f"the rule pack `{clip(named.name)}` cannot be read: {source}",
                "Mend that, or take the line out.",
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
        return source

    def _read(self, source: Source, key: str, through: tuple[str, ...]) -> None:
        pack, faults = read_pack(source)
        self.faults += faults
        for under in pack.over:
            self.load(under, "" if _BARE.fullmatch(key) else posixpath.dirname(key), (*through, key))
        self.packs[key] = pack

    def _fault(self, named: Named, text: str, cure: str, instead: str | None = None) -> None:
        self.faults.append(Fault(named.span, text, cure, instead))


def _inside(name: str, folder: str) -> str | None:
    """The path of a pack from the record's folder, None where it does not lie in there."""
    if not name or name.startswith(("/", "~")) or any(letter in name for letter in "\\:\0"):
        return None
    path = posixpath.normpath(posixpath.join(folder, name))
    return None if path == ".." or path.startswith("../") else path


class _Laying:
    """Lays the packs that were loaded over each other."""

    def __init__(self, loading: _Loading):
        self.loading = loading
        self.rules: dict[str, tuple[Pack, RuleSheet]] = {}
        self.settings: dict[str, Value] = {}
        self.levels: dict[str, str] = {}
        self.suspended: dict[str, str] = {}
        self.sheets: list[tuple[str, ClassSheet]] = []
        self.figures: dict[str, float | bool] = {}
        self.figure_cites: dict[str, str] = {}
        self.setting_cites: dict[str, str] = {}
        self.rule_cites: dict[str, list[str]] = {}
        self.unreadable: set[str] = set()

    def ruleset(self) -> Ruleset:
        for pack in self.loading.packs.values():
            self._lay(pack)
        of_every = Figures(**self.figures, cites=self.figure_cites)
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
        classes = lay_classes({}, self.sheets, of_every)
        return Ruleset(tuple(self.loading.packs), rules, suspended, self.settings, levels, classes, of_every)

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
        for sheet in pack.classes.values():
            self._lay_class(pack, sheet)
        for sheet in pack.rules.values():
            if sheet.name in self.rules:
                there = self.rules[sheet.name][0].name
                text = f"there is a rule `{sheet.name}` in pack {there} already, and no pack can say it anew"
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
        for sheet in pack.classes.values():
            for rule in sheet.cited_rules:
                self._exists(rule)

    def _lay_class(self, pack: Pack, sheet: ClassSheet) -> None:
        known = {other.name for _, other in self.sheets}
        if sheet.name not in known and not sheet.title:
            otherwise = f'A class that is new needs a title: `class {sheet.name} "what it is"`.'
            self._fault(
                sheet.span, f"no class `{sheet.name}` to lay this over", did_you_mean(sheet.name, known, otherwise)
            )
            return
        for pattern in list(sheet.patterns):
            try:
                Pattern(pattern)
            except PatternRefused as refusal:
                self._fault(
                    sheet.span,
                    f"marking `{clip(pattern)}` of class `{sheet.name}`: {refusal}",
                    "Write it as it is stamped.",
                )
                sheet.patterns.remove(pattern)
        self.sheets.append((pack.name, sheet))

    def _exists(self, rule: Named) -> bool:
        if rule.name in self.rules or rule.name in CORE_RULES or rule.name in self.unreadable:
            return True
        known = (*self.rules, *CORE_RULES)
        cure = did_you_mean(rule.name, known, "Is the pack that it stands in named by `over`?")
        self._fault(rule.span, f"there is no rule `{rule.name}`", cure, nearest(rule.name, known))
        return False

    def _report_unused(self, used: set[str]) -> None:
        for pack in self.loading.packs.values():
            for setting in pack.settings.values():
                if setting.name not in used:
                    cure = did_you_mean(setting.name, used, "Take it out.")
                    self._fault(
                        setting.span, f"no rule asks for setting `{setting.name}`", cure, nearest(setting.name, used)
                    )

    # Rules.

    def _rule(self, pack: Pack, sheet: RuleSheet, used: set[str]) -> Rule | None:
        checker = Checker(sheet.on, self.settings, self.loading.faults)
        condition = checker.condition(sheet.when)
        say = _phrase(checker, sheet.say, sheet.once)
        working = [_phrase(checker, template) for template in sheet.working]
        advice = _phrase(checker, sheet.advice)
        used |= checker.used_settings
        if condition is None or say is None or advice is None or None in working:
            return None
        settings = _settings_in(condition, working)
        cite = [*sheet.cite, *self.rule_cites.get(sheet.name, ())]
        return Rule(
            name=sheet.name, level=self.levels.get(sheet.name, sheet.level), on=sheet.on, once=sheet.once, pack=pack.name,
            span=sheet.span, condition=condition, why=sheet.why, cite=cite, breaks=sheet.breaks, keeps=sheet.keeps,
            say=say, working=working, advice=advice,
            setting_cites=[self.setting_cites[name] for name in settings if name in self.setting_cites],
        )  # fmt: skip

    def _fault(self, span: Span, text: str, cure: str, instead: str | None = None) -> None:
        self.loading.faults.append(Fault(span, text, cure, instead))


def _settings_in(condition: Node, working: list[Phrase]) -> list[str]:
    """The settings that the condition and the working of a rule read, each once."""
    read = [condition, *(part for phrase in working for part in phrase.parts if not isinstance(part, str))]
    found = [part.setting for node in read for part in parts(node) if isinstance(part, Value) and part.setting]
    return list(dict.fromkeys(found))


def _phrase(checker: Checker, template: Template, may_count: bool = False) -> Phrase | None:
    """A text with its expressions checked, None where one of them means nothing."""
    parts = [part if isinstance(part, str) else checker.expression(part, may_count) for part in template]
    return None if None in parts else Phrase(tuple(parts))
