"""
The answer at the fill station: what forbids a fill, and what does not.
"""

from datetime import date

import pytest

from cylfile.history.barring import HYDRO_CLEARS
from cylfile.judging.fill_answer import answer
from cylfile.judging.fill_verdict import Reason
from cylfile.packs.layering import load_rules
from cylfile.record.quantities import quantity
from cylfile.record.reader import read_record
from cylfile.text.source import Fault, Source, Span

AS_OF = date(2026, 11, 25)
RULES, _ = load_rules(["us-dot", "practice"], lambda name: None)
HEAD = 'department "Pinewater"\n  rules  us-dot\nsite quay "Quay"\nperson ash "Ash"\ntester Z999 "Tests"\n'
SOUND = """\
cylinder K-1
  serial  P-1
  marked  "DOT-SP 99999-4500"
  class   carbon-wrapped
  made    2019-06
  tag     AA01
  2019-08-02  entered service  at quay
  2024-06-20  hydro pass  by Z999  at 7500 psi  total 92.1 cc  permanent 1.8 cc  visual pass
"""
LINES_READ = "The lines that cannot be read, corrected by somebody who knows what they should say."


def asked(text=SOUND, word="K-1", to=None, more="", rules=RULES, **others):
    record = read_record([Source("a.cyl", HEAD + text + more)])
    return answer(record, rules, AS_OF, word, to and quantity("PRESSURE", to), **others)


def rules_of(found):
    return [reason.rule for reason in found.reasons]


def test_a_sound_cylinder_may_be_filled_to_its_limit():
    found = asked()
    assert found.may and found.name == "K-1" and found.to == "4500 psi" and found.remedies == []


def test_by_tag():
    assert asked(word="AA01").name == "K-1" and asked(word="AA01").may


@pytest.mark.parametrize(
    "line, rule, remedy",
    [
        ("2026-01-02  out of service \"valve\"", "filled-out-of-service", "returned to service"),
        ("2026-01-02  damaged \"dropped\"", "filled-out-of-service", "hydrostatic test"),
        ("2026-01-02  hydro fail  by Z999", "filled-out-of-service", "hydrostatic test"),
        ("2026-01-02  visual fail  by ash", "filled-out-of-service", "visual inspection"),
        ("2026-01-02  filled to 80 F", "unreadable-line", "corrected by somebody"),
        ("2026-01-02  fild to 80 psi", "unreadable-line", "corrected by somebody"),
        ("serial P-2", "unreadable-line", "corrected by somebody"),
    ],
)  # fmt: skip
def test_what_stands_on_the_card_forbids(line, rule, remedy):
    found = asked(more=f"  {line}\n")
    assert not found.may and rule in rules_of(found)
    assert any(remedy in text for text in found.remedies), found.remedies
    assert not found.is_over


@pytest.mark.parametrize("line", ['condemned "cut"', "retired", "filled to 9000 psi"])
def test_what_nothing_puts_right(line):
    found = asked(more=f"  2026-01-02  {line}\n")
    assert not found.may and found.is_over and found.remedies == []


def test_a_test_that_has_run_out():
    found = asked(SOUND.replace("2024-06-20", "2020-06-20"))
    assert rules_of(found) == ["filled-past-test"]
    assert found.reasons[0].working and "hydro pass" in found.remedies[0]


def test_a_life_that_is_over():
    found = asked(SOUND.replace("2019-06", "2009-06"))
    assert "filled-past-life" in rules_of(found)
    # No extension revives a life that has ended.
    assert found.is_over and found.remedies == []


def test_the_month_in_which_the_test_falls_due_is_a_remark():
    found = asked(SOUND.replace("2024-06-20", "2021-11-20"))
    assert found.may and [finding.rule for finding in found.remarks] == ["filled-in-due-month"]


@pytest.mark.parametrize(
    "to, may", [("4500 psi", True), ("310 bar", True), ("311 bar", False), ("4501 psi", False), ("500 psi", True)]
)
def test_a_pressure_that_is_asked_for(to, may):
    found = asked(to=to)
    assert found.may is may and found.to == to
    assert may or any("over its fill limit, 4500 psi" in reason.text for reason in found.reasons)


