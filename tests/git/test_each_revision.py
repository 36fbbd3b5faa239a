"""`cylfile compare --each-revision`: what came and went between two states, by which commit."""

import json
import random
from datetime import date

import pytest

from cylfile.compare.states import compare_records
from cylfile.compare.steps import grave_things
from cylfile.files.git.each_revision import Home, Walk
from cylfile.files.git.repository import Repository
from cylfile.files.git.revisions import States

FILL = "  10:00  K-1  to 2100 psi\n"


def walked(keeping, *arguments) -> tuple[int, dict]:
    done = keeping("compare", *arguments, "--each-revision", "--as", "json")
    assert done.status in (0, 1), done.err
    return done.status, json.loads(done.out)


def test_a_fill_of_january_that_is_gone_in_december(keeping):
    keeping.append("sheets.cyl", FILL)
    keeping.commit("A fill", "2024-01-05")
    keeping.append("cards.cyl", "  2024-02-01        gauged 2000 psi\n")
    keeping.commit("A reading", "2024-02-01")
    keeping.replace("sheets.cyl", FILL, "")
    when = "2024-12-03T12:00:00+0000"
    keeping.git("commit", "-qam", "Neaten", GIT_AUTHOR_NAME="Iris Rowan", GIT_AUTHOR_DATE=when)
    assert keeping("compare", "HEAD~3..HEAD").status == 0
    for states in (["HEAD~3..HEAD"], ["HEAD~3"]):
        done = keeping("compare", *states, "--each-revision")
        commit = keeping.git("rev-parse", "HEAD").strip()
        for said in ("2024-12-03  Iris Rowan <vale@example.org>", f"commit {commit}", '"Neaten"', "came and went: 1",
                     "2023-03-02 10:00 filled K-1 to 2100 psi", "was sheets.cyl:5", "walked 3 revisions"):  # fmt: skip
            assert said in done.out, done.out
        assert done.status == 1 and "Nothing was altered or removed" not in done.out
    table = keeping("compare", "HEAD~3", "--each-revision", "--as", "csv").out.splitlines()
    assert table[0].endswith(",commit,commit day,author,origin")
    assert table[-1].startswith("entry,removed,altered or removed,K-1,")
    assert f",{commit},2024-12-03,Iris Rowan,as of 2024-06-01; cylfile " in table[-1]


HOUSE = 'pack house "House"\n  over us-dot\nclass dot-3aa\n  visual-every  12 months\n'
SEALED = "sealed 2023-12-31 by rowan 4 entries " + "a" * 64 + "\n"
WENT = [
    # Each: the file, what a commit makes of it, and what is said of that commit though the next undoes it.
    ("cards.cyl", ("made    2018-01", "made    2013-01"), "lines of cards, people and others altered or removed"),
    ("department.cyl", ('"Ada Vale"', '"Iris Rowan"'), "lines of cards, people and others altered or removed"),
    ("sheets.cyl", ("at 68 F", 'at 68 F  struck 2023-02-01 by rowan "slip"'), "signatures backdated"),
    ("seals.cyl", ("a" * 64, "b" * 64), "seals, recalls and waivers removed"),
    ("house.cylpack", ("over us-dot\n", 'over us-dot\nsuspend  test-overdue  "no"\n'), "rules made laxer"),
    ("department.cyl", ('  rules  "house.cylpack"\n', ""), "rules made laxer"),
    ("sheets.cyl", ("fill sheet 2023-03-01", "fill sheet 2023-02-27  by rowan\n  K-1  to 2100 psi\nfill sheet 2023-03-01"),
     "entries written into a sealed period without `late`"),
    ("cards.cyl", ("  2018-02-01", "  2018-02-01        emptied\n  2018-02-01"), "entries written into a sealed period without `late`"),
    ("cards.cyl", (TWO := "  2024-01-04        emptied\n  2024-01-04        gauged 200 psi\n", TWO[28:] + TWO[:28]), "orders of a day turned"),
    # A block between two loose lines.
    ("loose.cyl", ("2024-02-02 emptied", 'site hc9 "New"\n2024-02-02 emptied'), "orders of a day turned"),
    ("cards.cyl", "cards.txt", "entries altered or removed"),
    ("cards.cyl", ".cards.cyl", "entries altered or removed"),
]  # fmt: skip


