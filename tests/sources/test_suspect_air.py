"""Suspect air: which cylinders and storages hold it, and how it came there."""

from datetime import date, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.history.sources.air_trace import trace_air
from cylfile.history.sources.suspect_air import way_of
from cylfile.judging.fill_verdict import must_not_be_filled
from cylfile.judging.judge import judge
from support.air_records import LATE, air_rules, findings, log_of, record_of

SAMPLES = """\
  2024-01-05  air sample pass
  2024-02-05  air sample fail
  2024-02-08  air sample pass
"""
RECORD = """\
source C1 "Compressor"
  kind  compressor
{samples}source B1 "Bank"
  kind  storage
{bank}source B2 "Trailer"
  kind  storage
{trailer}cylinder T-1
{cylinder}"""


def record(cylinder: str = "", bank: str = "", trailer: str = "", samples: str = SAMPLES) -> str:
    def lines(text: str) -> str:
        return "".join(f"  {line.strip()}\n" for line in text.split("\n") if line.strip())

    return RECORD.format(samples=samples, bank=lines(bank), trailer=lines(trailer), cylinder=lines(cylinder))


def suspect(text: str, as_of: date = LATE) -> bool:
    _, log = log_of(text, as_of)
    return log.suspicion("T-1") is not None


@pytest.mark.parametrize(
    "fill, held",
    [
        ("2024-01-04  filled  to 4500 psi  on C1", False),
        ("2024-01-05  filled  to 4500 psi  on C1", True),
        ("2024-01-20  filled  to 4500 psi  on C1", True),
        ("2024-02-05  filled  to 4500 psi  on C1", True),
        ("2024-02-06  filled  to 4500 psi  on C1", True),
        ("2024-02-08  filled  to 4500 psi  on C1", True),
        ("2024-02-09  filled  to 4500 psi  on C1", False),
        ("2024-01-20  filled  to 4500 psi", False),
        ("2024-01-20  filled  to 4500 psi  on B1", False),
    ],
)
def test_from_the_last_good_sample_to_the_next(fill, held):
    assert suspect(record(fill)) is held


@pytest.mark.parametrize(
    "fill, held",
    [
        ("2024-01-05 08:59  filled  to 4500 psi  on C1", False),
        ("2024-01-05 09:01  filled  to 4500 psi  on C1", True),
        ("2024-02-08 08:59  filled  to 4500 psi  on C1", True),
        ("2024-02-08 09:01  filled  to 4500 psi  on C1", False),
    ],
)
def test_times_tell_what_a_day_cannot(fill, held):
    assert (
        suspect(record(fill, samples=SAMPLES.replace("05  air", "05 09:00  air").replace("08  air", "08 09:00  air")))
        is held
    )


def test_without_a_good_sample_all_air_before_and_after_is_suspect():
    samples = "  2024-02-05  air sample fail\n"
    for day in ("2019-01-01", "2024-02-05", "2026-01-01"):
        assert suspect(record(f"{day}  filled  to 4500 psi  on C1", samples=samples))


@pytest.mark.parametrize(
    "after, held",
    [
        ("2024-02-10  emptied", False),
        ("2024-01-20  emptied", False),
        ("2024-01-20 11:00  emptied", False),
        ("2024-01-20 09:00  emptied", True),
        ("2024-02-10  filled  from 500 psi  to 4500 psi  on C1", True),
        ("2024-02-10  filled  from 0 psi  to 4500 psi  on C1", False),
        ("2024-02-10  filled  to 4500 psi  on C1", True),
        ("2024-02-06  filled  from 0 psi  to 4500 psi  on C1", True),
        ("2024-02-10  hydro pass  by A123", False),
        ("2024-02-10  visual pass", True),
        ("2024-02-10  gauged  0 psi", True),
        ('2024-02-10  out of service "bad air"', True),
    ],
)
def test_until_it_was_let_out(after, held):
    assert suspect(record(f"2024-01-20 10:00  filled  to 4500 psi  on C1\n{after}") + 'tester A123 "T"\n') is held


@pytest.mark.parametrize(
    "bank, held",
    [
        ("2024-01-20  filled  to 5000 psi  on C1", True),
        ("2024-01-04  filled  to 5000 psi  on C1", False),
        ("2024-01-20  filled  to 5000 psi  on C1\n2024-02-12  filled  from 500 psi  to 5000 psi  on C1", True),
        ("2024-01-20  filled  to 5000 psi  on C1\n2024-02-12  filled  from 0 psi  to 5000 psi  on C1", False),
        ("2024-01-20  filled  to 5000 psi  on C1\n2024-02-12  emptied\n2024-02-13  filled  to 5000 psi  on C1", False),
        ("2024-01-20  filled  to 5000 psi  on C1\n2024-02-12  air sample pass", False),
        ("2024-01-20  filled  to 5000 psi  on C1\n2024-02-12  air sample fail", True),
        ("2024-01-20  filled  to 5000 psi  on C1\n2024-01-20  emptied", False),
        ("2024-01-20  emptied\n2024-01-20  filled  to 5000 psi  on C1", True),
        ("2024-01-20 09:00  emptied\n2024-01-20 08:00  filled  to 5000 psi  on C1", False),
    ],
)
def test_through_a_storage(bank, held):
    assert suspect(record("2024-03-01  filled  to 4500 psi  on B1", bank)) is held


