"""
Compiling expressions to Python code objects, put together as syntax trees and never as text.

A condition is true, false or not known (Kleene's logic). Two plain Python conditions say that:
one that holds where it is true and one that holds where it is false; where neither does, it is
not known. So the usual case, a rule that is not broken, costs a comparison or two.
"""

import ast
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from math import inf
from typing import Any

from cylfile.history.facts import AS_OF_DAY, FILLS, Entry, Fact, History
from cylfile.packs.expressions import (
    And,
    Arithmetic,
    Asked,
    Comparison,
    Known,
    Node,
    Not,
    Or,
    Times,
    Value,
    asked,
    parts,
)
from cylfile.packs.operations import OPERATIONS

_SIGNS = {"<": ast.Lt, "<=": ast.LtE, "=": ast.Eq, "!=": ast.NotEq, ">=": ast.GtE, ">": ast.Gt}
_OPPOSITE = {"<": ">=", "<=": ">", "=": "!=", "!=": "=", ">=": "<", ">": "<="}
_PYTHON = {"+": ast.Add, "-": ast.Sub, "*": ast.Mult, "/": ast.Div}


class Function:
    """
    A function under construction: its local variables for facts and the objects it refers to.

    All names in it are made here: `fact0`, `object1`, `result2`.
    """

    def __init__(self, place: str | None, late: frozenset[str] = frozenset()):
        # The place where it will be called; None for a text, which may be asked for at several.
        self.place = place
        # Facts that are worked out where they are asked for, since they may not be needed at all.
        self.late = late
        self.objects: dict[str, object] = {}
        self._facts: dict[str, tuple[Fact, str]] = {}
        self._results = 0

    # Names and constants.

    def refer(self, thing: object) -> ast.expr:
        """An object that is no constant of the syntax tree."""
        name = f"object{len(self.objects)}"
        self.objects[name] = thing
        return _load(name)

    def fact(self, fact: Fact) -> ast.Name:
        """The local variable of a fact, which is filled in when the function begins."""
        _, name = self._facts.setdefault(fact.name, (fact, f"fact{len(self._facts)}"))
        return _load(name)

    def _result(self) -> str:
        self._results += 1
        return f"result{self._results}"

    def fetches(self) -> list[ast.stmt]:
        """One assignment for every fact that was named; what waits to be asked for is `...` until then."""
        of_air = any(self._is_of_air(fact) for fact, _ in self._facts.values())
        at_fill = _call(_attribute(_load("life"), "air.at"), _load("entry"))
        return [
            *([ast.Assign([ast.Name("air", ast.Store())], at_fill)] if of_air else []),
            *(
                ast.Assign(
                    [ast.Name(name, ast.Store())], ast.Constant(...) if fact.name in self.late else self._fetch(fact)
                )
                for fact, name in self._facts.values()
            ),
        ]

    def _is_of_air(self, fact: Fact) -> bool:
        """Whether a fact is had from what the air log says of a fill, which is looked up once for all of them."""
        return bool(fact.air) and self.place in FILLS

    def _fetch(self, fact: Fact) -> ast.expr:
        life, entry = _load("life"), _load("entry")
        if self._is_of_air(fact):
            return _attribute(_load("air"), fact.air)
        if fact.air and self.place is None:
            return _call(self.refer(fact.value), life, entry)
        from_life = _attribute(life, fact.life) if fact.life else None
        if fact.entry:
            from_entry = self._from_entry(fact)
            if from_life is None or (self.place is not None and self.place not in AS_OF_DAY):
                return from_entry
            if self.place in AS_OF_DAY:
                return from_life
            return ast.IfExp(_is_known(entry), from_entry, from_life)
        if from_life is not None:
            return from_life
        return _call(self.refer(fact.compute), life, entry)

    @staticmethod
    def _from_entry(fact: Fact) -> ast.expr:
        path = _attribute(_load("entry"), fact.entry)
        first, _, rest = fact.entry.partition(".")
        if not rest:
            return path
        # A quantity that is not written is None, and one that is written is never false.
        return ast.BoolOp(ast.And(), [_attribute(_load("entry"), first), path])

    def _asked(self, fact: Fact) -> ast.expr:
        """The value of a fact where it is asked for first."""
        if fact.name not in self.late:
            return self.fact(fact)
        return ast.NamedExpr(ast.Name(self.fact(fact).id, ast.Store()), self._fetch(fact))

    # Values.

    def value(self, node: Node) -> tuple[list[ast.expr], ast.expr]:
        """What has to hold, in this order, for a value to be known, and the value then."""
        match node:
            case Value(value=value):
                return [], self._constant(value)
            case Asked(fact=fact):
                return (
                    ([], self._asked(fact)) if fact.always_known else ([_is_known(self._asked(fact))], self.fact(fact))
                )
            case Times():
                return [], _load("times")
            case Arithmetic():
                return self._arithmetic(node)
        # A condition, shown as a value: yes, no or not known.
        result = self._result()
        outcome = ast.IfExp(
            self.true(node), ast.Constant(True), ast.IfExp(self.false(node), ast.Constant(False), ast.Constant(None))
        )
        return [_is_known(ast.NamedExpr(ast.Name(result, ast.Store()), outcome))], _load(result)

    def _constant(self, value) -> ast.expr:
        return self.refer(value) if isinstance(value, (date, timedelta)) else ast.Constant(value)

    def _arithmetic(self, node: Arithmetic) -> tuple[list[ast.expr], ast.expr]:
        left_guards, left = self.value(node.left)
        right_guards, right = self.value(node.right)
        guards = _each_once([*left_guards, *right_guards])
        function = OPERATIONS[node.sign, node.left.dimension, node.right.dimension].function
        if function is None or _always_has_a_result(node):
            return guards, ast.BinOp(left, _PYTHON[node.sign](), right)
        result = self._result()
        call = _call(self.refer(function), left, right)
        return [*guards, _is_known(ast.NamedExpr(ast.Name(result, ast.Store()), call))], _load(result)

    # Conditions.

    def true(self, node: Node) -> ast.expr:
        """Holds exactly where the condition is true."""
        match node:
            case Value(value=value):
                return ast.Constant(bool(value))
            case Asked(fact=fact):
                return self._asked(fact)
            case Known(fact=fact):
                return ast.Constant(True) if fact.always_known else _is_known(self._asked(fact))
            case Not(inner=inner):
                return self.false(inner)
            case And(left=left, right=right):
                return _all([self.true(left), self.true(right)])
            case Or(left=left, right=right):
                return _any([self.true(left), self.true(right)])
        assert isinstance(node, Comparison)
        return self._compared(node, node.sign)

    def false(self, node: Node) -> ast.expr:
        """Holds exactly where the condition is false."""
        match node:
            case Value(value=value):
                return ast.Constant(not value)
            case Asked(fact=fact):
                if fact.always_known:
                    return ast.UnaryOp(ast.Not(), self._asked(fact))
                return _all([_is_known(self._asked(fact)), ast.UnaryOp(ast.Not(), self.fact(fact))])
            case Known(fact=fact):
                return ast.Constant(False) if fact.always_known else _is_unknown(self._asked(fact))
            case Not(inner=inner):
                return self.true(inner)
            case And(left=left, right=right):
                return _any([self.false(left), self.false(right)])
            case Or(left=left, right=right):
                return _all([self.false(left), self.false(right)])
        assert isinstance(node, Comparison)
        return self._compared(node, _OPPOSITE[node.sign])

    def _compared(self, node: Comparison, sign: str) -> ast.expr:
        left_guards, left = self._operand(node.left)
        right_guards, right = self._operand(node.right)
        return _all([*_each_once([*left_guards, *right_guards]), ast.Compare(left, [_SIGNS[sign]()], [right])])

    def _operand(self, node: Node) -> tuple[list[ast.expr], ast.expr]:
        guards, value = self.value(node)
        if node.dimension == "period":
            # A period that never ends is kept as no months, and is longer than any other.
            value = ast.BoolOp(ast.Or(), [value, self.refer(inf)])
        elif node.dimension == "flag" and isinstance(node, Asked):
            value = ast.UnaryOp(ast.Not(), ast.UnaryOp(ast.Not(), value))
        return guards, value

    def compiled(self, parameters: tuple[str, ...], body: list[ast.stmt], title: str) -> Callable:
        """The function of these parameters and statements; it sees nothing but its objects."""
        arguments = ast.arguments([], [ast.arg(name) for name in parameters], None, [], [], None, [])
        definition = ast.FunctionDef("judge", arguments, [*self.fetches(), *body], [])
        module = ast.fix_missing_locations(ast.Module([definition], []))
        names: dict[str, Any] = {"__builtins__": {}, **self.objects}
        exec(compile(module, f"<{title}>", "exec"), names)
        return names["judge"]


