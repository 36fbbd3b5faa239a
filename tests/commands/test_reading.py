"""
The record, the rules and the day that a command judges by.
"""

import os
from datetime import UTC, date, datetime

import pytest

from cylfile.files import rules_and_day
from support.house_record import BAD, DEPARTMENT, PACK


def headline(outcome) -> str:
    return outcome.out.partition("\n")[0]


def test_the_day_is_todays_in_the_departments_zone(run, record, monkeypatch):
    class Clock(datetime):
        @classmethod
        def now(cls, zone=None):
            return datetime(2026, 3, 1, 5, 30, tzinfo=UTC).astimezone(zone)

    monkeypatch.setattr(rules_and_day, "datetime", Clock)
    assert "as of 2026-02-28" in headline(run("lint", as_of=None))
    (record / "department.cyl").write_text(DEPARTMENT.replace("America/Boise", "Pacific/Auckland"))
    assert "as of 2026-03-01" in headline(run("lint", as_of=None))


def test_without_a_zone_the_day_is_that_of_the_machine(run, record):
    (record / "department.cyl").write_text(DEPARTMENT.replace("  zone   America/Boise\n", ""))
    before, shown, after = date.today(), headline(run("lint", as_of=None)), date.today()
    assert any(f"as of {day}" in shown for day in (before, after))


@pytest.mark.parametrize("zone", ["America/Bosie", "America", "../../etc/passwd", "Europe/Lodnon"])
def test_an_unknown_zone_is_a_finding_whatever_the_day(run, record, zone):
    (record / "department.cyl").write_text(DEPARTMENT.replace("America/Boise", zone))
    for as_of in ("2026-11-25", None):
        line = run("lint", "--as", "lines", "department.cyl", as_of=as_of).out
        expected = f"there is no time zone `{zone}`, so today is taken from this machine's clock"
        assert f"department.cyl:2:3: warning: unknown-name: {expected}\n" in line or "unreadable-line" in line


def test_a_misspelled_zone_is_guessed_at(run, record):
    (record / "department.cyl").write_text(DEPARTMENT.replace("America/Boise", "America/Bosie"))
    assert "Did you mean `America/Boise`?" in run("lint").out


def test_a_machine_without_time_zones_says_so_only_where_it_matters(run, record, monkeypatch):
    import zoneinfo

    def none(key):
        raise zoneinfo.ZoneInfoNotFoundError(key)

    monkeypatch.setattr(zoneinfo, "ZoneInfo", none)
    monkeypatch.setattr(zoneinfo, "available_timezones", set)
    told = "cylfile: this machine knows no time zones; today is taken from its own clock\n"
    assert run("lint", as_of=None).err == told
    assert run("lint").err == ""
    assert "unknown-name" not in run("lint").out


def test_the_rules_are_those_of_the_department(run, record):
    assert headline(run("lint")).endswith("rules: house.cylpack")


def test_rules_are_found_from_wherever_the_record_is_read(run, record, monkeypatch):
    monkeypatch.chdir(record.parent)
    outcome = run("lint", record.name)
    assert headline(outcome).endswith("rules: house.cylpack") and "past-test" in outcome.out
    assert f"{record.name}/cards/bad.cyl:6" in outcome.out


def test_other_rules_can_be_asked_for(run, record, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "under.cylpack").write_text(PACK.replace("pack house", "pack under").replace("past-test", "late"))
    (elsewhere / "over.cylpack").write_text('pack over "Over"\n  over "under.cylpack"\nlevel late  notice\n')
    outcome = run("lint", "--rules", str(elsewhere / "over.cylpack"), "--as", "lines")
    assert "notice: late: filled 1858 days after its test fell due" in outcome.out
    assert "past-test" not in outcome.out and outcome.status == 0
    two = run("lint", "--rules", str(elsewhere / "under.cylpack"), "--rules", str(elsewhere / "over.cylpack"))
    assert headline(two).endswith("rules: under.cylpack, over.cylpack")


