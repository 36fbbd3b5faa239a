"""`cylfile enter` as its users run it."""

import os
import re
import stat
import sys
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from support.small_record import CARDS, SHEETS

AS_OF = ("--as-of", "2026-03-14")


def enter(entered, sentence, *options, **environment):
    return entered("enter", sentence, *options, *AS_OF, **environment)


def test_a_fill_goes_to_the_sheet_of_the_day(entered):
    status, out, err = enter(entered, "today 10:04 filled T-1 from 800 psi to 4400psi at 86 F by ben")
    assert (status, err) == (0, "")
    assert out == (
        "fills.cyl:4  2026-03-14 10:04 filled T-1 from 800 psi to 4400 psi at 86 F by ben on C1 at quay\n"
        "  from the head of the sheet: on C1, at quay\n"
    )
    assert entered.text("fills.cyl") == SHEETS + "  10:04  T-1     from 800 psi   to 4400 psi  at 86 F  by ben\n"
    assert entered.text("cards.cyl") == CARDS
    assert sorted(os.listdir(entered.folder)) == ["cards.cyl", "department.cyl", "fills.cyl", "house.cylpack"]


def test_other_entries_go_to_the_card(entered):
    assert enter(entered, 'today remarked T-1 "dusty"').out == 'cards.cyl:6  2026-03-14 remarked T-1 "dusty"\n'
    assert entered.text("cards.cyl") == CARDS.replace(
        "at quay\n\n", 'at quay\n  2026-03-14        remarked "dusty"\n\n', 1
    )


def test_a_tag_will_do_for_a_name(entered):
    assert "filled T-1 to 4400 psi" in enter(entered, "today filled E200341 to 4400 psi").out


def test_now_is_the_time_in_the_zone_of_the_department(entered, program):
    """Wherever the machine is."""
    far_east = program("enter", 'now remarked T-1 "dusty"', TZ="Pacific/Kiritimati")
    assert far_east.status == 0, far_east.err
    written = re.search("(20[0-9-]{8} [0-9:]{5}) remarked T-1", far_east.out)[1]
    there = datetime.now(ZoneInfo("America/Denver")).replace(tzinfo=None)
    assert timedelta(0) <= there - datetime.fromisoformat(written) < timedelta(minutes=5)


def test_danger_is_refused(entered):
    status, out, err = enter(entered, "today filled T-2 to 4400 psi at 70 F")
    assert status == 1 and err == ""
    assert "DANGER" in out and "due by 2025-01-31" in out and "past-test" in out and "Nothing was written." in out
    assert entered.text("fills.cyl") == SHEETS


def test_danger_is_written_when_somebody_answers_for_it_and_the_finding_stands(entered):
    status, out, err = enter(
        entered, "today filled T-2 to 4400 psi at 70 F", "--override", 'the "test" bench', "--by", "ben"
    )
    assert (status, err) == (0, "") and "DANGER" in out
    assert entered.text("fills.cyl") == (
        SHEETS + '  T-2     to 4400 psi  at 70 F  remark "overridden by ben: the \\"test\\" bench"\n'
    )
    lint = entered("lint", "--as", "lines", "--fail-at", "danger", *AS_OF)
    assert lint.status == 1 and ": danger: past-test: " in lint.out


def test_the_reason_of_an_override_follows_the_remark_that_there_is(entered):
    sentence = 'today filled T-2 to 4400 psi remark "two bottles left"'
    out = enter(entered, sentence, "--override", "fire on the ridge", "--by", "ben").out
    assert 'remark "two bottles left; overridden by ben: fire on the ridge"' in out


