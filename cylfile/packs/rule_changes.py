"""
What differs between two rulesets of one department, and what of it makes the later one laxer.

Packs are part of a record: who turns a rule off changes what the record says of the past.
"""

from collections.abc import Iterator
from typing import NamedTuple

from cylfile.findings.core_rules import CORE_RULES
from cylfile.packs.laxer import Easing, eased_figures, eased_level, eased_setting
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.text.source import Span


class RuleChange(NamedTuple):
    """
    Something that the later rules have otherwise. `laxer` is whether they ask for less; a condition that says
    something else counts as that, since nobody can tell. `span` is its place, None where it has none.
    """

    text: str
    laxer: bool
    span: Span | None


def compare_rules(old: Ruleset, new: Ruleset) -> list[RuleChange]:
    """All that became laxer, then each pack that is new, gone or says something else."""
    if old.digests == new.digests and old.names == new.names:
        return []
    changes = [RuleChange(easing.text, True, easing.span) for easing in _eased(old, new)]
    changes += _rules(old, new)
    for name in dict.fromkeys((*old.packs, *new.packs)):
        before, after = old.digests.get(name), new.digests.get(name)
        if before and not after:
            changes.append(_gone(old, new, name))
        elif before != after:
            what = "says something else" if before else "is new"
            changes.append(RuleChange(f"pack {name} {what}", False, _start(new, name)))
    if old.names != new.names and not changes:
        changes.append(RuleChange(f"packs laid as {', '.join(new.names)}", False, None))
    return changes


def _gone(old: Ruleset, new: Ruleset, name: str) -> RuleChange:
    """A pack that is laid no more, with what went with it; whoever only renamed its file took nothing away."""
    pack = old.packs[name]
    rules = len(pack.rules.keys() - new.rules.keys())
    classes = len(pack.classes.keys() - new.classes.keys())
    lost = f", and with it {rules} of its rules and {classes} of its classes" if rules or classes else ""
    return RuleChange(f"pack {name} is gone{lost}", bool(lost), _start(old, name))


def _went_with_its_pack(old: Ruleset, new: Ruleset, span: Span) -> bool:
    return any(pack.source is span.source and name not in new.packs for name, pack in old.packs.items())


def _start(rules: Ruleset, name: str) -> Span:
    return Span(rules.packs[name].source, 0, 0)


def _rules(old: Ruleset, new: Ruleset) -> Iterator[RuleChange]:
    """Rules that no longer judge, or judge by something else."""
    suspended = {each.rule.name: each.rule.span for pack in new.packs.values() for each in pack.suspensions}
    for name, rule in old.rules.items():
        if name in old.suspended:
            continue
        now = new.rules.get(name)
        if now is None and _went_with_its_pack(old, new, rule.span):
            continue
        if now is None:
            yield RuleChange(f"{name} is in no pack any more", True, rule.span)
        elif name in new.suspended:
            yield RuleChange(f"{name} suspended: {new.suspended[name]}", True, suspended.get(name))
        elif _judges(rule) != _judges(now):
            yield RuleChange(f"{name} judges by another condition", True, now.span)


def _judges(rule: Rule) -> tuple:
    """What a rule judges, whatever its words. Settings are compared by themselves."""
    return rule.on, rule.once, repr(_without_settings(rule.condition))


def _without_settings(node: object) -> object:
    if isinstance(node, tuple):
        setting = getattr(node, "setting", "")
        return ("setting", setting) if setting else (type(node).__name__, *map(_without_settings, node))
    return getattr(node, "name", node)


def _eased(old: Ruleset, new: Ruleset) -> Iterator[Easing]:
    """Levels, settings and figures that ask for less."""
    packs = new.packs.values()
    levels = {change.rule.name: change.rule.span for pack in packs for change in pack.levels}
    settings = {name: setting.span for pack in packs for name, setting in pack.settings.items()}
    for name in dict.fromkeys((*CORE_RULES, *old.rules)):
        if name in old.suspended or not (name in CORE_RULES or name in new.rules):
            continue
        place = levels.get(name)
        if place is None:
            place = new.rules[name].span if name in new.rules else _anywhere(new) or _anywhere(old)
        if place is not None:
            yield from eased_level(name, old.level_of(name), new.level_of(name), "", place)
    for name, value in old.settings.items():
        now = new.settings.get(name)
        place = settings.get(name)
        if now is not None and place is not None and now.dimension == value.dimension:
            yield from eased_setting(value, now, new.rules.values(), "", place)
    every = {word: (pack.name, span) for pack in packs for word, span in pack.where.items()}
    yield from eased_figures("", old.of_every, new.of_every, _Somewhere(every, _anywhere(new)))
    for name, kind in old.classes.items():
        later = new.classes.get(name)
        if later is None:
            first = next(pack.classes[name].span for pack in old.packs.values() if name in pack.classes)
            if not _went_with_its_pack(old, new, first):
                yield Easing(f"class {name} is in no pack any more", "", first)
            continue
        sheets = [(pack.name, pack.classes[name]) for pack in packs if name in pack.classes]
        where = {word: (pack, span) for pack, sheet in sheets for word, span in sheet.where.items()}
        yield from eased_figures(name, kind.figures, later.figures, _Somewhere(where, sheets[-1][1].span))


def _anywhere(rules: Ruleset) -> Span | None:
    return next((Span(pack.source, 0, 0) for pack in reversed(rules.packs.values())), None)


class _Somewhere(dict):
    """Places by word, and one for every other word: a line that was taken out has none."""

    def __init__(self, places: dict, otherwise: Span | None):
        super().__init__(places)
        self.otherwise = otherwise

    def __contains__(self, word: object) -> bool:
        return self.otherwise is not None or super().__contains__(word)

    def __missing__(self, word: str) -> tuple:
        return "", self.otherwise
