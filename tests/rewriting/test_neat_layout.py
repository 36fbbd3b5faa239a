"""What the canonical layout looks like, case by case."""

import pytest

from cylfile.record.reader import read_record
from cylfile.rewriting.neatening import neaten
from cylfile.text.source import Source


def neatened(text):
    source = Source("a.cyl", text)
    done = neaten(source, read_record([source]))
    assert done.refusal == ""
    return done.text


CANONICAL = """\
# The record of a small department.
department "Vallow Fire"
  zone    America/Denver
  rules   us-dot
  rules   "rules/house.cylpack"

person ayla "Ayla Brandt"
  fills      2021-05-03 until 2027-05-31

source C1 "Air room"
  kind       compressor
  cartridge  67000 ft3
  2026-01-14        air sample pass  CO 1.2 ppm  CO2 410 ppm  O2 20.9 %  oil 0.1 mg/m3  water 12 ppm

cylinder T-114
  serial           NC-88213
  marked           "DOT-SP 99123-4500"
  expansion-limit  5 %

  2019-08-02        entered service  at st1
  2024-06-20        hydro pass  by A123  at 7500 psi  total 92.1 cc   permanent 1.8 cc  plus  visual pass
  2026-03-14 09:42  filled  from 1150 psi  to 4500 psi  at 88 F  by ayla  on C1
      remark "The lens of the gauge is fogged; read twice by two people."
  2026-04-01 08:10  gauged 4200 psi  at 68 F
  2026-04-02        out of service "valve leaks"  by ayla

fill sheet 2026-03-15  at st1  on C1  by ayla  # Saturday
  09:42  T-114   from 900 psi   to 4500 psi  at 85 F
  09:58  T-9     from 1150 psi  to 4500 psi  at 9 C
  10:04  T-1143  to 5400 psi    struck 2026-03-15 by ayla "typed 5400 for 4500"
  T-300417    to 310 bar   at 20 C

2026-03-20  retired T-77 "outer wrap cut, level 3"
2026-03-20 09:42  visual T-114 pass  by ayla
waived visual-overdue for T-9 until 2026-12-31 by ayla "in storage"
"""


def test_canonical_text_stays():
    assert neatened(CANONICAL) == CANONICAL


def test_every_spacing_comes_out_the_same():
    squeezed = "".join(
        "\t" * (line[:1] == " ") + " ".join(line.split()) + "\n" if "remark" not in line else f"\t\t{line.strip()}\n"
        for line in CANONICAL.split("\n")[:-1]
    )
    assert neatened(squeezed) == CANONICAL


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("filled by ayla to 4500psi from 900psi", "filled  from 900 psi   to 4500 psi  by ayla"),
        ("filled to 4500 psi at 31°C", "filled  to 4500 psi  at 31 C"),
        ('remarked by ayla "dusty"', 'remarked "dusty"  by ayla'),
        ('life extended "SP 99123" until 2031-05', 'life extended  until 2031-05  "SP 99123"'),
        ("hydro pass visual fail star at 5000psi by A123", "hydro pass  by A123  at 5000 psi  star  visual fail"),
        ("returned to service at st1 by ayla", "returned to service  by ayla  at st1"),
    ],
)
def test_clauses_have_one_order(before, after):
    assert neatened(f"cylinder T-1\n  2026-03-14 {before}\n") == f"cylinder T-1\n  2026-03-14        {after}\n"


def test_a_new_row_moves_no_other():
    """A wide row among narrow ones changes one line of the file and no more."""
    rows = neatened("fill sheet 2026-03-15\n  09:42 T-1 to 900 psi at 60 F\n  09:43 T-2 to 4500 psi at 85 F\n")
    with_wide = neatened(rows + "  09:44 T-300417 from 1000 psi to 31000.5 kPa at 101 F by ayla\n")
    assert with_wide.startswith(rows)


def test_a_note_that_fits_stays_on_the_line():
    text = 'cylinder T-1\n  2026-03-14 filled to 4500 psi\n      remark "hot"\n'
    assert neatened(text) == 'cylinder T-1\n  2026-03-14        filled  to 4500 psi  remark "hot"\n'


def test_corrections_of_a_long_line_have_their_own_lines():
    why = "x" * 60
    text = f'cylinder T-1\n  2026-03-14 filled to 4500 psi struck 2026-03-15 by ayla "{why}" remark "hot" # seen\n'
    assert neatened(text) == (
        "cylinder T-1\n"
        "  2026-03-14        filled  to 4500 psi\n"
        '      remark "hot"\n'
        f'      struck 2026-03-15 by ayla "{why}"  # seen\n'
    )


def test_the_reason_of_a_long_waiver_has_its_own_line():
    why = "x" * 60
    text = f'waived visual-overdue for T-9 until 2026-12-31 by ayla "{why}"\n'
    assert neatened(text) == f'waived visual-overdue for T-9 until 2026-12-31 by ayla\n    "{why}"\n'


def test_comments_among_the_words_of_an_entry_keep_their_lines():
    text = 'cylinder T-1\n\t2026-03-14 filled to 4500psi # by eye\n\t# really\n\n\n\t\tremark "hot" at 88°F\n'
    assert neatened(text) == (
        'cylinder T-1\n  2026-03-14  filled  to 4500 psi  # by eye\n      # really\n\n      remark "hot"  at 88 F\n'
    )


def test_damaged_lines_stay_to_the_byte_and_keep_the_indent_of_their_block():
    text = 'cylinder T-1\n\t serial   X\n\t2026-02-30  remarked   "no such day" \n\t2026-03-14 fild  to 4500psi\n\t2026-03-14 filled to 4500psi\n'
    assert neatened(text) == (
        'cylinder T-1\n\t serial     X\n\t2026-02-30  remarked   "no such day" \n\t2026-03-14 fild  to 4500psi\n'
        "\t2026-03-14        filled  to 4500 psi\n"
    )


@pytest.mark.parametrize("text", ["", "\n", " \t\n\n", "\r\n"])
def test_nothing_stays_nothing(text):
    assert neatened(text) == ""


def test_line_ends_are_kept_as_found():
    assert neatened('site a "A"\r\nsite  b "B"\nsite c "C"') == 'site a "A"\r\nsite b "B"\nsite c "C"\r\n'


def test_blank_lines_are_kept_one_for_several():
    assert neatened('\n\nsite a "A"\n\n \n\t\nsite b "B"\n\n') == 'site a "A"\n\nsite b "B"\n'


def test_comments_keep_column_one_and_go_in_with_their_block():
    text = "cylinder T-1\n      # far in  \n# in the margin\n  serial X # exact,  really\n"
    assert neatened(text) == "cylinder T-1\n  # far in\n# in the margin\n  serial     X  # exact,  really\n"


def test_a_conflict_is_not_touched():
    text = "cylinder T-1\n<<<<<<< ours\n  serial X\n=======\n  serial Y\n>>>>>>> theirs\n"
    assert "<<<<<<< ours\n" in neatened(text) and "=======\n" in neatened(text) and ">>>>>>> theirs\n" in neatened(text)
