"""What is offered at a place of a ledger."""

import pytest

from cylfile.server.ledger_completion import ROW, complete
from support.workspaces import edited_in, opened


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
    assert offered("cylinder H-15\n  2026-03-15  out|") == ["out of service"]


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
    assert offered("cylinder H-15\n  2026-03-15  moved  to |") == ["st1", "st2"]
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


def test_units_of_a_number_that_is_written_and_no_number(offered):
    assert offered("cylinder H-15\n  2026-03-15  filled  to 4500|") == ["4500 psi", "4500 bar", "4500 MPa", "4500 kPa"]
    assert offered("cylinder H-15\n  holds  6.8|") == [f"6.8 {unit}" for unit in ("L", "mL", "cc", "in3", "ft3", "m3")]
    assert offered("cylinder H-15\n  2026-03-15  filled  to |") == ["st1", "st2"] or not [
        label for label in offered("cylinder H-15\n  2026-03-15  filled  to |") if label[0].isdigit()
    ]


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
