"""`cylfile seal` from end to end: writing a seal, checking seals, and naming what broke one."""

import hashlib
import json

import pytest

from support.keeping import CARD

LATE = '  2023-02-03  gauged 2100 psi  late 2024-02-03 by rowan "slip found"\n'
UNREADABLE = "  2023-02-03  gaugd 2100 psi\n"


def seal(keeping, day="2023-06-30", *more, by="vale"):
    return keeping("seal", "--through", day, "--by", by, *more)


def test_sealing_writes_one_line_and_says_the_digest(keeping):
    status, out, err = seal(keeping)
    assert (status, err) == (0, "")
    words = keeping.text("seals.cyl").split()
    assert words[:6] == ["sealed", "2023-06-30", "by", "vale", "4", "entries"] and len(words) == 7
    assert out.splitlines()[:2] == [
        "sealed through 2023-06-30 by vale: 4 entries, in seals.cyl",
        f"SHA-256 {words[6]}",
    ]
    status, out, err = keeping("seal", "--check")
    assert (status, err) == (0, "")
    assert out.split("\n\n")[1].split()[:6] == ["2023-06-30", "by", "vale,", "4", "entries:", "holds"]
    assert keeping("lint", "--only", "seal-broken").status == 0


def test_a_part_of_a_record_is_not_sealed(keeping):
    status, out, err = seal(keeping, "2023-06-30", "department.cyl", "cards.cyl")
    assert (status, out) == (2, "")
    assert err == "cylfile: a seal covers the whole of a record; name its folder in place of a file\n"
    keeping.write("fills/more.cyl", "# none yet\n")
    status, out, err = seal(keeping, "2023-06-30", "fills")
    assert (status, out) == (2, "") and "covers the whole of a record; name its folder, `.`" in err
    assert not (keeping.folder / "seals.cyl").exists()
    assert seal(keeping, "2023-06-30", ".").status == 0
    assert keeping("seal", "--check").status == 0


def test_a_record_named_by_its_folder(keeping):
    keeping.folder = keeping.folder.parent
    assert seal(keeping, "2023-06-30", "record").out.startswith(
        "sealed through 2023-06-30 by vale: 4 entries, in record/seals.cyl"
    )
    assert keeping("seal", "--check", "record").status == 0
    assert keeping("seal", "--check", "record/department.cyl", "record/seals.cyl").status == 0


def test_the_next_seal_stands_where_the_last_one_does(keeping):
    keeping.append("department.cyl", "# Seals\r\n")
    seal(keeping, "2023-01-31", "--into", "department.cyl")
    assert keeping.text("department.cyl").splitlines()[-1].startswith("sealed 2023-01-31 by vale 2 entries ")
    seal(keeping)
    lines = keeping.text("department.cyl").splitlines()
    assert [line.split()[1] for line in lines[-2:]] == ["2023-01-31", "2023-06-30"]
    # Lines are ended as the file ends them.
    assert keeping.text("department.cyl").endswith("\r\n")
    assert not (keeping.folder / "seals.cyl").exists()
    assert keeping("seal", "--check").out.count(": holds") == 2


def test_a_file_without_a_last_line_end_gets_one(keeping):
    keeping.write("seals.cyl", "# seals")
    seal(keeping)
    assert keeping.text("seals.cyl").startswith("# seals\nsealed ")


@pytest.mark.parametrize(
    "change, arguments, message",
    [
        (None, ["2023-06-30", "nobody"], 'no block declares the person `nobody`; correct the name, or write: person nobody'),
        (None, ["2023-06-30", "K-1"], "no block declares the person `K-1`"),
        (None, ["2024-06-01", "vale"], "2024-06-01 is not over (today is 2024-06-01)"),
        (None, ["2025-01-01", "vale"], "2025-01-01 is not over"),
        (UNREADABLE, ["2023-06-30", "vale"], "one thing must be corrected before sealing, the first at cards.cyl:7"),
        ("  2023-02-03  gauged 2100 psi by noone\n", ["2023-06-30", "vale"], "one thing must be corrected before sealing"),
        (CARD, ["2023-06-30", "vale"], "one thing must be corrected before sealing"),
        (None, ["2023-02-30", "vale"], "`--through`: `2023-02-30` is not a day"),
    ],
)  # fmt: skip
def test_what_is_not_sealed(keeping, change, arguments, message):
    if change:
        keeping.append("cards.cyl", change)
    status, out, err = seal(keeping, arguments[0], by=arguments[1])
    assert (status, out) == (2, "")
    assert err.startswith(f"cylfile: {message}") and err.count("\n") == 1
    assert not (keeping.folder / "seals.cyl").exists()