def test_the_plus_fill_is_the_limit_rounded_down():
    text = 'cylinder S-1\n  marked  "DOT-3AA2216"\n  made  2010-01\n  2010-02-01  entered service\n'
    plus = text + "  2024-01-05  hydro pass  by Z999  plus\n"
    found = asked(plus, "S-1")
    assert found.may and found.to == "2437 psi", "2216 psi and ten per cent are 2437.6 psi"
    assert asked(plus, "S-1", "2438 psi").may is False
    plain = text + "  2024-01-05  hydro pass  by Z999\n"
    assert asked(plain, "S-1").to == "2216 psi"


def test_a_limit_in_bar_is_written_in_bar():
    text = SOUND.replace('marked  "DOT-SP 99999-4500"', "rated  300 bar")
    assert asked(text).to == "300 bar"
    plus = (
        "cylinder K-1\n  class  dot-3aa\n  rated  300 bar\n  made  2010-01\n  2024-01-05  hydro pass  by Z999  plus\n"
    )
    assert asked(plus).to == "330 bar"


def test_a_name_that_nobody_has():
    found = asked(word="K-11", names=["K-1", "Q-9"])
    assert not found.may and rules_of(found) == ["unknown-name"] and found.name is None
    assert found.remedies == ["Did you mean `K-1`?", "If it is new, open a card for it: cylinder K-11"]
    assert len(asked(word="K 11").remedies) == 1, "which is no name of a card"


def test_a_name_whose_card_may_be_a_line_that_cannot_be_read():
    found = asked(SOUND.replace("cylinder K-1", "cylinder K-1 now"))
    assert rules_of(found)[:2] == ["unknown-name", "unreadable-line"]
    found = asked(SOUND.replace("cylinder K-1", "cylindr K-1"), names=["K-2"])
    assert found.remedies == [LINES_READ], "neither another cylinder nor a second card"
    gone = Fault(Span(Source("cards", ""), 0, 0), "not to be had", "Bring it back.", rule="unreadable-folder")
    found = answer(read_record([Source("a.cyl", HEAD)], [gone]), RULES, AS_OF, "K-1", names=["K-2"])
    assert rules_of(found) == ["unknown-name", "unreadable-folder"] and found.remedies == ["Bring it back."]
    # The first line of a file as well as its last; but not one that says another name.
    for text, is_about in (("K-1 spare", True), ("\ncylinder K-7\nand K-1", True), ("K-7 spare", False)):
        others = [Source("a.cyl", HEAD), Source("b.cyl", text)]
        rules = rules_of(answer(read_record(others), RULES, AS_OF, "K-1"))
        assert rules == ["unknown-name", *["unreadable-line"] * is_about], text


def test_a_tag_on_two_cards():
    found = asked(word="AA01", more="cylinder K-2\n  tag AA01\n")
    assert not found.may and "K-1 and K-2" in found.reasons[0].text


def test_a_word_that_is_a_name_and_another_cylinders_tag():
    found = asked(word="K-1", more="cylinder K-2\n  tag K-1\n")
    assert not found.may and "more than one card" in found.reasons[0].text


@pytest.mark.parametrize("property", ["made", "class", "marked"])
def test_a_fact_that_is_missing_forbids_and_says_which(property):
    lines = [line for line in SOUND.split("\n") if not line.startswith(f"  {property}")]
    if property == "class":
        lines = [line for line in lines if not line.startswith("  marked")]
    if property == "made":
        lines = [line for line in lines if "hydro" not in line]
    found = asked("\n".join(lines))
    assert not found.may
    assert found.remedies and any(property in text for text in found.remedies), found.remedies


def test_a_line_elsewhere_that_mentions_it_and_cannot_be_read():
    found = asked(more="fill sheet 2026-02-01\n  09:00  K-1  too 4500 psi\n")
    assert rules_of(found) == ["unreadable-line"] and "a.cyl:15" in found.reasons[0].text


CONFLICT = """\
<<<<<<< ours
fill sheet 2026-02-01
=======
fill sheet 2026-02-02
>>>>>>> theirs
"""


