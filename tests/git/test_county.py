"""Several departments in one repository: each is compared with its own past, and none leaves unseen."""

import json
import shutil

import pytest

GATE = ("compare", "HEAD", "--staged")


@pytest.fixture
def county(keeping):
    """The record twice, in folders of two departments."""
    for name in ("ash", "birch"):
        (keeping.folder / name).mkdir()
        for path in keeping.folder.glob("*.cyl"):
            text = path.read_text().replace('department "', f'department "{name.title()} ')
            (keeping.folder / name / path.name).write_text(text)
    for path in keeping.folder.glob("*.cyl"):
        path.unlink()
    keeping.commit("A county")
    return keeping


def grave(county, *arguments) -> tuple[int, list]:
    done = county(*arguments, "--as", "json")
    return done.status, [(each["folder"], each["grave"]) for each in json.loads(done.out)["records"]]


def test_each_is_compared_and_then_all(county):
    assert grave(county, *GATE) == (0, [("ash", {}), ("birch", {})])
    county.replace("birch/sheets.cyl", "to 2216 psi", "to 2116 psi")
    altered = {"entries altered or removed": 1}
    assert grave(county, "compare", "HEAD") == (1, [("ash", {}), ("birch", altered)])
    assert grave(county, *GATE)[0] == 0
    county.git("add", "--all")
    assert grave(county, *GATE) == (1, [("ash", {}), ("birch", altered)])
    page = county(*GATE).out
    assert page.rstrip().endswith("All 2 records    entries altered or removed: 1")


def test_a_department_may_come_and_move_and_does_not_go_unseen(county):
    county.git("mv", "birch", "beech")
    assert grave(county, *GATE) == (0, [("ash", {}), ("beech", {})])
    shutil.copytree(county.folder / "ash", county.folder / "cedar")
    county.replace("cedar/department.cyl", "Ash", "Cedar")
    county.git("add", "--all")
    assert grave(county, *GATE) == (0, [("ash", {}), ("beech", {}), ("cedar", {})])
    county.commit("Moved, and one more")
    county.git("rm", "-r", "--quiet", "beech")
    status, each = grave(county, *GATE)
    assert status == 1 and dict(each)["beech"]["entries altered or removed"] and not dict(each)["ash"]
    county.commit("Gone")
    status, each = grave(county, "compare", "HEAD~2", "--each-revision")
    assert status == 1 and [folder for folder, said in each if said] == ["birch"]


def test_seals_are_looked_at_in_each(county):
    assert county("seal", "--through", "2023-12-31", "--by", "vale", "ash").status == 0
    done = county("seal", "--check")
    assert done.status == 0 and done.out.rstrip().endswith("All 2 records    1 seal    0 broken")
    digest = json.loads(county("seal", "--check", "--as", "json", "ash").out)["seals"][0]["digest"]
    assert county("seal", "--check", "--digest", digest).status == 0
    assert county("seal", "--check", "--digest", "0" * 64).status == 1
    county.replace("ash/sheets.cyl", "to 2216 psi", "to 2116 psi")
    done = county("seal", "--check")
    assert done.status == 1 and done.out.rstrip().endswith("All 2 records    1 seal    1 broken")
