"""
What a rule calls a danger of a fill, `may-fill` refuses; and what it refuses beyond that has its reason.

Generated over all classes of us-dot: a history, a question, and the record with that fill in it.
"""

from datetime import date

from hypothesis import example, given, settings
from hypothesis import strategies as st

from cylfile.judging.fill_answer import answer
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.quantities import quantity
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot", "osha", "practice"], lambda name: None)
AS_OF = date(2026, 11, 25)
HEAD = """\
department "Pinewater"
  rules  us-dot
person ash "Ash"
  fills     2010-01-01
  inspects  2010-01-01
tester Z901 "In force"
  authorized until 2030-01
tester Z902 "Lapsed"
  authorized until 2015-01
"""
ENTRIES = [
    "visual pass  by ash", "visual fail  by ash", "hydro pass  by Z901  visual pass", "hydro pass  by Z902  visual pass",
    "hydro pass  by Z901  crack pass  visual pass  plus  star", "hydro fail  by Z901", "hydro pass  by Z901  visual fail",
    "hydro pass  by Z901  at 100 psi  visual pass", "hydro pass  by Z901  total 100 cc  permanent 12 cc",
    "hydro pass  by Z901  total 100 cc  permanent 1 cc  visual pass", "hydro condemned  by Z901",
    "hydro pass  by Z901  method proof  visual pass", 'damaged "dropped"', 'damaged "fire room"  heat',
    'damaged "ran away"  overpressure', 'out of service "valve"', "returned to service", 'condemned "cut"', "retired",
    "filled to 2000 psi  at 70 F", "filled to 2100 psi  at 70 F", "filled to 2020 psi", "filled to 2400 psi", "gauged 2400 psi",
    "gauged 1000 psi  at 70 F", "gauged 9000 psi", "emptied", 'life extended until 2035-01 "x"', "filled to unread",
]  # fmt: skip
# Refused beyond lint's dangers, and why: what has to be known is not; what it holds may be too much already; it is
# for export only; a figure that condemns could not be looked at; nobody knows the gas at that temperature.
MORE = {"cannot-judge", "no-class", "", "read-over-limit", "holds-over-limit", "filled-for-export-only", "unlikely-temperature",
        "used-past-life"}  # fmt: skip


@st.composite
def questions(draw):
    """A card with its history, and the pressure and the temperature of the fill that is asked about."""
    class_name = draw(st.sampled_from(sorted(RULES.classes)))
    made = draw(st.sampled_from(["1944-05", "2008-11", "2012-06", "2023-01", ""]))
    properties = draw(st.lists(st.sampled_from(["ree 60 cc", "test-every 5 years", "life 15 years", "liner steel", "holds 60 L"]),
                               unique=True, max_size=3))  # fmt: skip
    days = sorted(draw(st.lists(st.dates(date(2024, 1, 1), date(2026, 11, 20)), max_size=6)))
    lines = [f"{day}  {draw(st.sampled_from(ENTRIES))}" for day in days]
    card = [f"class {class_name}", "rated 2015 psi", *([f"made {made}"] if made else []), *properties, *lines]
    to = draw(st.sampled_from(["1900 psi", "2015 psi", "2016 psi", "2216 psi", "2217 psi", "2300 psi", "139 bar"]))
    at = draw(st.sampled_from([None, "70 F", "21 C", "40 F", "100 F", "-41 C"]))
    return "cylinder K-1\n" + "".join(f"  {line}\n" for line in card), to, at


@settings(max_examples=250, deadline=None)
@example(("cylinder K-1\n  class dot-3aa\n  rated 2015 psi\n  made 2023-01\n", "2015 psi", "40 F"))
@example(("cylinder K-1\n  class dot-3aa\n  rated 2015 psi\n  made 2023-01\n", "2015 psi", None))
@given(questions())
def test_what_lint_calls_a_danger_of_the_fill_is_refused(question):
    card, to, at = question
    record = read_record([Source("a.cyl", HEAD + card)])
    asked = answer(record, RULES, AS_OF, "K-1", quantity("PRESSURE", to), at=at and quantity("TEMPERATURE", at))
    fill = f"  {AS_OF}  filled to {to}" + (f"  at {at}" if at else "") + "  by ash\n"
    judgement = judge(read_record([Source("a.cyl", HEAD + card + fill)]), RULES, AS_OF)
    line = len((HEAD + card).splitlines()) + 1
    dangers = {found.rule for found in judgement.findings if found.level == "danger" and found.span.line == line}
    if dangers:
        assert not asked.may, (dangers, card)
    for reason in asked.reasons:
        bars = reason.rule in dangers or reason.rule in MORE or reason.kind
        of_test = asked.life.last_test is not None and reason.rule == "plus-not-allowed"
        # Strictly, and with no allowance for a gauge.
        over = reason.rule in ("filled-over-limit", "filled-hot-over")
        assert bars or of_test or over, (reason, dangers, card)


@given(questions())
@settings(max_examples=100, deadline=None)
def test_the_stop_is_lawful_and_never_over_the_fill_limit(question):
    """Filled to where the gauge has to stop, at that temperature, it breaks no rule of pressures."""
    card, _, at = question
    record = read_record([Source("a.cyl", HEAD + card)])
    asked = answer(record, RULES, AS_OF, "K-1", at=at and quantity("TEMPERATURE", at))
    assert quantity("PRESSURE", asked.stop).value <= asked.life.fill_limit
    fill = f"  {AS_OF}  filled to {asked.stop}" + (f"  at {at}" if at else "") + "  by ash\n"
    findings = judge(read_record([Source("a.cyl", HEAD + card + fill)]), RULES, AS_OF).findings
    line = len((HEAD + card).splitlines()) + 1
    said = {found.rule for found in findings if found.span.line == line}
    assert not said & {"filled-over-limit", "filled-at-limit", "read-over-limit", "filled-hot-over"}
