"""
Compiling expressions to Python code objects, put together as syntax trees and never as text.

A condition is true, false or not known (Kleene's logic). Two plain Python conditions say that:
one that holds where it is true and one that holds where it is false; where neither does, it is
not known. So the usual case, a rule that is not broken, costs a comparison or two; and what an
earlier condition has fetched, or found to be known, is not asked again.
"""

import ast
from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from functools import reduce
from math import inf
from types import CodeType
from typing import Any, NamedTuple

from cylfile.history.facts import AS_OF_DAY, FACTS, FILLS, Fact
from cylfile.packs.expressions import (
    And,
    Arithmetic,
    Asked,
    Comparison,
    Known,
    Node,
    Not,
    Or,
    Value,
    asked,
    parts,
)
from cylfile.packs.worth import function_of, key_of

# A code and, for each name in it, what that stands for, in words of `judges` that outlive the process.
Compiled = tuple[CodeType, dict[str, tuple]]

_SIGNS = {"<": ast.Lt, "<=": ast.LtE, "=": ast.Eq, "!=": ast.NotEq, ">=": ast.GtE, ">": ast.Gt}
_OPPOSITE = {"<": ">=", "<=": ">", "=": "!=", "!=": "=", ">=": "<", ">": "<="}
_PYTHON = {"+": ast.Add, "-": ast.Sub, "*": ast.Mult, "/": ast.Div}


class Seen(NamedTuple):
    """What is certain at a point of a function: which of its variables were fetched by then, and which of those are known."""

    fetched: frozenset[str] = frozenset()
    known: frozenset[str] = frozenset()

    def fetching(self, name: str) -> "Seen":
        return self._replace(fetched=self.fetched | {name})

    def knowing(self, name: str) -> "Seen":
        return Seen(self.fetched | {name}, self.known | {name})

    def meeting(self, other: "Seen") -> "Seen":
        """What is certain where one comes from either of two points."""
        return Seen(self.fetched & other.fetched, self.known & other.known)


class Test(NamedTuple):
    """A condition as Python, and what is certain where it holds and where it fails."""

    code: ast.expr
    held: Seen
    failed: Seen


class Worked(NamedTuple):
    """A value as Python: what has to hold, in this order, for it to be known, and what is certain then."""

    guards: list[Test]
    code: ast.expr
    seen: Seen