@pytest.mark.parametrize(
    "more, is_in_doubt",
    [
        (CONFLICT + "  K-1 to 4500 psi\n", True),
        (CONFLICT + "  K-2 to 4500 psi\n", False),
        (CONFLICT + "fill sheet 2026-02-03\n  K-1 to 4500 psi\n", False),
        ("fill sheet 2026-02-03\n  K-1 to 4500 psi\n<<<<<<< ours\n  K-2 to 4500 psi\n=======\n>>>>>>> x\n", False),
        ("fill sheet 2026-02-03\n<<<<<<< ours\n  K-1 to 4500 psi\n=======\n>>>>>>> x\n", True),
        ("<<<<<<< ours\n  2026-02-03 filled to 4500 psi\n=======\n>>>>>>> x\n", True),
        ("<<<<<<< ours\n  holds 6.8 L\n=======\n>>>>>>> x\n", True),
        (">>>>>>> x\n", True),
        ('site hill "Hill"\n>>>>>>> x\n', False),
        ("fill sheet 2026-02-03\n  K-1 to 4500 psi\n<<<<<<< ours\n", True),
    ],
)
def test_a_merge_conflict_that_its_lines_stand_in(more, is_in_doubt):
    found = asked(more=more)
    assert any("conflict" in reason.text for reason in found.reasons) is is_in_doubt, found.reasons


def test_a_file_that_cannot_be_read_at_all():
    source = Source("b.cyl", "")
    record = read_record([Source("a.cyl", HEAD + SOUND), source], [Fault(Span(source, 0, 0), "not UTF-8 text")])
    assert rules_of(answer(record, RULES, AS_OF, "K-1")) == ["unreadable-line"]


def test_without_rules_nothing_may_be_filled():
    none, _ = load_rules([], lambda name: None)
    found = asked(rules=none)
    assert rules_of(found)[0] == "no-rules" and "rules us-dot" in found.remedies[0]


def test_without_rules_what_the_record_itself_says_against_it_is_said():
    none, _ = load_rules([], lambda name: None)
    found = asked(more='2026-01-01 condemned K-1 "cut"\n', rules=none)
    assert rules_of(found) == ["no-rules", "filled-out-of-service", ""] and found.is_over
    assert not asked(rules=none).is_over and not asked(word="K-11").is_over


def test_what_another_record_of_a_county_has_against_it_forbids():
    assert rules_of(asked(elsewhere=[Reason("condemned there", rule="condemned-elsewhere")])) == ["condemned-elsewhere"]


def test_what_the_rules_say_of_the_very_fill_that_is_asked_for_forbids_it():
    pack = 'pack house "H"\n  over us-dot\nrule too-little  danger\n  on filled\n  when to < 1000 psi\n  say "too little"\n'
    rules, faults = load_rules(["h.cylpack"], lambda name: Source(name, pack))
    assert not faults and asked(rules=rules).may and asked(to="1000 psi", rules=rules).may
    (reason,) = asked(to="900 psi", rules=rules).reasons
    assert (reason.rule, reason.text, reason.if_filled) == ("too-little", "too little", True)


def test_a_pressure_over_where_the_gauge_stops_with_colder_gas_is_refused_as_that():
    at = quantity("TEMPERATURE", "20 F")
    reasons = asked(to="4400 psi", at=at).reasons
    assert reasons[0].text.startswith("4400 psi is over where the gauge has to stop with the gas at 20 F, ")
    assert asked(to="4600 psi").reasons[0].text == "4600 psi is over its fill limit, 4500 psi"
    assert asked(to=asked(at=at).stop, at=at).may


def test_rules_that_cannot_be_read_whole_clear_nothing():
    pack = Source("house.cylpack", 'pack house "House"\nrule x danger\n  on filled\n  when to >\n')
    rules, faults = load_rules(["us-dot", "house.cylpack"], lambda name: pack)
    assert faults
    found = asked(rules=rules, faults=faults)
    assert not found.may and "the rules cannot all be read" in found.reasons[0].text


def test_a_waiver_makes_no_cylinder_sound():
    found = asked(
        SOUND.replace("2024-06-20", "2020-06-20"),
        more='waived filled-past-test for K-1 until 2027-01-01 by ash "stand-by only"\n',
    )
    assert rules_of(found) == ["filled-past-test"]