@pytest.mark.parametrize(
    "arguments, message",
    [
        ([], "say what to do"),
        (["--through", "2023-06-30"], "a seal is signed: say who seals with --by PERSON"),
        (["--through", "2023-06-30", "--by", "vale", "--check"], "say what to do"),
        (["--show-lines", "2023-06-30"], "there is no seal of 2023-06-30"),
    ],
)
def test_what_seal_asks_for(keeping, arguments, message):
    status, out, err = keeping("seal", *arguments)
    assert (status, out) == (2, "") and err.startswith(f"cylfile: {message}")


def test_a_period_is_sealed_once(keeping):
    seal(keeping)
    before = keeping.text("seals.cyl")
    for day in ("2023-06-30", "2023-01-31"):
        assert "the record is sealed through 2023-06-30 already" in seal(keeping, day).err
    assert keeping.text("seals.cyl") == before


def test_nothing_is_sealed_over_a_broken_seal(keeping):
    seal(keeping)
    keeping.replace("sheets.cyl", "2216 psi", "2215 psi")
    assert "the seal of 2023-06-30 is broken" in seal(keeping, "2024-01-31").err


def test_the_lines_of_a_digest(keeping):
    seal(keeping)
    out = keeping("seal", "--show-lines", "2023-06-30").out
    assert hashlib.sha256(out.encode()).hexdigest() == keeping.text("seals.cyl").split()[-1]
    assert out.splitlines()[0] == "sealed 2023-06-30 by vale 4 entries"


def test_a_chain_is_recomputed_with_sha256_alone_and_its_last_digest_answers_for_all(keeping):
    days = ("2018-12-31", "2023-01-31", "2023-06-30")
    for day in days:
        assert seal(keeping, day).status == 0
    lines = keeping.text("seals.cyl").splitlines()
    for number, day in enumerate(days):
        shown = keeping("seal", "--show-lines", day).out
        assert f"{shown.splitlines()[0]} {hashlib.sha256(shown.encode()).hexdigest()}" == lines[number]
        # Each covers the seal before it, and nothing of what that covers.
        assert [line for line in shown.splitlines()[1:] if line.startswith("sealed ")] == lines[
            max(number - 1, 0) : number
        ]
        assert ("2018-02-01 entered service K-1 at hc1" in shown) == (number == 0)
    kept = lines[-1].split()[-1]
    assert keeping("seal", "--check", "--digest", kept).status == 0
    keeping.replace("cards.cyl", "2018-02-01", "2018-02-02")
    status, out, _ = keeping("seal", "--check", "--digest", kept)
    said = " ".join(out.split())
    assert status == 1 and f"{kept} is that of no seal that holds" in said
    assert "seals after it that rest on it, and so do not hold either: 2" in said
    assert "2023-06-30 by vale, 4 entries: RESTS ON A BROKEN ONE" in said
    assert "what it adds is as it was, but it rests on the seal of 2018-12-31, which is broken" in said
    assert keeping("lint", "--only", "seal-broken").out.count("has changed since") == 1
    told = json.loads(keeping("seal", "--check", "--as", "json").out)["seals"]
    assert [each["holds"] for each in told] == [False] * 3
    assert [each["digest"] == each["digest_now"] for each in told] == [False, True, True]
    assert told[2]["working"] == ["what it adds is as it was, but it rests on the seal of 2018-12-31, which is broken"]


def test_of_two_seals_of_a_day_one_is_asked_for(keeping):
    seal(keeping)
    one = keeping.text("seals.cyl")
    keeping.write("seals.cyl", "")
    seal(keeping, by="rowan")
    other = keeping.text("seals.cyl")
    keeping.write("seals.cyl", one + other)
    assert keeping("seal", "--check").status == 0
    assert (
        "2 people sealed 2023-06-30; say with --by which of them: rowan, vale"
        in keeping("seal", "--show-lines", "2023-06-30").err
    )
    for by, line in (("vale", one), ("rowan", other)):
        shown = keeping("seal", "--show-lines", "2023-06-30", "--by", by).out
        assert hashlib.sha256(shown.encode()).hexdigest() == line.split()[-1]
    assert "no seal of 2023-06-30 by odell" in keeping("seal", "--show-lines", "2023-06-30", "--by", "odell").err