class Function:
    """
    A function under construction: its local variables for facts and results, and what it refers to, in words of `judges`.

    All names in it are made here: `fact0`, `object1`, `result2`. Facts that are asked for `early` are fetched when
    the function begins, all others where they are asked for first, since they may not be needed at all; one that
    may have been fetched, and is not cheap to have, is `...` until then.
    """

    def __init__(self, place: str, early: Iterable[Fact]):
        # The place where it will be called.
        self.place = place
        self._names: dict[tuple, str] = {}
        # The local variable of each fact and of the result of each arithmetic.
        self._variables: dict[Fact | Node | str, str] = {}
        self._fetched_early = {self.variable(fact): fact for fact in early}
        # Variables that are fetched somewhere in what is written so far, and those asked for where that is not certain.
        self._fetched: set[str] = set(self._fetched_early)
        self._uncertain: set[str] = set()
        self._asks_air = False

    @property
    def start(self) -> Seen:
        """What is certain when the function begins."""
        return Seen(frozenset(self._fetched_early))

    # Names and constants.

    def refer(self, kind: str, what: Any) -> ast.expr:
        """An object that is no constant of the syntax tree; see `judges`."""
        return _load(self._names.setdefault((kind, what), f"object{len(self._names)}"))

    def variable(self, thing: Fact | Node) -> str:
        """The local variable of a fact, or of the result of arithmetic."""
        kind = "fact" if isinstance(thing, Fact) else "result"
        return self._variables.setdefault(self._key(thing), f"{kind}{len(self._variables)}")

    def _key(self, thing: Fact | Node) -> Fact | Node | str:
        """Facts that are the same of an entry have one variable."""
        return thing.entry if isinstance(thing, Fact) and self._is_of_entry(thing) else thing

    def _is_of_entry(self, fact: Fact) -> bool:
        return bool(fact.entry) and self.place not in AS_OF_DAY

    def _begin(self) -> list[ast.stmt]:
        """One assignment for every fact that is fetched early; what may be fetched later is `...` until then."""
        early = [_assign(name, self._fetch(fact, Seen())) for name, fact in self._fetched_early.items()]
        at_fill = _call(_attribute(_load("life"), "air.at"), _load("entry"))
        return [
            *([_assign("air", at_fill)] if self._asks_air else []),
            *early,
            *(_assign(name, ast.Constant(...)) for name in sorted(self._uncertain)),
        ]

    def _is_of_air(self, fact: Fact) -> bool:
        """Whether a fact is had from what the source of a fill had to give, which is looked up once for all of them."""
        return fact.is_of_air and self.place in FILLS

    def _fetch(self, fact: Fact, seen: Seen) -> ast.expr:
        if self._is_of_air(fact):
            self._asks_air = True
            found = _attribute(_load("air"), fact.air or fact.given)
            return found if fact.air else _call(found, _load("entry"))
        if self._is_of_entry(fact):
            return self._from_entry(fact)
        if fact.first_known:
            return self._first_known([FACTS[name] for name in fact.first_known], seen)
        if fact.life:
            return _attribute(_load("life"), fact.life)
        computed = _call(self.refer("fact", fact.name), _load("life"), _load("entry"))
        lacking = [_is_unknown(self._asked(FACTS[name], seen)) for name in fact.needs if self.place in FACTS[name].at]
        return ast.IfExp(_any(lacking), ast.Constant(None), computed) if lacking else computed

    def _first_known(self, facts: list[Fact], seen: Seen) -> ast.expr:
        """The first of some facts that is known."""
        value, others = self._asked(facts[0], seen), facts[1:]
        if not others:
            return value
        first = _load(self.variable(facts[0]))
        return ast.IfExp(_is_known(value), first, self._first_known(others, seen))

    @staticmethod
    def _from_entry(fact: Fact) -> ast.expr:
        first, _, rest = fact.entry.partition(".")
        said = _attribute(_load("entry"), first)
        if not rest:
            return said
        # A quantity that is not written is None, and one that is written is never false.
        here = ast.NamedExpr(ast.Name("quantity", ast.Store()), said)
        return ast.BoolOp(ast.And(), [here, _attribute(_load("quantity"), rest)])

    def _asked(self, fact: Fact, seen: Seen) -> ast.expr:
        """The value of a fact, fetched where it may not have been."""
        name = self.variable(fact)
        return _load(name) if name in seen.fetched else self._once(name, self._fetch(fact, seen), is_at_hand(fact))

    def _once(self, name: str, fetch: ast.expr, is_cheap: bool = False) -> ast.expr:
        """The value of a variable that is not certain to be fetched, fetched unless it was."""
        here = ast.NamedExpr(ast.Name(name, ast.Store()), fetch)
        if is_cheap or name not in self._fetched:
            self._fetched.add(name)
            return here
        self._uncertain.add(name)
        return ast.IfExp(ast.Compare(_load(name), [ast.Is()], [ast.Constant(...)]), here, _load(name))

    # Values.

    def value(self, node: Node, seen: Seen) -> Worked:
        """A value, as it is worked out where `seen` is certain."""
        match node:
            case Value(value=value):
                return Worked([], self._constant(value), seen)
            case Asked(fact=fact):
                name = self.variable(fact)
                if fact.always_known or name in seen.known:
                    return Worked([], self._asked(fact, seen), seen)
                return self._guarded(name, self._asked(fact, seen), seen)
            case Arithmetic():
                return self._arithmetic(node, seen)
        # A condition, shown as a value: yes, no or not known.
        yes = self.holds(node, True, seen)
        no = self.holds(node, False, yes.failed)
        outcome = ast.IfExp(yes.code, ast.Constant(True), ast.IfExp(no.code, ast.Constant(False), ast.Constant(None)))
        name = self.variable(node)
        return self._guarded(name, ast.NamedExpr(ast.Name(name, ast.Store()), outcome), seen)

    @staticmethod
    def _guarded(name: str, value: ast.expr, seen: Seen) -> Worked:
        """A value that may not be known, which is that of a variable from then on."""
        known = seen.knowing(name)
        return Worked([Test(_is_known(value), known, seen.fetching(name))], _load(name), known)

    def _constant(self, value) -> ast.expr:
        return self.refer("value", value) if isinstance(value, (date, timedelta)) else ast.Constant(value)

    def _arithmetic(self, node: Arithmetic, seen: Seen) -> Worked:
        name = self.variable(node)
        if name in seen.fetched:
            return Worked([], _load(name), seen) if name in seen.known else self._guarded(name, _load(name), seen)
        left = self.value(node.left, seen)
        right = self.value(node.right, left.seen)
        guards = [*left.guards, *right.guards]
        if function_of(node) is None:
            return Worked(guards, ast.BinOp(left.code, _PYTHON[node.sign](), right.code), right.seen)
        call = _call(self.refer("operation", key_of(node)), left.code, right.code)
        result = self._guarded(name, self._once(name, call), right.seen)
        return result._replace(guards=[*guards, *result.guards])

    # Conditions.

    def holds(self, node: Node, wanted: bool, seen: Seen) -> Test:
        """Holds exactly where the condition is true, or, where that is not `wanted`, false."""
        match node:
            case Value(value=value):
                return Test(ast.Constant(bool(value) == wanted), seen, seen)
            case Asked(fact=fact):
                return self._flag(fact, wanted, seen)
            case Known(fact=fact):
                return self._known(fact, wanted, seen)
            case Not(inner=inner):
                return self.holds(inner, not wanted, seen)
            case And() | Or():
                return self._together(_joined(node, type(node)), wanted, isinstance(node, And) == wanted, seen)
        assert isinstance(node, Comparison)
        return self._compared(node, node.sign if wanted else _OPPOSITE[node.sign], seen)

    def _flag(self, fact: Fact, wanted: bool, seen: Seen) -> Test:
        value, name = self._asked(fact, seen), self.variable(fact)
        fetched, known = seen.fetching(name), seen.knowing(name)
        if wanted:
            # Neither what is false nor what is not known holds.
            return Test(value, known, fetched)
        if fact.always_known or name in seen.known:
            return Test(_not(value), known, known)
        return Test(_every([_is_known(value), _not(_load(name))]), known, fetched)

    def _known(self, fact: Fact, wanted: bool, seen: Seen) -> Test:
        name = self.variable(fact)
        if fact.always_known or name in seen.known:
            return Test(ast.Constant(wanted), seen, seen)
        value = self._asked(fact, seen)
        fetched, known = seen.fetching(name), seen.knowing(name)
        return Test(_is_known(value), known, fetched) if wanted else Test(_is_unknown(value), fetched, known)

    def _compared(self, node: Comparison, sign: str, seen: Seen) -> Test:
        left = self._operand(node.left, seen)
        right = self._operand(node.right, left.seen)
        guards = [*left.guards, *right.guards]
        compared = ast.Compare(left.code, [_SIGNS[sign]()], [right.code])
        failed = reduce(Seen.meeting, (guard.failed for guard in guards), right.seen)
        return Test(_every([*(guard.code for guard in guards), compared]), right.seen, failed)

    def _operand(self, node: Node, seen: Seen) -> Worked:
        worked = self.value(node, seen)
        if node.dimension == "period":
            # A period that never ends is kept as no months, and is longer than any other.
            return worked._replace(code=ast.BoolOp(ast.Or(), [worked.code, self.refer("value", inf)]))
        if node.dimension == "flag" and isinstance(node, Asked):
            return worked._replace(code=_not(_not(worked.code)))
        return worked

    def _together(self, nodes: list[Node], wanted: bool, is_every: bool, seen: Seen) -> Test:
        """Every one of some conditions is as it is `wanted`, or any of them; those that cost least are tried first."""
        rest, codes, ends = [(node, _asked_for(node)) for node in nodes], [], []
        while rest:
            at = min(range(len(rest)), key=lambda number: self._cost(rest[number][1], seen))
            test = self.holds(rest.pop(at)[0], wanted, seen)
            codes.append(test.code)
            seen, end = (test.held, test.failed) if is_every else (test.failed, test.held)
            ends.append(end)
        ended = reduce(Seen.meeting, ends)
        return Test(_every(codes), seen, ended) if is_every else Test(_any(codes), ended, seen)

    def _cost(self, asked_for: list[tuple[Fact | Node, int]], seen: Seen) -> int:
        """What it may cost to fetch what a condition asks for, where `seen` is certain: roughly, in attributes looked up."""
        variables, fetched = self._variables, seen.fetched
        return sum([cost for each, cost in asked_for if variables.get(self._key(each)) not in fetched])

    def is_unknown(self, node: Node, tried: Test) -> ast.expr | None:
        """
        Holds exactly where a condition that was `tried`, and is not true, is not false either; None where it always is.

        What was not asked for is not in doubt: what was known before it has settled the matter.
        """
        lacking: list[Fact | Node] = [fact for fact in asked(node) if not fact.always_known]
        lacking += [part for part in parts(node) if isinstance(part, Arithmetic) and function_of(part) is not None]
        names = [name for name in map(self.variable, lacking) if name not in tried.failed.known]
        self._uncertain.update(name for name in names if name not in tried.failed.fetched)
        if not names:
            return None
        lacks = _any([_is_unknown(_load(name)) for name in names])
        return _every([lacks, _not(self.holds(node, False, tried.failed).code)])

    def compiled(self, parameters: tuple[str, ...], body: list[ast.stmt], title: str) -> Compiled:
        """The function of these parameters and statements."""
        arguments = ast.arguments([], [ast.arg(name) for name in parameters], None, [], [], None, [])
        end = [ast.Return(_load("air"))] if self._asks_air else []
        definition = ast.FunctionDef("judge", arguments, [*self._begin(), *body, *end], [])
        module = compile(_placed(ast.Module([definition], [])), f"<{title}>", "exec")
        (code,) = (constant for constant in module.co_consts if isinstance(constant, CodeType))
        return code, {name: told for told, name in self._names.items()}


