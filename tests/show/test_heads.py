"""
The head of a cylinder's card, and whether the cylinder may be filled.
"""

from datetime import date

import pytest

from cylfile.judging.fill_verdict import fill_in_mind, must_not_be_filled
from cylfile.judging.heads import natural
from cylfile.judging.judge import judge
from cylfile.record.reader import read_record
from cylfile.text.source import Fault, Source, Span, decode
from support.shown_record import AS_OF, LEDGER, report, rules

CARD = """\
cylinder {name}
  class  steel
  rated  2216 psi
  made   2024-01
  2024-02-01  entered service
"""


def reasons(card: str, more: str = "", **packs: str) -> list[str]:
    """Why the one cylinder of a record must not be filled."""
    names = [f"{name}.cylpack" for name in packs] or ["house.cylpack"]
    of = report(f'department "D"\n  rules "x"\n{card}{more}', rules(*names, **packs))
    (head,) = of.heads.values()
    return [reason.text for reason in head.reasons]


def test_a_cylinder_in_order_may_be_filled():
    assert reasons(CARD.format(name="K-1")) == []


@pytest.mark.parametrize("name", ["114", "K-1", "a.b_c/d-9"])
def test_names_of_every_form_can_be_asked_about(name):
    assert reasons(CARD.format(name=name)) == []


@pytest.mark.parametrize(
    "entry, reason",
    [
        ('2025-01-01  damaged "dropped"', "damaged on 2025-01-01: dropped"),
        ('2025-01-01  out of service "valve"', "out of service since 2025-01-01: valve"),
        ("2025-01-01  hydro fail", "failed its hydrostatic test on 2025-01-01"),
        ("2025-01-01  visual fail", "failed its visual inspection on 2025-01-01"),
        ('2025-01-01  condemned "pits"', "condemned on 2025-01-01: pits"),
        ('2025-01-01  retired "worn"', "retired on 2025-01-01: worn"),
    ],
)
def test_what_blocks_it_is_the_reason(entry, reason):
    assert reasons(CARD.format(name="K-1") + f"  {entry}\n") == [reason]


def test_a_fill_in_mind_is_judged_like_any_other():
    card = CARD.format(name="K-1").replace("2024-01\n", "2019-01\n")
    assert reasons(card) == ["filled 1,029 days after its test fell due (2024-01-31)"]


def test_what_is_not_known_of_the_cylinder_is_a_reason():
    card = CARD.format(name="K-1").replace("  made   2024-01\n", "")
    assert reasons(card) == [
        "made not known; not judged: past-test"
    ]  # fmt: skip


def test_what_only_a_fill_can_tell_is_none():
    pack = 'pack rate "R"\n  over "test.cylpack"\nrule rate danger\n  on filled\n  when fill-rate > 9 psi/min\n  say "fast"\n'
    assert reasons(CARD.format(name="K-1"), rate=pack) == []


def test_class_and_rated_pressure_have_to_be_known():
    card = CARD.format(name="K-1").replace("  class  steel\n", "").replace("  rated  2216 psi\n", "")
    assert reasons(card) == ["its class is not known", "its rated pressure is not known"]


def test_a_second_card_of_its_name_is_a_reason():
    card = CARD.format(name="K-1")
    (reason,) = reasons(card, card.replace("2216", "4500"))
    assert reason.startswith("`K-1` is taken: ")


def test_a_line_about_it_that_cannot_be_read_is_a_reason():
    (reason,) = reasons(CARD.format(name="K-1"), "2026-01-01 filed K-1 to 2000 psi\n")
    assert reason.startswith("cannot be read: `filed`")


def test_danger_in_the_last_test_is_a_reason_until_the_next_test():
    low = CARD.format(name="K-1") + "  2025-01-01  hydro pass  at 2000 psi\n"
    assert reasons(low) == ["tested below its rated pressure"]
    assert reasons(low + "  2025-02-01  hydro pass  at 3700 psi\n") == []


def test_danger_of_former_days_is_none():
    card = CARD.format(name="K-1").replace("2024-01\n", "2019-01\n")
    late = card + "  2024-06-01  filled  to 2000 psi\n"
    assert reasons(late + "  2025-02-01  hydro pass\n") == []


