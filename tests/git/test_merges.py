"""
Two people write in two branches; git merges them line by line; lint says what to make of each outcome.

Merges are made with git itself, so this holds of the git that is installed.
"""

import json

import pytest

A_ROW = "  10:00  K-1  to 2100 psi  at 70 F\n"
B_ROW = "  11:00  K-1  to 2110 psi  at 70 F\n"
A_LINE = "  2023-05-01        gauged 2050 psi  by vale\n"
B_LINE = "  2023-04-01        gauged 2060 psi  by rowan\n"
A_SHEET = f"fill sheet 2023-05-02  at hc1  on C1  by vale\n{A_ROW}"
B_SHEET = f"fill sheet 2023-05-03  at hc1  on C1  by rowan\n{B_ROW}"
BEGINNING = ":/Begin the record"
SECOND_CARD = "\ncylinder K-2\n  class   dot-3aa\n  rated   2216 psi\n  made    2020-01\n  2020-02-01        entered service  at hc1\n"


def two_branches(keeping, one, other) -> None:
    """Make two branches from here; `one` and `other` write in them. The first stays checked out."""
    keeping.git("checkout", "--quiet", "-b", "other")
    other()
    keeping.commit("The other's work")
    keeping.git("checkout", "--quiet", "main")
    one()
    keeping.commit("One's work")


def merge(keeping) -> bool:
    """Merge the other branch; whether git could do it alone."""
    keeping.git("merge", "--quiet", "--no-edit", "other", fails=True)
    return keeping.git("ls-files", "--unmerged") == ""


def appending(keeping, name, text):
    return lambda: keeping.append(name, text)


def lint(keeping) -> list[tuple[str, str, int]]:
    """(rule, file, line) of each finding that was not there before the branches parted."""
    outcome = keeping("lint", "--as", "json", "--since", BEGINNING)
    findings = json.loads(outcome.out)["findings"]
    return [(found["rule"], found["file"], found["line"]) for found in findings if found["level"] != "notice"]


def entries(keeping) -> list[str]:
    """The entries of all files in plain form."""
    names = sorted(path.name for path in keeping.folder.glob("*.cyl"))
    lines = [line for name in names for line in keeping("plain", name, as_of=None).out.splitlines()]
    return [line.strip() for line in lines if line.startswith("  20")]


def both(text: str) -> str:
    """A file with a conflict, resolved by keeping the lines of both sides."""
    return "".join(line for line in text.splitlines(keepends=True) if line[:7] not in ("<<<<<<<", "=======", ">>>>>>>"))


def test_the_record_is_in_order(keeping):
    assert lint(keeping) == []


@pytest.mark.parametrize(
    "name, one, other",
    [("cards.cyl", A_LINE, B_LINE), ("sheets.cyl", A_ROW, B_ROW), ("sheets.cyl", A_SHEET, B_SHEET)],
    ids=["one card", "one sheet", "one file"],
)
def test_appending_at_one_place_is_a_conflict_that_lint_shows(keeping, name, one, other):
    two_branches(keeping, appending(keeping, name, one), appending(keeping, name, other))
    assert not merge(keeping)
    marked = keeping.text(name)
    first = marked[: marked.index("<<<<<<<")].count("\n") + 1
    # One finding a conflict, and nothing else of it: the lines of both sides are read.
    assert lint(keeping) == [("unreadable-line", name, first)]
    assert "must not be filled" in keeping("lint").out
    assert len(entries(keeping)) == 6
    # Whose lines are both true keeps both, in whatever order.
    keeping.write(name, both(marked))
    assert lint(keeping) == []
    assert len(entries(keeping)) == 6
    keeping.commit("Merge, keeping both")
    for side in ("HEAD^1", "HEAD^2"):
        counts = json.loads(keeping("compare", side, "--as", "json").out)["counts"]
        assert (counts["altered_or_removed"], counts["added"] + counts["backdated"]) == (0, 1)


def test_a_conflict_resolved_by_dropping_one_side_is_seen_by_compare(keeping):
    two_branches(keeping, appending(keeping, "cards.cyl", A_LINE), appending(keeping, "cards.cyl", B_LINE))
    assert not merge(keeping)
    keeping.write("cards.cyl", both(keeping.text("cards.cyl")).replace(B_LINE, ""))
    keeping.commit("Merge, losing a line")
    assert lint(keeping) == []
    outcome = keeping("compare", "HEAD^2", "HEAD")
    assert outcome.status == 1 and "2023-04-01 gauged K-1 2060 psi by rowan" in outcome.out


def test_appending_to_two_cards_merges_by_itself(keeping):
    keeping.append("cards.cyl", SECOND_CARD)
    keeping.commit("A second card")
    two_branches(
        keeping,
        lambda: keeping.replace("cards.cyl", "at 3700 psi\n", f"at 3700 psi\n{A_LINE}"),
        appending(keeping, "cards.cyl", B_LINE),
    )
    assert merge(keeping)
    assert lint(keeping) == []
    assert "2023-05-01 gauged K-1 2050 psi by vale" in entries(keeping)
    assert "2023-04-01 gauged K-2 2060 psi by rowan" in entries(keeping)


def test_writing_in_two_files_merges_by_itself(keeping):
    two_branches(keeping, appending(keeping, "sheets.cyl", A_ROW), appending(keeping, "cards.cyl", B_LINE))
    assert merge(keeping)
    assert lint(keeping) == []


