"""
A fill is not entered, unless somebody answers for it, while a line cannot be read that may be about its cylinder or its air.
"""

import pytest

from support.small_record import CARDS, DEPARTMENT

FILL = "2026-03-15 filled T-1 from 900 psi to 4400 psi at 70 F by ben on C1"
SIGNED = ("--override", "asked the maker", "--by", "ayla")


@pytest.mark.parametrize(
    "path, text, refused",
    [
        ("department.cyl", DEPARTMENT + "  2026-01-14  air sample paas\n", True),
        ("cards.cyl", CARDS.replace("at quay\n", "at quay\n  2026-03-01  visual paas\n", 1), True),
        ("more.cyl", "2026-03-01  visaul T-1 pass\n", True),
        ("more.cyl", "2026-03-01  visaul T-2 pass\n", False),
        ("more.cyl", 'source C2 "Trailer"\n  kind compressor\n  2026-01-14  air sample paas\n', False),
    ],
)
def test_what_cannot_be_read_about_a_cylinder_or_its_air_bars_a_fill(entered, path, text, refused):
    entered.write(path, text)
    before = entered.text("fills.cyl")
    done = entered("enter", FILL, as_of="2026-03-15")
    assert (done.status, "Nothing was written." in done.out, entered.text("fills.cyl") == before) == (refused,) * 3
    assert not refused or f"{path}:" in done.out and "unreadable-line" in done.out
    assert entered("enter", '2026-03-16 remarked T-1 "dusty"', as_of="2026-03-16").status == 0
    if refused:
        assert entered("enter", FILL, *SIGNED, as_of="2026-03-16").status == 0


def test_a_card_whose_header_cannot_be_read_is_no_new_one(entered):
    entered.write("more.cyl", "cylindr T-9\n  made 2020-01\n")
    said = "the line that may open the card of `T-9` cannot be read (more.cyl:1); correct it first\n"
    for command in (("enter", "2026-03-16 emptied T-9"), ("card", "T-9")):
        assert entered(*command, as_of="2026-03-16") == (2, "", f"cylfile: {said}")