def _placed(tree: ast.Module) -> ast.Module:
    """The tree, with a place in a source for each of its parts, which is what `ast.fix_missing_locations` does slowly."""
    left: list[Any] = [tree]
    while left:
        part = left.pop()
        if isinstance(part, list):
            left += part
        elif isinstance(part, ast.AST):
            left += vars(part).values()
            vars(part).update(lineno=1, col_offset=0)
    return tree


def compile_judge(place: str, conditions: list[Node]) -> Compiled:
    """What judges by all conditions of the rules on a place, as `judges.judge_on` tells it; a rule is its number there."""
    function = Function(place, _asked_often(conditions))
    seen = function.start
    body: list[ast.stmt] = []
    for number, condition in enumerate(conditions):
        broken = function.holds(condition, True, seen)
        hit = _append(function.refer("hit", number))
        otherwise: list[ast.stmt] = []
        if (in_doubt := function.is_unknown(condition, broken)) is not None:
            lacking = _call(function.refer("lacking", number), _load("life"), _load("entry"))
            otherwise = [
                ast.If(in_doubt, [_append(ast.Tuple([function.refer("rule", number), lacking], ast.Load()))], [])
            ]
        body.append(ast.If(broken.code, [hit], otherwise))
        seen = broken.held.meeting(broken.failed)
    return function.compiled(("life", "entry", "hits"), body, f"rules on {place}")