def test_the_order_of_lines_after_a_merge_means_nothing(keeping):
    """The same merge from either side puts the lines in another order, and lint says the same of both."""
    two_branches(keeping, appending(keeping, "cards.cyl", A_LINE), appending(keeping, "cards.cyl", B_LINE))
    assert not merge(keeping)
    resolved = both(keeping.text("cards.cyl"))
    assert resolved.index(A_LINE) < resolved.index(B_LINE)
    keeping.write("cards.cyl", resolved)
    ours = entries(keeping), lint(keeping)
    keeping.write("cards.cyl", resolved.replace(A_LINE + B_LINE, B_LINE + A_LINE))
    assert (entries(keeping), lint(keeping)) == ours


def test_one_entry_that_both_wrote_is_a_double(keeping):
    on_the_card = "  2023-03-02 10:00  filled  to 2100 psi  at 70 F  by vale  on C1  at hc1\n"
    two_branches(keeping, appending(keeping, "sheets.cyl", A_ROW), appending(keeping, "cards.cyl", on_the_card))
    assert merge(keeping)
    assert [rule for rule, *_ in lint(keeping)] == ["same-entry-twice"]


def test_the_same_line_in_both_branches_is_one_line(keeping):
    two_branches(keeping, appending(keeping, "sheets.cyl", A_ROW), appending(keeping, "sheets.cyl", A_ROW))
    # Nothing differs between the branches, and git keeps one of the two.
    assert merge(keeping)
    assert lint(keeping) == [] and len(entries(keeping)) == 5


def test_one_line_changed_in_two_ways_is_a_conflict(keeping):
    two_branches(
        keeping,
        lambda: keeping.replace("cards.cyl", "rated   2216 psi", "rated   2015 psi"),
        lambda: keeping.replace("cards.cyl", "rated   2216 psi", "rated   3000 psi"),
    )
    assert not merge(keeping)
    said = lint(keeping)
    assert ("unreadable-line", "cards.cyl", 3) in said
    assert "is written twice" in keeping("lint").out


def test_a_line_struck_in_one_branch_and_another_added_in_the_other(keeping):
    """The strike is on the last line, beside which the other appends: git asks, and nothing is lost."""
    struck = 'to 2216 psi  at 70 F  struck 2023-03-03 by vale "gauge stuck"'
    two_branches(
        keeping,
        lambda: keeping.replace("sheets.cyl", "to 2216 psi  at 70 F", struck),
        appending(keeping, "sheets.cyl", B_ROW),
    )
    assert not merge(keeping)
    # Both sides hold the line, one with the strike: the unstruck one must go.
    kept = both(keeping.text("sheets.cyl")).replace("  09:30  K-1  to 2216 psi  at 70 F\n", "")
    keeping.write("sheets.cyl", kept)
    assert lint(keeping) == []
    keeping.commit("Merge")
    assert keeping("compare", "HEAD^2").status == 0


# What a union merge does, and why it is not to be used.


def with_union(keeping):
    keeping.write(".gitattributes", "*.cyl merge=union\n")
    keeping.commit("Merge by union")


def test_a_union_merge_takes_the_name_from_an_entry_and_nobody_is_told(keeping):
    """Two entries end with the same line; union keeps it once. The first inspection has lost its inspector."""
    with_union(keeping)
    two_branches(
        keeping,
        appending(keeping, "cards.cyl", "  2023-05-01  visual pass\n      by vale\n"),
        appending(keeping, "cards.cyl", "  2023-06-01  visual pass\n      by vale\n"),
    )
    assert merge(keeping)
    assert lint(keeping) == []
    said = entries(keeping)
    assert "2023-06-01 visual K-1 pass by vale" in said
    assert "2023-05-01 visual K-1 pass" in said and "2023-05-01 visual K-1 pass by vale" not in said
    # Only somebody who compares sees it.
    outcome = keeping("compare", "HEAD^1")
    assert outcome.status == 1 and "by" in outcome.out and "vale" in outcome.out


def test_the_usual_merge_asks_instead(keeping):
    two_branches(
        keeping,
        appending(keeping, "cards.cyl", "  2023-05-01  visual pass\n      by vale\n"),
        appending(keeping, "cards.cyl", "  2023-06-01  visual pass\n      by vale\n"),
    )
    assert not merge(keeping)
    assert "unreadable-line" in [rule for rule, *_ in lint(keeping)]


def test_a_union_merge_keeps_both_of_two_contradicting_properties(keeping):
    with_union(keeping)
    two_branches(
        keeping,
        lambda: keeping.replace("cards.cyl", "rated   2216 psi", "rated   2015 psi"),
        lambda: keeping.replace("cards.cyl", "rated   2216 psi", "rated   3000 psi"),
    )
    assert merge(keeping)
    assert "is written twice" in keeping("lint").out


def test_the_attributes_that_the_program_gives_undo_a_union_set_elsewhere(keeping):
    (keeping.folder / ".git" / "info").mkdir(exist_ok=True)
    (keeping.folder / ".git" / "info" / "attributes").write_text("")
    lines = keeping("plain", "--for-git", as_of=None).out.splitlines()
    attributes = next(line for line in lines if line.startswith("*.cyl"))
    keeping.write(".gitattributes", f"* merge=union\n{attributes}\n")
    keeping.commit("Attributes")
    two_branches(keeping, appending(keeping, "cards.cyl", A_LINE), appending(keeping, "cards.cyl", B_LINE))
    assert not merge(keeping)
