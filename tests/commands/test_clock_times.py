"""Times that a zone's clocks skipped or showed twice are said, with the zone; and nothing is, where no zone is known."""

import json

import pytest

SKIPPED, TWICE = "no-such-time", "time-came-twice"


def found(here, zone, *lines) -> list[tuple]:
    here.as_of = "2026-12-01"
    here.write("department.cyl", f'department "Dale"\n{zone}  rules  us-dot\nperson vale "Ada Vale"\n')
    here.write("cards.cyl", "cylinder K-1\n  class  dot-3aa\n" + "".join(f"  {line}\n" for line in lines))
    only = ("--only", SKIPPED, "--only", TWICE)
    said = json.loads(here("lint", *only, "--fail-at", "notice", "--as", "json").out)["findings"]
    return [(one["rule"], one["level"], one["subject"], one["file"], one["line"], one["text"]) for one in said]


@pytest.mark.parametrize(
    "zone, moment, rule, words",
    [
        ("America/Denver", "2026-03-08 02:30", SKIPPED, "no clock in America/Denver showed 02:30 on 2026-03-08: they were put forward by 1 h"),
        ("America/Denver", "2026-03-08 02:00", SKIPPED, "showed 02:00"),
        ("America/Denver", "2026-03-08 03:00", None, ""),
        ("America/Denver", "2026-03-08 01:59:59", None, ""),
        ("America/Denver", "2026-11-01 01:30", TWICE, "the clocks in America/Denver showed 01:30 on 2026-11-01 twice: they were put back by 1 h"),
        ("America/Denver", "2026-11-01 02:00", None, ""),
        ("America/Denver", "2026-11-01 00:59", None, ""),
        ("America/Denver", "2026-03-09 02:30", None, ""),
        ("America/Phoenix", "2026-03-08 02:30", None, ""),
        ("Australia/Lord_Howe", "2026-04-05 01:45", TWICE, "put back by 30 min"),
        # At midnight.
        ("America/Havana", "2026-03-08 00:15", SKIPPED, "put forward by 1 h"),
        ("Asia/Beirut", "2025-10-25 23:30", TWICE, "put back by 1 h"),
    ],
)  # fmt: skip
def test_a_time_on_the_day_on_which_clocks_change(here, zone, moment, rule, words):
    said = found(here, f"  zone  {zone}\n", f"{moment}  gauged 900 psi")
    assert [(one[0], one[2:5]) for one in said] == ([(rule, ("K-1", "cards.cyl", 3))] if rule else [])
    assert all(words in one[5] for one in said)


def test_it_is_quiet_without_a_zone_and_of_what_is_struck(here):
    line = "2026-03-08 02:30  gauged 900 psi"
    assert found(here, "", line) == []
    assert (
        found(here, "  zone  America/Denver\n", f'{line}  struck 2026-03-09 by vale "03:30"', "2026-03-08 emptied")
        == []
    )


def test_it_is_quiet_on_a_machine_that_knows_no_zones(here, monkeypatch):
    monkeypatch.setattr("zoneinfo.ZoneInfo", lambda name: (_ for _ in ()).throw(KeyError(name)))
    monkeypatch.setattr("zoneinfo.available_timezones", set)
    assert found(here, "  zone  America/Denver\n", "2026-03-08 02:30  gauged 900 psi") == []


def test_a_sheet_and_a_source_are_looked_at_too(here):
    found(here, "  zone  America/Denver\n", "2026-01-01  emptied")
    here.write("air.cyl", 'source C1 "Compressor"\n  kind  compressor\n  2026-03-08 02:10  gauge checked\n'
               "fill sheet 2026-03-08  on C1\n  02:59  K-1  to 2000 psi\n")  # fmt: skip
    said = json.loads(here("lint", "--only", SKIPPED, "--as", "json").out)["findings"]
    assert [(one["subject"], one["line"]) for one in said] == [("C1", 3), ("K-1", 5)]


def test_a_new_entry_of_such_a_time_is_told(here):
    found(here, "  zone  America/Denver\n", "2026-01-01  emptied", "2026-03-08 02:20  gauged 0 psi")
    assert (
        "no clock in America/Denver showed 02:30 on 2026-03-08"
        in here("enter", "2026-03-08 02:30 gauged K-1 900 psi").out
    )
    assert "02:20" not in here("enter", "2026-03-08 03:30 gauged K-1 900 psi").out
