"""Where an entry goes, and that no other byte of a file changes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.record.entries import plain_form
from cylfile.record.one_sentence import read_entry
from cylfile.record.reader import read_record
from cylfile.rewriting.insertion import NoPlace, place
from cylfile.text.source import Source

CARDS = """\
cylinder T-1
  serial     X
  2026-01-02        entered service  at quay
  2026-03-01 10:00  filled  from 900 psi   to 4500 psi
  # the next one was cold
  2026-03-05        visual pass  by ayla

cylinder T-2
  serial     Y

source B1 "Bank"
  kind       storage
"""
SHEETS = """\
fill sheet 2026-03-14  at quay  on C1  by ayla
  09:42  T-1     from 900 psi   to 4500 psi  at 85 F  # hot
  10:04  T-2     to 4500 psi
"""


def placed(sentence, into=None, **files):
    sources = [Source(f"{name}.cyl", text) for name, text in files.items()]
    record = read_record(sources)
    entry, faults = read_entry(Source("", sentence))
    assert not faults
    found = place(record, entry, into)
    texts = {source.path: source.text for source in sources}
    texts[found.path] = found.text
    after = read_record([Source(path, text) for path, text in texts.items()])
    lines = [entry.span.line for entry in after.entries[entry.subject] if plain_form(entry) == plain_form(found.entry)]
    assert found.line in lines
    return found


def new_lines(before, after):
    """The lines that were put in, with their numbers; all others stand as they stood."""
    old, now = before.split("\n"), after.split("\n")
    size = len(now) - len(old)
    for at in range(len(old)):
        if old[:at] == now[:at] and old[at:] == now[at + size :]:
            return at + 1, now[at : at + size]
    raise AssertionError("other lines have changed")


@pytest.mark.parametrize(
    ("sentence", "line", "text"),
    [
        ('2026-03-06 remarked T-1 "dusty"', 7, '  2026-03-06        remarked "dusty"'),
        ('2026-03-02 remarked T-1 "dusty"', 5, '  2026-03-02        remarked "dusty"'),
        ('2025-12-31 remarked T-1 "dusty"', 3, '  2025-12-31        remarked "dusty"'),
        ("2026-03-01 09:00 filled T-1 to 4500psi", 4, "  2026-03-01 09:00  filled  to 4500 psi"),
        ("2026-03-01 filled T-1 to 4500 psi at 31°C", 5, "  2026-03-01        filled  to 4500 psi  at 31 C"),
    ],
)
def test_on_a_card_by_day_and_time(sentence, line, text):
    assert new_lines(CARDS, placed(sentence, cards=CARDS).text) == (line, [text])


def test_the_first_entry_of_a_card_stands_apart_from_its_head():
    assert new_lines(CARDS, placed('2026-03-06 remarked T-2 "dusty"', cards=CARDS).text) == (
        10,
        ["", '  2026-03-06        remarked "dusty"'],
    )
    assert (
        placed("2026-03-06 emptied T-2", cards="cylinder T-2\n").text == "cylinder T-2\n  2026-03-06        emptied\n"
    )


def test_on_a_source():
    text = placed("2026-03-06 gauge checked B1 by ayla", cards=CARDS).text
    assert text == CARDS + "\n  2026-03-06        gauge checked  by ayla\n"


@pytest.mark.parametrize(
    ("sentence", "line", "text"),
    [
        ("2026-03-14 10:30 filled T-1 to 4400 psi", 4, "  10:30  T-1     to 4400 psi"),
        ("2026-03-14 09:50 filled T-1 to 4400 psi by ben", 3, "  09:50  T-1     to 4400 psi  by ben"),
        ("2026-03-14 filled T-1 to 4400 psi on C1 at quay by ayla", 4, "  T-1     to 4400 psi"),
    ],
)
def test_on_the_sheet_of_the_day_without_what_its_head_says(sentence, line, text):
    assert new_lines(SHEETS, placed(sentence, cards=CARDS, fills=SHEETS).text) == (line, [text])


def test_what_comes_from_the_head_of_the_sheet_is_told():
    found = placed("2026-03-14 10:30 filled T-1 to 4400 psi by ben", cards=CARDS, fills=SHEETS)
    assert set(found.from_sheet) == {"at quay", "on C1"}
    assert plain_form(found.entry) == "2026-03-14 10:30 filled T-1 to 4400 psi by ben on C1 at quay"


def test_another_site_is_another_sheet():
    found = placed("2026-03-14 10:30 filled T-1 to 4400 psi at pier on C1", cards=CARDS, fills=SHEETS)
    assert found.opens_sheet
    assert found.text == SHEETS + "\nfill sheet 2026-03-14  at pier  on C1\n  10:30  T-1     to 4400 psi\n"


def test_a_new_sheet_says_only_what_the_entry_says():
    found = placed("2026-03-15 10:30 filled T-1 to 4400 psi by ben", cards=CARDS, fills=SHEETS)
    assert found.text == SHEETS + "\nfill sheet 2026-03-15  by ben\n  10:30  T-1     to 4400 psi\n"
    assert found.from_sheet == ()


def test_sheets_stand_by_day():
    found = placed("2026-03-13 filled T-1 to 4400 psi", cards=CARDS, fills="# Fills.\n\n# Saturday\n" + SHEETS)
    assert found.text == "# Fills.\n\nfill sheet 2026-03-13\n  T-1     to 4400 psi\n\n# Saturday\n" + SHEETS


def test_two_sheets_that_could_be_meant():
    both = SHEETS + "\nfill sheet 2026-03-14  at pier  on C1\n  T-2     to 4500 psi\n"
    with pytest.raises(NoPlace, match="say `at pier` or `at quay`"):
        placed("2026-03-14 filled T-1 to 4400 psi", cards=CARDS, fills=both)
    assert (
        placed("2026-03-14 filled T-1 to 4400 psi at pier", cards=CARDS, fills=both).text
        == both + "  T-1     to 4400 psi\n"
    )


def test_a_struck_sheet_takes_nothing():
    struck = 'fill sheet 2026-03-14  struck 2026-03-14 by ayla "wrong day"\n  T-2     to 4500 psi\n'
    assert placed("2026-03-14 filled T-1 to 4400 psi", cards=CARDS, fills=struck).opens_sheet


def test_a_record_that_went_back_to_cards():
    cards = CARDS.replace(
        "2026-03-05        visual", "2026-03-20        filled  to 4500 psi\n  2026-03-05        visual"
    )
    assert placed("2026-03-14 filled T-1 to 4400 psi", cards=cards, fills=SHEETS).path == "cards.cyl"


def test_other_verbs_go_to_cards_and_sheets_can_be_asked_for():
    assert placed("2026-03-14 gauged T-1 4400 psi", cards=CARDS, fills=SHEETS).path == "cards.cyl"
    found = placed("2026-03-14 gauged T-1 4400 psi at 68 F", into="gauges.cyl", cards=CARDS, fills=SHEETS)
    assert (found.path, found.text) == ("gauges.cyl", "gauge sheet 2026-03-14\n  T-1     4400 psi  at 68 F\n")
    with pytest.raises(NoPlace, match="is written on no sheet"):
        placed("2026-03-14 emptied T-1", into="gauges.cyl", cards=CARDS)


@pytest.mark.parametrize(
    ("name", "day", "into"),
    [("2026-03", "2026-04-01", "2026-04.cyl"), ("2026", "2026-12-31", "2026.cyl"), ("2026", "2027-01-01", "2027.cyl"),
     ("fills", "2027-01-01", "fills.cyl")],
)  # fmt: skip
def test_files_named_for_months_and_years_turn_over(name, day, into):
    assert placed(f"{day} filled T-1 to 4400 psi", cards=CARDS, **{name: SHEETS}).path == into


@pytest.mark.parametrize(
    ("card", "line"),
    [
        ("cylinder T-1\r\n\t2026-03-01 filled to 4500 psi\r\n", "\t2026-03-06 filled to 4400 psi by ben\r\n"),
        ("cylinder T-1\n    2026-03-01 filled to 4500 psi", "\n    2026-03-06 filled to 4400 psi by ben\n"),
        (
            "cylinder T-1\n 2026-03-01   filled   to 4500 psi   at 3 C\n",
            " 2026-03-06   filled   to 4400 psi   by ben\n",
        ),
        ("cylinder T-1\n  2026-03-01\tfilled\tto 4500 psi # x\n\n# end\n", None),
    ],
)
def test_the_style_of_the_line_above_is_kept(card, line):
    text = placed("2026-03-06 filled T-1 to 4400 psi by ben", cards=card).text
    if line is None:
        assert (
            text
            == "cylinder T-1\n  2026-03-01\tfilled\tto 4500 psi # x\n  2026-03-06\tfilled\tto 4400 psi\tby ben\n\n# end\n"
        )
    else:
        assert text == card + line


def test_damaged_lines_stay():
    card = "cylinder T-1\n  2026-03-01 filled to 4500 psi\n  2026-02-30 filled to 1 psi\n"
    assert new_lines(card, placed("2026-03-06 filled T-1 to 4400 psi", cards=card).text) == (
        4,
        ["  2026-03-06 filled to 4400 psi"],
    )


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 28), st.sampled_from(["", " 09:30", " 10:15:30"])), min_size=1, max_size=8),
    st.sampled_from(["\n", "\r\n"]),
    st.booleans(),
)
def test_entries_in_any_order_make_a_card_in_order(days, newline, on_sheets):
    """However entries come, each is there once, sheets and cards stay in order, and nothing else changes."""
    texts = {"cards.cyl": f"cylinder T-1{newline}"}
    if on_sheets:
        texts["fills.cyl"] = f"fill sheet 2026-03-01{newline}  T-1  to 1 psi{newline}"
    for number, (day, time) in enumerate(days):
        record = read_record([Source(path, text) for path, text in texts.items()])
        entry, _ = read_entry(Source("", f"2026-03-{day:02}{time} filled T-1 to {4000 + number} psi"))
        found = place(record, entry)
        before = texts.get(found.path, "")
        new_lines(before.replace("\r\n", "\n"), found.text.replace("\r\n", "\n"))
        texts[found.path] = found.text
        assert found.text.count("\n") == found.text.count(newline)
    record = read_record([Source(path, text) for path, text in texts.items()])
    assert not record.faults
    entries = sorted(record.entries["T-1"], key=lambda entry: (entry.source.path, entry.start))
    assert sorted(str(entry.reading) for entry in entries if entry.reading.value > 1) == sorted(
        f"{4000 + number} psi" for number in range(len(days))
    )
    written = [entry.day for entry in entries]
    assert written == sorted(written)


def test_what_only_has_a_month_goes_to_the_card():
    found = placed("2026-03 visual T-1 pass", cards=CARDS, fills="visual sheet 2026-03-14\n  T-2  pass\n")
    assert found.path == "cards.cyl" and "  2026-03           visual pass\n" in found.text
    with pytest.raises(NoPlace, match="`2026-03 visual` is written on no sheet"):
        placed("2026-03 visual T-1 pass", into="fills.cyl", cards=CARDS)


def test_after_an_import_alone_a_sheet_is_opened_in_a_file_of_the_month_beside_it():
    found = placed(
        "2026-04-02 filled T-1 to 4400 psi", cards=CARDS, **{"fills/import-2026-03-14-to-2026-03-14": SHEETS}
    )
    assert found.path == "fills/2026-04.cyl" and found.opens_sheet
