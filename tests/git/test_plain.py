"""`cylfile plain`, and git speaking in plain forms by it."""

import os
import shlex
import subprocess
import sys

import pytest

from support.keeping import CARD, SHEET


@pytest.fixture
def at_ease(keeping, program_on_path):
    """The record, its git told by the very lines that the program prints, and the program on the PATH."""
    lines = keeping("plain", "--for-git", as_of=None).out.splitlines()
    for line in lines:
        if line.startswith("git "):
            keeping.git(*shlex.split(line)[1:])
        elif not line.startswith("#"):
            keeping.write(".gitattributes", f"{line}\n")
    keeping.commit("Tell git how to compare")
    return keeping


def changed(text: str) -> list[str]:
    """The lines of a diff that say what changed, and the headings of its hunks."""
    return [line for line in text.splitlines() if line[:1] in "+-@" and line[:3] not in ("+++", "---")]


def plain(keeping, name: str) -> list[str]:
    outcome = keeping("plain", name, as_of=None)
    assert (outcome.status, outcome.err) == (0, "")
    return outcome.out.splitlines()


def test_a_card(keeping):
    assert plain(keeping, "cards.cyl") == [
        "cylinder K-1",
        "  class dot-3aa",
        "  rated 2216 psi",
        "  made 2018-01",
        "  2018-02-01 entered service K-1 at hc1",
        "  2023-01-10 hydro K-1 pass by Z901 at 3700 psi",
    ]


def test_what_a_file_says_of_cards_elsewhere(keeping):
    assert plain(keeping, "sheets.cyl") == [
        "entries of K-1",
        "  2023-03-01 09:00 filled K-1 to 2200 psi at 68 F by vale on C1 at hc1",
        "  2023-03-02 09:30 filled K-1 to 2216 psi at 70 F by vale on C1 at hc1",
    ]


def test_everything_else(keeping):
    keeping.write(
        "odds.cyl",
        'waived no-class for K-1 until 2024-01-01 by vale "x"\nrecall 2023-01-01 "Valves"\n  serial "A*"\n'
        f"sealed 2023-01-01 by vale 0 entries {'0' * 64}\n2023-01-01  gaugd   K-1  200 psi\n"
        'person new "New \u200b Hand"\n  fills 2023-01-01\n',
    )
    assert plain(keeping, "odds.cyl") == [
        "person new",
        '  title "New \\u{200b} Hand"',
        "  fills 2023-01-01",
        'recall 2023-01-01 "Valves" serial "A*"',
        'waived no-class for K-1 until 2024-01-01 by vale "x"',
        f"sealed 2023-01-01 by vale 0 entries {'0' * 64}",
        "lines that cannot be read",
        "  2023-01-01 gaugd K-1 200 psi",
    ]


def test_a_file_that_is_no_text(keeping):
    (keeping.folder / "odd.cyl").write_bytes(b"cylinder \xff\n")
    (head, said) = plain(keeping, "odd.cyl")
    assert head == "lines that cannot be read" and "not UTF-8 text: byte 0xff" in said


def test_neither_a_link_nor_what_never_ends_is_read(keeping):
    (keeping.folder / "link.cyl").symlink_to("/etc/passwd")
    os.mkfifo(keeping.folder / "pipe.cyl")
    for name, why in (("link.cyl", "it is a link, and no file"), ("pipe.cyl", "it is a pipe, and no file"),
                      ("/dev/zero", "it is a device, and no file")):  # fmt: skip
        status, out, err = keeping("plain", name, as_of=None)
        assert (status, out) == (2, "") and f"{name}` cannot be read ({why})" in err


def test_what_cannot_be_printed(keeping):
    assert keeping("plain", as_of=None).err == "cylfile: name the file to print: cylfile plain FILE\n"
    status, _, err = keeping("plain", "nowhere.cyl", as_of=None)
    assert status == 2 and err.startswith("cylfile: `nowhere.cyl` cannot be read (no such file or directory)")


def test_it_needs_neither_rich_nor_rules(keeping):
    """Git starts it once for every file that it compares."""
    script = "import sys, cylfile.commands.plain as p; p.run(['-']); print([m for m in sys.modules if m in ('rich', 'cylfile.judging.judge')])"
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=CARD,
        capture_output=True,
        text=True,
        check=True,
        env=keeping.environment(),
    )
    assert done.stdout.splitlines()[-1] == "[]"


def test_a_diff_names_the_cylinder_and_writes_out_what_a_row_inherits(at_ease):
    at_ease.append("sheets.cyl", "  10:00  K-2  to 2100 psi\n")
    at_ease.replace("sheets.cyl", "to 2216 psi", "to 2215 psi")
    assert changed(at_ease.git("diff", "--unified=0")) == [
        "@@ -3 +3,3 @@ entries of K-1",
        "-  2023-03-02 09:30 filled K-1 to 2216 psi at 70 F by vale on C1 at hc1",
        "+  2023-03-02 09:30 filled K-1 to 2215 psi at 70 F by vale on C1 at hc1",
        "+entries of K-2",
        "+  2023-03-02 10:00 filled K-2 to 2100 psi by vale on C1 at hc1",
    ]


def test_layout_is_no_difference(at_ease):
    at_ease.write("cards.cyl", "# about\n\n" + CARD.replace("        ", "\t").replace("rated   ", "rated "))
    at_ease.write("sheets.cyl", SHEET.replace("to 2216 psi  at 70 F", "at 70 F to 2216psi") + "# the end\n")
    assert at_ease.git("status", "--porcelain") != ""
    assert changed(at_ease.git("diff")) == []
    # For whoever wants the letters, they are there.
    assert changed(at_ease.git("diff", "--no-textconv")) != []


def test_words_are_compared_as_the_language_has_them(at_ease):
    at_ease.append("cards.cyl", '  2023-05-01  remarked "a b"\n')
    at_ease.commit("A remark")
    at_ease.replace("cards.cyl", '"a b"', '"a c"')
    out = at_ease.git("diff", "--word-diff=plain", "--unified=0")
    assert '  2023-05-01 remarked K-1 [-"a b"-]{+"a c"+}' in out


def test_the_life_of_one_card(at_ease):
    """`git log -L` reads the card as it is written; the header of the card is what it looks for."""
    at_ease.append("cards.cyl", "cylinder K-10\n  made 2020-01\n")
    at_ease.commit("A new cylinder")
    at_ease.replace("cards.cyl", "made    2018-01", "made    2018-02")
    at_ease.commit("Correct the month")
    out = at_ease.git("log", "--format=%s", "-L", ":cylinder K-1$:cards.cyl")
    subjects = [
        line for line in out.splitlines() if line in ("Correct the month", "A new cylinder", "Begin the record")
    ]
    assert subjects == ["Correct the month", "Begin the record"]
    assert "-  made    2018-01" in out and "K-10" not in out


def test_headings_without_any_setting(keeping):
    """Cards begin in column 1 with a letter, which is what git takes for a heading by itself."""
    keeping.replace("cards.cyl", "at 3700 psi", "at 3701 psi")
    assert changed(keeping.git("diff", "--unified=0"))[0] == "@@ -6 +6 @@ cylinder K-1"
