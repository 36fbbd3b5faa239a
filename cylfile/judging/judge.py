"""
The whole way through: a record and its rules to findings.

Everything comes in as an argument and goes out as a value: nothing here opens a file, prints,
or asks what day it is.
"""

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from operator import itemgetter
from typing import TYPE_CHECKING

from cylfile.findings.finding import Finding, of_fault, reading_order
from cylfile.findings.order_of_life import Conduct, doubles
from cylfile.findings.seal_findings import late_findings, seal_findings
from cylfile.findings.two_places import two_places_at_once
from cylfile.findings.waivers import cover, waiver_findings
from cylfile.history.facts import AIR_SAMPLE, FACTS, STATUS, STORAGE_FILLED, STORAGE_STATUS
from cylfile.history.life import Life
from cylfile.history.order import in_order
from cylfile.history.recalls import Recalls
from cylfile.history.sources.source_life import SourceLife
from cylfile.history.sources.source_log import AirLog, Assumptions, marked_failed
from cylfile.judging.case import Case
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import AirSource, Cylinder
from cylfile.record.entries import Filled, plain_form, write_text
from cylfile.record.record import Record
from cylfile.text.source import Fault, Span

if TYPE_CHECKING:
    from cylfile.judging.heads import Head

_DAY = itemgetter(0)
# Places of rules that may ask of air, which comes from a source with entries of its own.
_OF_AIR = ("filled", STATUS, STORAGE_FILLED, STORAGE_STATUS)
# Settings that stand for what a fill does not say, in the order of `Assumptions`.
_ASSUMED = {
    "assumed-from": "pressure",
    "assumed-temperature": "temperature",
    "assumed-holds": "volume",
    "assumed-to": "pressure",
}


@dataclass(slots=True)
class Verdict:
    """What the rules say of one cylinder by itself. The life may be left behind in another process."""

    life: Life | None
    findings: list[Finding] = field(default_factory=list)
    head: "Head | None" = None


@dataclass
class Judgement:
    """
    What the rules say of a record on a day, put together by what it is about.

    `verdicts` are those of the cylinders, by name. `of_text` are the findings of what could not be
    read or has a wrong name, `others` all that took more than one cylinder to see. Waived findings
    are among them. `air` is the log that was asked.
    """

    case: Case
    verdicts: dict[str, Verdict]
    of_text: list[Finding]
    others: list[Finding]
    air: AirLog

    @property
    def record(self) -> Record:
        return self.case.record

    @property
    def rules(self) -> Ruleset:
        return self.case.rules

    @property
    def as_of(self) -> date:
        return self.case.as_of

    @cached_property
    def findings(self) -> list[Finding]:
        """All findings, in the order of the files."""
        own = (finding for verdict in self.verdicts.values() for finding in verdict.findings)
        return sorted([*self.of_text, *self.others, *own], key=reading_order)

    @cached_property
    def _by_subject(self) -> dict[str, list[Finding]]:
        groups: dict[str, list[Finding]] = {}
        for finding in self.findings:
            groups.setdefault(finding.subject, []).append(finding)
        return groups

    @property
    def of_cylinder(self) -> dict[str, list[Finding]]:
        """The findings about each cylinder that has any, in the order of the files."""
        return {name: found for name, found in self._by_subject.items() if name in self.record.cylinders}

    @property
    def of_source(self) -> dict[str, list[Finding]]:
        """The findings about each source of air that has any, in the order of the files."""
        return {name: found for name, found in self._by_subject.items() if name in self.record.air_sources}

    @property
    def of_record(self) -> list[Finding]:
        """The findings about neither a cylinder nor a source, in the order of the files."""
        record = self.record
        return [
            finding
            for finding in self.findings
            if finding.subject not in record.cylinders and finding.subject not in record.air_sources
        ]

    def about(self, name: str) -> list[Finding]:
        """The findings about a cylinder or a source, and those of lines that cannot be read and may be about it."""
        in_doubt = {fault.span for fault in self.record.damaged.get(name, ())}
        if not in_doubt:
            return self._by_subject.get(name, [])
        return [finding for finding in self.findings if finding.subject == name or finding.span in in_doubt]

    def own(self, name: str) -> list[Finding]:
        """The findings that a cylinder's own card and entries give."""
        return self.verdicts[name].findings if name in self.verdicts else []

    @property
    def lives(self) -> dict[str, Life]:
        """What is known of each cylinder on the as-of day, where that was not left in another process."""
        return {name: verdict.life for name, verdict in self.verdicts.items() if verdict.life is not None}

    def life(self, name: str) -> Life | None:
        """What is known of one cylinder; None where there is no such, or its life was left elsewhere."""
        return self.verdicts[name].life if name in self.verdicts else None

    @property
    def heads(self) -> dict[str, "Head"]:
        """The heads of the cylinders, where they were asked for."""
        return {name: verdict.head for name, verdict in self.verdicts.items() if verdict.head is not None}


