"""What is offered at a place of a ledger."""

import re

import pytest

from cylfile.record.vocabulary import VERBS
from cylfile.server.ledger_completion import ROW, SENTENCE, complete
from cylfile.server.whole_sentences import sentence
from support.workspaces import HEAD, edited_in, opened


@pytest.fixture
def offered(tmp_path):
    edited = edited_in(tmp_path)

    def offered(text: str, path: str = "new.cyl") -> list[str]:
        return [item.label for item in complete(edited, *opened(edited, path, text))]

    offered.edited = edited
    return offered


def test_verbs_of_a_card_are_whole_phrases(offered):
    labels = offered("cylinder H-15\n  2026-03-15  |")
    assert {"filled", "out of service", "returned to service", "life extended", "hydro"} <= set(labels)
    assert not {"of", "service", "air sample", "zone"} & set(labels)


def test_a_word_that_is_begun_narrows_the_list(offered):
    assert offered("cylinder H-15\n  2026-03-15  out|") == ["out of service", "out of service, with its clauses"]


def test_what_a_verb_needs_comes_first_and_what_is_written_is_gone(offered):
    labels = offered("cylinder H-15\n  2026-03-15  filled  |")
    assert labels[0] == "to" and "by" in labels
    labels = offered("cylinder H-15\n  2026-03-15  filled  to 4500 psi  by vance  |")
    assert "to" not in labels and "by" not in labels and {"at", "on", "remark", "struck"} <= set(labels)


def test_people_have_authority_on_that_day(offered):
    assert offered("fill sheet 2026-03-15  by |") == ["vance"]
    assert offered("fill sheet 2024-03-15  by |") == ["vance", "ember"]
    assert offered("visual sheet 2026-03-15  by |") == ["quill"]
    assert offered("cylinder H-15\n  2026-03-15  hydro pass  by |") == ["Z999"]


def test_sources_sites_classes_packs(offered):
    assert offered("fill sheet 2026-03-15  on |") == ["B2"]
    assert "carbon-wrapped" in offered("cylinder H-15\n  class  carb|")
    assert "us-dot" in offered('department "X"\n  rules  |')
    assert "filled-past-test" in offered("waived filled-past|")
    assert "H-12" in offered("waived filled-past-test for |")


def test_cylinders_in_service_come_before_the_others(offered):
    labels = offered("2026-03-15  filled |")
    assert labels.index("H-12") < labels.index("H-14") < labels.index("H-13")


def test_whole_rows_stop_where_a_gauge_has_to_be_read(offered):
    edited = offered.edited
    source, offset = opened(edited, "new.cyl", "fill sheet 2026-03-15  at st1\n  |")
    rows = [item.text for item in complete(edited, source, offset) if item.kind == ROW]
    assert rows == ["10:30  H-12  to ", "10:30  H-14  to "]
    source, offset = opened(edited, "new.cyl", "visual sheet 2026-03-01\n  |")
    assert [item.text for item in complete(edited, source, offset) if item.kind == ROW] == ["H-12  ", "H-14  "]


def test_a_row_offers_first_the_next_cylinder_that_the_sheet_lacks(offered):
    assert offered("fill sheet 2026-03-15\n  09:00  H-12  to 4500 psi\n  |")[:2] == ["H-14", "10:30"]
    assert offered("fill sheet 2026-03-15\n  09:00  H-14  to 4500 psi\n  # and\n\n  10:30  |")[:2] == ["H-12", "H-14"]
    assert (
        offered("fill sheet 2026-03-15\n  |\n  09:00  H-12  to 4500 psi\n\nfill sheet 2026-03-16\n  H-14")[0] == "H-14"
    )


def test_units_of_a_number_that_is_written_and_no_number(offered):
    assert offered("cylinder H-15\n  2026-03-15  filled  to 4500|") == ["4500 psi", "4500 bar", "4500 MPa", "4500 kPa"]
    assert offered("cylinder H-15\n  holds  6.8|") == [f"6.8 {unit}" for unit in ("L", "mL", "cc", "in3", "ft3", "m3")]
    assert not [label for label in offered("cylinder H-15\n  2026-03-15  filled  to |") if label[0].isdigit()]


