"""
The record, the rules and the day that a command judges by.
"""

import os
from datetime import UTC, date, datetime

import pytest

from cylfile.files import rules_and_day
from support.house_record import BAD, DEPARTMENT, PACK
from support.running import Here


def headline(outcome) -> str:
    return outcome.out.partition("\n")[0]


def test_the_day_is_todays_in_the_departments_zone(house, monkeypatch):
    class Clock(datetime):
        @classmethod
        def now(cls, zone=None):
            return datetime(2026, 3, 1, 5, 30, tzinfo=UTC).astimezone(zone)

    monkeypatch.setattr(rules_and_day, "datetime", Clock)
    assert "as of 2026-02-28" in headline(house("lint", as_of=None))
    (house.folder / "department.cyl").write_text(DEPARTMENT.replace("America/Boise", "Pacific/Auckland"))
    assert "as of 2026-03-01" in headline(house("lint", as_of=None))


def test_without_a_zone_the_day_is_that_of_the_machine(house):
    (house.folder / "department.cyl").write_text(DEPARTMENT.replace("  zone   America/Boise\n", ""))
    before, shown, after = date.today(), headline(house("lint", as_of=None)), date.today()
    assert any(f"as of {day}" in shown for day in (before, after))


@pytest.mark.parametrize("zone", ["America/Bosie", "America", "../../etc/passwd", "Europe/Lodnon"])
def test_an_unknown_zone_is_a_finding_whatever_the_day(house, zone):
    (house.folder / "department.cyl").write_text(DEPARTMENT.replace("America/Boise", zone))
    for as_of in ("2026-11-25", None):
        line = house("lint", "--as", "lines", "department.cyl", as_of=as_of).out
        expected = f"there is no time zone `{zone}`, so today is taken from this machine's clock"
        assert f"department.cyl:2:3: warning: unknown-name: {expected}\n" in line or "unreadable-line" in line


def test_a_misspelled_zone_is_guessed_at(house):
    (house.folder / "department.cyl").write_text(DEPARTMENT.replace("America/Boise", "America/Bosie"))
    assert "Did you mean `America/Boise`?" in house("lint").out


def test_a_machine_without_time_zones_says_so_only_where_it_matters(house, monkeypatch):
    import zoneinfo

    def none(key):
        raise zoneinfo.ZoneInfoNotFoundError(key)

    monkeypatch.setattr(zoneinfo, "ZoneInfo", none)
    monkeypatch.setattr(zoneinfo, "available_timezones", set)
    told = "cylfile: this machine knows no time zones; today is taken from its own clock\n"
    assert house("lint", as_of=None).err == told
    assert house("lint").err == ""
    assert "unknown-name" not in house("lint").out


def test_the_rules_are_those_of_the_department(house):
    assert headline(house("lint")).endswith("rules: house.cylpack")


def test_rules_are_found_from_wherever_the_record_is_read(house):
    outcome = Here(house.folder.parent, house.as_of)("lint", house.folder.name)
    assert headline(outcome).endswith("rules: house.cylpack") and "past-test" in outcome.out
    assert f"record: {house.folder.name} " in outcome.out and " cards/bad.cyl:6" in outcome.out


def test_other_rules_can_be_asked_for(house, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "under.cylpack").write_text(PACK.replace("pack house", "pack under").replace("past-test", "late"))
    (elsewhere / "over.cylpack").write_text('pack over "Over"\n  over "under.cylpack"\nlevel late  notice\n')
    outcome = house("lint", "--rules", str(elsewhere / "over.cylpack"), "--as", "lines")
    assert "notice: late: filled 1,858 days after its test fell due" in outcome.out
    assert "past-test" not in outcome.out and outcome.status == 0
    two = house("lint", "--rules", str(elsewhere / "under.cylpack"), "--rules", str(elsewhere / "over.cylpack"))
    assert headline(two).endswith("rules: under.cylpack, over.cylpack")


