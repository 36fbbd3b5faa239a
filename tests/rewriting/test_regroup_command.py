"""`cylfile regroup` as its users run it."""

import os

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


AS_SHEETS = {**AS_CARDS, "cards.cyl": CARDS}
AS_SHEETS["sheets/2026-03.cyl"] = "fill sheet 2026-03-15  at quay\n  09:42  T-1     to 4500 psi\n"


def test_to_a_new_folder_and_back(record):
    before = files_in(record.folder)
    top = record.folder.parent
    assert record("regroup", "cards", "--into", "../as-cards") == (
        0, "", "1 entry moved to cards; the record is in ../as-cards\n",
    )  # fmt: skip
    assert files_in(record.folder) == before and files_in(top / "as-cards") == AS_CARDS
    assert record("regroup", "sheets", "../as-cards", "--into", "../as-sheets").status == 0
    assert files_in(top / "as-sheets") == AS_SHEETS
    assert record("regroup", "cards", "--into", "../as-cards").err.startswith("cylfile: `../as-cards` is in use")
    assert record("regroup", "cards", "--into", "inside").status == 2
    assert files_in(record.folder) == before and sorted(os.listdir(top)) == [
        "as-cards",
        "as-sheets",
        record.folder.name,
    ]


def test_from_another_folder_and_from_a_file(record):
    name, record.folder = record.folder.name, record.folder.parent
    assert record("regroup", "cards", f"{name}/fills.cyl", "--into", "new").status == 0
    assert files_in(record.folder / "new") == AS_CARDS


def test_what_stays_is_told(record):
    (record.folder / "fills.cyl").write_text(FILLS + "  10:00  T-2  to 4500 psi\n")
    assert record("regroup", "cards", "--into", "../new").out == "stays  fills.cyl:3  T-2: no card declares it\n"


def test_nothing_outside_the_record_is_copied(record):
    """A pack that is a link, a pipe and a device are not opened; what is read through a link would be lost."""
    outside = record.folder.parent / "secret.cylpack"
    outside.write_text("secret")
    (record.folder / "rules" / "other.cylpack").symlink_to(outside)
    os.mkfifo(record.folder / "rules" / "pipe.cylpack")
    (record.folder / "rules" / "zero.cylpack").symlink_to("/dev/zero")
    status, out, _ = record("regroup", "cards", "--into", "../new")
    left_out = {line for line in out.split("\n") if line.startswith("left out  ")}
    assert status == 0 and left_out == {
        "left out  rules/other.cylpack: a link, and no file",
        "left out  rules/pipe.cylpack: a pipe, and no file",
        "left out  rules/zero.cylpack: a link, and no file",
    }
    assert files_in(record.folder.parent / "new") == AS_CARDS
    (record.folder / "rules" / "house.cylpack").rename(record.folder / "own.cylpack")
    (record.folder / "rules" / "house.cylpack").symlink_to("../own.cylpack")
    status, out, err = record("regroup", "cards", "--into", "../newer")
    assert status == 2 and "`rules/house.cylpack` is no file by itself; put the file itself there first" in err
    (record.folder / ".kept").mkdir()
    (record.folder / "cards.cyl").rename(record.folder / ".kept" / "cards.cyl")
    (record.folder / "cards.cyl").symlink_to(".kept/cards.cyl")
    status, out, err = record("regroup", "cards", "--into", "../newer")
    assert (status, out) == (2, "") and "`.kept/cards.cyl` is read through a link" in err
    (record.folder / "cards.cyl").unlink()
    (record.folder / "cards.cyl").symlink_to(outside)
    assert record("regroup", "cards", "--into", "../newer").status == 2
    assert not (record.folder.parent / "newer").exists()


def test_a_pack_above_the_record_must_be_found_from_the_new_folder(record):
    (record.folder.parent / ".git").mkdir()
    (record.folder / "rules" / "house.cylpack").rename(record.folder.parent / "common.cylpack")
    (record.folder / "department.cyl").write_text(DEPARTMENT.replace("rules/house", "../common"))
    status, _, err = record("regroup", "cards", "--into", "../deep/er/new")
    assert status == 2 and "would not find the rule pack `../common.cylpack`; name a folder beside the record" in err
    assert record("regroup", "cards", "--into", "../new").status == 0


def test_what_cannot_be_done_is_one_line(record):
    for arguments in (
        ("regroup",),
        ("regroup", "cards"),
        ("regroup", "months", "--into", "../new"),
        ("regroup", "sheets", "-", "--into", "../new"),
        ("regroup", "sheets", "gone", "--into", "../new"),
    ):
        status, out, err = record(*arguments)
        assert (status, out) == (2, "") and err.count("\n") == 1


def test_a_file_that_is_no_text_is_told_of(record):
    (record.folder / "bad.cyl").write_bytes(b"\xff")
    status, out, err = record("regroup", "cards", "--into", "../new")
    assert (status, out) == (2, "")
    assert err == "cylfile: `bad.cyl` is not UTF-8 text, so nothing of it can be arranged; save it as UTF-8 first\n"