def test_a_record_without_a_seal(keeping):
    status, out, err = keeping("seal", "--check")
    assert (status, err) == (0, "") and "\nThe record has no seal.\n" in out


# What broke a seal.


def sealed(keeping):
    seal(keeping)
    keeping.commit("Seal the half-year", "2023-07-03")
    keeping.append("cards.cyl", "  2023-09-03  gauged 2100 psi\n")
    keeping.commit("Go on", "2023-09-03")


def test_a_seal_may_be_where_nothing_can_be_read(keeping):
    (keeping.folder / "away").symlink_to("/no/such/share")
    status, out, err = keeping("seal", "--check")
    assert (status, err) == (1, "") and "could not be read: 1 place, away:1\n\nThe record has no seal.\n" in out


def test_git_names_the_entries(keeping):
    sealed(keeping)
    keeping.replace("sheets.cyl", "K-1  to 2216 psi  at 70 F", "K-1  to 2116 psi  at 70 F")
    keeping.replace("cards.cyl", "  2018-02-01        entered service  at hc1\n", "")
    keeping.append("cards.cyl", "  2023-02-04  gauged 2090 psi\n")
    keeping.replace("cards.cyl", "rated   2216 psi", "rated   3000 psi")
    keeping.replace("sheets.cyl", "at 68 F\n", 'at 68 F  struck 2023-06-01 by vale "back-dated"\n')
    keeping.commit("Rewrite history", "2023-10-01")
    status, out, err = keeping("seal", "--check")
    assert (status, err) == (1, "")
    lines = [" ".join(line.split()) for line in out.splitlines()]
    revision = keeping.git("rev-parse", "--short=10", "HEAD~2").strip()
    at = lines.index(f"since revision {revision} of 2023-07-03, which brought the seal:")
    assert lines[at + 1 : at + 7] == [
        "changed: 2023-03-02 09:30 filled K-1 to 2216 psi at 70 F by vale on C1 at hc1: to 2216 psi became 2116 psi",
        "gone: 2018-02-01 entered service K-1 at hc1",
        "struck, as of a day in the period: 2023-03-01 09:00 filled K-1 to 2200 psi at 68 F by vale on C1 at hc1 "
        'struck 2023-06-01 by vale "back-dated"',
        "written in: 2023-02-04 gauged K-1 2090 psi",
        "gone: cylinder K-1 rated 2216 psi",
        "new: cylinder K-1 rated 3000 psi",
    ]
    assert "2023-09-03" not in out
    # Each entry that is there now, with its place.
    assert [line.split()[-1] for line in lines if line.startswith("what it says now")] == [
        "sheets.cyl:4", "sheets.cyl:2", "cards.cyl:7"
    ]  # fmt: skip


def test_lint_names_them_too(keeping):
    sealed(keeping)
    keeping.replace("sheets.cyl", "2216 psi", "2116 psi")
    status, out, _ = keeping("lint", "--only", "seal-broken")
    assert status == 1
    assert "what was sealed through 2023-06-30 has changed since" in out
    assert "to 2216 psi became 2116 psi" in out and "sheets.cyl:4" in out


def test_without_git_the_period_is_named(keeping, monkeypatch):
    sealed(keeping)
    keeping.replace("sheets.cyl", "2216 psi", "2116 psi")
    monkeypatch.setenv("PATH", "/nowhere")
    status, out, err = keeping("seal", "--check")
    assert (status, err) == (1, "")
    assert "2023-06-30  by vale, 4 entries: BROKEN" in out and "since revision" not in out


def test_a_seal_that_is_not_committed_yet(keeping):
    seal(keeping)
    keeping.replace("sheets.cyl", "2216 psi", "2116 psi")
    status, out, _ = keeping("seal", "--check")
    assert status == 1 and "since revision" not in out


def test_a_seal_that_never_held(keeping):
    keeping.write("seals.cyl", f"sealed 2023-06-30 by vale 4 entries {'0' * 64}\n")
    keeping.commit("A seal by hand")
    out = keeping("seal", "--check").out
    assert "it did not hold in revision" in out


def test_what_may_come_after_a_seal(keeping):
    sealed(keeping)
    keeping.append("cards.cyl", LATE)
    keeping.replace("sheets.cyl", "at 68 F\n", 'at 68 F  struck 2024-02-01 by vale "gauge stuck"\n')
    keeping.replace("department.cyl", "person rowan", 'person newly "New Hand"\n  fills 2024-01-01\nperson rowan')
    keeping.append("cards.cyl", "  tag T-1\n")
    assert keeping("seal", "--check").status == 0


