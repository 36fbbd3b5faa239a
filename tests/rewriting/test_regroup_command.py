"""`cylfile regroup` as its users run it."""

import pytest

CARDS = "cylinder T-1\n  serial  X\n\n  2026-01-02  entered service\n"
FILLS = "fill sheet 2026-03-15  at quay\n  09:42  T-1  to 4500 psi\n"
DEPARTMENT = 'department "D"\n  rules  "rules/house.cylpack"\nsite quay "Station 1"\n'


@pytest.fixture
def record(here):
    (here.folder / "rules").mkdir()
    (here.folder / "rules" / "house.cylpack").write_text('pack house "H"\n')
    for name, text in {"department": DEPARTMENT, "cards": CARDS, "fills": FILLS}.items():
        (here.folder / f"{name}.cyl").write_text(text)
    return here


def files_in(folder):
    return {path.relative_to(folder).as_posix(): path.read_text() for path in sorted(folder.rglob("*.*"))}


AS_CARDS = {
    "cards.cyl": CARDS + "  2026-03-15 09:42  filled  to 4500 psi  at quay\n",
    "department.cyl": DEPARTMENT,
    "rules/house.cylpack": 'pack house "H"\n',
}


def test_in_place_and_back(record):
    assert record("regroup", "--by", "cylinder") == (
        0, "", "1 entry moved to cards, 2 files changed, 1 of them left empty\n",
    )  # fmt: skip
    assert files_in(record.folder) == AS_CARDS
    assert record("regroup", "--by", "day").status == 0
    assert files_in(record.folder) == {
        **AS_CARDS, "cards.cyl": CARDS, "sheets/2026-03.cyl": "fill sheet 2026-03-15  at quay\n  09:42  T-1     to 4500 psi\n",
    }  # fmt: skip


def test_to_a_new_folder(record):
    before = files_in(record.folder)
    assert record("regroup", "--by", "cylinder", "--to", "../as-cards").status == 0
    assert files_in(record.folder) == before
    assert files_in(record.folder.parent / "as-cards") == AS_CARDS
    assert record("regroup", "--by", "cylinder", "--to", "../as-cards").err.startswith(
        "cylfile: `../as-cards` is in use"
    )
    assert record("regroup", "--by", "cylinder", "--to", "inside").status == 2
    assert files_in(record.folder) == before


def test_from_another_folder(record):
    record.folder = record.folder.parent
    assert record("regroup", "--by", "day", "record").status == 0
    assert record("regroup", "--by", "cylinder", "record").status == 0
    assert files_in(record.folder / "record") == AS_CARDS


def test_what_stays_is_told(record):
    (record.folder / "fills.cyl").write_text(FILLS + "  10:00  T-2  to 4500 psi\n")
    assert record("regroup", "--by", "cylinder").out == "stays  fills.cyl:3  T-2: no card declares it\n"


def test_what_cannot_be_done_is_one_line(record):
    for arguments in (
        ("regroup",),
        ("regroup", "--by", "month"),
        ("regroup", "--by", "day", "-"),
        ("regroup", "--by", "day", "gone"),
    ):
        status, out, err = record(*arguments)
        assert (status, out) == (2, "") and err.count("\n") == 1
