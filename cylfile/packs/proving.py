"""
Proving rules by the examples that stand under them.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.history.facts import AIR_SAMPLE
from cylfile.packs.pack import Example
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset

# judge(text, ruleset, as_of) -> the findings of a record.
Judge = Callable[[str, Ruleset, date], Iterable[Finding]]
# Findings that show that the record of an example is not what its writer thinks.
_MISTAKES = ("unreadable-line", "unknown-name", "name-taken")


class Unproved(NamedTuple):
    """An example that does not show what it should, and how."""

    rule: str
    example: Example
    text: str

    def __str__(self) -> str:
        span = self.example.span
        return f"{span.place}: {self.rule}: {self.text}"


def prove(ruleset: Ruleset, judge: Judge) -> Iterator[Unproved]:
    """
    Judge every example of every rule and give those that fail.

    A record under `breaks` must break the rule at the lines marked `# here` and at no other; one
    under `keeps` must keep it. Where the rule lacks a fact, the line is marked `# cannot judge`. What
    other rules find in it is their own business, except that the record must be readable.
    Suspended rules are not proved.
    """
    for rule in ruleset.rules.values():
        if rule.name not in ruleset.suspended:
            yield from prove_rule(rule, ruleset, judge)


def prove_rule(rule: Rule, ruleset: Ruleset, judge: Judge) -> Iterator[Unproved]:
    """The examples of one rule that fail, with the classes and settings of a ruleset."""
    # Whether the air of a sample is good, the rules on samples tell; all else a rule is told by the record.
    of_samples = {name: other for name, other in ruleset.rules.items() if AIR_SAMPLE in other.on}
    alone = ruleset.with_rules({**of_samples, rule.name: rule})
    for example in (*rule.breaks, *rule.keeps):
        yield from _prove(rule, example, alone, judge)


def _prove(rule: Rule, example: Example, ruleset: Ruleset, judge: Judge) -> Iterator[Unproved]:
    findings = list(judge(example.text, ruleset.with_classes(example.classes), example.as_of))
    for finding in findings:
        if finding.rule in _MISTAKES:
            yield Unproved(rule.name, example, f"line {finding.span.line} of the record gives {finding.rule}")
    at = sorted(finding.span.line for finding in findings if finding.rule == rule.name)
    if at != sorted(example.here):
        yield Unproved(rule.name, example, f"expected at {_lines(example.here)}, found at {_lines(at)}")
    gaps = sorted({finding.span.line for finding in findings if rule.name in finding.unjudged})
    if gaps != sorted(example.gaps):
        text = f"expected that it cannot be judged at {_lines(example.gaps)}, and it cannot at {_lines(gaps)}"
        yield Unproved(rule.name, example, text)


def _lines(numbers) -> str:
    return f"line {', '.join(map(str, numbers))} of the record" if numbers else "no line"
