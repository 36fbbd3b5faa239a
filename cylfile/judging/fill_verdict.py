"""
Whether a cylinder may be filled: a fill that nobody has made yet, judged as if it were made.

A waiver plays no part here. It excuses what stands in the record; it makes no cylinder sound.
"""

from collections.abc import Sequence
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.history.facts import FACTS, STATUS
from cylfile.history.fold import life_of
from cylfile.history.life import Life
from cylfile.history.sources.air_log import AirLog
from cylfile.judging.by_itself import air_log, may_be_filled
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.conflicts import conflicts_about
from cylfile.record.entries import Entry, plain_form
from cylfile.record.one_sentence import read_entry
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source

# The rule that speaks of a fill of a cylinder that something bars.
BARRED = "filled-out-of-service"
# The name of the place where a fill stands that is in nobody's file.
NOWHERE = "a fill in mind"


# What to say before a fault, by its rule.
_FAULTS = {
    "unreadable-line": "cannot be read: ",
    "unreadable-folder": "cannot be read: ",
}


# Findings of today below danger that bar a fill: what it holds may be too much already, and what its dates are counted
# from is to come. And of a fill in mind: it may be made for export only.
_BARS_TODAY = ("read-over-limit", "future-entry")
_BARS_A_FILL = ("filled-for-export-only",)
# The rules that leave something to the gauge.
_PRESSURE_RULES = ("filled-over-limit", "filled-hot-over")
# What bars where it is known bars where it is not: whether its own test condemned it.
_MUST_BE_KNOWN = ("ree", "expansion-limit", "aluminum")


class Reason(NamedTuple):
    """
    Why a cylinder must not be filled.

    `if_filled` tells that it is what the rules would say of a fill. `kind` is that of the `Bar` it is, if it is one.
    `ends_use` tells that it must not be used either.
    """

    text: str
    if_filled: bool = False
    rule: str = ""
    working: tuple[str, ...] = ()
    advice: str = ""
    cite: tuple[str, ...] = ()
    kind: str = ""
    ends_use: bool = False


def must_not_be_filled(
    life: Life, rules: Ruleset, faults: Sequence[Fault] = (), findings: Sequence[Finding] = ()
) -> list[Reason]:
    """
    Why a cylinder must not be filled on the as-of day of its life; empty where it may be.

    What is judged is a fill to the rated pressure at the reference temperature. `faults` are its
    `doubts`, `findings` those of the rules on its own card and entries: of these, what endangers
    on the as-of day counts, and what puts in doubt the very test that the cylinder stands on.
    """
    reasons = [
        Reason(
            f"{_FAULTS.get(fault.rule, '')}{fault.text} ({fault.span.place})",
            rule=fault.rule,
            # What mends a fault of nobody's is not to be told from its rule, nor whom a wrong name means.
            advice=fault.cure if not fault.subject or fault.rule == "unknown-name" else "",
        )
        for fault in faults
    ]
    if life.class_name is None:
        reasons.append(Reason("its class is not known", rule="no-class"))
    if life.rated is None:
        reasons.append(Reason("its rated pressure is not known"))
    reasons += [
        reason_of(finding)._replace(ends_use=finding.level == "danger" and not finding.about)
        for finding in findings
        if _stands_today(finding, life)
    ]
    said = said_of_a_fill(life, rules, fill_in_mind(life)) if life.rated is not None else []
    reasons += [reason_of(finding, finding.rule != "cannot-judge") for finding in said if forbids(finding)]
    return [*_of_bars(life, rules), *dict.fromkeys(reasons)]


def said_of_a_fill(life: Life, rules: Ruleset, fill: Entry) -> list[Finding]:
    """
    What the rules would say of a fill that nobody has made yet, with no allowance for a gauge.

    What bars the cylinder is left out, for its life says that itself.
    """
    strict = life.copy()
    strict.gauge_allowance = 0.0
    return [finding for finding in may_be_filled(strict, rules, fill) if finding.rule != BARRED]


def over_strictly(
    record: Record, rules: Ruleset, card: Cylinder, fill: Entry, air: AirLog | None = None
) -> list[Finding]:
    """
    Where the pressure of a fill endangers, with no allowance for a gauge: nobody enters that without signing for it.

    `record` is that before the fill, `air` its `air_log`, where somebody has it already.
    """
    life = life_of(record, rules, card, fill.day)
    life.air = air or air_log(record, rules, fill.day, [fill])
    return [
        finding
        for finding in said_of_a_fill(life, rules, fill)
        if finding.level == "danger" and finding.rule in _PRESSURE_RULES
    ]