def compile_lacking(place: str, condition: Node) -> Compiled:
    """What appends to `names` for want of which facts a condition is not known, see `judges.Lacking`."""
    function = Function(place, _named(condition))
    return function.compiled(("life", "entry", "names"), [*_name_lacking(function, condition), ast.Pass()], "lacking")


def _name_lacking(function: Function, node: Node) -> list[ast.stmt]:
    """Statements that append to `names` for want of what `node`, which is not known, is not known."""
    if isinstance(node, Not):
        return _name_lacking(function, node.inner)
    if isinstance(node, And | Or):
        return [
            ast.If(
                _not(_any([function.holds(part, wanted, function.start).code for wanted in (True, False)])),
                _name_lacking(function, part) or [ast.Pass()],
                [],
            )
            for part in _joined(node, type(node))
        ]
    return [
        ast.If(_is_unknown(_load(function.variable(fact))), [_append(ast.Constant(fact.name), "names")], [])
        for fact in asked(node)
        if not fact.always_known
    ]


def _joined(node: Node, kind: type[And] | type[Or]) -> list[Node]:
    """The parts of `a and b and c`, however they are nested."""
    return [*_joined(node.left, kind), *_joined(node.right, kind)] if isinstance(node, kind) else [node]


def _asked_often(conditions: list[Node]) -> list[Fact]:
    """The facts at hand that several parts of some conditions ask for."""
    asked_for = Counter(fact for condition in conditions for fact in _named(condition) if is_at_hand(fact))
    return [fact for fact, times in asked_for.items() if times > 1]


