"""Whatever a record said and no longer says is in the headline of a comparison, and its exit status says so."""

import csv
import io
import json

import pytest

HOUSE = 'pack house "House"\n  over us-dot\nclass dot-3aa\n  visual-every  12 months\n'
RECALL = 'recall 2023-06-01 "Valves"\n  class dot-3aa\n'
WAIVER = 'waived test-overdue for K-1 from 2023-05-01 until 2027-01-01 by vale "agreed"\n'
TWO = "  2023-05-01        gauged 2000 psi\n  2023-05-01        emptied\n"
OTHER = "# of a day\ncylinder K-2\n  class   dot-3aa\n"


@pytest.fixture
def grown(keeping):
    keeping.write("house.cylpack", HOUSE)
    keeping.replace("department.cyl", "rules  us-dot", 'rules  "house.cylpack"')
    keeping.write("notices.cyl", RECALL + WAIVER)
    keeping.append("cards.cyl", TWO + OTHER)
    keeping.commit("Grown")
    return keeping


def grave(keeping, *arguments) -> tuple[int, dict]:
    done = keeping("compare", *(arguments or ["HEAD"]), "--as", "json")
    return done.status, json.loads(done.out)["grave"]


CARDS, ENTRIES = "lines of cards, people and others altered or removed", "entries altered or removed"
SIGNED, LAXER = "signatures backdated", "rules made laxer"
GONE = "seals, recalls and waivers removed"
STRUCK = 'made    2018-01  struck 2024-05-01 by vale "misread"\n  made    2018-03'


@pytest.mark.parametrize(
    "name, was, now, said",
    [
        ("cards.cyl", "made    2018-01", "made    2013-01", CARDS),
        ("cards.cyl", "made    2018-01", STRUCK, None),
        ("cards.cyl", "made    2018-01", "made    2018-01\n  owner   County", None),
        ("cards.cyl", OTHER, "", CARDS),
        ("department.cyl", '"Ada Vale"', '"Iris Rowan "', CARDS),
        ("department.cyl", "fills  2019-01-01\nperson", "fills  2020-01-01\nperson", CARDS),
        ("department.cyl", "fills  2019-01-01\nperson", "fills  2019-01-01 until 2027-01-01\nperson", None),
        ("notices.cyl", RECALL, "", GONE),
        ("notices.cyl", WAIVER, "", GONE),
        ("notices.cyl", WAIVER, WAIVER + WAIVER.replace("overdue", "soon").replace("2023-05-01", "2023-04-01"), SIGNED),
        ("notices.cyl", WAIVER, WAIVER + WAIVER.replace("overdue", "soon").replace("2023-05-01", "2024-04-01"), None),
        ("sheets.cyl", "at 68 F", 'at 68 F  struck 2023-03-02 by rowan "slip"', SIGNED),
        ("sheets.cyl", "at 68 F", 'at 68 F  struck 2024-03-02 by rowan "slip"', None),
        ("sheets.cyl", "at 68 F", 'at 68 F  answered filled-past-test 2023-03-02 by rowan "seen"', SIGNED),
        ("sheets.cyl", "at 68 F", 'at 68 F  answered filled-past-test 2024-03-02 by rowan "seen"', None),
        ("cards.cyl", TWO, "".join(reversed(TWO.splitlines(keepends=True))), "orders of a day turned"),
        ("house.cylpack", "12 months", "24 months", LAXER),
        ("house.cylpack", "  visual-every  12 months\n", "", LAXER),
        ("house.cylpack", "class", "level  filled-past-test  notice\nclass", LAXER),
        ("house.cylpack", "class", 'suspend  filled-past-test  "no"\nclass', LAXER),
        ("house.cylpack", "12 months", "6 months", None),
        ("department.cyl", '  rules  "house.cylpack"\n', "", LAXER),
    ],
)  # fmt: skip
def test_what_was_altered_is_told_from_what_was_corrected(grown, name, was, now, said):
    grown.replace(name, was, now)
    status, counts = grave(grown)
    assert (status, bool(counts)) == (int(said is not None), said is not None), counts
    assert said is None or said in counts
    page = grown("compare", "HEAD").out
    assert ("Nothing was altered or removed" in page) == (said is None) and "Both say the same" not in page
    assert said is None or f" {said}: " in "\n".join(page.split("\n")[:20]) + "\n"


