"""What happened to entries: told by what they say, with a strike or without."""

from datetime import date

import pytest

from cylfile.compare.entry_changes import fields_of
from cylfile.compare.states import compare_records
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.text.source import Source

CARD = """\
cylinder K-1
  2024-01-05 08:00  entered service  at hc1
  2024-02-03 09:00  filled  to 4500 psi  at 70 F  by vale
  2024-02-03 15:00  filled  to 4480 psi  by vale
  2024-05-01        visual pass  by vale
"""


def record_of(*texts):
    record = read_record([Source(f"f{number}.cyl", text) for number, text in enumerate(texts)])
    assert not [fault for fault in record.faults if fault.rule == "unreadable-line"]
    return record


def changes(old: str, new: str) -> list[tuple]:
    """(kind, day, clauses, dated before, sealed) of each change of K-1, old and new being whole records."""
    found = compare_records(record_of(old), record_of(new)).entries.get("K-1", [])
    return [(c.kind, str(c.entry.day), c.clauses, c.dated_before, c.sealed) for c in found]


def kinds(old: str, new: str) -> list[str]:
    return [change[0] for change in changes(old, new)]


@pytest.mark.parametrize(
    "new",
    [
        CARD,
        CARD.replace("\n", "   # with remarks\n"),
        "# about\n\n" + CARD.replace("  to ", "\n      to "),
        "cylinder K-1\n" + "".join(reversed(CARD.splitlines(keepends=True)[1:])),
        "cylinder K-1\n2024-01-05 08:00 entered service K-1 at hc1\n2024-05-01 visual K-1 pass by vale\n"
        "fill sheet 2024-02-03 by vale\n  15:00 K-1 to 4480 psi\n  09:00 K-1 at 70 F to 4500psi\n",
    ],
)
def test_layout_order_and_paper_are_no_change(new):
    assert changes(CARD, new) == []
    assert changes(new, CARD) == []


def test_an_entry_in_the_order_of_days_was_added():
    assert changes(CARD, CARD + "  2024-05-01 filled to 4500 psi\n") == [("added", "2024-05-01", (), 0, None)]


def test_a_backdated_entry_says_how_many_are_dated_after_it():
    assert changes(CARD, CARD + "  2024-02-03 10:00 gauged 4490 psi\n") == [("backdated", "2024-02-03", (), 2, None)]


def test_an_entry_of_another_cylinder_is_not_backdated_here():
    new = CARD + "cylinder K-2\n  2020-01-01 entered service\n"
    assert changes(CARD, new) == []
    assert [c.kind for c in compare_records(record_of(CARD), record_of(new)).entries["K-2"]] == ["added"]


def test_a_late_entry_is_late_and_not_backdated():
    new = CARD + '  2024-02-04 gauged 4490 psi  late 2024-06-01 by vale "found a slip"\n'
    assert changes(CARD, new) == [("late", "2024-02-04", (), 0, None)]


def test_a_strike_alters_nothing():
    new = CARD.replace("4480 psi  by vale", '4480 psi  by vale  struck 2024-02-04 by vale "read wrong"')
    assert changes(CARD, new) == [("struck", "2024-02-03", (), 0, None)]


def test_struck_and_written_anew_alters_nothing():
    new = CARD.replace("4480 psi  by vale", '4480 psi  by vale  struck 2024-02-04 by vale "read wrong"')
    assert kinds(CARD, new + "  2024-02-03 15:00 filled to 4460 psi by vale\n") == ["struck", "backdated"]


def test_a_strike_taken_back_alters():
    struck = CARD.replace("4480 psi  by vale", '4480 psi  by vale  struck 2024-02-04 by vale "read wrong"')
    clause = ("struck", '2024-02-04 by vale "read wrong"', "")
    assert changes(struck, CARD) == [("changed", "2024-02-03", (clause,), 0, None)]
    other = struck.replace("read wrong", "misread")
    assert [change[:1] for change in changes(struck, other)] == [("changed",)]


def test_a_line_made_late_alters():
    new = CARD.replace("4480 psi  by vale", '4480 psi  by vale  late 2024-02-04 by vale "x"')
    assert changes(CARD, new) == [("changed", "2024-02-03", (("late", "", '2024-02-04 by vale "x"'),), 0, None)]