def _named(node: Node) -> list[Fact]:
    """The facts that an expression names, as often as it does."""
    return [part.fact for part in parts(node) if isinstance(part, Asked | Known)]


def is_at_hand(fact: Fact) -> bool:
    """Whether a fact is an attribute of a history or an entry."""
    return not (fact.is_of_air or fact.compute or fact.first_known)


def _asked_for(node: Node) -> list[tuple[Fact | Node, int]]:
    """The facts that a condition asks for and the functions that it calls, each with its cost."""
    things = (part.fact if isinstance(part, Asked | Known) else part for part in parts(node))
    return [(thing, cost) for thing in things if (cost := _cost_of(thing))]


def _cost_of(thing: Fact | Node) -> int:
    if isinstance(thing, Fact):
        return 1 if is_at_hand(thing) else 16 if thing.costly else 4
    return 2 if isinstance(thing, Arithmetic) and function_of(thing) is not None else 0


# Pieces of syntax.


def _assign(name: str, value: ast.expr) -> ast.stmt:
    return ast.Assign([ast.Name(name, ast.Store())], value)


def _load(name: str) -> ast.Name:
    return ast.Name(name, ast.Load())


def _attribute(thing: ast.expr, path: str) -> ast.expr:
    for name in path.split("."):
        thing = ast.Attribute(thing, name, ast.Load())
    return thing


def _call(function: ast.expr, *arguments: ast.expr) -> ast.expr:
    return ast.Call(function, list(arguments), [])


def _is_known(value: ast.expr) -> ast.expr:
    return ast.Compare(value, [ast.IsNot()], [ast.Constant(None)])


def _is_unknown(value: ast.expr) -> ast.expr:
    return ast.Compare(value, [ast.Is()], [ast.Constant(None)])


def _not(condition: ast.expr) -> ast.expr:
    return ast.UnaryOp(ast.Not(), condition)


def _every(conditions: list[ast.expr]) -> ast.expr:
    return conditions[0] if len(conditions) == 1 else ast.BoolOp(ast.And(), conditions)


def _any(conditions: list[ast.expr]) -> ast.expr:
    return conditions[0] if len(conditions) == 1 else ast.BoolOp(ast.Or(), conditions)


def _append(thing: ast.expr, to: str = "hits") -> ast.stmt:
    return ast.Expr(_call(_attribute(_load(to), "append"), thing))