def test_what_the_new_rules_say_of_the_old_state_is_told_apart(grown):
    grown.replace("house.cylpack", "class", 'suspend  test-overdue  "no"\nclass')
    said = json.loads(grown("compare", "HEAD", "--as", "json", as_of="2030-01-01").out)
    assert [finding["rule"] for finding in said["went_by_rules"]] == ["test-overdue", "waiver-expired"]
    assert said["appeared"] == said["gone"] == []
    (laxer,) = [change for change in said["rule_changes"] if change["laxer"]]
    assert (laxer["file"], laxer["line"]) == ("house.cylpack", 3) and "test-overdue suspended" in laxer["text"]


def test_a_finding_of_another_level_is_another_one(grown):
    grown.replace("house.cylpack", "class", "level  test-overdue  notice\nclass")
    said = json.loads(grown("compare", "HEAD", "--as", "json", as_of="2030-01-01").out)
    levels = [[(one["rule"], one["level"]) for one in said[key] if one["rule"] == "test-overdue"]
              for key in ("appeared_by_rules", "went_by_rules")]  # fmt: skip
    assert levels == [[("test-overdue", "notice")], [("test-overdue", "warning")]], levels
    assert not any(one["rule"] == "test-overdue" for one in said["appeared"])


def test_a_file_renamed_or_lines_moved_where_no_order_is_told_mean_nothing(grown):
    grown.git("mv", "cards.cyl", "other.cyl")
    assert grave(grown) == (0, {})


def test_look_alikes_are_told_apart(grown):
    grown.replace("department.cyl", "Ada Vale", "Ad\u0430 Vale")
    assert '"Ad\\u{430} Vale"' in grown("compare", "HEAD").out


def test_a_list_of_all_that_was_signed_and_nothing_else(grown):
    grown.replace("cards.cyl", "made    2018-01", STRUCK)
    grown.replace("sheets.cyl", "at 68 F", 'at 68 F  answered filled-past-test 2024-03-02 by rowan "seen"')
    grown.append(
        "sheets.cyl",
        '  09:40  K-1  to 2100 psi  struck 2024-03-04 by vale "never was"  late 2024-03-03 by vale "slip"\n',
    )
    grown.append("notices.cyl", WAIVER.replace("overdue", "soon").replace("2023-05-01", "2023-02-01"))
    signed = json.loads(grown("compare", "HEAD", "--as", "json").out)["signed"]
    assert [(one["day"], one["kind"], one["by"], one["text"], one["name"], one["backdated"]) for one in signed] == [
        ("2023-02-01", "waived", "vale", "agreed", "K-1", True),
        ("2024-03-02", "answered", "rowan", "seen", "K-1", False),
        ("2024-03-03", "late", "vale", "slip", "K-1", False),
        ("2024-03-04", "struck", "vale", "never was", "K-1", False),
        ("2024-05-01", "struck", "vale", "misread", "K-1", False),
    ]
    page = grown("compare", "HEAD", "--only", "struck", "--only", "waived").out
    assert "Signed between the two: 3, only what is struck or waived" in page
    assert "BACKDATED" in page and "answered by" not in page and '2024-05-01  struck by vale: "misread"' in page
    assert "K-1: made 2018-01" in page and "struck 2    answered 1    late 1    waived 1" in page
    rows = list(csv.DictReader(io.StringIO(grown("compare", "HEAD", "--only", "answered", "--as", "csv").out)))
    assert [(row["about"], row["what"], row["by"], row["clause"]) for row in rows] == [
        ("signature", "answered", "rowan", "filled-past-test")
    ]


def test_the_work_of_a_year_is_counted_before_any_detail(grown):
    for number in range(30):
        grown.append("cards.cyl", f"cylinder W-{number}\n  class   dot-3aa\n  made    2020-01\n")
    grown.commit("Cards")
    for number in range(30):
        grown.append("sheets.cyl", f"  W-{number}  to 2000 psi  at 68 F\n")
    grown.replace("sheets.cyl", "2200 psi", "2100 psi")
    lines = grown("compare", "HEAD").out.splitlines()
    altered = lines.index("Altered or removed")
    assert altered < 20 and any("30 in the order of days, 2023-03-02: 30 filled" in line for line in lines[:altered])
    assert not any(line.strip() == "W-3" for line in lines) and len(lines) < 40
    assert "  W-3\n" in grown("compare", "HEAD", "--all").out
