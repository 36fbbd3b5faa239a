"""`cylfile neaten` as its users run it."""

import os
import re
import stat
import sys
from datetime import date
from pathlib import Path

import pytest

from cylfile.history.seals import spell_out
from cylfile.record.reader import read_record
from cylfile.rewriting.neatening import neaten
from cylfile.rewriting.same_facts import difference
from cylfile.text.source import Source, decode

PROJECT = Path(__file__).resolve().parent.parent.parent
NOT_NEAT = b'\xef\xbb\xbfcylinder T-1 # one\r\n\tserial X\r\n\t2026-03-14 filled to 4500psi # hot\r\n\t2026-02-30 remarked  "x"\r\n'
NEAT = b'cylinder T-1  # one\r\n\tserial     X\r\n\t2026-03-14        filled  to 4500 psi  # hot\r\n\t2026-02-30 remarked  "x"\r\n'


@pytest.fixture
def not_neat(here):
    path = here.folder / "cards.cyl"
    path.write_bytes(NOT_NEAT)
    (here.folder / "sites.cyl").write_text('site quay "Station 1"\n')
    return path


def test_files_are_neatened_in_place(here, not_neat):
    assert here("neaten") == (0, "neatened  cards.cyl\n", "1 file neatened, 1 neat already\n")
    assert not_neat.read_bytes() == NEAT
    assert here("neaten") == (0, "", "0 files neatened, 2 neat already\n")


def test_a_record_of_which_only_some_files_are_neat_says_the_same():
    """`neaten` writes file after file: wherever a run is broken off, the first so many are new, and the others old."""
    old = []
    for path in sorted((PROJECT / "examples/faulty").rglob("*.cyl")):
        lines = path.read_text().splitlines(keepends=True)
        # Everything a little out of line, but in texts and comments.
        old.append(
            Source(
                path.name,
                "".join(line if '"' in line or "#" in line else re.sub(r"(\S) +", r"\1 ", line) for line in lines),
            )
        )
    record = read_record(old)
    new = [Source(source.path, neaten(source, record).text) for source in old]
    assert sum(one.text != other.text for one, other in zip(old, new)) > 5
    sealed = spell_out(record, date(9999, 1, 1), "griesel").digest
    for count in range(1, len(old) + 1, 4):
        mixed = read_record([*new[:count], *old[count:]])
        assert difference(record, mixed) == "" and spell_out(mixed, date(9999, 1, 1), "griesel").digest == sealed


def test_a_check_writes_nothing(here, not_neat):
    assert here("neaten", "--check") == (1, "not neat  cards.cyl\n", "")
    assert not_neat.read_bytes() == NOT_NEAT
    assert os.listdir(here.folder) == ["cards.cyl", "sites.cyl"] or set(os.listdir(here.folder)) == {
        "cards.cyl",
        "sites.cyl",
    }
    here("neaten")
    assert here("neaten", "--check") == (0, "", "")


def test_a_preview_writes_nothing_and_shows_the_lines(here, not_neat):
    status, out, err = here("neaten", "--preview")
    assert (status, err) == (1, "")
    assert [line for line in out.split("\n") if line[:1] in ("+", "-")] == [
        "--- cards.cyl",
        "+++ cards.cyl, neatened",
        "-cylinder T-1 # one",
        "-\tserial X",
        "-\t2026-03-14 filled to 4500psi # hot",
        "+cylinder T-1  # one",
        "+\tserial     X",
        "+\t2026-03-14        filled  to 4500 psi  # hot",
    ]
    assert not_neat.read_bytes() == NOT_NEAT


def test_a_diff_says_that_a_last_line_is_not_ended(here):
    (here.folder / "cards.cyl").write_text('site quay  "Station 1"')
    status, out, _ = here("neaten", "--preview")
    assert status == 1 and out.split("\n")[2:] == [
        "@@ -1 +1 @@",
        '-site quay  "Station 1"',
        '+site quay "Station 1"',
        "cards.cyl: its last line would be ended",
        "",
    ]