@pytest.mark.parametrize(
    "pack, message",
    [
        ("us-dto", "there is no rule pack `us-dto`. Did you mean `us-dot`? "),
        ("./gone.cylpack", "there is no pack file `./gone.cylpack`; "),
        ("house", "there is no rule pack `house`. "),
    ],
)
def test_rules_that_are_not_there_cannot_be_asked_for(run, record, pack, message):
    status, out, err = run("lint", "--rules", pack)
    assert (status, out) == (2, "") and err.startswith(f"cylfile: {message}") and err.count("\n") == 1


def test_a_pack_that_the_ledger_names_and_is_not_there_is_a_finding(run, record):
    (record / "house.cylpack").unlink()
    outcome = run("lint", "--as", "lines")
    assert "department.cyl:3:3: danger: unreadable-line: there is no rule pack `house.cylpack`\n" in outcome.out
    assert outcome.status == 1


@pytest.mark.parametrize(
    "path", ["../secret.cylpack", "/etc/secret.cylpack", "~/secret.cylpack", "cards/../../secret.cylpack"]
)
def test_a_pack_outside_the_record_is_never_opened(run, record, path):
    (record.parent / "secret.cylpack").write_text('pack secret "the secret itself"\n  nonsense\n')
    (record / "department.cyl").write_text(DEPARTMENT.replace("house.cylpack", path))
    outcome = run("lint", "--as", "lines")
    assert f"department.cyl:3:3: danger: unreadable-line: the path `{path}` leads out of the record" in outcome.out
    assert "nonsense" not in outcome.out


def test_no_link_leads_to_a_pack_outside_the_record(run, record, tmp_path_factory):
    secret = tmp_path_factory.mktemp("elsewhere") / "secret.cylpack"
    secret.write_text('pack secret "the secret itself"\n  nonsense\n')
    (record / "house.cylpack").unlink()
    os.symlink(secret, record / "house.cylpack")
    outcome = run("lint", "--as", "lines")
    expected = "the rule pack `house.cylpack` cannot be read: it is a link that leads out of the record"
    assert f"department.cyl:3:3: danger: unreadable-line: {expected}\n" in outcome.out
    assert "nonsense" not in outcome.out


def test_a_link_inside_the_record_is_as_good_as_the_file(run, record):
    os.rename(record / "house.cylpack", record / "cards" / "real.cylpack")
    os.symlink(record / "cards" / "real.cylpack", record / "house.cylpack")
    assert "past-test" in run("lint").out


@pytest.mark.parametrize("content, why", [(b"x\xff", "not UTF-8 text"), (None, "it is no file")])
def test_a_pack_that_cannot_be_read_is_a_finding_at_its_line(run, record, content, why):
    (record / "house.cylpack").unlink()
    if content is None:
        (record / "house.cylpack").mkdir()
    else:
        (record / "house.cylpack").write_bytes(content)
    (line,) = [line for line in run("lint", "--as", "lines").out.split("\n") if "unreadable-line" in line]
    assert line.startswith(
        f"department.cyl:3:3: danger: unreadable-line: the rule pack `house.cylpack` cannot be read: {why}"
    )


def test_a_fault_inside_a_pack_is_shown_in_the_pack(run, record):
    (record / "house.cylpack").write_text(PACK + 'rule odd danger\n  on filled\n  when day > 4 psi\n  say "x"\n')
    assert "house.cylpack:29:8: danger: " in run("lint", "--as", "lines").out


def test_standard_input_is_a_file(program, record):
    text = (DEPARTMENT + BAD).encode()
    with program("lint", "--as", "lines", "--as-of", "2026-11-25", "-", cwd=record, stdin=-1) as running:
        out, err = running.communicate(text)
    assert (running.returncode, err) == (1, b"")
    assert out == b"-:10:3: danger: past-test: filled 1858 days after its test fell due\n"