@pytest.mark.parametrize("name, change, said", WENT)
def test_what_one_commit_did_and_the_next_undid(keeping, name, change, said):
    keeping.write("house.cylpack", HOUSE)
    keeping.replace("department.cyl", "us-dot\n", 'us-dot\n  rules  "house.cylpack"\n')
    keeping.append("cards.cyl", TWO)
    keeping.write("seals.cyl", SEALED)
    keeping.write("loose.cyl", '2024-02-02 gauged K-1 200 psi\n2024-02-02 remarked C1 "x"\n2024-02-02 emptied K-1\n')
    start = keeping.commit("Grown")
    if isinstance(change, str):
        keeping.git("mv", name, change)
    else:
        keeping.replace(name, *change)
    bad = keeping.commit("Bad")
    keeping.git("revert", "--no-edit", "HEAD")
    status, found = walked(keeping, f"{start}..HEAD")
    first = found["revisions"][0]
    assert (status, first["commit"]["id"], first["commit"]["author"]) == (1, bad, "Ada Vale")
    assert said in first["grave"] and first["came_and_went"], first["grave"]
    assert found["walked"] == 2 and "things altered between the two that neither shows" in found["grave"]


def test_what_was_sealed_anew_is_shown_with_its_new_seal(keeping):
    keeping.write("seals.cyl", SEALED)
    keeping.commit("Sealed")
    keeping.replace("seals.cyl", "a" * 64, "b" * 64)
    assert "and sealed anew:" in keeping("compare", "HEAD").out and "b" * 64 in keeping("compare", "HEAD").out


@pytest.fixture
def sides(keeping):
    """Two branches, each with a fill of its own that the other has not, before they are merged."""
    keeping.git("checkout", "-qb", "other")
    keeping.write("other.cyl", "2024-03-01 filled K-1 to 2100 psi\n")
    keeping.commit("A fill there")
    keeping.git("checkout", "-q", "main")
    keeping.append("cards.cyl", "  2024-03-05        gauged 2000 psi\n")
    keeping.commit("A reading here")
    return keeping


def test_both_sides_of_a_merge_are_walked_and_the_merge_adds_nothing(sides):
    sides.git("checkout", "-q", "other")
    sides.replace("cards.cyl", "made    2018-01", "made    2013-01")
    bad = sides.commit("Bad")
    sides.git("checkout", "-q", "main")
    sides.git("merge", "-q", "--no-edit", "other")
    _, found = walked(sides, "main~2..main")
    assert [(step["commit"]["id"], list(step["grave"])) for step in found["revisions"]] == [
        (bad, ["lines of cards, people and others altered or removed"])
    ]


@pytest.mark.parametrize("theirs", ["ours", "edit"])
def test_what_a_merge_does_by_itself_is_said(sides, theirs):
    if theirs == "ours":
        sides.git("merge", "-q", "--no-edit", "-s", "ours", "other")
    else:
        sides.git("merge", "-q", "--no-commit", "other")
        sides.write("other.cyl", "2024-03-01 filled K-1 to 2050 psi\n")
        sides.commit("Merge")
    status, found = walked(sides, "main~2..main")
    (step,) = found["revisions"]
    assert (status, step["commit"]["id"], len(step["commit"]["parents"])) == (
        1,
        sides.git("rev-parse", "HEAD").strip(),
        2,
    )
    assert step["grave"] == {"entries altered or removed": 1} and step["came_and_went"] == 1


def test_a_file_that_moves_or_is_cut_in_two_means_nothing(keeping):
    keeping.git("mv", "sheets.cyl", "fills.cyl")
    keeping.commit("Renamed")
    first, second = keeping.text("fills.cyl").split("fill sheet 2023-03-02")
    keeping.write("fills.cyl", first)
    keeping.write("more/fills.cyl", "fill sheet 2023-03-02" + second)
    keeping.commit("Cut")
    assert walked(keeping, "HEAD~2..HEAD") == (0, {**walked(keeping, "HEAD~2..HEAD")[1], "revisions": [], "walked": 2})


