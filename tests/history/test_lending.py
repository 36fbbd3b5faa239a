"""What departments have of each other, and which bars of a cylinder at the one hold at the other."""

from datetime import date

import pytest

from cylfile.history.fold import life_of
from cylfile.history.lending import Neighbor, barred_elsewhere, is_with
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

NO_PACKS, _ = load_rules([], lambda name: None)


def record_of(*lines: str):
    return read_record([Source("a.cyl", "cylinder K-1\n" + "".join(f"  {line}\n" for line in lines))])


@pytest.mark.parametrize(
    "there, here, kinds",
    [
        ('condemned "cut"', 'remarked "x"', ["condemned"]),
        ('condemned "cut"', 'condemned "cut"', []),
        ("visual fail", "visual pass", []),
        ("visual fail", "hydro pass", ["visual"]),
        ('damaged "cut"', 'remarked "x"', ["damage"]),
        # Where it was given back, neither says anything of the cylinder itself.
        ("retired", 'remarked "x"', []),
        ('out of service "lent"', 'remarked "x"', []),
    ],
)
def test_what_bars_a_cylinder_elsewhere_bars_it_here_unless_it_is_a_copy_or_of_that_department_alone(
    there, here, kinds
):
    other, own = record_of(f"2026-01-05 {there}"), record_of(f"2026-01-05 {here}", '2026-01-06 remarked "y"')
    bars = life_of(other, NO_PACKS, other.cylinders["K-1"], date(2026, 2, 1)).bars
    assert len(bars) == 1 and [bar.kind for bar in barred_elsewhere(own.entries["K-1"], bars)] == kinds
    # The same line of another day is no copy.
    later = record_of(f"2026-01-06 {here}").entries["K-1"]
    assert len(barred_elsewhere(later, bars)) == (0 if there.startswith(("retired", "out")) else 1)


def test_a_cylinder_is_with_another_department_at_a_site_of_that_or_one_that_has_its_name():
    own = Neighbor("Alder", {"st1": "Station 1", "lent": "BIRCH"})
    other = Neighbor("Birch", {"b1": "Birch 1", "st1": "Their own"})
    places = {"st1": False, "lent": True, "b1": True, "nowhere": False, None: False}
    assert {site: is_with(site, own, other) for site in places} == places
    assert [other.goes_by(words) for words in ("birch", "Alder", "", None)] == [True, False, False, False]
    assert not Neighbor("", {}).goes_by("")