def compile_judge(rules: list, place: str) -> Callable:
    """
    One function for all rules that stand on a place: `judge(life, entry, hits)`.

    It appends to `hits` a pair (rule, unknown) for every rule whose condition is true, with `()`,
    and for every one whose condition is neither true nor false, with the names of the facts that
    were not known. A rule has the attributes `condition` and `name`.
    """
    function = Function(place, _asked_once(rules))
    body: list[ast.stmt] = []
    for rule in rules:
        hit = _append(function.refer((rule, ())))
        unknown = _unknown(function, rule)
        body.append(ast.If(function.true(rule.condition), [hit], [unknown] if unknown else []))
    return function.compiled(("life", "entry", "hits"), body or [ast.Pass()], f"rules on {place}")


def _asked_once(rules: list) -> frozenset[str]:
    """The computed facts that a single part of a single rule asks for, and those that cost much."""
    asked_for = Counter(
        part.fact
        for rule in rules
        for part in parts(rule.condition)
        if isinstance(part, Asked | Known) and (part.fact.compute is not None or part.fact.air)
    )
    return frozenset(fact.name for fact, times in asked_for.items() if times == 1 or fact.costly)


def compile_value(node: Node) -> Callable:
    """`value(life, entry, times)` of an expression in a text; None where it is not known."""
    function = Function(None)
    guards, value = function.value(node)
    answer = ast.IfExp(_all(guards), value, ast.Constant(None)) if guards else value
    return function.compiled(("life", "entry", "times"), [ast.Return(answer)], "expression")