def unread_about_fill(record: Record, rules: Ruleset, fill: Entry) -> list[Finding]:
    """
    What cannot be read and bars a fill: what is about its cylinder or storage, and what stands in the block of the
    source of its air.
    """
    found = []
    for name, faults in (
        (fill.subject, doubts(record, fill.subject)),
        (fill.on, record.damaged.get(fill.on or "", ())),
    ):
        for fault in faults:
            text = f"{_FAULTS.get(fault.rule, '')}{fault.text}"
            working = [f"nobody knows what it says of {name}"] if fault.rule in _FAULTS else []
            span, level = fault.span, rules.level_of(fault.rule)
            found.append(Finding(fault.rule, level, name or "", span, text, working, fault.cure))
    return found


def _of_bars(life: Life, rules: Ruleset) -> list[Reason]:
    rule = rules.rules.get(BARRED)
    cite = tuple(rule.cite) if rule is not None else ()
    return [Reason(bar.text, False, BARRED, (), bar.what_clears, cite, bar.kind, True) for bar in life.bars]


def doubts(record: Record, name: str) -> list[Fault]:
    """
    What puts the whole of a cylinder's history in doubt: lines about it that cannot be read, merge
    conflicts that they stand in, files of which nothing could be read,
    so that nobody knows what they say of it, another of its name, and a second department.
    """
    return [
        *record.damaged.get(name, ()),
        *conflicts_about(record, name),
        # One that is about nobody is of the department: then nobody knows whose rules the cylinder goes by.
        *record.faults_about("name-taken", name),
        *record.faults_about("name-taken", None),
        *record.unread_files,
        *_strangers_beside(record, name),
    ]


def _strangers_beside(record: Record, name: str) -> list[Fault]:
    """
    Who has a row on a sheet with an entry of a cylinder that no card declares may be the one that is meant: a fault for
    each such name, at the first of its rows, with how many there are.
    """
    if not record.strangers_sheets:
        return []
    sheets = {(entry.source.path, entry.block) for entry in record.entries.get(name, ())} & record.strangers_sheets
    rows: dict[str | None, list[Fault]] = {}
    for sheet in sorted(sheets):
        for fault in record.strangers(*sheet):
            rows.setdefault(fault.subject, []).append(fault)
    return [
        first._replace(text=f"{first.text}; it has {len(rows) + 1} rows on sheets with {name}") if rows else first
        for first, *rows in rows.values()
    ]


def said_with_every_answer(record: Record) -> list[Fault]:
    """
    The faults of lines that may be about any cylinder, and nobody can tell which: those that name none, or one that
    no card declares, and those about sources of air.
    """
    of_sources = [fault for name in record.air_sources for fault in record.damaged.get(name, ())]
    return list(dict.fromkeys([*record.nameless, *record.strangers(), *of_sources]))


def fill_in_mind(life: Life, to: str = "", at: str = "") -> Entry:
    """
    A `filled` entry on the as-of day, to a pressure and at a temperature as a ledger writes them.

    By default to the rated pressure, which must be known, at the reference temperature, if that
    is known.
    """
    reference = life.figures.reference
    to = to or life.rated_as_written or f"{life.rated:.4f} psi"
    at = at or (f"{reference - 273.15:.4f} C" if reference is not None else "")
    line = f"{life.as_of} filled {life.name} to {to}" + (f" at {at}" if at else "")
    entry, faults = read_entry(Source(NOWHERE, line))
    assert entry is not None, faults
    return entry


def forbids(finding: Finding) -> bool:
    """
    Whether what the rules say of a fill in mind forbids it: danger does, and not to know does.

    Facts that only an entry can tell, such as who fills and how fast, are not known of any fill
    before it is made; they are asked of it when it is written down.
    """
    if finding.rule == "cannot-judge":
        return STATUS in FACTS[finding.about].at
    return finding.level == "danger" or finding.rule in _BARS_A_FILL


def _stands_today(finding: Finding, life: Life) -> bool:
    if finding.rule == "cannot-judge":
        return finding.about in _MUST_BE_KNOWN
    if finding.level == "danger" and life.last_test is not None and finding.about == plain_form(life.last_test):
        return True
    if finding.about:
        return False
    if finding.level == "danger":
        return finding.day == life.as_of
    # Of a card that says `made` on a day to come no entry speaks, and so no day.
    return finding.rule in _BARS_TODAY


def reason_of(finding: Finding, if_filled: bool = False) -> Reason:
    """A finding as a reason not to fill."""
    return Reason(
        finding.text, if_filled, finding.rule, tuple(finding.working), finding.advice, tuple(finding.cite)
    )  # fmt: skip
