"""
What an expression comes to, worked out as it stands: for what is said of a finding.

What judges every entry is compiled; see `compiling`.
"""

import operator
from collections.abc import Callable
from math import inf
from typing import Any

from cylfile.history.facts import Entry, History
from cylfile.packs.expressions import And, Arithmetic, Asked, Known, Node, Not, Or, Times, Value
from cylfile.packs.operations import OPERATIONS

_PYTHON: dict[str, Callable] = {
    "+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv, "<": operator.lt,
    "<=": operator.le, "=": operator.eq, "!=": operator.ne, ">=": operator.ge, ">": operator.gt,
}  # fmt: skip


def worth(node: Node, life: History, entry: Entry | None, times: int = 1) -> Any:
    """
    The value of an expression for an entry of a history; None where it is not known, as in Kleene's logic.

    `times` is how often a rule that reports once has held.
    """
    match node:
        case Asked():
            return node.fact.value(life, entry)
        case Value():
            return node.value
        case Known():
            return node.fact.value(life, entry) is not None
        case Times():
            return times
        case Not():
            inner = worth(node.inner, life, entry, times)
            return None if inner is None else not inner
    left = worth(node.left, life, entry, times)
    if isinstance(node, And | Or):
        # One that is false settles `and`, one that is true settles `or`.
        settled = isinstance(node, Or)
        if left is not None and bool(left) == settled:
            return settled
        right = worth(node.right, life, entry, times)
        if right is not None and bool(right) == settled:
            return settled
        return None if left is None or right is None else not settled
    right = worth(node.right, life, entry, times)
    if left is None or right is None:
        return None
    if isinstance(node, Arithmetic):
        return (function_of(node) or _PYTHON[node.sign])(left, right)
    return _PYTHON[node.sign](_compared(node.left, left), _compared(node.right, right))


def _compared(node: Node, value: Any) -> Any:
    """A value as it is compared: a period that never ends is kept as no months, and is longer than any other."""
    return value or inf if node.dimension == "period" else bool(value) if node.dimension == "flag" else value


def function_of(node: Arithmetic) -> Callable | None:
    """What works out arithmetic that may lack a result; None where Python's operator does."""
    return None if _always_has_a_result(node) else OPERATIONS[key_of(node)].function


def key_of(node: Arithmetic) -> tuple[str, str, str]:
    """By what the operation of an arithmetic is found in `OPERATIONS`."""
    return node.sign, node.left.dimension, node.right.dimension


def _always_has_a_result(node: Arithmetic) -> bool:
    """A plain number times or over a given figure is always a plain number."""
    numbers = node.left.dimension not in ("duration", "date") and node.right.dimension not in ("duration", "period")
    if node.sign == "/":
        return numbers and isinstance(node.right, Value) and bool(node.right.value)
    return numbers and node.sign == "*" and (isinstance(node.left, Value) or isinstance(node.right, Value))