def test_danger_on_the_day_is_a_reason():
    pack = 'pack s "S"\n  over "test.cylpack"\nrule s danger\n  on status\n  when in-service\n  say "suspect"\n'
    assert reasons(CARD.format(name="K-1"), s=pack) == ["suspect"]


def test_a_waiver_opens_no_valve():
    card = CARD.format(name="K-1").replace("2024-01\n", "2019-01\n")
    waiver = 'person p "P"\nwaived past-test for K-1 until 2027-01-01 by p "soon"\n'
    assert reasons(card, waiver) == ["filled 1,029 days after its test fell due (2024-01-31)"]


def test_a_file_of_which_nothing_was_read_puts_every_cylinder_in_doubt():
    good = Source("a.cyl", CARD.format(name="K-1"))
    bad, faults = decode("b.cyl", b"x\xff")
    of = rules("house.cylpack")
    record = read_record([good, bad], faults)
    life = judge(record, of, AS_OF).lives["K-1"]
    from cylfile.judging.fill_verdict import doubts

    (reason,) = must_not_be_filled(life, of, doubts(record, "K-1"))
    assert reason.text.startswith("cannot be read: not UTF-8 text") and "(b.cyl:1)" in reason.text


def test_a_fill_in_mind_is_to_the_rated_pressure_at_the_reference_temperature():
    record = read_record([Source("a.cyl", CARD.format(name="K-1").replace("2216 psi", "150 bar"))])
    life = judge(record, rules("house.cylpack"), date(2025, 3, 4)).lives["K-1"]
    fill = fill_in_mind(life)
    assert (str(fill.day), fill.subject, str(fill.reading)) == ("2025-03-04", "K-1", "150 bar")
    assert fill.at_temperature.value == pytest.approx(life.figures.reference, abs=1e-3)
    other = fill_in_mind(life, "900 psi", "80 F")
    assert (str(other.reading), str(other.at_temperature)) == ("900 psi", "80 F")


def test_the_head_says_what_it_is_and_where():
    heads = report().heads
    assert heads["L-2"].words == "Wrapped, 4500 psi, made 2016-03, Station 1"
    assert heads["L-2"].is_barred and not heads["L-2"].gone
    assert heads["L-4"].gone == "retired 2020-05-04"
    assert heads["L-4"].is_barred, "it was filled since, so somebody uses it"
    assert not heads["L-10"].reasons


def test_a_site_that_nobody_declares_is_shown_as_it_is_written():
    of = report(f'department "D"\n  rules "x"\n{CARD.format(name="K-1")}  2024-03-01  moved to far\n')
    assert (of.heads["K-1"].site, of.heads["K-1"].words) == ("far", "Plain steel, 2216 psi, made 2024-01, far")


def test_what_is_gone_bars_nobody_unless_it_is_used():
    lines = '  2024-03-01  condemned "cut"\n', "  2024-04-01  retired\n", "  2024-05-01  filled to 900 psi\n"
    for count, gone, is_barred in (
        (1, "condemned 2024-03-01", False),
        (2, "retired 2024-04-01", False),
        (3, "retired 2024-04-01", True),
    ):
        head = report('department "D"\n  rules "x"\n' + CARD.format(name="K-1") + "".join(lines[:count])).heads["K-1"]
        assert (head.gone, head.is_barred, head.in_use) == (gone, is_barred, is_barred) and head.reasons


def test_a_head_says_what_it_does_not_know():
    of = report('department "D"\n  rules "x"\ncylinder K-1\n')
    assert of.heads["K-1"].words == "of no known kind"


def test_a_rated_pressure_from_the_marking_is_shown_in_its_unit():
    pack = 'pack m "M"\n  over "test.cylpack"\nclass steel\n  marked "ST{psi}"\n'
    of = report('department "D"\ncylinder K-1\n  marked "ST 2015"\n', rules("m.cylpack", m=pack))
    assert of.heads["K-1"].words == "Plain steel, 2015 psi"


def test_names_are_sorted_as_people_count():
    names = ["K-10", "K-9", "k-1", "114", "20", "K-9a", "K-"]
    assert sorted(names, key=natural) == ["20", "114", "K-", "k-1", "K-9", "K-9a", "K-10"]


def test_the_sample_is_what_the_other_tests_take_it_for():
    assert LEDGER.count("cylinder ") == 4
    source = Source("x", "")
    assert Fault(Span(source, 0, 0), "t").rule == "unreadable-line"
