"""
The question at the fill station, answered: may this cylinder be filled now, and to what pressure?

The answer is no wherever anything stands against it, and wherever something that has to be
known is not.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from math import ceil, floor

from cylfile.findings.finding import Finding, of_fault
from cylfile.history.barring import HYDRO_CLEARS
from cylfile.history.life import Life
from cylfile.history.pressures import is_likely, settled_to
from cylfile.judging.by_itself import Verdict, judge_cylinder
from cylfile.judging.fill_verdict import (
    Reason,
    doubts,
    fill_in_mind,
    forbids,
    must_not_be_filled,
    reason_of,
    said_of_a_fill,
    said_with_every_answer,
)
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.suggest import did_you_mean
from cylfile.packs.wording import in_words
from cylfile.record.blocks import Cylinder
from cylfile.record.called import NAME, as_on_record
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
_READ_THEM = "The lines that cannot be read, corrected by somebody who knows what they should say."
# How many readings of colder gas are shown, and how far apart they are, in kelvin.
_COLDER = 4
_STEPS = {"psi": ("F", 5 / 9 * 10), "bar": ("C", 5.0)}
# What stands for nothing in a sum of floating-point numbers, psi.
_HAIR = 1e-6


class FillAnswer:
    """
    Whether the cylinder that goes by the word `asked` may be filled.

    `to` is the pressure in words that was asked for, else where the gauge has to stop; empty where
    none is known. `stop` is that reading, of gas at `at` where a temperature was given, and
    `settles` what it becomes at the reference temperature; `colder` are pairs of the temperature
    of colder gas and where the gauge has to stop then. `exceeded_by` names the sources that can
    give more than the fill limit. `remedies` say what would make it fillable again; `is_over` that nothing
    would. `remarks` are what the rules say of such a fill that does not forbid it. The name and
    the life are None where the word is not one cylinder's.
    """

    def __init__(self, asked: str, as_of: date, reasons: Iterable[Reason] = (), remedies: Iterable[str] = ()):
        self.asked = asked
        self.as_of = as_of
        self.name: str | None = None
        self.life: Life | None = None
        self.to = ""
        self.stop = ""
        self.at = ""
        self.settles = ""
        self.colder: list[tuple[str, str]] = []
        self.exceeded_by: list[str] = []
        self.reasons = list(reasons)
        self.remedies = list(remedies)
        self.is_over = False
        self.remarks: list[Finding] = []

    @property
    def may(self) -> bool:
        return not self.reasons


def answer(
    record: Record,
    rules: Ruleset,
    as_of: date,
    asked: str,
    to: Quantity | None = None,
    faults: Sequence[Fault] = (),
    names: Sequence[str] = (),
    at: Quantity | None = None,
    elsewhere: Sequence[Reason] = (),
    verdict: Verdict | None = None,
) -> FillAnswer:
    """
    Answer for the cylinder that has a word for its name or its tag, and for the pressure `to`, if one is asked for.

    `at` is the temperature of the gas, where it is known; else gas at the reference temperature is meant.
    `faults` are those of the rules; `names` those of all cards, for a word that may be misspelled. `elsewhere` is what
    other records of a county have against the cylinder.
    `verdict` is that of the cylinder, where somebody has it already.
    """
    cards = cylinders_of(record, asked)
    if len(cards) != 1:
        return _of_no_cylinder(record, as_of, asked, cards, names)
    (card,) = cards
    verdict = verdict or judge_cylinder(record, rules, card, as_of)
    life = verdict.life_here
    found = FillAnswer(asked, as_of)
    found.name, found.life = card.name, life
    found.at = str(at) if at else ""
    stop = stop_of(life, at.value if at else None)
    _tell_pressures(found, life, stop, record, at)
    found.to = str(to) if to else found.stop
    found.reasons += _of_rules(rules, faults)
    of_cylinder = must_not_be_filled(life, rules, doubts(record, card.name), verdict.findings)
    if rules.names:
        found.reasons += of_cylinder
    else:
        # Without rules nothing is known of its kind; only what the record itself says is worth saying.
        found.reasons += (reason for reason in of_cylinder if reason.rule != "no-class")
    found.reasons += elsewhere
    if at and not is_likely(at.value):
        advice = "Measure it again. During a fill gas is never colder than -40 F or hotter than 150 F."
        found.reasons.append(Reason(f"gas is never at {at} during a fill", rule="unlikely-temperature", advice=advice))
    if found.to:
        _tell_of_fill(found, life, rules, stop)
    found.remarks += _remarks_for_all(record, rules)
    found.is_over, found.remedies = _remedies(life, found.reasons)
    return found


def _tell_of_fill(found: FillAnswer, life: Life, rules: Ruleset, stop: float | None) -> None:
    """Add to an answer what is said of the fill that was asked about; `stop` is where the gauge has to stop, psi."""
    fill = fill_in_mind(life, found.to, found.at)
    if stop is not None and fill.reading.value > stop + _HAIR:
        over = f"{found.to} is over its fill limit, {found.stop}"
        if life.fill_limit is not None and stop < life.fill_limit:
            over = f"{found.to} is over where the gauge has to stop with the gas at {found.at}, {found.stop}"
        found.reasons.append(Reason(over, rule="filled-over-limit", advice=f"Fill it to {found.stop} at most."))
    # What forbids a fill to any pressure has been said already.
    told = {(reason.rule, reason.text) for reason in found.reasons}
    for finding in said_of_a_fill(life, rules, fill):
        if not forbids(finding):
            if finding.rule not in ("cannot-judge", "read-over-limit"):
                found.remarks.append(finding)
        elif (finding.rule, finding.text) not in told:
            found.reasons.append(reason_of(finding, True))


def _remarks_for_all(record: Record, rules: Ruleset) -> Iterator[Finding]:
    """What whoever fills has to know of, whichever cylinder it is."""
    for fault in said_with_every_answer(record):
        finding = of_fault(fault, rules.level_of(fault.rule))
        finding.working = [f"at {fault.span.place}, which may be about any cylinder"]
        if fault.subject in record.air_sources:
            finding.working = [f"at {fault.span.place}: take no air from {fault.subject}"]
        yield finding


def stop_of(life: Life, kelvin: float | None = None) -> float | None:
    """
    The reading at which a gauge has to stop, psi, with gas at a temperature, by default the reference temperature.

    It is never over the fill limit, and lower where the gas is colder: then the same reading is
    more air. What the fill becomes at the class's hot temperature is looked at too.
    """
    limit, figures = life.fill_limit, life.figures
    if limit is None or figures.reference is None:
        return limit
    kelvin = figures.reference if kelvin is None else kelvin
    stops = [limit]
    for most, warm in ((limit, figures.reference), (life.hot_limit, figures.hot)):
        if most is not None and warm is not None and kelvin < warm:
            stops.append(_read_at(most, warm, kelvin))
    return min(stops)


def _read_at(psi: float, kelvin: float, at: float) -> float:
    """What a gauge shows at another temperature; nothing where no air is so cold."""
    return max(0.0, settled_to(psi, kelvin, at) or 0.0)


def _tell_pressures(found: FillAnswer, life: Life, stop: float | None, record: Record, at: Quantity | None) -> None:
    limit = life.fill_limit
    if stop is None or limit is None:
        return
    reference, unit = life.figures.reference, life.pressure_unit
    card = life.cylinder
    exact = card.rated is not None and stop == card.rated.value
    found.stop = str(card.rated) if exact else _rounded_down(stop, unit)
    if at and reference is not None and at.value > reference:
        found.settles = in_words(_read_at(stop, at.value, reference), "pressure", unit)
    if reference is not None:
        found.colder = [
            (
                in_words(kelvin, "temperature", unit),
                _rounded_down(colder_stop, unit, 10 if unit == "psi" else 1),
            )
            for kelvin in _colder_than(reference, unit)
            if (colder_stop := stop_of(life, kelvin)) is not None
        ]
    found.exceeded_by = [
        source.name for source in record.air_sources.values() if source.rated and source.rated.value > limit + _HAIR
    ]


def _colder_than(kelvin: float, unit: str) -> list[float]:
    """Round temperatures below one, the warmest first."""
    scale, step = _STEPS[unit]
    zero = 459.67 / 1.8 if scale == "F" else 273.15
    first = ceil((kelvin - zero) / step - _HAIR) - 1
    return [zero + (first - number) * step for number in range(_COLDER)]


def _rounded_down(psi: float, unit: str, places: float | None = None) -> str:
    """A pressure in words, rounded down to a multiple of `places`: by default a psi or a tenth of a bar."""
    if unit == "bar":
        places = places or 0.1
        return f"{floor(psi / PSI_IN_BAR / places + _HAIR) * places:.6g} bar"
    places = places or 1
    return f"{floor(psi / places + _HAIR) * places} psi"


def _of_no_cylinder(record: Record, as_of: date, asked: str, cards: list[Cylinder], names: Sequence[str]) -> FillAnswer:
    if cards:
        which = " and ".join(card.name for card in cards)
        text = f"`{asked}` is on more than one card: {which}; it is not clear which cylinder is meant"
        advice = "Read the serial number on the cylinder, ask by name, and correct the card that is wrong."
        return FillAnswer(asked, as_of, reasons=[Reason(text, rule="name-taken", advice=advice)], remedies=[advice])
    other = record.declared.get(as_on_record(asked, record.declared))
    if other is not None:
        text = f"{other.name} is a {other.word}, not a cylinder"
        advice = "Ask by the name of a cylinder, its tag or its serial number."
        return FillAnswer(asked, as_of, reasons=[Reason(text, rule="unknown-name", advice=advice)], remedies=[advice])
    reasons = [Reason(f"there is no card for a cylinder `{asked}`, so nothing is known of it", rule="unknown-name")]
    unread = [fault for fault in record.unread if not fault.span.source.text or asked in _line_of(fault)]
    for fault in unread:
        reasons.append(
            Reason(f"this cannot be read and may be about it: {fault.text} ({fault.span.place})", rule=fault.rule)
        )
    if unread:
        # Its card may be there: another name, or a second card, would be the wrong cure.
        cures = [_READ_THEM if fault.span.source.text else fault.cure for fault in unread]
        return FillAnswer(asked, as_of, reasons=reasons, remedies=dict.fromkeys(cures))
    meant = did_you_mean(asked, names, "Check the name or tag on the cylinder.")
    new = [f"If it is new, open a card for it: cylinder {asked}"] if NAME.fullmatch(asked) else []
    return FillAnswer(asked, as_of, reasons=reasons, remedies=[meant, *new])


def _line_of(fault: Fault) -> str:
    source, start = fault.span.source, fault.span.start
    return source.text[source.text.rfind("\n", 0, start) + 1 : source.line_end(start)]


def _of_rules(rules: Ruleset, faults: Sequence[Fault]) -> list[Reason]:
    """What keeps the rules from telling anything."""
    if not rules.names:
        advice = "Write under the department: rules us-dot"
        return [
            Reason(
                "the department names no rules, so it cannot be told what may be filled", rule="no-rules", advice=advice
            )
        ]
    unread = [fault for fault in faults if fault.rule == "unreadable-line"]
    return [
        Reason(f"the rules cannot all be read: {fault.text} ({fault.span.place})", rule=fault.rule,
               advice=fault.cure)
        for fault in unread
    ]  # fmt: skip


def _remedies(life: Life, reasons: list[Reason]) -> tuple[bool, list[str]]:
    """Whether nothing makes the cylinder fillable again, and what does, the weightiest first."""
    if not reasons:
        return False, []
    life_is_over = life.life_end not in (None, NEVER) and life.life_end < life.as_of
    if life_is_over or any(bar.is_final for bar in life.bars):
        return True, []
    if reasons[0].rule == "no-rules":
        return False, [reasons[0].advice]
    remedies = [bar.what_clears for bar in life.bars]
    if life.test_due not in (None, NEVER) and life.test_due < life.as_of:
        remedies.append(HYDRO_CLEARS)
    if life.rated is None:
        remedies.append("Its pressure as `rated`, or its marking as `marked`, on its card.")
    for reason in reasons:
        if reason.rule == "unreadable-line":
            remedies.append(_READ_THEM)
        elif reason.rule == "name-taken":
            remedies.append(reason.advice or "Its own name, serial number and tags on its card, and nobody else's.")
        elif reason.rule == "no-class":
            remedies.append("Its `class`, or its marking as `marked`, on its card.")
        elif reason.rule not in _OF_THE_STATE:
            remedies.append(reason.advice)
    return False, list(dict.fromkeys(filter(None, remedies)))
