"""What the tests of the packs share: house packs given as text, and lives given as facts."""

from datetime import date
from types import SimpleNamespace

from cylfile.findings.finding import Finding
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

# The packs that are of no standard and not of the United States.
COUNTRIES = ("at", "ca", "de", "fi", "fr", "no", "ships", "uk")
# A `rule` as long as it has to be; its condition is put in.
RULE = "rule a-rule  danger\n  on  {on}\n  when  {when}\n  say  {say}\n"


def load(*packs: str, **named: str):
    """
    The ruleset and the faults of house packs given as texts, laid over each other.

    Packs given by keyword are there to be extended: `over "other.cylpack"` finds `other`.
    """
    texts = {f"house{number}.cylpack": text for number, text in enumerate(packs)}
    files = texts | {f"{name}.cylpack": text for name, text in named.items()}
    return load_rules(list(texts), lambda name: Source(name, files[name]) if name in files else None)


def shipped(*names: str):
    return load_rules(names, lambda name: None)


def load_rule(when: str, on: str = "filled", say: str = '"said"', settings: str = ""):
    """The ruleset and the faults of a pack with one rule."""
    return load('pack house "A house"\n' + settings + RULE.format(on=on, when=when, say=say))


def faults_of(*packs: str, **named: str) -> list[str]:
    """Each fault as line:column-column, text and cure."""
    return [in_short(fault) for fault in load(*packs, **named)[1]]


def in_short(fault) -> str:
    span = fault.span
    return f"{span.line}:{span.column}-{span.end_column} {fault.text} | {fault.cure}"


def life(**facts):
    """A life of which nothing is known but `facts`, as attributes."""
    blank = dict.fromkeys(
        "test_due test_day test_every fill_limit rated life_end blocked_by class_name damaged_day site made".split()
    )
    return SimpleNamespace(**{**blank, "pressure_unit": "psi", "as_of": date(2024, 1, 1), "in_service": True, **facts})


def fill(psi: float = 4500.0, day: date = date(2024, 1, 1), kelvin: float | None = None):
    """A fill entry."""
    temperature = None if kelvin is None else SimpleNamespace(value=kelvin)
    return SimpleNamespace(
        verb="filled", day=day, time=None, by=None, reading=SimpleNamespace(value=psi), at_temperature=temperature,
        from_pressure=None, over=None,
    )  # fmt: skip


def judged(ruleset, a_life, entry, place: str = "filled") -> list[tuple[str, tuple[str, ...]]]:
    """What the judge of a place finds, as names of rules and of unknown facts."""
    hits = []
    ruleset.judge_of(place)(a_life, entry, hits)
    return [(rule.name, unknown) for rule, unknown in hits]


def findings(text: str, ruleset, as_of: date) -> list[Finding]:
    """The findings of a ledger."""
    return judge(read_record([Source("example.cyl", text)]), ruleset, as_of).findings
