"""Dealing a record out as cards or as sheets: what moves, what stays, and that nothing else changes."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cylfile.history.order import in_order, told_pairs
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.rewriting.regrouping import CYLINDER, DAY, Dealing, regroup
from cylfile.rewriting.same_facts import comments_of, difference
from cylfile.text.source import Source
from support.ledger_texts import ledgers


def dealt(by, **files):
    """The texts of all files afterwards, by name, and what else there is to say."""
    sources = {f"{name}.cyl": Source(f"{name}.cyl", text) for name, text in files.items()}
    before = read_record(list(sources.values()))
    done = regroup(before, by)
    assert done.refusal == ""
    texts = {path: source.text for path, source in sources.items()} | done.texts
    after = read_record([Source(path, text) for path, text in texts.items()])
    assert difference(before, after) == ""
    for name, entries in before.entries.items():
        ours, theirs = (in_order(list(of)).entries for of in (entries, after.entries[name]))
        assert list(map(plain_form, ours)) == list(map(plain_form, theirs))
    return {path.removesuffix(".cyl"): text for path, text in texts.items()}, done


def assert_foreseen(by, **files):
    """What the standing of all entries will tell, were all of them moved, is what it tells when it is read."""
    sources = {f"{name}.cyl": Source(f"{name}.cyl", text) for name, text in files.items()}
    dealing = Dealing(read_record(list(sources.values())), by, "")
    dealing.deal()
    written = sources | {path: Source(path, text) for path, text in dealing.texts().items()}
    foreseen, read = (
        {name: sorted(tuple(map(plain_form, pair)) for pair in told_pairs(of)) for name, of in entries.items() if of}
        for entries in (dealing.standing(), read_record(list(written.values())).entries)
    )
    assert foreseen == read


CARDS = """\
# Cards of the station.
cylinder T-1
  serial     X

  2026-01-02        entered service  at quay
  2026-04-01        out of service "valve"

cylinder T-2
  serial     Y
"""
SHEETS = """\
# Fills.

# Saturday drill
fill sheet 2026-03-15  at quay  on C1  by ayla  # cold
  # the old whip
  09:42  T-1     from 900 psi   to 4500 psi  at 85 F  # hot
  09:58  T-2     to 4500 psi  by ben

2026-05-01  remarked T-2 "dusty"
"""


def test_by_cylinder():
    texts, done = dealt(CYLINDER, cards=CARDS, fills=SHEETS)
    assert texts == {
        "cards": """\
# Cards of the station.
cylinder T-1
  serial     X

  2026-01-02        entered service  at quay
  # Saturday drill
  # cold
  # the old whip
  2026-03-15 09:42  filled  from 900 psi   to 4500 psi  at 85 F  by ayla  on C1  at quay  # hot
  2026-04-01        out of service "valve"

cylinder T-2
  serial     Y

  2026-03-15 09:58  filled  to 4500 psi  by ben  on C1  at quay
  2026-05-01        remarked "dusty"
""",
        "fills": "# Fills.\n",
    }
    assert (done.moved, done.kept) == (3, [])


def test_by_day():
    cards, _ = dealt(CYLINDER, cards=CARDS, fills=SHEETS)
    texts, done = dealt(DAY, **cards)
    assert (
        texts["sheets/2026-03"]
        == """\
fill sheet 2026-03-15  at quay  on C1  by ayla
  # Saturday drill
  # cold
  # the old whip
  09:42  T-1     from 900 psi   to 4500 psi  at 85 F  # hot
  09:58  T-2     to 4500 psi  by ben
