"""
Changes each comparison and each figure in the condition of each shipped rule, one at a time, and
judges the rule's own examples with it: one of them has to fail. What survives is printed; those
that change nothing anybody could write down are listed below, each with the reason.

    python tests/bench/mutate_packs.py [PACK...]

Exit status 1 where one survives that is not listed, or one is listed that does not survive.
"""

import sys
from collections.abc import Iterator
from copy import copy
from datetime import date, timedelta

from cylfile.files.pack_files import rules_named
from cylfile.findings.finding import Finding
from cylfile.judging.judge import judge
from cylfile.packs.expressions import And, Arithmetic, Asked, Comparison, Known, Node, Not, Or, Times, Value
from cylfile.packs.proving import prove_rule
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.shipped import shipped_names
from cylfile.packs.wording import in_words
from cylfile.record.reader import read_record
from cylfile.text.source import Source

# Rule and change -> why no example can tell it from the rule as it is.
_HAIR = "rounding takes a hair, a millionth of a psi, from one side, so that the two are never equal"
_FIRST = "what is asked after it is stricter; it is asked first since it costs less"
EQUIVALENT: dict[str, str] = {
    "charge-below-90: charge < 90 % -> charge <= 90 %": _FIRST,
    "charge-below-90: 90 % -> 94.5 %": _FIRST,
    "charge-below-90: charge + charge-rounding < 90 % -> charge + charge-rounding <= 90 %": _HAIR,
    "short-fill: settled-or-read < 90 % * fill-limit -> settled-or-read <= 90 % * fill-limit": _FIRST,
    "short-fill: 90 % -> 94.5 %": _FIRST,
    "short-fill: charge + charge-rounding < 90 % -> charge + charge-rounding <= 90 %": _HAIR,
    "filled-over-limit: settled > fill-limit -> settled >= fill-limit": _FIRST,
    "filled-at-limit: settled-or-read > fill-limit -> settled-or-read >= fill-limit": _FIRST,
    "read-over-limit: reading > fill-limit -> reading >= fill-limit": _FIRST,
    "holds-over-limit: settled > fill-limit -> settled >= fill-limit": _FIRST,
    "filled-over-limit: over-limit > gauge-allowance -> over-limit >= gauge-allowance": _HAIR,
    "filled-at-limit: over-limit <= gauge-allowance -> over-limit < gauge-allowance": _HAIR,
    "read-over-limit: over-limit > gauge-allowance -> over-limit >= gauge-allowance": _HAIR,
    "holds-over-limit: over-limit > gauge-allowance -> over-limit >= gauge-allowance": _HAIR,
    "filled-over-test-pressure: reading > proof-pressure -> reading >= proof-pressure": _FIRST,
    "filled-over-test-pressure: over-test-pressure > gauge-allowance -> over-test-pressure >= gauge-allowance": _HAIR,
    "filled-hot-over: over-hot-limit > gauge-allowance -> over-hot-limit >= gauge-allowance": _HAIR,
    **dict.fromkeys(
        (
            f"sample-out-of-limits: {change}"
            for change in (
                '"compressor" -> "compressor?"',
                "dew-point > dew-point-limit [-50 F] -> dew-point < dew-point-limit [-50 F]",
                "dew-point > high-pressure-dew-point-limit [-50 F] -> dew-point < high-pressure-dew-point-limit [-50 F]",
                "dew-point-limit [-50 F] -> dew-point-limit [-48.2 F]",
                "high-pressure [2901 psi] -> high-pressure [2900 psi]",
                "high-pressure [2901 psi] -> high-pressure [2902 psi]",
                "high-pressure-dew-point-limit [-50 F] -> high-pressure-dew-point-limit [-48.2 F]",
                "high-pressure-water-density-limit [47 mg/m3] -> high-pressure-water-density-limit [47.1 mg/m3]",
                "high-pressure-water-limit [63 ppm] -> high-pressure-water-limit [63.1 ppm]",
                'source-kind = "compressor" -> source-kind != "compressor"',
                "source-rated > high-pressure [2901 psi] -> source-rated < high-pressure [2901 psi]",
                "source-rated > high-pressure [2901 psi] -> source-rated >= high-pressure [2901 psi]",
                "water > high-pressure-water-limit [63 ppm] -> water < high-pressure-water-limit [63 ppm]",
                "water > water-limit [63 ppm] -> water < water-limit [63 ppm]",
                "water-density > high-pressure-water-density-limit [47 mg/m3] -> water-density < high-pressure-water-density-limit [47 mg/m3]",
                "water-density > water-density-limit [47 mg/m3] -> water-density < water-density-limit [47 mg/m3]",
                "water-density-limit [47 mg/m3] -> water-density-limit [47.1 mg/m3]",
                "water-limit [63 ppm] -> water-limit [63.1 ppm]",
            )
        ),
        "Grade D has one limit for all sources; tests/sources/test_limits.py tells them apart by EN 12021",
    ),
}

