"""
Proving rules by the examples that stand under them.
"""

from collections.abc import Callable, Iterator
from datetime import date
from typing import NamedTuple

from cylfile.packs.pack import Example
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset

# judge(text, ruleset, as_of) -> the findings of a record, as pairs of rule and line.
Judge = Callable[[str, Ruleset, date], list[tuple[str, int]]]
# Findings that show that the record of an example is not what its writer thinks.
_MISTAKES = ("unreadable-line", "unknown-name", "name-taken")


class Unproved(NamedTuple):
    """An example that does not show what it should, and how."""

    rule: str
    example: Example
    text: str

    def __str__(self) -> str:
        span = self.example.span
        return f"{span.source.path}:{span.line}: {self.rule}: {self.text}"


def prove(ruleset: Ruleset, judge: Judge) -> Iterator[Unproved]:
    """
    Judge every example of every rule and give those that fail.

    A record under `breaks` must break the rule at the lines marked `# here` and at no other; one
    under `keeps` must keep it. What other rules find in it is their own business, except that the
    record must be readable. Suspended rules are not proved.
    """
    for rule in ruleset.rules.values():
        if rule.name not in ruleset.suspended:
            for example in (*rule.breaks, *rule.keeps):
                yield from _prove(rule, example, ruleset, judge)


def _prove(rule: Rule, example: Example, ruleset: Ruleset, judge: Judge) -> Iterator[Unproved]:
    findings = judge(example.text, ruleset.with_classes(example.classes), example.as_of)
    for found, line in findings:
        if found in _MISTAKES:
            yield Unproved(rule.name, example, f"line {line} of the record gives {found}")
    at = sorted(line for found, line in findings if found == rule.name)
    if at != sorted(example.here):
        yield Unproved(rule.name, example, f"expected at {_lines(example.here)}, found at {_lines(at)}")


def _lines(numbers) -> str:
    return f"line {', '.join(map(str, numbers))} of the record" if numbers else "no line"