def test_behind_a_blank_a_number_has_its_unit_and_is_not_said_again(offered):
    edited = offered.edited
    assert offered("cylinder H-15\n  2026-03-15  filled  to 2200 |") == ["psi", "bar", "MPa", "kPa"]
    for typed, unit in (("p", "psi"), ("ps", "psi"), ("b", "bar")):
        source, offset = opened(edited, "new.cyl", f"cylinder H-15\n  2026-03-15  filled  to 2200 {typed}|")
        (item,) = complete(edited, source, offset)
        assert (item.label, source.text[: item.start]) == (unit, source.text[: offset - len(typed)])
    assert offered("cylinder H-15\n  2026-03-15  hydro pass  total 92.1 c|") == ["cc"]
    assert offered("cylinder H-15\n  2026-03-15  filled  at 8|")[0] == "8 F"


@pytest.mark.parametrize(
    "text",
    (
        "|", "fill sheet 2026-03-15\n  |", "fill sheet 2026-03-15\n  09:00 |", "cylinder H-15\n  |", "fill sheet 2026-03-15  |",
        "cylinder H-15\n  2026-03-15  filled  |", 'department "X"\n  rules |', "waived |", "2026-03-15  filled |",
        "cylinder H-15\n  2026-03-15  hydro pass  by |", "cylinder H-15\n  2026-03-15  moved  to |",
    ),
)  # fmt: skip
def test_nothing_is_offered_twice(offered, text):
    labels = offered(text)
    assert labels and len(labels) == len(set(labels))


def test_rules_offers_the_packs_that_are_not_named_yet(offered, tmp_path):
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "house.cylpack").write_text('pack house "Ours"\n')
    labels = offered(HEAD.replace("rules  us-dot", "rules  us-dot\n  rules  |"), "head.cyl")
    assert labels[0] == '"rules/house.cylpack"' and "air" in labels and "us-dot" not in labels
    assert offered(HEAD.replace("rules  us-dot", 'rules  "rules/h|'), "head.cyl") == ['"rules/house.cylpack"']


def test_the_new_words_of_the_language(offered):
    card = "cylinder H-15\n  2026-03-15  "
    assert set(offered(f"{card}hydro pass  method |")) == {"expansion", "proof", "ultrasonic", "acoustic"}
    assert set(offered(f"{card}hydro pass  crack |")) == {"pass", "fail"}
    assert set(offered("cylinder H-15\n  liner |")) == {"aluminum", "plastic", "steel"}
    assert {"heat", "overpressure"} <= set(offered(f'{card}damaged "cut" |'))
    assert "serviced" in offered(f"{card}|") and "unread" in " ".join(offered(f"{card}filled to |"))
    assert "until" in offered("cylinder H-15\n  tag E200 |") and "since" in offered("cylinder H-15\n  tag E200 |")


def test_who_answers_and_strikes_is_a_person_whoever_did_the_work(offered):
    card = "cylinder H-15\n  2026-03-15  hydro pass  by Z999  "
    assert "filled-past-test" in offered(f"{card}answered |")
    assert set(offered(f"{card}answered filled-past-test 2026-03-15 by |")) == {"vance", "ember", "quill"}
    assert set(offered(f"{card}struck 2026-03-15 by |")) == {"vance", "ember", "quill"}
    assert set(offered("cylinder H-15\n  2026-03-15  moved  to |")) == {"st1", "st2", "Z999"}


def test_classes_come_with_their_figures(offered):
    edited = offered.edited
    source, offset = opened(edited, "new.cyl", "cylinder H-15\n  class  carbon-w|")
    (carbon,) = [item for item in complete(edited, source, offset) if item.label == "carbon-wrapped"]
    assert "- life `15 years`" in carbon.about and "- test-every `5 years`" in carbon.about


