"""
What cannot be read bars the cylinders that it may be about, and no others; what may be about any is said with every answer.
"""

import pytest

HEAD = """\
department "Larch Hollow Fire"
  zone    America/Denver
  rules   us-dot
site quay "Station 1"
person ayla "Ayla Brandt"
source C1 "Air room"
  kind    compressor
"""
CARD = """\
cylinder {name}
  class  dot-3aa
  rated  2216 psi
  made   2024-01
  2024-02-01  entered service  at quay
"""
SHEET = "fill sheet 2026-03-14  at quay  on C1  by ayla\n"
NAMES = ("T-1", "T-2", "T-3", "T-4")


@pytest.fixture
def four(here):
    here.as_of = "2026-03-20"
    here.write("department.cyl", HEAD)
    for name in NAMES:
        here.write(f"cards/{name}.cyl", CARD.format(name=name))
    return here


def barred(four) -> list[str]:
    answers = {name: four("may-fill", name) for name in NAMES}
    assert all(("DO NOT FILL" in done.out) == bool(done.status) for done in answers.values())
    return [name for name, done in answers.items() if done.status]


def test_nothing_bars_where_all_can_be_read(four):
    four.write(
        "fills.cyl", SHEET + "  09:42  T-1  to 2200 psi\n  09:43  T-2  to 2200 psi\n2026-03-15 filled T-3 to 900 psi\n"
    )
    assert barred(four) == []
    assert "Mind" not in four("may-fill", "T-4").out


@pytest.mark.parametrize(
    "row",
    [
        "  09:43  T-x2  tto 2200 psi",
        "  09:43  T-2O  to 2200 psi",
        "  09:43  to 2200 psi",
        "  09:43  T-x2  to 2200 psi to 900 psi",
        "  9:43   T-x2  to 2200 psi",
        "  09:43  T-x2  to 80 F",
        '  09:43  T-x2  to 2200 psi remark "open',
        "  09:43  by  to 2200 psi",
        "  09:43  T-x2  to 2200 psi # \x07",
        "  09:43  T-x2  to 999999999999 psi",
    ],
)
@pytest.mark.parametrize("before", [0, 1, 3])
def test_a_row_that_cannot_be_read_or_is_of_nobody_bars_who_has_a_row_on_its_sheet(four, row, before):
    rows = ["  09:40  T-1  from 900 psi to 2200 psi at 68 F", "  09:41  T-2  to 2200 psi", "  09:42  T-1  to 2200 psi"]
    rows.insert(before, row)
    four.write("fills.cyl", SHEET + "\n".join(rows) + "\n" + SHEET + "  10:00  T-3  to 2200 psi\n")
    assert barred(four) == ["T-1", "T-2"]
    assert "fills.cyl:" in four("may-fill", "T-2").out


def test_a_line_bars_whose_card_it_stands_on_and_whose_name_it_holds(four):
    four.write("cards/T-1.cyl", CARD.format(name="T-1") + "  2026-01-01  visual paas\n")
    four.write("loose.cyl", "2026-03-15  visaul T-2 pass\n")
    assert barred(four) == ["T-1", "T-2"]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("2026-03-15  visaul pass", "at loose.cyl:1, which may be about any cylinder"),
        ("2026-03-15  filled T-2O to 2200 psi", "no card declares `T-2O`"),
        ("2026-03-15  visual T-2O pass", "no card declares `T-2O`"),
        ("cylindr K-9\n  made 2020-01", "at loose.cyl:1, which may be about any cylinder"),
    ],
)
def test_what_names_nobody_is_said_with_every_answer(four, line, told):
    four.write("loose.cyl", line + "\n")
    assert barred(four) == []
    for name in NAMES:
        assert told in four("may-fill", name).out


def test_a_line_about_a_source_is_said_of_its_air(four):
    four.write("department.cyl", HEAD + "  2026-01-01  air sample paas\n")
    assert barred(four) == []
    assert "at department.cyl:8: take no air from C1" in four("may-fill", "T-1").out


@pytest.mark.parametrize("what", ["utf-16", "link", "folder"])
def test_a_file_or_folder_that_cannot_be_looked_into_bars_all(four, what):
    if what == "utf-16":
        four.write("more.cyl", "").write_bytes("cylinder T-9\n".encode("utf-16"))
    elif what == "link":
        (four.folder / "share").symlink_to("/no/such/share")
    else:
        (four.folder / "out").symlink_to(four.folder.parent)
    assert barred(four) == list(NAMES)


def test_a_pressure_of_twenty_digits_is_no_pressure(four):
    status, out, err = four("may-fill", "T-1", "--to", "99999999999999999999psi")
    assert (status, out) == (2, "") and err.startswith("cylfile: --to: a number of 20 digits") and err.count("\n") == 1
