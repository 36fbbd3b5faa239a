"""One person, or one cylinder, at two sites closer together in time than can be."""

from datetime import date

import pytest

from cylfile.findings.two_places import TOO_CLOSE_S, two_places_at_once
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.text.source import Source

HEAD = 'site north "N"\nsite south "S"\nperson p "P"\nperson q "Q"\ncylinder A\ncylinder B\n'


def found(text: str, as_of: date = date(2026, 12, 31), head: str = HEAD) -> list[tuple[str, str, str]]:
    """(text, the fill, the other one) of each."""
    record = read_record([Source("a.cyl", head + text)])
    assert record.faults == []
    return [
        (said, plain_form(fill), plain_form(other))
        for fill, said, other in two_places_at_once(record, as_of, record.entries)
    ]


def fill(time: str, name: str, site: str, by: str = "", more: str = "") -> str:
    return (
        " ".join(
            filter(
                None, ["2026-05-01", time, "filled", name, "to 1 psi", by and f"by {by}", site and f"at {site}", more]
            )
        )
        + "\n"
    )


def test_nobody_is_at_two_stations_within_five_minutes():
    assert TOO_CLOSE_S == 300


@pytest.mark.parametrize(
    "later, is_told",
    [
        ("09:00", True),
        ("09:00:01", True),
        ("09:04:59", True),
        ("09:05", False),
        ("09:06", False),
        ("08:55:01", True),
        ("08:55", False),
    ],
)
def test_one_person_at_two_sites(later, is_told):
    what = found(fill("09:00", "A", "north", "p") + fill(later, "B", "south", "p"))
    assert bool(what) is is_told
    if is_told:
        (said, one, other) = what[0]
        first, second = (
            sorted([("09:00", "north"), (later[:5], "south")])
            if later != "09:00"
            else [("09:00", "north"), ("09:00", "south")]
        )
        assert said == f"p fills at {second[1]} at {second[0]} and at {first[1]} at {first[0]}"
        assert second[1] in one and first[1] in other


def test_one_cylinder_at_two_sites_whoever_fills_it():
    what = found(fill("09:00", "A", "north", "p") + fill("09:04", "A", "south", "q"))
    assert [said for said, _, _ in what] == ["A is filled at south at 09:04 and at north at 09:00"]


def test_one_cylinder_by_one_person_is_told_for_both():
    what = found(fill("09:00", "A", "north", "p") + fill("09:04", "A", "south", "p"))
    assert sorted(said.split(" at ")[0] for said, _, _ in what) == ["A is filled", "p fills"]


@pytest.mark.parametrize(
    "text",
    [
        fill("09:00", "A", "north", "p") + fill("09:01", "B", "south", "q"),
        fill("09:00", "A", "north", "p") + fill("09:01", "B", "north", "p"),
        fill("09:00", "A", "north", "p") + fill("", "B", "south", "p"),
        fill("09:00", "A", "north", "p") + fill("09:01", "B", "", "p"),
        fill("09:00", "A", "north") + fill("09:01", "B", "south"),
        fill("09:00", "A", "north", "p") + fill("09:01", "B", "south", "p", 'struck 2026-05-02 by q "x"'),
        fill("09:00", "A", "north", "p") + fill("09:01", "B", "south", "p").replace("05-01", "05-02"),
    ],
    ids=["two people", "one site", "no time", "no site", "nobody named", "struck", "two days"],
)
def test_what_tells_nothing(text):
    assert found(text) == []


def test_what_is_to_come_tells_nothing_yet():
    text = fill("09:00", "A", "north", "p") + fill("09:01", "B", "south", "p")
    assert found(text, date(2026, 4, 30)) == [] and len(found(text, date(2026, 5, 1))) == 1


def test_each_change_of_site_is_told():
    times = ["09:00", "09:01", "09:02", "09:03"]
    text = "".join(fill(time, "AB"[n % 2], ["north", "south"][n % 2], "p") for n, time in enumerate(times))
    assert [said for said, _, _ in found(text)] == [
        "p fills at south at 09:01 and at north at 09:00",
        "p fills at north at 09:02 and at south at 09:01",
        "p fills at south at 09:03 and at north at 09:02",
    ]


def test_only_neighbors_in_time_are_compared_in_whatever_order_they_are_written():
    text = fill("09:04", "B", "south", "p") + fill("09:02", "A", "north", "p") + fill("09:00", "A", "north", "p")
    assert [said for said, _, _ in found(text)] == ["p fills at south at 09:04 and at north at 09:02"]


def test_the_site_may_come_from_the_sheet():
    sheets = (
        "fill sheet 2026-05-01 at north by p\n  09:00 A to 1 psi\n"
        "fill sheet 2026-05-01 at south by p\n  09:01 B to 1 psi\n"
    )
    assert len(found(sheets)) == 1