def test_an_entry_comes_after_all_that_is_written_for_its_day_or_asks_for_the_time(entered):
    assert enter(entered, 'today damaged T-2 "dropped" by ben').status == 0
    # A sheet of fills would not tell that the fill came later; the card does.
    refused = enter(entered, "today filled T-2 to 4400 psi at 70 F by ben", "--override", "seen", "--by", "ben")
    assert "cards.cyl:12  2026-03-14 filled T-2" in refused.out
    (entered.folder / "other.cyl").write_text("2026-03-14 visual T-1 pass by ben\n")
    status, out, err = enter(entered, "today gauged T-1 4400 psi")
    assert status == 2 and out == "" and "nothing tells whether this came before or after" in err
    assert "Say the time after the day" in err
    assert enter(entered, 'today remarked T-1 "dusty"').status == 0, "of a remark it makes no difference"


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--override", "bench"), "--by PERSON"),
        (("--by", "ben"), "--override"),
        (("--override", "bench", "--by", "nobody"), "`nobody`"),
        (("--override", "a\u202eb", "--by", "ben"), "U+202E"),
        (("--override", " ", "--by", "ben"), "without a reason"),
    ],
)
def test_an_override_has_to_be_whole(entered, options, told):
    status, out, err = enter(entered, "today filled T-2 to 4400 psi", *options)
    assert status == 2 and told in err and err.count("\n") == 1 and out == ""
    assert entered.text("fills.cyl") == SHEETS


def test_news_is_written_however_bad_it_is(entered):
    """What was found has to be in the entered, and the danger has to stand."""
    status, out, _ = enter(entered, "today 10:10 gauged T-1 6500 psi")
    assert status == 0 and "DANGER" in out and "gauged 6500 psi" in entered.text("cards.cyl")


def test_what_cannot_be_is_refused_even_as_news(entered):
    enter(entered, "2026-03-10 retired T-2")
    status, out, _ = enter(entered, "today gauged T-2 4000 psi")
    assert status == 1 and "out-of-order-life" in out


def test_a_sealed_period_takes_only_what_is_written_as_late(entered):
    assert entered("seal", "--through", "2026-03-13", "--by", "ben", "--as-of", "2026-03-14").status == 0
    status, out, _ = enter(entered, '2026-03-10 remarked T-1 "dusty"')
    assert status == 1 and "seal-broken" in out and "no signature can change that" in out and "`late`" in out
    assert enter(entered, '2026-03-10 remarked T-1 "dusty"', "--override", "x", "--by", "ben").status == 1
    assert entered.text("cards.cyl") == CARDS
    late = enter(entered, '2026-03-10 remarked T-1 "dusty" late 2026-03-14 by ben "forgotten"')
    assert late.status == 0 and entered("seal", "--check").status == 0


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        ("today filled T-1 tp 4400 psi", "character 23 of the sentence: `tp` "),
        ("today filled T-1", "`filled` needs `to` with the pressure reached"),
        ("today filled T-1 to 4400 psi to 4500 psi", "is written twice"),
        ("2026-02-30 filled T-1 to 4400 psi", "there is no day 2026-02-30"),
        ("filled T-1 to 4400 psi", "a sentence begins with the day"),
        ("today filled T-9 to 4400 psi", "no card declares `T-9`"),
        ("today filled T-1 to 4400 psi by bne", "no block declares the person `bne`"),
        ("today filled ben to 4400 psi", "`ben` is a person"),
        ("today gauged C1 4400 psi", "C1 is a "),
        ('cylinder T-9 "x"', "a sentence begins with the day"),
        ('today remarked T-1 "a\x1bb"', "U+001B"),
        ("filled", "put all of it in quotation marks"),
        ('today remarked T-1 "a"\ntoday emptied T-1', "one line"),
    ],
)
def test_a_sentence_that_cannot_be_used_is_told_in_one_line(entered, sentence, told):
    status, out, err = enter(entered, sentence)
    assert (status, out) == (2, "")
    assert told in err and err.count("\n") == 1 and "\x1b" not in err
    assert (entered.text("fills.cyl"), entered.text("cards.cyl")) == (SHEETS, CARDS)