def test_of_two_cards_with_one_serial_number_neither_is_filled_whichever_stands_first():
    """The cylinder that one card has condemned may be the one that the other card calls sound."""
    other = 'cylinder K-2\n  serial P-1\n  2024-06-21 condemned "gouged"\n'
    for text in (f"{SOUND}{other}", f"{other}{SOUND}"):
        (reason,) = asked(text).reasons
        assert reason.text.startswith("serial `P-1` is also the serial of `K-2` (a.cyl:")


def test_with_two_departments_nobody_knows_whose_rules_it_goes_by():
    text = 'department "Other"\n  rules osha\ncylinder K-1\n  class dot-3aa\n  rated 2265 psi\n  made 2024-01\n'
    for others in ([], [Source("b.cyl", 'department "Own"\n  rules us-dot\n')]):
        record = read_record([*others, Source("a.cyl", text)])
        found = answer(record, load_rules(["us-dot"], lambda name: None)[0], date(2026, 11, 25), "K-1")
        assert [(reason.text, reason.rule) for reason in found.reasons] == (
            [("a second department; a record has one (b.cyl:1)", "name-taken")] if others else []
        )
        assert found.remedies == (["Remove one of them."] if others else [])


# CoolProp 8.0.0 (Lemmon et al. 2000): the contents of 4500 psi at 70 F read so many psi at these temperatures.
@pytest.mark.parametrize("at, psi", [("50 F", 4233), ("70 F", 4500), ("21 C", 4497), ("69 F", 4486)])
def test_the_gauge_stops_lower_where_the_gas_is_colder(at, psi):
    found = asked(at=quantity("TEMPERATURE", at))
    assert found.may and found.stop == found.to == f"{psi} psi" and not found.settles
    assert asked(to=f"{psi} psi", at=quantity("TEMPERATURE", at)).may
    over = asked(to=f"{psi + 1} psi", at=quantity("TEMPERATURE", at))
    assert not over.may and over.reasons[0].rule == "filled-over-limit"


def test_it_never_stops_over_the_fill_limit_and_says_what_that_settles_to():
    found = asked(at=quantity("TEMPERATURE", "100 F"))
    assert (found.stop, found.settles) == ("4500 psi", "4139 psi")
    assert not asked(to="4501 psi", at=quantity("TEMPERATURE", "100 F")).may


def test_colder_readings_are_round_and_below():
    found = asked()
    assert [at for at, _ in found.colder] == ["60 F", "50 F", "40 F", "30 F"]
    assert found.colder[1] == ("50 F", "4230 psi")
    bar = asked(SOUND.replace('marked  "DOT-SP 99999-4500"', "rated  300 bar"))
    assert [at for at, _ in bar.colder] == ["20 C", "15 C", "10 C", "5 C"]
    assert all(pressure.endswith(" bar") and "." not in pressure for _, pressure in bar.colder)


def test_a_temperature_that_no_gas_has_is_refused():
    found = asked(at=quantity("TEMPERATURE", "190 F"))
    assert not found.may and "unlikely-temperature" in rules_of(found)


def test_sources_that_can_exceed_its_limit_are_named():
    sources = 'source C1 "Compressor"\n  kind compressor\n  rated 6000 psi\nsource B1 "Bank"\n  kind storage\n  rated 4500 psi\n'
    assert asked(more=sources).exceeded_by == ["C1"]


def test_without_a_reference_temperature_the_gauge_stops_at_the_limit():
    """So it is under the rules of a house that judges by the reading alone."""
    pack = 'pack house "H"\nclass tube "Tube"\nrule too-full  danger\n  on filled\n  when to > fill-limit\n  say "too full"\n'
    rules, faults = load_rules(["h.cylpack"], lambda name: Source(name, pack))
    card = "cylinder K-1\n  class tube\n  rated 4500 psi\n"
    assert faults == [] and asked(card, rules=rules).stop == "4500 psi" and asked(card, rules=rules).colder == []
    cold = asked(card, rules=rules, at=quantity("TEMPERATURE", "20 F"))
    assert (cold.stop, cold.settles) == ("4500 psi", "")


