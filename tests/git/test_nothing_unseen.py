"""Whatever a record said and no longer says is in the headline of a comparison, and its exit status says so."""

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


CARDS, ENTRIES = "lines of cards, people and others changed or removed", "entries changed or removed"
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
    assert ("Nothing was rewritten" in page) == (said is None) and "Both say the same" not in page
    assert said is None or f" {said}: " in "\n".join(page.split("\n")[:20]) + "\n"


def test_what_the_new_rules_say_of_the_old_state_is_told_apart(grown):
    grown.replace("house.cylpack", "class", 'suspend  test-overdue  "no"\nclass')
    said = json.loads(grown("compare", "HEAD", "--as", "json", as_of="2030-01-01").out)
    assert [finding["rule"] for finding in said["went_by_rules"]] == ["test-overdue", "waiver-expired"]
    assert said["appeared"] == said["went"] == []
    (laxer,) = [change for change in said["rule_changes"] if change["laxer"]]
    assert (laxer["file"], laxer["line"]) == ("house.cylpack", 3) and "test-overdue suspended" in laxer["text"]


def test_a_file_renamed_or_lines_moved_where_no_order_is_told_mean_nothing(grown):
    grown.git("mv", "cards.cyl", "other.cyl")
    assert grave(grown) == (0, {})


def test_look_alikes_are_told_apart(grown):
    grown.replace("department.cyl", "Ada Vale", "Ad\u0430 Vale")
    assert '"Ad\\u{430} Vale"' in grown("compare", "HEAD").out
