"""The program and a second reading of the rules, written from the texts alone, agree on generated records."""

import pytest

pytest.importorskip("CoolProp")

from outside.generated_records import TESTERS, ledger_of, make_cylinders, some_day  # noqa: E402
from outside.second_reading import RULES, Reading  # noqa: E402
from outside.two_readings import differences, may_fill_to_differs, shown, stop_differs  # noqa: E402

# In the last ones nothing says the test pressure of a cylinder, or since when its life runs, and a fill is beyond the equation.
SEEDS = [*range(1000, 1004), 1078, 2030, 2076]
CYLINDERS = 50


@pytest.mark.parametrize("seed", SEEDS)
def test_both_readings_say_the_same_of_every_entry(seed):
    today = some_day(seed)
    cylinders = make_cylinders(seed, CYLINDERS, today)
    named = {cylinder["name"]: cylinder for cylinder in cylinders}
    left = differences(cylinders, today)
    assert not left, shown(named[left[0].cylinder], today, left[0])


@pytest.mark.parametrize("temperature", [("50", "F"), ("70", "F"), ("110", "F"), ("-5", "C")])
def test_the_gauge_stops_where_the_gas_settles_to_the_limit(temperature):
    today = some_day(7)
    cylinders = [cylinder for cylinder in make_cylinders(7, 9, today) if "rated" in cylinder or "stamped" in cylinder]
    assert [stop_differs(cylinder, today, temperature) for cylinder in cylinders] == [None] * len(cylinders)


@pytest.mark.parametrize("share", [0.99, 0.9995, 1.006, 1.02])
def test_no_pressure_over_the_stop_is_allowed_and_none_under_it_refused(share):
    today, temperature = some_day(3), ("50", "F")
    cylinders = [c for c in make_cylinders(3, 25, today) if Reading(c, TESTERS, today).may]
    assert cylinders
    for cylinder in cylinders:
        stop = Reading(cylinder, TESTERS, today).stop(temperature)
        to = (f"{stop * share:.1f}", "psi")
        assert may_fill_to_differs(cylinder, today, to, temperature) is None, (cylinder["name"], to)


def test_the_generated_records_hold_every_rule_verb_and_clause():
    texts, found = [], set()
    for seed in range(1000, 1008):
        cylinders = make_cylinders(seed, CYLINDERS, some_day(seed))
        texts.append(ledger_of(cylinders)[0])
        for cylinder in cylinders:
            found |= {rule for rule, _ in Reading(cylinder, TESTERS, some_day(seed)).found}
    assert found == RULES
    text = "\n".join(texts)
    for words in [
        "entered service", "filled", "gauged", "visual  pass", "visual  fail", "hydro  pass", "hydro  fail",
        "hydro  condemned", "moved", "emptied", "damaged", "serviced", "out of service", "returned to service",
        "life extended", "condemned", "retired", "remarked", "to unread", "heat", "overpressure", "method proof",
        "method ultrasonic", "method acoustic", "method expansion", "crack pass", "crack fail", "plus", "star",
        "visual fail", "total", "permanent", "elastic", "over 6 min", "on comp", "from st1", "to A123", "struck",
        "late", "answered", "remark", "life until", "test-every", "test-pressure", "expansion-limit", "ree", "liner",
        "holds", "marked", " bar", " MPa", " kPa", " C", " F",
    ]:  # fmt: skip
        assert words in text
