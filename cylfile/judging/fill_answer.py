"""
The question at the fill station, answered: may this cylinder be filled now, and to what pressure?

The answer is no wherever anything stands against it, and wherever something that has to be
known is not.
"""

from dataclasses import dataclass, field
from datetime import date
from math import floor

from cylfile.findings.finding import Finding
from cylfile.history.life import Life
from cylfile.judging.fill_verdict import Reason, doubts, fill_in_mind, forbids, must_not_be_filled, reason_of
from cylfile.judging.judge import judge_cylinder, may_be_filled
from cylfile.packs.suggest import did_you_mean
from cylfile.record.dates import NEVER
from cylfile.record.quantities import PSI_IN_BAR, Quantity
from cylfile.record.record import Record
from cylfile.record.relevant import cylinders_of
from cylfile.text.source import Fault

# What whoever fills must not find on the outside of the cylinder.
# Source: 49 CFR 173.301(a)(2), which asks for this look before each filling.
LOOK_FOR = (
    "cracks",
    "leaks",
    "bulges",
    "a defective valve or relief device",
    "signs of abuse",
    "fire or heat damage",
    "corrosion that may weaken it",
)
LOOK_CITE = "49 CFR 173.301(a)(2)"
# Rules that speak of the state of a cylinder, which tells by itself what would change it.
_OF_THE_STATE = ("filled-past-test", "test-overdue", "filled-past-life", "used-past-life", "filled-out-of-service")


@dataclass
class Answer:
    """
    Whether the cylinder that goes by the word `asked` may be filled.

    `to` is the pressure in words that was asked for, else the greatest one allowed; empty where
    none is known. `remedies` say what would make it fillable again; `is_over` that nothing
    would. `remarks` are what the rules say of such a fill that does not forbid it. The name and
    the life are None where the word is not one cylinder's.
    """

    asked: str
    as_of: date
    name: str | None = None
    life: Life | None = None
    to: str = ""
    reasons: list[Reason] = field(default_factory=list)
    remedies: list[str] = field(default_factory=list)
    is_over: bool = False
    remarks: list[Finding] = field(default_factory=list)

    @property
    def may(self) -> bool:
        return not self.reasons


def answer(
    record: Record,
    rules,
    as_of: date,
    asked: str,
    to: Quantity | None = None,
    faults: list[Fault] = (),
    names: list[str] = (),
) -> Answer:
    """
    Answer for the cylinder that has a word for its name or its tag, and for the pressure `to`, if one is asked for.

    `faults` are those of the rules; `names` those of all cards, for a word that may be misspelled.
    """
    cards = cylinders_of(record, asked)
    if len(cards) != 1:
        return _of_no_cylinder(record, as_of, asked, cards, names)
    (card,) = cards
    verdict = judge_cylinder(record, rules, card, as_of)
    life = verdict.life
    found = Answer(asked, as_of, card.name, life, str(to) if to else limit_in_words(life))
    found.reasons += _of_rules(rules, faults)
    of_cylinder = must_not_be_filled(life, rules, doubts(record, card.name), verdict.findings)
    if rules.names:
        found.reasons += of_cylinder
    else:
        # Without rules nothing is known of its kind; only what the record itself says is worth saying.
        found.reasons += (reason for reason in of_cylinder if reason.rule != "no-class")
    if found.to:
        fill = fill_in_mind(life, found.to)
        if life.fill_limit is not None and fill.reading.value > life.fill_limit:
            over = f"{found.to} is over its fill limit, {limit_in_words(life)}"
            found.reasons.append(Reason(over, advice=f"Fill it to {limit_in_words(life)} at most."))
        said = may_be_filled(life, rules, fill)
        # What forbids a fill to any pressure has been said already.
        told = {(reason.rule, reason.text) for reason in found.reasons}
        found.reasons += (
            reason_of(finding, True)
            for finding in said
            if forbids(finding) and (finding.rule, finding.text) not in told
        )
        found.remarks += (finding for finding in said if finding.level != "danger" and finding.rule != "cannot-judge")
    found.is_over, found.remedies = _remedies(life, found.reasons)
    return found