def test_neatening_breaks_no_seal(keeping):
    keeping.append("sheets.cyl", "  10:00 K-1 at 70 F   to 2100psi   # a remark\n")
    keeping.append("cards.cyl", "2023-02-03 gauged K-1 2150psi at 68 °F by vale\n")
    seal(keeping)
    before = keeping.text("sheets.cyl"), keeping.text("cards.cyl")
    assert keeping("neaten", as_of=None).status == 0
    assert (keeping.text("sheets.cyl"), keeping.text("cards.cyl")) != before
    assert keeping("seal", "--check").status == 0


@pytest.mark.parametrize("papers", ["cards", "sheets"])
def test_dealing_a_record_out_anew_breaks_no_seal(keeping, papers):
    keeping.append("cards.cyl", "  2023-03-05 10:00  filled  to 2100 psi  at 70 F  by vale  on C1  at hc1\n")
    seal(keeping)
    assert keeping("regroup", papers, "--into", "../other", as_of=None).status == 0
    other = keeping.folder.parent / "other"
    assert [path.read_bytes() for path in sorted(other.glob("**/*.cyl"))] != [
        path.read_bytes() for path in sorted(keeping.folder.glob("**/*.cyl"))
    ]
    assert keeping("seal", "--check", "../other").status == 0
    assert json.loads(keeping("compare", ".", "../other", "--as", "json").out)["counts"]["altered_or_removed"] == 0


def test_a_digest_from_the_minutes_is_looked_for(keeping):
    kept = keeping("seal", "--through", "2023-12-31", "--by", "vale").out.split("SHA-256 ")[1].split()[0]
    status, out, _ = keeping("seal", "--check", "--digest", kept)
    assert status == 0 and out.startswith("Hollin Creek Fire ") and f"{kept} is that of a seal that holds" in out
    # Who alters a fact and seals anew has another digest than the minutes.
    keeping.replace("sheets.cyl", "to 2216 psi", "to 2116 psi")
    keeping.write("seals.cyl", "")
    assert keeping("seal", "--through", "2023-12-31", "--by", "vale").status == 0
    status, out, _ = keeping("seal", "--check", "--digest", kept)
    assert status == 1 and f"{kept} is that of no seal that holds" in out
    said = json.loads(keeping("seal", "--check", "--digest", kept, "--as", "json").out)
    assert (said["department"], said["as_of"], said["minutes"], said["minutes_hold"]) == (
        "Hollin Creek Fire", "2024-06-01", kept, False,
    )  # fmt: skip


def test_the_seals_as_an_object(keeping):
    assert json.loads(keeping("seal", "--check", "--as", "json").out)["seals"] == []
    kept = keeping("seal", "--through", "2023-12-31", "--by", "vale").out.split("SHA-256 ")[1].split()[0]
    commit = keeping.commit("Sealed")
    (held,) = json.loads(keeping("seal", "--check", "--as", "json").out)["seals"]
    assert (held["day"], held["by"], held["digest"], held["digest_now"], held["holds"], held["working"]) == (
        "2023-12-31", "vale", kept, kept, True, [],
    )  # fmt: skip
    keeping.replace("sheets.cyl", "to 2216 psi", "to 2116 psi")
    status, out, _ = keeping("seal", "--check", "--as", "json")
    said = json.loads(out)
    (broken,) = said["seals"]
    assert (status, said["commit"], said["uncommitted"], broken["holds"]) == (1, commit, True, False)
    assert broken["digest"] == kept != broken["digest_now"] and broken["places"] == ["sheets.cyl:4"]
    assert any("2216 psi became 2116 psi" in line for line in broken["working"])
    assert keeping("seal", "--through", "2024-01-31", "--by", "vale", "--as", "json").status == 2


def test_letters_that_look_alike_are_told_apart_where_a_seal_broke(keeping):
    keeping.replace("cards.cyl", "entered service", 'remarked "cafe\u0301"\n  2018-02-01        entered service')
    keeping("seal", "--through", "2023-12-31", "--by", "vale")
    keeping.commit("Sealed")
    keeping.replace("cards.cyl", "e\u0301", "\u00e9")
    keeping.replace("department.cyl", "Ada Vale", "Ad\u0430 Vale")
    out = keeping("seal", "--check").out
    assert '"cafe\\u{301}" became "caf\\u{e9}"' in out, out
    assert 'new: person vale title "Ad\\u{430} Vale"' in out, out
