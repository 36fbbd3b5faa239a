"""
The functions that judge: one for all rules that stand on a place, of what was compiled now or when the program was installed.

Compiling takes as long as reading a small record, so what the shipped packs come to is kept, see `text/made.py`. It is found
by what the conditions say, and used by the Python that compiled it.
"""

import marshal
import pickle
from collections.abc import Callable, Iterable
from functools import cache
from hashlib import sha256
from importlib.util import MAGIC_NUMBER
from types import CodeType, FunctionType
from typing import Any

from cylfile.history.facts import FACTS, Entry, History
from cylfile.packs.expressions import asked
from cylfile.packs.operations import OPERATIONS
from cylfile.packs.rule import Rule
from cylfile.packs.shipped import GRAMMAR, MAKERS
from cylfile.text.made import MadeOnce

_KEPT = MadeOnce("conditions.compiled", GRAMMAR, (MAGIC_NUMBER.hex(),), MAKERS)
# What is compiled: what judges by the rules on a place, and what tells for want of what one is not known.
JUDGE, LACKING = "judge", "lacking"


def judge_on(place: str, rules: list[Rule]) -> Callable:
    """
    The function `judge(life, entry, hits)` of all rules that stand on a place of the fact table.

    It appends to `hits` a pair (rule, unknown) for every rule whose condition is true, with `()`,
    and for every one whose condition is neither true nor false, with the names of the facts that
    were not known. It gives back what the source of a fill had to give, where a rule asks after that, else None.
    """
    return _function(JUDGE, place, rules)


class Lacking:
    """
    Tells for want of which facts the condition of a rule is not known; compiled when somebody asks.

    Those are the unknown facts of the parts that are not known themselves: in `a or known b and
    c > b`, where neither `a` nor `b` is known, `a` alone.
    """

    __slots__ = ("place", "rule", "_look")

    def __init__(self, place: str, rule: Rule):
        self.place = place
        self.rule = rule
        self._look: Callable | None = None

    def __call__(self, life: History, entry: Entry | None) -> tuple[str, ...]:
        if self._look is None:
            self._look = _function(LACKING, self.place, [self.rule])
        names: list[str] = []
        self._look(life, entry, names)
        # Where every fact is known, it was the arithmetic that had no result.
        return tuple(dict.fromkeys(names)) or tuple(fact.name for fact in asked(self.rule.condition))


def _function(what: str, place: str, rules: list[Rule]) -> Callable:
    """A function of the conditions of some rules; it sees nothing but its objects."""
    kept = _kept().get(_key(what, place, rules))
    if kept is None:
        code, names = _compiled(what, place, rules)
    else:
        marshalled, names = pickle.loads(kept)
        code = marshal.loads(marshalled)
    things = {name: _thing(place, rules, *told) for name, told in names.items()}
    return FunctionType(code, {"__builtins__": {}, **things})


def _compiled(what: str, place: str, rules: list[Rule]) -> tuple[CodeType, dict[str, tuple]]:
    # Where the rules were compiled when the program was installed, none of this is needed.
    from cylfile.packs.compiling import compile_judge, compile_lacking

    conditions = [rule.condition for rule in rules]
    return compile_judge(place, conditions) if what == JUDGE else compile_lacking(place, conditions[0])


def _thing(place: str, rules: list[Rule], kind: str, what: Any) -> Any:
    """What a name in a code stands for."""
    match kind:
        case "rule":
            return rules[what]
        case "hit":
            return rules[what], ()
        case "lacking":
            return Lacking(place, rules[what])
        case "fact":
            return FACTS[what].compute
        case "operation":
            return OPERATIONS[what].function
    return what


def _key(what: str, place: str, rules: list[Rule]) -> str:
    """By what a code is known: what it does, and what the conditions that it was made of say."""
    said = "\0".join([what, place, *(rule.words for rule in rules)])
    return sha256(said.encode("utf-8", "surrogatepass")).hexdigest()


@cache
def _kept() -> dict[str, bytes]:
    return _KEPT.load() or {}


def save_judges(rulesets: Iterable[list[Rule]]) -> None:
    """Keep the code of the rules of each of some rulesets."""
    kept: dict[str, bytes] = {}
    for rules in rulesets:
        for place in dict.fromkeys(place for rule in rules for place in rule.on):
            on = [rule for rule in rules if place in rule.on]
            for what, of in ((JUDGE, on), *((LACKING, [rule]) for rule in on)):
                key = _key(what, place, of)
                if key not in kept:
                    code, names = _compiled(what, place, of)
                    kept[key] = pickle.dumps((marshal.dumps(code), names))
    _KEPT.save(kept)