def test_what_stands_in_another_block_is_told_by_times_alone():
    """A loose line says nothing of whether it came before or after a line of a card."""
    fill = record("2024-01-20  filled  to 4500 psi  on C1")
    assert suspect(fill + "2024-01-20 emptied T-1\n")
    assert findings(fill + "2024-01-20 emptied T-1\n", LATE, "holds-suspect-air", "order-not-told") == [
        ("order-not-told", "T-1")
    ]
    timed = record("2024-01-20 09:00  filled  to 4500 psi  on C1")
    assert not suspect(timed + "2024-01-20 10:00 emptied T-1\n")
    loose = record() + "2024-01-20 filled T-1 to 4500 psi on C1\n2024-01-20 emptied T-1\n"
    assert not suspect(loose)


def test_a_month_of_a_water_test_is_not_told_from_a_day_in_it():
    """But for where the test stands below the fill on the card."""
    people = 'tester A123 "T"\n'
    assert suspect(record("2024-01-20  filled  to 4500 psi  on C1") + people + "2024-01 hydro T-1 pass by A123\n")
    assert not suspect(record("2024-01-20  filled  to 4500 psi  on C1") + people + "2024-02 hydro T-1 pass by A123\n")
    assert not suspect(record("2024-01-20  filled  to 4500 psi  on C1\n2024-01  hydro pass  by A123") + people)


def test_through_two_storages_and_the_way_is_told():
    text = record(
        "2024-03-01  filled  to 4500 psi  on B2",
        "2024-01-20  filled  to 5000 psi  on C1",
        "2024-02-20  filled  to 5000 psi  on B1",
    )
    _, log = log_of(text)
    assert way_of(log.suspicion("T-1")) == (
        "B1 filled from C1 on 2024-01-20; B2 filled from B1 on 2024-02-20; filled from B2 on 2024-03-01"
    )
    assert findings(text, LATE, "holds-suspect-air", "storage-holds-suspect-air") == [
        ("holds-suspect-air", "T-1"),
        ("storage-holds-suspect-air", "B1"),
        ("storage-holds-suspect-air", "B2"),
    ]


def test_of_several_fills_of_a_storage_the_first_speaks_for_all():
    """Whatever the order in which they are written: the way that is told begins where the air came in first."""
    fills = ["2024-01-22  filled  from 900 psi  to 5000 psi  on C1", "2024-01-20  filled  to 5000 psi  on C1"]
    for bank in (fills, fills[::-1]):
        _, log = log_of(record("2024-03-01  filled  to 4500 psi  on B1", "\n".join(bank)))
        assert "B1 filled from C1 on 2024-01-20; filled from B1" in way_of(log.suspicion("T-1"))
        assert [stretch.begin.day for stretch in log.suspect_air.stretches["B1"]] == [date(2024, 1, 20)]


def test_storages_that_fill_each_other_come_to_an_end():
    bank = "2024-01-20  filled  to 5000 psi  on C1\n2024-01-22  filled  to 5000 psi  on B2"
    assert suspect(record("2024-03-01  filled  to 4500 psi  on B2", bank, "2024-01-21  filled  to 5000 psi  on B1"))


def test_a_struck_fill_or_sample_never_was():
    struck = '  struck 2024-03-01 by x "wrong cylinder"'
    people = 'person x "X"\n'
    assert not suspect(record("2024-01-20  filled  to 4500 psi  on C1" + struck) + people)
    failed = SAMPLES.replace("air sample fail", "air sample fail" + struck)
    assert not suspect(record("2024-01-20  filled  to 4500 psi  on C1", samples=failed) + people)


def test_nothing_is_known_before_the_sample_failed():
    text = record("2024-01-20  filled  to 4500 psi  on C1")
    assert not suspect(text, date(2024, 2, 4))
    assert suspect(text, date(2024, 2, 5))