def test_a_mark_alone_is_taken_off(here, not_neat):
    not_neat.write_bytes(b"\xef\xbb\xbf" + NEAT)
    assert "byte-order mark" in here("neaten", "--preview").out
    assert here("neaten").status == 0 and not_neat.read_bytes() == NEAT


def test_from_standard_input_to_standard_output(here, not_neat):
    status, out, err = here("neaten", "-", given=NOT_NEAT)
    assert (status, out.encode(), err) == (0, NEAT, "")
    assert not_neat.read_bytes() == NOT_NEAT


def test_a_file_that_is_no_text_is_left_and_told_of(here, not_neat):
    (here.folder / "latin.cyl").write_bytes(b'site a "K\xfchl"\n')
    status, out, err = here("neaten")
    assert status == 2 and out == "neatened  cards.cyl\n"
    assert err.startswith("cylfile: `latin.cyl` is left unchanged: it is not UTF-8 text\n")
    assert (here.folder / "latin.cyl").read_bytes() == b'site a "K\xfchl"\n'
    assert here("neaten", "-", given=b"site \xfc").status == 2


def test_a_line_that_is_wrong_only_beside_another_file_stays(here, not_neat):
    """`gauged` is no entry of a source. Alone, the line could be one of a cylinder."""
    loose = here.folder / "loose.cyl"
    loose.write_text("2026-03-14  gauged C1   4000psi\n")
    (here.folder / "air.cyl").write_text('source C1 "Air room"\n')
    here("neaten")
    assert loose.read_text() == "2026-03-14  gauged C1   4000psi\n"


@pytest.mark.skipif(sys.platform == "win32", reason="rights are kept otherwise there")
def test_rights_and_links_are_kept(here, not_neat):
    not_neat.chmod(0o640)
    kept = here.folder / ".kept" / "other.cyl"
    kept.parent.mkdir()
    kept.write_bytes(NOT_NEAT)
    (here.folder / "linked.cyl").symlink_to(kept)
    assert here("neaten").status == 0
    assert stat.S_IMODE(not_neat.stat().st_mode) == 0o640
    assert (here.folder / "linked.cyl").is_symlink() and kept.read_bytes() == NEAT


def test_nothing_outside_the_record_is_written(here, not_neat):
    elsewhere = here.folder.parent / "elsewhere.cyl"
    elsewhere.write_bytes(NOT_NEAT)
    (here.folder / "linked.cyl").symlink_to(elsewhere)
    status, out, err = here("neaten")
    assert (status, out) == (2, "") and "`linked.cyl`: this is a link that leads out of the record" in err
    assert elsewhere.read_bytes() == NOT_NEAT == not_neat.read_bytes()


def test_one_file_of_a_record_is_neatened_by_itself(here, not_neat):
    (here.folder / "other.cyl").write_bytes(NOT_NEAT.replace(b"T-", b"U-"))
    (here.folder / "department.cyl").write_text('department "D"\n')
    assert here("neaten", not_neat.name).out == f"neatened  {not_neat.name}\n"
    assert not_neat.read_bytes() == NEAT and (here.folder / "other.cyl").read_bytes() != NEAT


def test_what_cannot_be_done_is_one_line(here):
    assert here("neaten", "gone.cyl").status == 2
    status, out, err = here("neaten", "--chek")
    assert status == 2 and out == "" and "--check" in err and err.count("\n") == 1


def test_the_help_has_examples(here):
    status, out, _ = here("neaten", "--help")
    assert status == 0 and "\nexamples:\n  cylfile neaten " in out


@pytest.mark.parametrize(
    "path", sorted(PROJECT.glob("examples/**/*.cyl")), ids=lambda path: path.relative_to(PROJECT).as_posix()
)
def test_every_ledger_of_the_project_says_the_same_when_tidy(path):
    source, faults = decode(path.name, path.read_bytes())
    once = neaten(source, read_record([source], faults))
    assert once.refusal == ""
    again, _ = decode(path.name, once.text.encode())
    assert neaten(again, read_record([again])).text == once.text
