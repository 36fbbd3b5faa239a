"""The gate of a repository: what is about to be committed, and not what lies on the disk, beside the last revision."""

import pytest

GATE = ("compare", "HEAD", "--staged")
ROW = "  09:30  K-1  to 2216 psi  at 70 F\n"


def test_nothing_staged_passes_and_a_bad_line_reverted_on_disk_does_not(keeping):
    assert keeping(*GATE).status == 0
    whole = keeping.text("sheets.cyl")
    keeping.replace("sheets.cyl", "to 2216 psi", "to 2116 psi")
    # On disk, and not staged.
    assert keeping(*GATE).status == 0
    keeping.git("add", "--all")
    keeping.write("sheets.cyl", whole)
    assert keeping(*GATE).status == 1 and keeping("compare", "HEAD").status == 0


def test_lint_judges_what_is_staged(keeping):
    whole = keeping.text("sheets.cyl")
    keeping.append("sheets.cyl", "  nonsense\n")
    keeping.git("add", "--all")
    keeping.write("sheets.cyl", whole)
    assert "unreadable-line" in keeping("lint", "--staged").out
    assert "unreadable-line" not in keeping("lint").out


@pytest.mark.parametrize("moved_to", ["sheets.txt", ".kept/sheets.cyl", None])
def test_a_file_that_is_no_longer_read_does_not_pass(keeping, moved_to):
    (keeping.folder / ".kept").mkdir()
    if moved_to:
        keeping.git("mv", "sheets.cyl", moved_to)
    else:
        keeping.git("rm", "--quiet", "sheets.cyl")
    assert keeping(*GATE).status == 1


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "",
        lambda text: text.replace("sealed 2023-12-31 by vale", "sealed 2023-12-31 by rowan"),
    ],
    ids=["gone", "signed by another"],
)
def test_a_seal_stays(keeping, change):
    assert keeping("seal", "--through", "2023-12-31", "--by", "vale").status == 0
    keeping.commit("Seal")
    keeping.write("seals.cyl", change(keeping.text("seals.cyl")))
    keeping.git("add", "--all")
    assert keeping(*GATE).status == 1


def test_a_fact_changed_and_sealed_anew_does_not_pass(keeping):
    keeping("seal", "--through", "2023-12-31", "--by", "vale")
    keeping.commit("Seal")
    keeping.replace("sheets.cyl", "to 2216 psi", "to 2116 psi")
    keeping.write("seals.cyl", "")
    assert keeping("seal", "--through", "2023-12-31", "--by", "vale").status == 0
    keeping.git("add", "--all")
    assert keeping(*GATE).status == 1


def test_the_first_commit_of_a_record_passes(here):
    from support.keeping import Keeping

    new = Keeping(here.folder)
    new.git("init", "--quiet", ".")
    new.write("a.cyl", 'department "A"\n')
    new.git("add", "--all")
    assert new(*GATE)[::2] == (0, "cylfile: there is no revision yet to compare with\n")
    new.git("rm", "--quiet", "--cached", "a.cyl")
    new.git("commit", "--quiet", "--allow-empty", "--message", "Nothing")
    new.git("add", "--all")
    status, _, err = new(*GATE)
    assert status == 0 and "holds no record yet to compare with" in err