def test_zones(offered):
    assert offered('department "X"\n  zone  America/Denv|') == ["America/Denver"]


def test_markings_stop_where_a_figure_has_to_be_read_off(offered):
    edited = offered.edited
    for typed in ("", '"', '"DOT-3AA'):
        source, offset = opened(edited, "new.cyl", f"cylinder H-15\n  marked  {typed}|")
        (steel,) = [item for item in complete(edited, source, offset) if item.label == '"DOT-3AA{psi}"']
        assert steel.text == '"DOT-3AA' and source.text[steel.start : steel.end] == typed
        assert "Seamless steel" in steel.about and "- test-every `5 years`" in steel.about


def test_zones_come_with_their_hours(offered):
    source, offset = opened(offered.edited, "new.cyl", 'department "X"\n  zone  Denv|')
    (denver,) = complete(offered.edited, source, offset)
    assert denver.about == "UTC `-0700 MST` in January, `-0600 MDT` in July"


def test_a_whole_sentence_has_a_stop_for_each_clause_and_says_nothing_while_it_is_not_filled_in(offered):
    edited = offered.edited

    def sentences(text: str) -> dict[str, str]:
        found = complete(edited, *opened(edited, "new.cyl", text))
        return {item.label.partition(",")[0]: item.text for item in found if item.kind == SENTENCE}

    card = sentences("cylinder H-15\n  2026-03-15 09:40 |")
    assert card["filled"] == (
        "filled  ${1:from ${2:PRESSURE}}  to ${3:PRESSURE}  ${4:at ${5:TEMPERATURE}}  ${6:over ${7:DURATION}}"
        "  ${8:by ${9:PERSON}}  ${10:on ${11:SOURCE}}  ${12:at ${13:SITE}}$0"
    )
    assert card["visual"].startswith("visual  ${1|OUTCOME,pass,fail|}  ${2:by ${3:PERSON-OR-TESTER}}")
    assert card["damaged"].endswith('  "${5:TEXT}$0') and "heat" not in card["damaged"] and "air sample" not in card
    assert sentences("2026-03-15 moved|")["moved"].startswith("moved  ${1:NAME}  ${2:from ")
    assert sentences("cylinder H-15\n  2026-03-15  filled |") == {} == sentences("cylinder H-15\n  |")
    for loose, line in ((False, "cylinder H-12\n  2026-03-15  {}\n"), (True, "2026-03-15 {}\n")):
        for verb in VERBS.values():
            # Each stop is passed by the key that goes on, so that its first choice or its own text stays.
            text = re.sub(r"\$\{[0-9]+\|([^,|]+)[^}]*\}", r"\1", sentence(verb, loose).replace("$0", ""))
            while "${" in text:
                text = re.sub(r"\$\{[0-9]+:([^${}]*)\}", r"\1", text)
            source, _ = opened(edited, "new.cyl", line.format(text))
            told = {each.rule for each in edited.findings()["new.cyl"]}
            assert told & {"unreadable-line", "unknown-name"}, text


def test_today_and_now(offered):
    assert "2026-03-15" in offered("|")
    assert "2026-03-15" in offered("cylinder H-15\n  |")
    assert "10:30" in offered("cylinder H-15\n  2026-03-15 |")
    assert "fill sheet" in offered("fi|")


def test_a_line_that_goes_on_is_one_line(offered):
    labels = offered('cylinder H-15\n  2026-03-15  filled  to 4500 psi\n      remark "a"  |')
    assert "by" in labels and "to" not in labels and "remark" not in labels


@pytest.mark.parametrize(
    "text",
    (
        "# a comment |",
        'site st9 "Sta|',
        "cylinder H-15\n  2026-03-15  filled  # to |",
        "2026-03-15 blah |",
        "sealed x |",
    ),
)
def test_nothing_is_offered_where_nothing_can_stand(offered, text):
    assert offered(text) == []