def test_a_cylinder_with_suspect_air_must_not_be_filled():
    judgement = judge(record_of(record("2024-01-20  filled  to 4500 psi  on C1")), air_rules(), LATE)
    own = [finding for finding in judgement.findings if finding.subject == "T-1"]
    reasons = must_not_be_filled(judgement.lives["T-1"], air_rules(), [], own)
    assert "holds-suspect-air" in {reason.rule for reason in reasons}


# The same by another way: a simulation that goes through what happened, each thing in a minute of its own.

EVENTS = st.lists(
    st.tuples(
        st.sampled_from(
            ("sample C1", "sample B1", "fill B1", "fill B2", "fill T-1", "empty B1", "empty B2", "empty T-1")
        ),
        st.sampled_from(("pass", "pass", "fail")),
        st.sampled_from(("C1", "C1", "B1", "B2")),
        st.sampled_from(("", "  from 0 psi", "  from 500 psi")),
    ),
    max_size=14,
)


@settings(max_examples=150, deadline=None)
@given(EVENTS)
def test_it_agrees_with_a_simulation(events):
    lines = {name: [] for name in ("C1", "B1", "B2", "T-1")}
    for minute, (what, outcome, source, before) in enumerate(events):
        verb, name = what.split()
        when = f"  2024-05-01 {10 + minute // 60}:{minute % 60:02d}  "
        said = {
            "sample": f"air sample {outcome}",
            "empty": "emptied",
            "fill": f"filled{before}  to 4000 psi  on {source}",
        }
        lines[name].append(when + said[verb] + "\n")
    text = RECORD.format(
        samples="".join(lines["C1"]),
        bank="".join(lines["B1"]),
        trailer="".join(lines["B2"]),
        cylinder="".join(lines["T-1"]),
    )
    _, log = log_of(text)
    held = simulated(events)
    assert {"T-1"} & held == ({"T-1"} if log.suspicion("T-1") else set())
    for name in ("B1", "B2"):
        assert (log.suspect_air.of_storage(name) is not None) == (name in held)


def simulated(events) -> set[str]:
    """
    Who holds suspect air in the end. Every failed sample is followed by itself, from the beginning:
    what its source gave between the good samples round it is marked, and the marks are carried along.
    """
    holding = set()
    for at, (what, outcome, *_) in enumerate(events):
        if what.startswith("sample") and outcome == "fail":
            holding |= followed(events, at, what.split()[1])
    return holding


def followed(events, at: int, source: str) -> set[str]:
    goods = [i for i, (what, outcome, *_) in enumerate(events) if what == f"sample {source}" and outcome == "pass"]
    first = max((i for i in goods if i < at), default=-1)
    clears = [
        i
        for i, (what, _, _, before) in enumerate(events)
        if i > at and (i in goods or what == f"empty {source}" or (what == f"fill {source}" and "from 0" in before))
    ]
    last = min(clears, default=len(events))
    marked = set()
    for i, (what, outcome, of, before) in enumerate(events):
        verb, name = what.split()
        if verb == "empty" or (verb == "sample" and outcome == "pass" and name != "C1"):
            marked.discard(name)
        elif verb == "fill":
            came = of in marked or (of == source and first <= i <= last)
            if "from 0" in before:
                marked.discard(name)
            if came:
                marked.add(name)
    # The source of the sample holds the air itself, if it is a storage, until it is cleared.
    return marked | ({source} if source != "C1" and last == len(events) else set())


def test_of_two_fills_of_a_storage_on_one_day_the_first_is_how_the_air_came_there():
    """Those without a time come first; so the way does not hang on which line of the file stands above."""
    early, late, untimed = (
        f"2024-01-20{time}  filled  from 500 psi  to 5000 psi  on C1" for time in (" 09:00", " 11:00", "")
    )
    for lines, first in (((late, early), time(9)), ((early, untimed), None), ((untimed, late), None)):
        _, log = log_of(record("2024-03-01  filled  to 4500 psi  on B1", bank="\n".join(lines)))
        (fill,) = log.suspicion("T-1").stretch.way
        assert fill.time == first, lines


def test_each_cylinder_is_answered_for_itself():
    text = record("2024-01-20  filled  to 4500 psi  on C1") + "cylinder T-2\n  2024-03-01  filled  to 4500 psi  on C1\n"
    _, log = log_of(text)
    assert [log.suspicion(name) is not None for name in ("T-1", "T-2", "T-2", "T-1")] == [True, False, False, True]


def test_a_fill_from_no_source_counts_on_the_first_and_on_the_last_day_that_is_asked_for():
    fills = "".join(f"2024-01-0{day}  filled  to {day}00 psi\n" for day in (1, 2, 3, 4))
    trace = trace_air(record_of(record(fills)), "C1", date(2024, 1, 2), date(2024, 1, 3), LATE)
    assert [entry.day.day for entry in trace.unnamed] == [2, 3]
