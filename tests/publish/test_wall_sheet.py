"""
A wall sheet is one sheet of paper: its lists stand the closer the more there is on it, above and below.
"""

import pytest

from cylfile.show.site.wall_sheet import density

DUE = [("hydrostatic test, 3", ["OVERDUE, C-001", "C-002, C-003"])]


def barred(count, name="C-{}", why="test overdue"):
    return [(name.format(number), why) for number in range(100, 100 + count)]


@pytest.mark.parametrize(
    "count, name", [(0, "few"), (9, "few"), (12, "usual"), (40, "many"), (90, "dense"), (900, "dense")]
)
def test_more_that_must_not_be_filled_stand_closer(count, name):
    assert density(barred(count), DUE, ["Rowan Ash"]).name == name


def test_what_is_due_and_who_may_fill_take_room_too():
    many_due = [("hydrostatic test, 200", [", ".join(f"C-{number}" for number in range(100, 300))])]
    assert density(barred(8), DUE, ["Rowan Ash"]).name == "few"
    assert density(barred(8), many_due, ["Rowan Ash"]).name != "few"
    assert density(barred(8), DUE, ["Rowan Ash"] * 12).name != "few"


def test_a_reason_has_room_beside_its_name_or_is_left_out():
    assert density(barred(12, "QUAY-STREET-{}"), DUE, []).name == "usual"
    assert density(barred(12, "QUAY-STREET-STATION-{}"), DUE, []).name == "dense"


def test_long_names_stand_in_fewer_columns():
    columns = [density(barred(90, f"{'X' * letters}{{}}"), DUE, []).columns for letters in (3, 9, 20, 61)]
    assert columns == sorted(columns, reverse=True) and columns[0] == 6 and columns[-1] == 1
