"""
What the rules say of a cylinder whose own lines are as they were, where others tell something else of some of its fills: of
their air, and of the authority of who signs them.

Rules that ask after what differs are asked again of those fills alone, by what was told before and by what is told now. It
is only done where that is certain to say the same as judging all of the cylinder again.
"""

from collections.abc import Iterable, Sequence
from operator import attrgetter
from typing import NamedTuple

from cylfile.history.facts import FACTS, SIGNER, Fact
from cylfile.history.fold import copy_of
from cylfile.history.sources.air_log import AirLog
from cylfile.history.sources.supply import SourceThen, Supply
from cylfile.judging.by_itself import Verdict
from cylfile.judging.reached import Twice
from cylfile.judging.subject_judge import CylinderJudge
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.record.entries import Entry
from cylfile.record.record import Record

# Facts that neither the entry alone tells nor what happened before it, but the card and the rules.
_OF_CARD = ("settled", "reference-temperature")


class FillsToldOtherwise:
    """
    Judges fills of cylinders again, in a record of which others tell something else now: `record`, with its log `air`.

    `of_signers` is whether the authority of who signs any of them is among that.
    """

    def __init__(self, rules: Ruleset, record: Record, air: AirLog, of_signers: bool):
        asking = {
            name: rule
            for name, rule in rules.rules.items()
            if "filled" in rule.on and any(map(_is_told_by_others, rule.facts))
        }
        facts = set[Fact]().union(*(rule.facts for rule in asking.values()))
        self._stand_alone = all(fact.entry or _is_told_by_others(fact) or fact.name in _OF_CARD for fact in facts)
        self._rules = rules.with_rules(asking)
        self._record, self._air = record, air
        self._by_supply = [fact for fact in FACTS.values() if fact.air]
        self._of_signers = {fact.name for fact in facts if of_signers and fact.lines_of == SIGNER}
        # What was found once: by the facts that differ, the rules that ask after them; the rules for two supplies; and
        # by its name, whether a source gave the same air at the same moments.
        self._asking_after: dict[frozenset[str], Ruleset] = {}
        self._for_supplies: dict[tuple[Supply, Supply], Ruleset] = {}
        self._gave_as: dict[str, bool] = {}

    def verdict(self, before: Verdict, fills: Sequence[Twice]) -> Verdict | None:
        """The verdict of a cylinder after the change, of which some fills may be told otherwise; None where all of it has to be judged."""
        if not self._stand_alone:
            return None
        then, now = copy_of(before.life_here), copy_of(before.life_here)
        now.air, now.people = self._air, self._record.authority
        air_then = then.air
        assert air_then is not None, "it was judged by it"
        card = self._record.cylinders[now.name]
        judge_then, judge = (_FillJudge(self._rules, life, card) for life in (then, now))
        known = {(finding.rule, finding.span): finding for finding in before.findings}
        days = {finding.day for finding in before.findings}
        gone, otherwise = set(), []
        for fill_then, fill in fills:
            rules = self._to_be_asked(air_then.at(fill_then), self._air.at(fill))
            if not rules.rules:
                continue
            told, tells = judge_then.told_of(fill_then, rules), judge.told_of(fill, rules)
            if told.in_doubt != tells.in_doubt:
                return None
            for rule in {*told.rules, *tells.rules}:
                is_other = rule not in told.rules or rule not in tells.rules
                if rule.once and is_other:
                    return None
                # What is told once is worded where it holds first.
                finding = known.get((rule.name, fill.span)) if fill.day in days else None
                times, last_day = (1, None) if finding is None else (finding.times, finding.last_day)
                if is_other or (
                    (finding is not None or not rule.once)
                    and judge_then.words(rule, fill_then, times) != judge.words(rule, fill, times)
                ):
                    otherwise.append(fill)
                    if finding is not None:
                        gone.add((rule.name, finding.span))
                    if rule in tells.rules:
                        judge.find(rule, fill, times, last_day)
        if not otherwise:
            return before
        kept = [finding for finding in before.findings if (finding.rule, finding.span) not in gone]
        asked = before.asked and before.asked._replace(otherwise=(*before.asked.otherwise, *otherwise))
        return Verdict(before.life, kept + judge.findings, asked)

    def _to_be_asked(self, then: Supply, now: Supply) -> Ruleset:
        """The rules that may say something else of a fill, of which this was known, and this is."""
        if not (then.is_told and now.is_told and then.suspect is None and now.suspect is None):
            # It may hang on an order that nothing tells, and that on anything.
            return self._rules
        rules = self._for_supplies.get((then, now))
        if rules is None:
            others = {fact.name for fact in self._by_supply if attrgetter(fact.air)(then) != attrgetter(fact.air)(now)}
            if not self._is_counted_as(then.then, now.then):
                others.update(fact.name for fact in FACTS.values() if fact.given)
            rules = self._for_supplies[then, now] = self._rules_asking(frozenset(others | self._of_signers))
        return rules

    def _is_counted_as(self, then: SourceThen, now: SourceThen) -> bool:
        """Whether what a source gave comes to the same."""
        if then.log is None or now.log is None:
            return then.log is now.log
        if not then.counts_from(now):
            return False
        if now.name not in self._gave_as:
            self._gave_as[now.name] = then.log.gave_as(now.log)
        return self._gave_as[now.name]

    def _rules_asking(self, names: frozenset[str]) -> Ruleset:
        """Those of the rules that ask after any of some facts, or would tell them to be lacking."""
        if names not in self._asking_after:
            asking = {
                name: rule
                for name, rule in self._rules.rules.items()
                if not names.isdisjoint(_with_roots(fact.name for fact in rule.facts))
            }
            self._asking_after[names] = self._rules.with_rules(asking)
        return self._asking_after[names]


def _with_roots(names: Iterable[str]) -> set[str]:
    """Some facts and all that they are derived from."""
    found = list(names)
    for name in found:
        found += FACTS[name].derived_from
    return set(found)


def _is_told_by_others(fact: Fact) -> bool:
    return fact.is_of_air or fact.lines_of == SIGNER


class _Told(NamedTuple):
    """Of a fill, the rules that hold of it; and `in_doubt`, what is not known of it, and what is so in one order that nothing tells."""

    rules: list[Rule]
    in_doubt: tuple


_NOTHING = _Told([], ([], []))


class _FillJudge(CylinderJudge):
    """Asks rules of single fills."""

    def told_of(self, fill: Entry, rules: Ruleset) -> _Told:
        """What some rules say of a fill."""
        hits = self._asked(fill, rules)
        if not hits:
            return _NOTHING
        unknown = [(rule.name, [self._roots(name, fill) for name in names]) for rule, names in hits if names]
        air, in_one_order = self.life.air, []
        assert air is not None, "it was judged by it"
        if untold := air.untold(fill):
            self.life.air = air.lenient
            told = self._asked(fill, rules)
            self.life.air = air
            alone = [self.words(rule, fill, 1) for rule, names in hits if (rule, names) not in told]
            if alone:
                in_one_order = [alone, [entry.facts for entry in untold]]
        return _Told([rule for rule, names in hits if not names], (unknown, in_one_order))

    def _asked(self, fill: Entry, rules: Ruleset) -> list[tuple[Rule, tuple[str, ...]]]:
        hits: list[tuple[Rule, tuple[str, ...]]] = []
        judge = rules.judge_of(fill.verb)
        if judge is not None:
            judge(self.life, fill, hits)
        return hits

    def words(self, rule: Rule, fill: Entry, times: int) -> tuple:
        """What a rule says of a fill."""
        return rule.say(self.life, fill, times), rule.working(self.life, fill), rule.advice(self.life, fill)