def judge(
    record: Record,
    rules: Ruleset,
    as_of: date,
    faults: Sequence[Fault] = (),
    verdicts: Mapping[str, Verdict] | None = None,
) -> Judgement:
    """
    Judge every cylinder of a record. `faults` are those of its rule packs.

    `verdicts` are those of the cylinders where somebody has them already, as from several processes.
    """
    case = Case(record, rules, as_of, faults)
    air = air_log(record, rules, as_of)
    if verdicts is None:
        verdicts = {name: judge_cylinder(record, rules, card, as_of, air) for name, card in record.cylinders.items()}
    judgement = Judgement(case, dict(verdicts), text_findings(case), _across(record, rules, as_of, air), air)
    findings = judgement.findings
    cover(findings, record.waivers, as_of)
    judgement.others += waiver_findings(findings, record.waivers, as_of, rules.level_of)
    del judgement.findings
    return judgement


def text_findings(case: Case) -> list[Finding]:
    """The findings of what could not be read of a record or of its rules, or has a wrong name."""
    level_of = case.rules.level_of
    return [of_fault(fault, level_of(fault.rule)) for fault in (*case.record.faults, *case.faults)]


def _across(record: Record, rules: Ruleset, as_of: date, air: AirLog) -> list[Finding]:
    """The findings about sources and the whole record, and those that took more than one cylinder to see."""
    findings = []
    if not rules.names and record.sources and not any(fault.rule == "no-rules" for fault in record.faults):
        findings.append(_no_rules(record, rules))
    for source in record.air_sources.values():
        findings += judge_source(record, rules, source, as_of, air)
    for entry, text, other in two_places_at_once(record, as_of):
        level = rules.level_of("two-places-at-once")
        finding = Finding(
            "two-places-at-once", level, entry.subject, entry.span, text, day=entry.day, about=plain_form(entry)
        )
        finding.related.append((other.span, "the other place"))
        findings.append(finding)
    findings += seal_findings(record, rules.level_of)
    findings += late_findings(record, rules.level_of)
    return findings


def air_log(record: Record, rules, as_of: date) -> AirLog:
    """
    The air log of a record: made once for all its cylinders, and built only where a rule asks for it.

    What it assumes of fills that do not say it are settings of the rules.
    """
    settings = ((rules.settings.get(name), dimension) for name, dimension in _ASSUMED.items())
    assumed = (setting.value if setting and setting.dimension == dimension else None for setting, dimension in settings)
    return AirLog(record, as_of, Assumptions(*assumed), _fails_by(rules, record, as_of))


def _fails_by(rules, record: Record, as_of: date) -> Callable:
    """Whether an air sample is a failed one: marked so, or found a danger by what it reads."""
    judge_sample = rules.judge_of(AIR_SAMPLE)

    def fails(sample) -> bool:
        hits: list = []
        if judge_sample is not None:
            judge_sample(SourceLife(record.air_sources[sample.subject], as_of), sample, hits)
        return marked_failed(sample) or any(not unknown and rule.level == "danger" for rule, unknown in hits)

    return fails


def judge_cylinder(record: Record, rules, card: Cylinder, as_of: date, air: AirLog | None = None) -> Verdict:
    """
    Fold one cylinder's entries up to the as-of day, and judge each by what was known before it.

    `air` is the `air_log` of the record, where somebody has it already.
    """
    resolved = rules.resolve(card)
    air = air or air_log(record, rules, as_of)
    life = Life(card, resolved.figures, record.authority, as_of, air)
    if record.recalls:
        life.recalls = Recalls(card, life.class_name, record.recalls)
    judge_ = _CylinderJudge(rules, life, card)
    judge_.judge_card(resolved)
    judge_.judge_entries([entry for entry in record.entries.get(card.name, ()) if entry.struck is None])
    judge_.judge_entry(None, STATUS)
    return Verdict(life, judge_.end())


def judge_source(record: Record, rules, source: AirSource, as_of: date, air: AirLog) -> list[Finding]:
    """The findings about one source: about each of its entries, and about a storage on the as-of day."""
    judge_ = _SourceJudge(rules, SourceLife(source, as_of, air, rules.of_every), source)
    judge_.judge_entries([entry for entry in record.entries.get(source.name, ()) if entry.struck is None])
    if source.kind == "storage":
        judge_.judge_entry(None, STORAGE_STATUS)
    return judge_.end()


def may_be_filled(life: Life, rules, fill) -> list[Finding]:
    """What the rules would say of a fill that nobody has made yet, on top of `life`."""
    judge_ = _CylinderJudge(rules, life, life.cylinder)
    judge_.judge_entry(fill, fill.verb)
    return judge_.end()