def _unknown(function: Function, rule) -> ast.stmt | None:
    """`elif` the condition is not known either: append the rule and the names of what is missing."""
    doubtful = [fact for fact in asked(rule.condition) if not fact.always_known]
    undefined = any(isinstance(part, Arithmetic) and _may_lack_a_result(part) for part in parts(rule.condition))
    if not doubtful and not undefined:
        return None
    test: ast.expr = ast.UnaryOp(ast.Not(), function.false(rule.condition))
    if not undefined:
        # A fact that was not asked for is not in doubt: what was known before it has settled the matter.
        test = _all([_any([_is_unknown(function.fact(fact)) for fact in doubtful]), test])
    missing = _call(function.refer(_Missing(rule.condition, function.place)), _load("life"), _load("entry"))
    return ast.If(test, [_append(ast.Tuple([function.refer(rule), missing], ast.Load()))], [])


class _Missing:
    """
    Tells for want of which facts a condition is not known; compiled when somebody asks.

    Those are the unknown facts of the parts that are not known themselves: in `a or known b and
    c > b`, where neither `a` nor `b` is known, `a` alone.
    """

    __slots__ = ("condition", "place", "_look")

    def __init__(self, condition: Node, place: str | None):
        self.condition = condition
        self.place = place
        self._look: Callable | None = None

    def __call__(self, life: History, entry: Entry | None) -> tuple[str, ...]:
        if self._look is None:
            function = Function(self.place)
            body = [*_name_missing(function, self.condition), ast.Pass()]
            self._look = function.compiled(("life", "entry", "names"), body, "missing facts")
        names: list[str] = []
        self._look(life, entry, names)
        # Where every fact is known, it was the arithmetic that had no result.
        return tuple(dict.fromkeys(names)) or tuple(fact.name for fact in asked(self.condition))


def _name_missing(function: Function, node: Node) -> list[ast.stmt]:
    """Statements that append to `names` for want of what `node`, which is not known, is not known."""
    if isinstance(node, Not):
        return _name_missing(function, node.inner)
    if isinstance(node, And | Or):
        return [
            ast.If(
                ast.UnaryOp(ast.Not(), _any([function.true(part), function.false(part)])),
                _name_missing(function, part) or [ast.Pass()],
                [],
            )
            for part in _joined(node, type(node))
        ]
    return [
        ast.If(_is_unknown(function.fact(fact)), [_append(ast.Constant(fact.name), "names")], [])
        for fact in asked(node)
        if not fact.always_known
    ]


def _joined(node: Node, kind: type[And] | type[Or]) -> list[Node]:
    """The parts of `a and b and c`, however they are nested."""
    return [*_joined(node.left, kind), *_joined(node.right, kind)] if isinstance(node, kind) else [node]


def _always_has_a_result(node: Arithmetic) -> bool:
    """A plain number times or over a given figure is always a plain number."""
    numbers = node.left.dimension not in ("duration", "date") and node.right.dimension not in ("duration", "period")
    if node.sign == "/":
        return numbers and isinstance(node.right, Value) and bool(node.right.value)
    return numbers and node.sign == "*" and (isinstance(node.left, Value) or isinstance(node.right, Value))


def _may_lack_a_result(node: Arithmetic) -> bool:
    function = OPERATIONS[node.sign, node.left.dimension, node.right.dimension].function
    return function is not None and not _always_has_a_result(node)


# Pieces of syntax.


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


def _all(conditions: list[ast.expr]) -> ast.expr:
    return conditions[0] if len(conditions) == 1 else ast.BoolOp(ast.And(), conditions)


def _any(conditions: list[ast.expr]) -> ast.expr:
    return conditions[0] if len(conditions) == 1 else ast.BoolOp(ast.Or(), conditions)


def _each_once(guards: list[ast.expr]) -> list[ast.expr]:
    """Guards without those that stand there already, such as a fact that is used twice."""
    return list({ast.dump(guard): guard for guard in guards}.values())


def _append(thing: ast.expr, to: str = "hits") -> ast.stmt:
    return ast.Expr(_call(_attribute(_load(to), "append"), thing))
