"""Cylinders by what people call them: name, tag, serial number, in any case, with or without leading zeros."""

import json

import pytest

from cylfile.record.called import as_on_record

RECORD = """\
department "D"
  rules  us-dot
cylinder V-31
  serial  TV-0101
  tag     A-07
  class   carbon-wrapped
  rated   4500 psi
  made    2024-12
  2025-01-03  entered service
cylinder 012
  serial  TV-0102
  class   carbon-wrapped
  rated   4500 psi
  made    2024-12
  2025-01-03  entered service
"""


@pytest.mark.parametrize(
    "word, meant",
    [
        ("V-31", "V-31"), ("v-31", "V-31"), ("a-07", "A-07"), ("A-7", "A-07"), ("12", "012"), ("tv-101", "TV-0101"),
        ("13", "13"), ("V-310", "V-310"), ("120", "120"),
    ],
)  # fmt: skip
def test_what_is_meant(word, meant):
    assert as_on_record(word, ["V-31", "A-07", "012", "TV-0101", "TV-0102"]) == meant


def test_nobody_guesses_between_two():
    assert as_on_record("12", ["012", "0012"]) == "12" and as_on_record("k-1", ["K-1", "k-1", "K-01"]) == "k-1"
    assert as_on_record("K1", ["k1", "K1"]) == "K1"


@pytest.fixture
def record(here):
    (here.folder / "all.cyl").write_text(RECORD)
    return lambda *arguments: here(*arguments, "--as-of", "2026-11-25")


@pytest.mark.parametrize("word, name", [("v-31", "V-31"), ("a-7", "V-31"), ("TV-0101", "V-31"), ("12", "012")])
def test_every_command_finds_it(record, word, name):
    assert record("may-fill", word).out.startswith(f"{name}: MAY BE FILLED")
    assert record("card", word).out.startswith(f"{name} ")
    assert f"only cylinder {name}" in record("lint", "--cylinder", word).out
    assert f" {name} " in record("enter", f"2026-11-25 gauged {word} 4400 psi").out


@pytest.mark.parametrize(
    "name, said, cure",
    [
        ("A-07", "`A-07` is the tag of V-31", "Write V-31."),
        ("a-7", "`a-7` is the tag A-07 of V-31", "Write V-31."),
        ("TV-0101", "`TV-0101` is the serial number of V-31", "Write V-31."),
        ("v-31", "no card declares `v-31`, and there is V-31", "Write V-31."),
        ("12", "no card declares `12`, and there is 012", "Write 012."),
    ],
)
def test_a_row_that_names_another_mark_is_told_whose_it_is(record, here, name, said, cure):
    """In the whole record and in what `may-fill` reads of it; nobody is told to open a second card."""
    (here.folder / "rows.cyl").write_text(f"gauge sheet 2026-03-04\n  {name} 4400 psi\n  V-31 4400 psi\n")
    for out in (record("lint").out, record("may-fill", "V-31").out):
        assert said in out and cure in out and "open a card" not in out


def test_a_tag_that_moved_is_the_tag_of_both(record, here):
    tag = "  tag  A-07"
    text = RECORD.replace(tag, f"{tag} until 2025-01-01").replace(
        "cylinder 012\n", f"cylinder 012\n{tag} since 2025-01-01\n"
    )
    (here.folder / "all.cyl").write_text(text + "2026-03-04 gauged A-07 4400 psi\n")
    assert text != RECORD and "`A-07` is the tag of V-31 and 012" in record("lint").out


def test_a_word_that_may_be_two_is_asked_about(record, here):
    (here.folder / "all.cyl").write_text(RECORD.replace("A-07", "v-31"))
    for command in (("may-fill", "V-031"), ("card", "V-031"), ("lint", "--cylinder", "V-031")):
        done = record(*command)
        assert done.status == 2 and "`V-031` may be V-31 or v-31" in done.err


def test_sources_people_and_places_are_found_in_any_case(record, here):
    (here.folder / "all.cyl").write_text(RECORD + 'source C1 "Air room"\n  kind  compressor\n')
    out = record("enter", "2026-11-25 10:00 filled v-31 to 4400 psi at 70 F on c1").out
    assert "2026-11-25 10:00 filled V-31 to 4400 psi at 70 F on C1" in out
    assert record("enter", '2026-11-25 11:00 remarked c1 "new filter"').status == 0
    assert "C1" in record("trace", "c1", "--first", "2026-01-01").out
    assert "C1 is a source, not a cylinder" in record("may-fill", "c1").out


def test_a_stranger_late_in_a_long_file_is_said_with_every_answer(record, here):
    """Where only a part of the file is read for the answer."""
    rows = "".join(f"2026-03-{day:02} gauged 012 4400 psi\n" for day in range(1, 29))
    (here.folder / "rows.cyl").write_text(rows + "2026-03-29 filled Q-9 to 2000 psi\n")
    done = record("may-fill", "V-31")
    assert done.status == 0 and "no card declares `Q-9`" in done.out and "rows.cyl:29" in done.out


def test_a_stranger_beside_it_on_sheets_is_one_reason_with_the_count_of_rows(record, here):
    for count, said in (
        (1, "no card declares `Q-9`"),
        (2, "no card declares `Q-9`; it has 2 rows on sheets with V-31"),
    ):
        sheets = "".join(
            f"gauge sheet 2026-03-0{day}\n  V-31  4400 psi\n  Q-9  4400 psi\n" for day in range(1, count + 1)
        )
        here.write("rows.cyl", sheets)
        done = record("may-fill", "V-31", "--as", "json")
        assert done.status == 1 and [reason["text"] for reason in json.loads(done.out)["reasons"]] == [
            f"{said} (rows.cyl:3)"
        ]
        assert "no: unknown name beside it" in record("inventory").out