def test_a_revision_that_cannot_be_read_whole_is_said(keeping):
    (keeping.folder / "odd.cyl").write_bytes(b"\xff\xfe\x00")
    bad = keeping.commit("Odd")
    keeping.git("revert", "--no-edit", "HEAD")
    done = keeping("compare", "HEAD~2..HEAD", "--each-revision")
    assert done.status == 1 and f"commit {bad}" in done.out and "could not be read: odd.cyl: not UTF-8" in done.out


def test_a_link_that_leads_nowhere_any_more_is_said(keeping):
    keeping.write(".store/kept.cyl", "2024-02-02 gauged K-1 200 psi\n")
    keeping.write(".store/other.cyl", "# something stays\n")
    (keeping.folder / "kept.cyl").symlink_to(".store/kept.cyl")
    keeping.commit("Linked")
    (keeping.folder / ".store" / "kept.cyl").unlink()
    bad = keeping.commit("Gone")
    keeping.git("revert", "--no-edit", "HEAD")
    _, found = walked(keeping, "HEAD~2..HEAD")
    (step,) = found["revisions"]
    assert (step["commit"]["id"], list(step["grave"])) == (bad, ["entries altered or removed"])
    assert [why.partition(":")[0] for why in step["unread"]] == ["kept.cyl"]


def test_each_commit_is_told_as_by_reading_both_states_whole(keeping):
    """A history of random edits, among them links, folders of other departments and files that come and go."""
    draw = random.Random(13)
    for number in range(40):
        edit(keeping, draw, number)
        keeping.git("add", "--all")
        keeping.git("commit", "--quiet", "--allow-empty", "--message", f"Edit {number}")
    repository, states, as_of = Repository(str(keeping.folder)), States(), date(2030, 1, 1)
    commits = keeping.git("rev-list", "--reverse", "HEAD").split()
    with Walk(repository, [Home("", b'"Hollin Creek Fire"')], as_of) as walk:
        steps = {
            step.commit.id: step.comparison
            for step in walk.steps(repository.revision(commits[0]), repository.revision("HEAD"))
        }
    told = 0
    for old, new in zip(commits, commits[1:]):
        records = [states.at(repository, repository.revision(each), str(keeping.folder)).record for each in (old, new)]
        whole = set(grave_things(compare_records(*records, as_of=as_of)))
        assert (set(grave_things(steps[new])) if new in steps else set()) == whole, new
        told += len(whole)
    assert told > 20


def edit(keeping, draw, number) -> None:
    paths = sorted(path.relative_to(keeping.folder) for path in keeping.folder.rglob("*.cyl") if not path.is_symlink())
    what = draw.choice(
        ["line", "line", "line", "swap", "gone", "new", "new", "move", "link", "drop", "retype", "retype"]
    )
    path = draw.choice([path for path in paths if path.name != "department.cyl"])
    text = keeping.text(path)
    lines = text.splitlines(keepends=True)
    spot = draw.randrange(len(lines) or 1)
    day = f"2024-{draw.randint(1, 12):02}-{draw.randint(1, 28):02}"
    if what == "new" or what == "drop" and len(paths) < 4 or not lines:
        folder = draw.choice(["", "a/", "a/b/", ".kept/"])
        cards = "".join(f"cylinder N-{number}{i}\n  made 2020-0{i + 1}\n  {day} gauged {i}00 psi\n" for i in range(3))
        keeping.write(
            f"{folder}f{number}.cyl",
            cards + f"{day} emptied K-1\n{day} emptied N-{number}1\n{day} filled K-1 to 900 psi\n",
        )
    elif what == "drop":
        (keeping.folder / path).unlink()
    elif what == "move":
        keeping.git("mv", str(path), str(path.with_name(f"g{number}.cyl")))
    elif what == "link":
        (keeping.folder / f"l{number}.cyl").symlink_to(path)
    elif what == "line":
        keeping.write(path, "".join(lines) + f"{day} 10:{number:02} gauged K-1 {number}0 psi\n")
    elif what == "gone":
        keeping.write(path, "".join(lines[:spot] + lines[spot + 1 :]))
    elif what == "swap":
        other = draw.randrange(len(lines))
        lines[spot], lines[other] = lines[other], lines[spot]
        keeping.write(path, "".join(lines))
    else:
        lines[spot] = lines[spot].replace("1", str(draw.randint(2, 9)), 1)
        keeping.write(path, "".join(lines))