@pytest.mark.parametrize(
    "was, now, clauses",
    [
        ("to 4500 psi  at 70 F", "to 4400 psi  at 70 F", (("to", "4500 psi", "4400 psi"),)),
        ("to 4500 psi  at 70 F", "to 4500 psi", (("at", "70 F", ""),)),
        ("2024-05-01        visual", "2024-05-11        visual", (("day", "2024-05-01", "2024-05-11"),)),
        ("visual pass", "visual fail", (("outcome", "pass", "fail"),)),
        ("visual pass", "hydro pass", (("verb", "visual", "hydro"),)),
        ("15:00  filled", "filled", (("time", "15:00", ""),)),
    ],
)
def test_a_changed_entry_shows_which_clause(was, now, clauses):
    (change,) = changes(CARD, CARD.replace(was, now))
    assert (change[0], change[2]) == ("changed", clauses)


def test_of_several_the_most_alike_are_one_entry_changed():
    old = CARD + "  2024-06-01 09:00 filled to 4000 psi by vale\n  2024-06-01 10:00 filled to 4100 psi by vale\n"
    new = CARD + "  2024-06-01 10:00 filled to 4000 psi by vale\n  2024-06-01 10:00 filled to 4101 psi by vale\n"
    found = changes(old, new)
    assert [(c[0], c[2]) for c in found] == [
        ("changed", (("time", "09:00", "10:00"),)),
        ("changed", (("to", "4100 psi", "4101 psi"),)),
    ]


def test_a_removed_entry_is_not_taken_for_one_of_another_year():
    new = CARD.replace("  2024-05-01        visual pass  by vale\n", "  2025-06-12        visual pass  by vale\n")
    assert kinds(CARD, new) == ["removed", "added"]


def test_an_entry_under_another_cylinder_is_gone_here():
    new = CARD.replace("  2024-05-01        visual pass", "cylinder K-2\n  2024-05-01        visual pass")
    assert kinds(CARD, new) == ["removed"]


def test_the_same_entry_twice_is_one_entry_added():
    new = CARD + "  2024-05-01        visual pass  by vale\n"
    assert kinds(CARD, new) == ["added"]
    assert kinds(new, CARD) == ["removed"]


def test_of_twins_one_can_be_struck():
    old = CARD + "  2024-05-01        visual pass  by vale\n"
    new = old + '      struck 2024-05-02 by vale "twice"\n'
    assert kinds(old, new) == ["struck"]


def test_a_line_that_can_no_longer_be_read_is_gone():
    old, new = record_of(CARD), read_record([Source("f.cyl", CARD.replace("visual pass", "visual pas"))])
    assert [change.kind for change in compare_records(old, new).entries["K-1"]] == ["removed"]


def test_many_changed_entries_are_still_paired_by_their_day():
    rows = [f"  2024-{1 + n // 28:02d}-{1 + n % 28:02d} filled to {4000 + n} psi by vale\n" for n in range(200)]
    old = "cylinder K-1\n" + "".join(rows)
    assert kinds(old, old.replace("by vale", "by rowan")) == ["changed"] * 200


@pytest.mark.parametrize(
    "line, sealed",
    [
        ("  2024-02-04 gauged 4490 psi\n", True),
        ("  2024-05-02 gauged 4490 psi\n", False),
        ('  2024-02-04 gauged 4490 psi late 2024-06-01 by vale "x"\n', False),
        ('  2024-02-04 gauged 4490 psi late 2024-02-05 by vale "x"\n', True),
    ],
)
def test_a_change_in_a_closed_period_is_marked(line, sealed):
    seal = f"sealed 2024-05-01 by vale 4 entries {'0' * 64}\n"
    (change,) = changes(seal + CARD, seal + CARD + line)
    assert change[4] == (date(2024, 5, 1) if sealed else None)


def test_fields_say_all_that_the_plain_form_says():
    text = '  2024-06-20 hydro pass by Z901 at 7500 psi plus visual pass remark "n" struck 2024-06-21 by vale "s"\n'
    (entry,) = record_of("cylinder K-1\n" + text).entries["K-1"]
    fields = fields_of(entry)
    assert list(fields) == "day verb outcome by at_pressure plus with_visual remark struck".split()
    assert all(value in plain_form(entry) for value in fields.values())