class _Judge:
    """Gathers the findings of one cylinder or one source, whose block is `block`."""

    def __init__(self, rules, life: Life | SourceLife, block: Cylinder | AirSource):
        self.rules = rules
        self.life = life
        self.block = block
        self.findings: list[Finding] = []
        self.hits: list = []
        # Fact -> (rules that lacked it, the entry where it was lacked first).
        self.lacking: dict[str, tuple[set[str], object]] = {}
        self.lacks_seen: set[tuple] = set()
        self.once: dict[str, list] = {}
        # Day -> the entry, what nothing tells the order of to it, and what the rules say in one order only.
        self.untold: dict[date, tuple[object, list, list]] = {}

    def _until_today(self, entries: list) -> tuple[list, list[list]]:
        """The entries in their order, as of `in_order`, without those to come, which are a finding."""
        entries, full_days = in_order(entries)
        until = bisect_right(entries, self.life.as_of, key=_DAY)
        if until < len(entries):
            self._future(entries[until:])
            entries = entries[:until]
        return entries, full_days

    def _remark(self, remarks: list[tuple]) -> None:
        for entry, rule, text, other in remarks:
            related = [(other.span, "the other entry")] if other is not None else []
            self._core(rule, entry.span if entry is not None else self.block.span, text, entry, related)

    def _future(self, entries) -> None:
        first = entries[0]
        more = f", and {len(entries) - 1} more after it" if len(entries) > 1 else ""
        text = f"dated {first.day}, after the day the record is judged for ({self.life.as_of}){more}"
        self._core(
            "future-entry", first.span, text, first, advice="Correct the day. Until it comes, the entry has no effect."
        )

    def judge_entry(self, entry, verb: str) -> None:
        """Judge one entry, or, with None and `status`, the cylinder on the as-of day."""
        judge_verb = self.rules.judge_of(verb)
        if judge_verb is not None:
            judge_verb(self.life, entry, self.hits)
            if self.hits:
                self._take_hits(entry, verb)

    def _take_hits(self, entry, verb: str) -> None:
        if verb in _OF_AIR:
            self._keep_what_is_told(entry, verb)
        for rule, unknown in self.hits:
            if unknown:
                self._lack(rule, unknown, entry)
            elif rule.once:
                self.once.setdefault(rule.name, [rule, entry, 0])[2] += 1
            else:
                self.findings.append(self._finding(rule, entry, 1))
        self.hits.clear()

    def _keep_what_is_told(self, entry, verb: str) -> None:
        """
        Take out of the hits what the rules say in one order only of a day whose order nothing tells.

        The hits are those of the order that does harm; see `AirLog`.
        """
        life, air = self.life, self.life.air
        held = life.suspicion if entry is None else None
        if entry is None and held is None:
            return
        untold = air.untold_of(held) if held else air.untold(entry)
        if not untold:
            return
        told: list = []
        life.air = air.lenient
        self.rules.judge_of(verb)(life, entry, told)
        life.air = air
        in_one = [hit for hit in self.hits if hit not in told]
        if in_one:
            at = entry or untold[0]
            at, others, said = self.untold.setdefault(at.day, (at, [], []))
            others += (each for each in untold if each is not at and each not in others)
            said += ((rule, rule.say(life, entry) if not unknown else "") for rule, unknown in in_one)
            self.hits[:] = [hit for hit in self.hits if hit in told]

    def _lack(self, rule, unknown: tuple[str, ...], entry) -> None:
        if (rule.name, unknown) in self.lacks_seen:
            return
        self.lacks_seen.add((rule.name, unknown))
        for name in unknown:
            for root in self._roots(name, entry):
                self.lacking.setdefault(root, (set(), entry))[0].add(rule.name)

    def _roots(self, name: str, entry) -> list[str]:
        """The facts at the bottom of an unknown one: what somebody has to write down."""
        deeper = [
            root for part in FACTS[name].derived_from if self._unknown(part, entry) for root in self._roots(part, entry)
        ]
        return list(dict.fromkeys(deeper)) or [name]

    def _unknown(self, name: str, entry) -> bool:
        return FACTS[name].value(self.life, entry) is None

    def end(self) -> list[Finding]:
        """All findings, those too that stand once a cylinder and need all its entries."""
        for rule, entry, times in self.once.values():
            self.findings.append(self._finding(rule, entry, times))
        for entry, others, said in self.untold.values():
            self._order_not_told(entry, others, said)
        for name, (rules, entry) in self.lacking.items():
            text = f"{name} is not known, so these rules could not be judged: {', '.join(sorted(rules))}"
            span = entry.span if entry is not None else self.block.span
            advice = f"Write down {FACTS[name].write}." if FACTS[name].write else ""
            self._core("cannot-judge", span, text, advice=advice, about=name)
            self.findings[-1].unjudged = tuple(sorted(rules))
        return self.findings

    def _order_not_told(self, entry, others: list, said: list[tuple]) -> None:
        lines = " and of ".join(f"`{plain_form(other)}`" for other in others) or "what else was done that day"
        meant = dict.fromkeys(f"{text or 'it cannot be judged'} ({rule.name})" for rule, text in said)
        text = f"nothing tells the order of this and of {lines}; in one order: {'; '.join(meant)}; in the other not"
        related = [(other.span, "the other entry") for other in others]
        advice = "Write the times of these entries."
        self._core("order-not-told", entry.span, text, entry, related, advice=advice)
        if not any(text and rule.level in ("danger", "warning") for rule, text in said):
            self.findings[-1].level = "caution"

    def _finding(self, rule, entry, times: int) -> Finding:
        life = self.life
        return Finding(
            rule.name,
            rule.level,
            self.block.name,
            entry.span if entry is not None else self.block.span,
            rule.say(life, entry, times),
            rule.working(life, entry),
            rule.advice(life, entry),
            rule.sources(life),
            entry.day if entry is not None else life.as_of,
            plain_form(entry) if entry is not None else "",
        )

    def _core(
        self, rule: str, span: Span, text: str, entry=None, related=(), advice: str = "", about: str = ""
    ) -> None:
        about = plain_form(entry) if entry is not None else about
        day = entry.day if entry is not None else None
        level = self.rules.level_of(rule)
        self.findings.append(
            Finding(rule, level, self.block.name, span, text, [], advice, [], day, about, related=list(related))
        )