_OTHER_SIGNS = {">": (">=", "<"), ">=": (">", "<"), "<": ("<=", ">"), "<=": ("<", ">"), "=": ("!=",), "!=": ("=",)}
# By how little a figure is changed, up and down: less than what people write down of it.
_STEPS = {
    "pressure": 1.0, "temperature": 1.0, "duration": timedelta(days=1), "period": 1, "count": 1, "rate": 1.0,
    "concentration": 0.1, "density": 0.1, "date": timedelta(days=1), "volume": 1.0,
}  # fmt: skip
# A share is changed by so much of it.
_OF_A_SHARE = 0.05


def changes(node: Node) -> Iterator[tuple[str, Node]]:
    """Each change of a condition: in words, what became of what, and the condition with it."""
    match node:
        case Comparison(sign=sign, left=left, right=right):
            for other in _OTHER_SIGNS[sign]:
                yield _said(node, changed := Comparison(other, left, right)), changed
        case And(left=left, right=right):
            yield _said(node, changed := Or(left, right)), changed
        case Or(left=left, right=right):
            yield _said(node, changed := And(left, right)), changed
        case Not(inner=inner):
            yield _said(node, inner), inner
        case Known():
            yield _said(node, changed := Not(node)), changed
        case Asked(fact=fact) if fact.dimension == "flag":
            yield _said(node, changed := Not(node)), changed
        case Value():
            for changed in _other_values(node):
                yield _said(node, changed), changed
    for name in ("left", "right", "inner"):
        inside = getattr(node, name, None)
        if inside is not None:
            for said, changed in changes(inside):
                yield said, node._replace(**{name: changed})


def _other_values(value: Value) -> Iterator[Value]:
    if value.dimension == "text":
        yield value._replace(value=value.value + "?")
    elif value.dimension == "flag":
        yield value._replace(value=not value.value)
    else:
        step = value.value * _OF_A_SHARE if value.dimension == "share" else _STEPS[value.dimension]
        if step:
            yield value._replace(value=value.value + step)
            yield value._replace(value=value.value - step)


def _said(node: Node, changed: Node) -> str:
    return f"{written(node)} -> {written(changed)}"


def written(node: Node) -> str:
    """A condition as a pack writes it, the figure of a setting behind its name."""
    match node:
        case Value(value=value, dimension=dimension, setting=setting):
            figure = f'"{value}"' if dimension == "text" else in_words(value, dimension, "psi")
            return f"{setting} [{figure}]" if setting else figure
        case Asked(fact=fact):
            return fact.name
        case Known(fact=fact):
            return f"known {fact.name}"
        case Times():
            return "times"
        case Not(inner=inner):
            return f"not ({written(inner)})"
        case And(left=left, right=right):
            return f"({written(left)} and {written(right)})"
        case Or(left=left, right=right):
            return f"({written(left)} or {written(right)})"
        case Comparison(sign=sign, left=left, right=right) | Arithmetic(sign=sign, left=left, right=right):
            return f"{written(left)} {sign} {written(right)}"
    raise AssertionError(node)


def is_found_out(rule: Rule, condition: Node, rules: Ruleset) -> bool:
    """Whether an example of a rule fails with another condition."""
    other = copy(rule)
    other.condition, other.words = condition, written(condition)
    return any(True for _ in prove_rule(other, rules, _judge))


def _judge(text: str, rules: Ruleset, as_of: date) -> list[Finding]:
    return judge(read_record([Source("an example", text)]), rules, as_of).findings


def survivors(pack: str) -> tuple[list[str], int]:
    """The changes of the rules of a pack that no example finds out, and how many were made."""
    rules, _ = rules_named([pack])
    found: list[str] = []
    made = 0
    for rule in rules.rules.values():
        if rule.pack == pack:
            for said, condition in changes(rule.condition):
                made += 1
                if not is_found_out(rule, condition, rules):
                    found.append(f"{rule.name}: {said}")
    return found, made


def main(packs: list[str]) -> int:
    left, total, alive = set(EQUIVALENT), 0, 0
    for pack in packs or shipped_names():
        found, made = survivors(pack)
        total += made
        for change in found:
            if change in EQUIVALENT:
                left.discard(change)
            else:
                alive += 1
                print(f"{pack}: {change}")
        print(
            f"{pack}: {made} changes, {len(found)} survive, {sum(change in EQUIVALENT for change in found)} of them listed"
        )
    if not packs:
        for change in sorted(left):
            print(f"listed, and does not survive: {change}")
    print(f"{total} changes, {alive} survive that are not listed")
    return int(bool(alive) or (not packs and bool(left)))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
