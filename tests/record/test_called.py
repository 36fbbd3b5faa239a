"""Cylinders by what people call them: name, tag, serial number, in any case, with or without leading zeros."""

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


def test_a_row_that_names_a_tag_is_told_whose_it_is(record, here):
    (here.folder / "rows.cyl").write_text("2026-03-04 gauged A-07 4400 psi\n")
    out = record("lint").out
    assert "`A-07` is the tag of V-31" in out and "Write V-31." in out and "open a card" not in out