_ALL_CLASSES = "`cylfile rules classes` lists all, with the markings that lead to each."


class _CylinderJudge(_Judge):
    def judge_card(self, resolved) -> None:
        """Whether the card and the marking tell what kind of cylinder it is, and agree."""
        card, rules, kind = self.block, self.rules, resolved.kind
        if kind.figures.class_name is None and rules.names:
            marked = " and ".join(map(write_text, kind.marked))
            if card.class_name is not None:
                text = f"no rule pack has a class {card.class_name}"
            elif not kind.marked:
                text = "neither `class` nor `marked` tells what kind of cylinder it is"
            elif kind.fits:
                text = f"the marking {marked} fits more than one class: {', '.join(kind.fits)}"
            else:
                text = f"the marking {marked} fits no class"
            nearest = f"Nearest: {', '.join(kind.nearest)}. " if kind.nearest else ""
            advice = f"Write `class` on its card, as it is marked or as its permit says. {nearest}{_ALL_CLASSES}"
            self._core("no-class", card.where.get("class", card.span), text, advice=advice)
        if resolved.disagrees:
            span = card.where.get("marked", card.span)
            advice = "Look at the cylinder: the marking prevails. Until the two agree, the stricter figure is used."
            self._core("marking-disagrees", span, resolved.disagrees, advice=advice)
        for word, text in resolved.laxer:
            advice = "Correct it; a permit that allows it makes the cylinder one of another class."
            self._core("laxer-than-class", card.where.get(word, card.span), text, advice=advice)
        if card.made is not None and card.made > self.life.as_of:
            text = f"made {card.made}, after the day the record is judged for ({self.life.as_of})"
            span = card.where.get("made", card.span)
            self._core("future-entry", span, text, advice="Correct `made`: its test and its life are counted from it.")

    def judge_entries(self, entries: list) -> None:
        """Judge entries in the order in which they happened, and take each into the life."""
        life, rules = self.life, self.rules
        entries, full_days = self._until_today(entries)
        life.entries = entries
        conduct = Conduct(self.block, entries, full_days)
        hits, filled = self.hits, rules.judge_of("filled")
        for entry in entries:
            # A fill of a cylinder that is going about its life is what nearly every entry is.
            if entry.__class__ is Filled:
                if not conduct.settled:
                    conduct.look(entry)
                if filled is not None:
                    filled(life, entry, hits)
                    if hits:
                        self._take_hits(entry, "filled")
            else:
                conduct.look(entry)
                self.judge_entry(entry, entry.verb)
            life.take_in(entry)
        self._remark(conduct.remarks())


class _SourceJudge(_Judge):
    def judge_entries(self, entries: list) -> None:
        """Judge entries in the order in which they happened."""
        entries, full_days = self._until_today(entries)
        for entry in entries:
            if entry.verb == AIR_SAMPLE:
                self.judge_entry(entry, entry.verb)
            elif entry.verb == "filled":
                self.judge_entry(entry, STORAGE_FILLED)
        self._remark(doubles(full_days))


def _no_rules(record: Record, rules) -> Finding:
    department = record.department
    span = department.span if department else Span(record.sources[0], 0, 0)
    text = "the department names no rules, so only the core checks were made"
    return Finding(
        "no-rules", rules.level_of("no-rules"), "", span, text, advice="Write under the department: rules us-dot"
    )