def limit_in_words(life: Life) -> str:
    """The greatest pressure that a cylinder may be filled to, rounded down; empty where it is not known."""
    card, limit = life.cylinder, life.fill_limit
    if limit is None:
        return ""
    if card.rated is not None and limit == card.rated.value:
        return str(card.rated)
    if life.pressure_unit == "bar":
        return f"{floor(limit / PSI_IN_BAR * 10 + 1e-6) / 10:g} bar"
    return f"{floor(limit + 1e-6)} psi"


def _of_no_cylinder(record: Record, as_of: date, asked: str, cards: list, names: list[str]) -> Answer:
    if cards:
        which = " and ".join(card.name for card in cards)
        text = f"`{asked}` is on more than one card: {which}; nobody can tell which cylinder it is"
        advice = "Read the serial number on the cylinder, ask by name, and correct the card that is wrong."
        return Answer(asked, as_of, reasons=[Reason(text, rule="name-taken", advice=advice)], remedies=[advice])
    reasons = [Reason(f"no card is for a cylinder `{asked}`, so nothing is known of it", rule="unknown-name")]
    for fault in record.faults:
        if fault.rule == "unreadable-line" and (not fault.span.source.text or asked in _line_of(fault)):
            place = f"{fault.span.source.path}:{fault.span.line}"
            reasons.append(Reason(f"this cannot be read and may be about it: {fault.text} ({place})", rule=fault.rule))
    meant = did_you_mean(asked, names, "Look at the name or tag on the cylinder once more.")
    return Answer(
        asked, as_of, reasons=reasons, remedies=[meant, f"If it is new, open a card for it: cylinder {asked}"]
    )


def _line_of(fault: Fault) -> str:
    source, start = fault.span.source, fault.span.start
    return source.text[source.text.rfind("\n", 0, start) + 1 : source.line_end(start)]


def _of_rules(rules, faults: list[Fault]) -> list[Reason]:
    """What keeps the rules from telling anything."""
    if not rules.names:
        advice = "Write under the department: rules us-dot"
        return [
            Reason("the department names no rules, so nothing tells what may be filled", rule="no-rules", advice=advice)
        ]
    unread = [fault for fault in faults if fault.rule == "unreadable-line"]
    return [
        Reason(f"the rules cannot all be read: {fault.text} ({fault.span.source.path}:{fault.span.line})", rule=fault.rule,
               advice=fault.cure)
        for fault in unread
    ]  # fmt: skip


def _remedies(life: Life, reasons: list[Reason]) -> tuple[bool, list[str]]:
    """Whether nothing makes the cylinder fillable again, and what does, the weightiest first."""
    if not reasons:
        return False, []
    if life.condemned_day or life.retired_day or life.over_pressurized_day:
        return True, []
    if reasons[0].rule == "no-rules":
        return False, [reasons[0].advice]
    remedies = []
    if life.life_end not in (None, NEVER) and life.life_end < life.as_of:
        remedies.append(
            "Its service life is over. Only an extension under its permit, entered as `life extended`, changes that."
        )
    needs_test = life.failed_hydro_day or life.damaged_day
    if needs_test or (life.test_due not in (None, NEVER) and life.test_due < life.as_of):
        remedies.append("A passed hydrostatic test by an authorized tester, entered as `hydro pass`.")
    if life.failed_visual_day and not needs_test:
        remedies.append("A passed visual inspection, entered as `visual pass`.")
    if life.out_of_service_day:
        remedies.append("What took it out of service put right, and that entered as `returned to service`.")
    if life.rated is None:
        remedies.append("Its pressure as `rated`, or its marking as `marked`, on its card.")
    for reason in reasons:
        if reason.rule == "unreadable-line":
            remedies.append("The lines that cannot be read put right by somebody who knows what they should say.")
        elif reason.rule == "name-taken":
            remedies.append(reason.advice or "Its own name, serial number and tags on its card, and nobody else's.")
        elif reason.rule == "no-class":
            remedies.append("Its `class`, or its marking as `marked`, on its card.")
        elif reason.rule not in _OF_THE_STATE:
            remedies.append(reason.advice)
    return False, list(dict.fromkeys(filter(None, remedies)))