def test_where_nothing_is_said_of_heat_the_gauge_stops_by_the_reference_temperature_alone():
    pack = 'pack house "H"\n  reference 70 F\nclass tube "Tube"\nrule too-full  danger\n  on filled\n  when to > fill-limit\n  say "too full"\n'
    rules, faults = load_rules(["h.cylpack"], lambda name: Source(name, pack))
    found = asked("cylinder K-1\n  class tube\n  rated 4500 psi\n", rules=rules, at=quantity("TEMPERATURE", "50 F"))
    assert faults == [] and found.stop == "4233 psi"


def of_day(as_of: date, text: str = SOUND):
    return answer(read_record([Source("a.cyl", HEAD + text)]), RULES, as_of, "K-1")


def test_on_the_last_day_of_its_life_and_of_its_test_it_may_be_filled_and_on_the_next_not():
    assert of_day(date(2029, 6, 30)).may and of_day(date(2029, 7, 1)).remedies == [HYDRO_CLEARS]
    tested = SOUND + "  2033-06-20  hydro pass  by Z999  at 7500 psi  total 92.1 cc  permanent 1.8 cc  visual pass\n"
    assert of_day(date(2034, 6, 30), tested).may
    over = of_day(date(2034, 7, 1), tested)
    assert not over.may and over.is_over and over.remedies == []


def test_what_runs_out_on_a_day_is_no_reason_yet_beside_what_bars_it_on_that_day():
    barred = SOUND + '  2028-06-20  out of service "valve"\n'
    assert len(of_day(date(2029, 6, 30), barred).remedies) == 1
    assert HYDRO_CLEARS in of_day(date(2029, 7, 1), barred).remedies
    assert not of_day(date(2034, 6, 30), barred).is_over and of_day(date(2034, 7, 1), barred).is_over


def test_what_makes_it_fillable_again_is_told_for_each_thing_that_forbids_it_and_once():
    unmarked = SOUND.replace('  marked  "DOT-SP 99999-4500"\n', "").replace("  class   carbon-wrapped\n", "")
    assert asked(unmarked).remedies[:2] == [
        "Its pressure as `rated`, or its marking as `marked`, on its card.",
        "Its `class`, or its marking as `marked`, on its card.",
    ]
    broken = asked(more="2026-01-01 filled K-1 too 1 psi\n2026-01-02 filled K-1 too 1 psi\n").remedies
    assert broken == [LINES_READ]
    twice = asked(more=SOUND).remedies
    assert len(twice) == len(set(twice)) and any("its" in text.lower() for text in twice)
    barred = asked(more='2026-01-01 damaged K-1 "cut"\n2026-01-01 out of service K-1 "cut"\n').remedies
    assert len(barred) == 2 and all(text.startswith("Cleared by ") for text in barred)


@pytest.mark.parametrize("at", ["-40 F", "-200 F"])
def test_no_gauge_stops_below_nothing(at):
    """What is thinner than the atmosphere when it is cold shows nothing, and of what is no air there is nothing."""
    assert asked("cylinder K-1\n  class dot-3aa\n  rated 1 psi\n", at=quantity("TEMPERATURE", at)).stop == "0 psi"


def test_whether_its_own_test_condemned_it_must_be_known():
    """A test that failed may have condemned it by its expansions; a later one that passed does not undo that."""
    card = "cylinder K-1\n  class special-permit\n  rated 4500 psi\n  made 2019-06\n  test-every 5 years\n  life 15 years\n{}"
    tests = "  2024-06-20 hydro fail by Z999 total 60 cc permanent 9 cc\n  2024-06-21 hydro pass by Z999 visual pass\n"
    said = [reason.text for reason in asked(card.format(tests)).reasons if reason.rule == "cannot-judge"]
    assert any(text.startswith("expansion-limit not known") for text in said)
    known = [reason.text for reason in asked(card.format("  expansion-limit 20 %\n" + tests)).reasons]
    assert not any("expansion-limit" in text for text in known)


def test_what_is_wrong_today_is_wrong_without_a_fill():
    """What the rules say of its state is no word about the fill that is asked for."""
    found = asked(SOUND.replace("made    2019-06", "made    2019-06\n  life    until 2025-01"))
    by_rule = {reason.rule: reason.if_filled for reason in found.reasons}
    assert by_rule["used-past-life"] is False and by_rule["filled-past-life"] is True