def test_without_a_sentence_and_a_terminal(entered):
    status, out, err = entered("enter")
    assert status == 2 and out == "" and "questions are asked on a terminal only" in err


def test_who_and_where_by_default(entered):
    out = enter(entered, "today 10:10 filled T-1 to 4400 psi", CYLFILE_PERSON="ben", CYLFILE_SITE="pier").out
    assert "filled T-1 to 4400 psi by ben at pier" in out and "by your defaults: by ben, at pier" in out
    assert "fill sheet 2026-03-14  at pier  by ben\n" in entered.text("fills.cyl")
    folder = entered.folder.parent / "settings" / "cylfile"
    folder.mkdir(parents=True)
    (folder / "defaults.toml").write_text('by = "ayla"\nat = "pier"\n')
    where = str(folder.parent)
    assert "by ben" in enter(entered, "today 11:11 emptied T-1", XDG_CONFIG_HOME=where, CYLFILE_PERSON="ben").out
    assert "by ayla at pier" in enter(entered, "2026-03-13 emptied T-1", XDG_CONFIG_HOME=where).out
    hydro = enter(entered, "2026-03-12 hydro T-1 pass", XDG_CONFIG_HOME=where).out
    assert "by ayla" not in hydro and "at pier" in hydro
    (folder / "defaults.toml").write_text("by = 3\n")
    assert enter(entered, "today 11:11 emptied T-1", XDG_CONFIG_HOME=where).status == 2
    (folder / "defaults.toml").write_text("by = \n")
    assert enter(entered, "today 11:11 emptied T-1", XDG_CONFIG_HOME=where).err.count("\n") == 1


def test_a_sheet_in_a_file_of_its_own(entered):
    assert enter(entered, "today 10:10 gauged T-1 4400 psi at 68 F", "--into", "gauges.cyl").status == 0
    assert entered.text("gauges.cyl") == "gauge sheet 2026-03-14\n  10:10  T-1     4400 psi  at 68 F\n"
    assert enter(entered, "today 10:20 gauged T-1 4400 psi at 60 F").out.startswith("gauges.cyl:3")
    for name in ("../gauges.cyl", "house.cylpack", "gauges.txt", ".hidden/gauges.cyl"):
        status, _, err = enter(entered, "today 10:30 gauged T-1 4400 psi", "--into", name)
        assert status == 2 and "a file of this record" in err and not (entered.folder / ".hidden").exists()


def test_line_ends_mark_and_rights_of_the_file_are_kept(entered):
    path = entered.folder / "fills.cyl"
    path.write_bytes(b"\xef\xbb\xbf" + SHEETS.replace("\n", "\r\n").encode())
    path.chmod(0o640)
    assert enter(entered, "today 10:04 filled T-1 to 4400 psi").status == 0
    assert (
        path.read_bytes()
        == b"\xef\xbb\xbf" + SHEETS.replace("\n", "\r\n").encode() + b"  10:04  T-1     to 4400 psi\r\n"
    )
    assert sys.platform == "win32" or stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_file_that_is_no_text_is_not_written_to(entered):
    (entered.folder / "old.cyl").write_bytes(b"site \xff\n")
    assert enter(entered, "today 11:11 emptied T-1").status == 0
    status, _, err = enter(entered, "today 12:10 filled T-1 to 4400 psi", "--into", "old.cyl")
    assert status == 2 and "not UTF-8" in err and (entered.folder / "old.cyl").read_bytes() == b"site \xff\n"


def test_what_it_brings_short_of_danger_is_told(entered):
    status, out, _ = enter(entered, "2026-03-20 filled T-1 to 4400 psi")
    assert status == 0 and "WARNING" in out and "future-entry" in out


def test_the_help_has_examples(entered):
    status, out, _ = entered("enter", "--help")
    assert status == 0 and '\nexamples:\n  cylfile enter "' in out and "CYLFILE_PERSON" in out
