"""
What the rules say of a record that is being changed.

There are two ways to know. `settle` judges the whole record and is right in every respect.
`follow` takes in a change at once: it judges only the cylinders of whose entries a file says
something else, and shifts the places of all else that is known. What one cylinder has to do with
another it leaves as it was, or out, until the record is settled.
"""

from datetime import date
from typing import NamedTuple

from cylfile.findings.finding import Finding, of_fault, reading_order
from cylfile.history.life import Life
from cylfile.judging.judge import Verdict, air_log, judge, judge_cylinder
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.server.changing_record import Change, moved
from cylfile.text.source import Fault


class Rules(NamedTuple):
    """What a record is judged by: rules, the day, and what is wrong with the packs and the zone."""

    ruleset: Ruleset
    as_of: date
    faults: list[Fault]


class Judged:
    """The findings of a record; see `follow` and `settle`, which give a new one each time."""

    def __init__(self, record: Record, rules: Rules, verdicts: dict[str, Verdict], others: list[Finding], air):
        self.record = record
        self.rules = rules
        self.verdicts = verdicts
        # What judges found that looked at more than one cylinder.
        self.others = others
        self.air = air

    @property
    def findings(self) -> list[Finding]:
        """All findings in the order of the files."""
        found = [*self._of_text(), *self.others]
        for verdict in self.verdicts.values():
            found += verdict.findings
        return sorted(found, key=reading_order)

    def life(self, name: str) -> Life | None:
        """What is known of a cylinder on the as-of day."""
        verdict = self.verdicts.get(name)
        return verdict.life if verdict else None

    def of(self, name: str) -> list[Finding]:
        """The findings about one cylinder itself."""
        verdict = self.verdicts.get(name)
        return verdict.findings if verdict else []

    def _of_text(self) -> list[Finding]:
        level_of = self.rules.ruleset.level_of
        found = [of_fault(fault, level_of(fault.rule)) for fault in (*self.record.faults, *self.rules.faults)]
        _waive(found, self.record, self.rules.as_of)
        return found


def settle(record: Record, rules: Rules) -> Judged:
    """Judge the whole of a record."""
    ruleset, as_of = rules.ruleset, rules.as_of
    air = air_log(record, ruleset, as_of)
    verdicts = {name: judge_cylinder(record, ruleset, card, as_of, air) for name, card in record.cylinders.items()}
    judgement = judge(record, ruleset, as_of, rules.faults, verdicts.values())
    own = {id(finding) for verdict in verdicts.values() for finding in verdict.findings}
    of_text = {(fault.rule, fault.span, fault.text) for fault in (*record.faults, *rules.faults)}
    others = [
        finding
        for finding in judgement.findings
        if id(finding) not in own and (finding.rule, finding.span, finding.text) not in of_text
    ]
    return Judged(record, rules, verdicts, others, air)


def follow(before: Judged, record: Record, change: Change) -> Judged:
    """What is known after a change, as far as it can be told at once."""
    ruleset, as_of = before.rules.ruleset, before.rules.as_of
    verdicts, anew = {}, set(change.names or ()) | (record.cylinders.keys() - before.verdicts.keys())
    for name, verdict in before.verdicts.items():
        if name in record.cylinders and name not in anew:
            findings = [moved(finding, change.moves) for finding in verdict.findings]
            if any(finding is None or _tells_a_line(finding, change) for finding in findings):
                anew.add(name)
            else:
                verdicts[name] = Verdict(verdict.life, findings)
    for name in anew & record.cylinders.keys():
        verdict = judge_cylinder(record, ruleset, record.cylinders[name], as_of, before.air)
        _waive(verdict.findings, record, as_of)
        verdicts[name] = verdict
    others = [moved(finding, change.moves) for finding in before.others]
    return Judged(record, before.rules, verdicts, [finding for finding in others if finding is not None], before.air)


def _tells_a_line(finding: Finding, change: Change) -> bool:
    """Whether the text of a finding names a line of a file whose lines have moved."""
    return any(f"{path}:" in finding.text for path in change.moves)


def _waive(findings: list[Finding], record: Record, as_of: date) -> None:
    """Mark what a waiver covers, as `findings.waivers` does for a whole record."""
    for waiver in record.waivers:
        for finding in findings:
            if (finding.rule, finding.subject) == (waiver.rule, waiver.name) and (finding.day or as_of) <= waiver.until:
                finding.waived = f"until {waiver.until} by {waiver.by}: {waiver.text}"
