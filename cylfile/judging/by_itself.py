"""
What the rules say of one cylinder or one source by itself, and of a fill that nobody has made yet.
"""

from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from cylfile.findings.finding import Finding
from cylfile.history.facts import AIR_SAMPLE, STATUS, STORAGE_STATUS
from cylfile.history.fold import bar_for_strikes
from cylfile.history.life import Life
from cylfile.history.recalls import Recalls
from cylfile.history.sources.air_log import AirLog, Assumptions, marked_failed
from cylfile.history.sources.source_life import SourceLife
from cylfile.judging.subject_judge import CylinderJudge, SourceJudge
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import AirSource, Cylinder
from cylfile.record.entries import Entry
from cylfile.record.record import Record

if TYPE_CHECKING:
    from cylfile.judging.fills_as_before import Asked
    from cylfile.judging.heads import Head

# Settings that stand for what a fill does not say, in the order of `Assumptions`.
_ASSUMED = {
    "assumed-from": "pressure",
    "assumed-temperature": "temperature",
    "assumed-holds": "volume",
    "assumed-to": "pressure",
}


class Verdict:
    """
    What the rules say of one cylinder by itself. The life may be left behind in another process.

    `asked` is what was asked of its fills, where somebody keeps that.
    """

    def __init__(self, life: Life | None, findings: list[Finding], asked: "Asked | None" = None):
        self.life = life
        self.findings = findings
        self.asked = asked
        self.head: Head | None = None

    @property
    def life_here(self) -> Life:
        """The life, which was not left behind."""
        assert self.life is not None
        return self.life


def air_log(
    record: Record, rules: Ruleset, as_of: date, fills: Sequence[Entry] | None = None, before: AirLog | None = None
) -> AirLog:
    """
    The air log of a record: made once for all its cylinders, or for some `fills`, and built only where a rule asks for it.

    What it assumes of fills that do not say it are settings of the rules. `before` is that of an earlier record, see `AirLog`.
    """
    settings = ((rules.settings.get(name), dimension) for name, dimension in _ASSUMED.items())
    assumed = (setting.value if setting and setting.dimension == dimension else None for setting, dimension in settings)
    return AirLog(record, as_of, Assumptions(*assumed), _fails_by(rules, record, as_of), fills, before)


def _fails_by(rules: Ruleset, record: Record, as_of: date) -> Callable[[Entry], bool]:
    """Whether an air sample is a failed one: marked so, or found a danger by what it reads."""
    judge_sample = rules.judge_of(AIR_SAMPLE)

    def fails(sample: Entry) -> bool:
        hits: list = []
        if judge_sample is not None:
            judge_sample(SourceLife(record.air_sources[sample.subject], as_of), sample, hits)
        return marked_failed(sample) or any(not unknown and rule.level == "danger" for rule, unknown in hits)

    return fails


def judge_cylinder(
    record: Record,
    rules: Ruleset,
    card: Cylinder,
    as_of: date,
    air: AirLog | None = None,
    judge_by: Callable[[Ruleset, Life, Cylinder], CylinderJudge] = CylinderJudge,
) -> Verdict:
    """
    Fold one cylinder's entries up to the as-of day, and judge each by what was known before it.

    `air` is the `air_log` of the record, where somebody has it already; `judge_by` makes the judge.
    """
    resolved = rules.resolve(card)
    air = air or air_log(record, rules, as_of)
    life = Life(card, resolved.figures, record.authority, as_of, air)
    if record.recalls:
        life.recalls = Recalls(card, life.class_name, record.recalls_about(card, life.class_name))
    judge_ = judge_by(rules, life, card)
    judge_.judge_card(resolved)
    judge_.judge_entries(record.entries.get(card.name, ()))
    judge_.judge_entry(None, STATUS)
    found = judge_.end()
    # It has a rule of its own, so that no other speaks of it.
    bar_for_strikes(life, record.entries.get(card.name, ()))
    return Verdict(life, found, judge_.asked)


def judge_source(record: Record, rules: Ruleset, source: AirSource, as_of: date, air: AirLog) -> list[Finding]:
    """The findings about one source: about each of its entries, and about a storage on the as-of day."""
    judge_ = SourceJudge(rules, SourceLife(source, as_of, air, rules.of_every), source)
    judge_.judge_entries(record.entries.get(source.name, ()))
    if source.kind == "storage":
        judge_.judge_entry(None, STORAGE_STATUS)
    return judge_.end()


def may_be_filled(life: Life, rules: Ruleset, fill: Entry) -> list[Finding]:
    """What the rules would say of a fill that nobody has made yet, on top of `life`."""
    judge_ = CylinderJudge(rules, life, life.cylinder)
    judge_.judge_entry(fill, fill.verb)
    return judge_.end()