"""
    )
    assert texts["cards"] == CARDS + '\n  2026-05-01        remarked "dusty"\n'
    assert done.moved == 2


def test_sheets_that_are_there_take_what_says_as_much():
    card = "cylinder T-1\n  2026-03-15 09:50 filled to 4400 psi by ben on C1 at quay\n  2026-03-15 10:00 filled to 4400 psi at quay\n"
    texts, _ = dealt(DAY, cards=card, fills="fill sheet 2026-03-15  at quay  on C1\n  09:42  T-9     to 4500 psi\n")
    assert texts["fills"] == (
        "fill sheet 2026-03-15  at quay  on C1\n  09:42  T-9     to 4500 psi\n  09:50  T-1     to 4400 psi  by ben\n"
        "\nfill sheet 2026-03-15  at quay\n  10:00  T-1     to 4400 psi\n"
    )
    assert texts["cards"] == "cylinder T-1\n"


def test_a_row_that_says_nobody_gets_nobody_from_the_head():
    card = "cylinder T-1\n  2026-03-15 09:50 filled to 1 psi by ben\ncylinder T-2\n  2026-03-15 filled to 2 psi\n"
    texts, _ = dealt(DAY, cards=card)
    assert (
        texts["sheets/2026-03"] == "fill sheet 2026-03-15\n  T-2     to 2 psi\n  09:50  T-1     to 1 psi     by ben\n"
    )


@pytest.mark.parametrize(
    "damaged", ["  T-1 fild\n", "  T-1 from 900 psi\n", "        at pier\n", "  09:00 T-1 to 80 F\n"]
)
def test_beside_a_damaged_line_nothing_moves(damaged):
    """What a broken line is depends on the lines round it: a clause goes on with the line above."""
    sheet = f"fill sheet 2026-03-15  at quay\n{damaged}  T-1 to 4500 psi\n"
    texts, done = dealt(CYLINDER, cards=CARDS, fills=sheet)
    assert texts["fills"] == sheet
    sheet = "fill sheet 2026-03-15  at quay\n  T-1 to 4500 psi\n  T-2 to 4400 psi\n"
    texts, done = dealt(CYLINDER, cards=CARDS + "  2026-02-30 remarked\n", fills=sheet)
    assert texts["fills"] == "fill sheet 2026-03-15  at quay\n  T-2 to 4400 psi\n"
    assert [why for _, why in done.kept] == ["a line of its card cannot be read; correct that first"]


def test_what_has_no_card_stays_and_is_told():
    sheet = "fill sheet 2026-03-15\n  T-7 to 4500 psi\n"
    texts, done = dealt(CYLINDER, cards=CARDS, fills=sheet)
    assert texts["fills"] == sheet
    assert [(entry.subject, why) for entry, why in done.kept] == [("T-7", "no card declares it")]


def test_order_without_times_is_kept():
    """What stands on one card is told to have come in that order; on two sheets nothing would tell it."""
    files = {
        "b": 'cylinder T-1\n  2026-03-15 filled to 900 psi at pier\n  2026-03-15 damaged "dropped"\n',
        "d": "fill sheet 2026-03-15  at pier\n  T-2 to 1 psi\ncylinder T-2\n",
    }
    texts, done = dealt(DAY, **files)
    assert texts["b"] == files["b"]
    assert [(entry.subject, why[:9]) for entry, why in done.kept] == [("T-1", "elsewhere")]


def test_an_order_that_nothing_tells_is_not_made_up():
    """On two papers nothing tells which came first; below each other on one card it would be told."""
    files = {
        "b": "cylinder T-1\n  2026-03-15 visual pass\n",
        "c": "fill sheet 2026-03-15\n  T-1 to 4500 psi\n",
    }
    texts, done = dealt(CYLINDER, **files)
    assert texts == files
    assert [(entry.subject, why[:9]) for entry, why in done.kept] == [("T-1", "elsewhere")]


def test_a_head_that_every_row_contradicts_stays():
    sheet = "fill sheet 2026-03-15  at quay\n  T-1 to 4500 psi at pier\n"
    texts, _ = dealt(CYLINDER, cards=CARDS, fills=sheet)
    assert texts["fills"] == "fill sheet 2026-03-15  at quay\n" and "4500 psi  at pier" in texts["cards"]


def test_line_ends_are_those_of_each_file():
    texts, _ = dealt(CYLINDER, cards=CARDS.replace("\n", "\r\n"), fills=SHEETS)
    assert texts["cards"].count("\n") == texts["cards"].count("\r\n") > 12


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(st.sampled_from([CYLINDER, DAY]), ledgers(), ledgers())
def test_any_record_says_the_same(by, one, two):
    """With cards for all names, so that there is much to move."""
    cards = "".join(f"cylinder {name}\n" for name in ("K-1", "K-20", "114", "K-300417", "A123", "B/7.x"))
    texts, _ = dealt(by, a=one, b=cards, c=two)
    before = [comment for text in (one, cards, two) for comment in comments_of(Source("", text))]
    assert sorted(before) == sorted(comment for text in texts.values() for comment in comments_of(Source("", text)))
    assert_foreseen(by, a=one, b=cards, c=two)
    # Once dealt out, nothing is left to move.
    again, done = dealt(by, **texts)
    assert done.moved == 0 and again == texts


@pytest.mark.parametrize("by", [CYLINDER, DAY])
def test_what_standing_will_tell_is_foreseen(by):
    card = (
        'cylinder T-1\n  2026-03-15 filled to 900 psi\n  2026-03-15 damaged "dropped"\n'
        "  2026-03-16 filled to 1000 psi\n  2026-03-16 filled to 1100 psi\n"
    )
    loose = (
        '2026-03-17 remarked T-9 "a"\nfill sheet 2026-03-16  at pier\n  T-1 to 1200 psi\n  T-1 to 1300 psi\n'
        '2026-03-17 remarked T-9 "b"\n2026-03-18 remarked T-9 "c"\n2026-03-18 remarked T-9 "d"\n'
    )
    assert_foreseen(by, card=card, loose=loose)


def test_what_stands_out_of_place_does_so_afterwards():
    """The line of a later day above them is why nothing tells the order of the two below it."""
    card = 'cylinder T-1\n  2026-03-14 gauged 4500 psi\n  2025-12-31 remarked\n  2025-12-31 damaged "dropped"\n'
    texts, done = dealt(DAY, card=card)
    assert texts == {"card": card}
    assert {entry.verb for entry, _ in done.kept} == {"gauged"}


def test_sheets_between_loose_lines_part_them():
    """What stands on both sides of a sheet is one run of loose lines without it, in which standing tells the order."""
    loose = '2026-03-17 remarked T-9 "a"\nfill sheet 2026-03-16\n  T-1 to 1 psi\n2026-03-17 remarked T-9 "b"\n'
    texts, done = dealt(CYLINDER, card="cylinder T-1\n", loose=loose)
    assert texts["loose"] == loose.replace("  T-1 to 1 psi\n", "")
    assert done.moved == 1


@pytest.mark.parametrize("by", [CYLINDER, DAY])
def test_nothing_to_do(by):
    text = 'site quay "Station 1"\n'
    assert dealt(by, a=text)[0] == {"a": text}


def test_what_only_has_a_month_stays_on_its_card():
    cards = CARDS.replace(
        "  2026-01-02        entered service", "  2024-05           visual pass\n  2026-01-02        entered service", 1
    )
    texts, done = dealt(DAY, cards=cards)
    assert "  2024-05           visual pass\n" in texts["cards"]