@pytest.mark.parametrize(
    "pack, message",
    [
        ("us-dto", "there is no rule pack `us-dto`. Did you mean `us-dot`? "),
        ("./gone.cylpack", "there is no pack file `./gone.cylpack`; "),
        ("house", "there is no rule pack `house`. "),
    ],
)
def test_rules_that_are_not_there_cannot_be_asked_for(house, pack, message):
    status, out, err = house("lint", "--rules", pack)
    assert (status, out) == (2, "") and err.startswith(f"cylfile: {message}") and err.count("\n") == 1


def test_a_pack_that_the_ledger_names_and_is_not_there_is_a_finding(house):
    (house.folder / "house.cylpack").unlink()
    outcome = house("lint", "--as", "lines")
    assert "department.cyl:3:3: danger: unreadable-line: there is no rule pack `house.cylpack`\n" in outcome.out
    assert outcome.status == 1


@pytest.mark.parametrize(
    "path", ["../secret.cylpack", "/etc/secret.cylpack", "~/secret.cylpack", "cards/../../secret.cylpack"]
)
def test_a_pack_outside_the_record_is_never_opened(house, path):
    (house.folder.parent / "secret.cylpack").write_text('pack secret "the secret itself"\n  nonsense\n')
    (house.folder / "department.cyl").write_text(DEPARTMENT.replace("house.cylpack", path))
    outcome = house("lint", "--as", "lines")
    assert f"department.cyl:3:3: danger: unreadable-line: the path `{path}` leads out of the record" in outcome.out
    assert "nonsense" not in outcome.out


def test_no_link_leads_to_a_pack_outside_the_record(house, tmp_path_factory):
    secret = tmp_path_factory.mktemp("elsewhere") / "secret.cylpack"
    secret.write_text('pack secret "the secret itself"\n  nonsense\n')
    (house.folder / "house.cylpack").unlink()
    os.symlink(secret, house.folder / "house.cylpack")
    outcome = house("lint", "--as", "lines")
    expected = "the rule pack `house.cylpack` cannot be read: it is a link that leads out of the record"
    assert f"department.cyl:3:3: danger: unreadable-line: {expected}\n" in outcome.out
    assert "nonsense" not in outcome.out


def test_a_link_inside_the_record_is_as_good_as_the_file(house):
    os.rename(house.folder / "house.cylpack", house.folder / "cards" / "real.cylpack")
    os.symlink(house.folder / "cards" / "real.cylpack", house.folder / "house.cylpack")
    assert "past-test" in house("lint").out


@pytest.mark.parametrize("content, why", [(b"x\xff", "not UTF-8 text"), (None, "it is no file")])
def test_a_pack_that_cannot_be_read_is_a_finding_at_its_line(house, content, why):
    (house.folder / "house.cylpack").unlink()
    if content is None:
        (house.folder / "house.cylpack").mkdir()
    else:
        (house.folder / "house.cylpack").write_bytes(content)
    (line,) = [line for line in house("lint", "--as", "lines").out.split("\n") if "unreadable-line" in line]
    assert line.startswith(
        f"department.cyl:3:3: danger: unreadable-line: the rule pack `house.cylpack` cannot be read: {why}"
    )


def test_a_fault_inside_a_pack_is_shown_in_the_pack(house):
    (house.folder / "house.cylpack").write_text(PACK + 'rule odd danger\n  on filled\n  when day > 4 psi\n  say "x"\n')
    line = PACK.count("\n") + 3
    assert f"house.cylpack:{line}:8: danger: " in house("lint", "--as", "lines").out


def test_standard_input_is_a_file(house):
    status, out, err = house("lint", "--as", "lines", "-", given=(DEPARTMENT + BAD).encode())
    assert (status, err) == (1, "")
    assert out == "-:10:3: danger: past-test: filled 1,858 days after its test fell due\n"
