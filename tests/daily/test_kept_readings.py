"""
What is kept of long files changes no answer, whatever becomes of it, and who checks a record knows nothing of it.
"""

import os
import pickle
import re
from hashlib import sha256
from pathlib import Path

import pytest

from cylfile.files import kept_readings
from cylfile.record import packing
from cylfile.record.file_reader import FileReader
from cylfile.record.packing import OF_FILES, pack, unpack
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support import every_word
from support.messy_records import messy_record
from support.running import PROJECT
from support.said import said

DEMOS = [Source(str(path), path.read_text("utf-8")) for path in sorted(PROJECT.glob("examples/*/**/*.cyl"))]
SHEET = "fill sheet 2026-03-{:02} by ayla at pier\n" + "  T-1 from 900 psi to 4400 psi at 70 F\n" * 30
KEY = 32


@pytest.mark.parametrize(
    "sources", [DEMOS, [Source("every.cyl", every_word.RECORD)], messy_record(7)], ids=["demos", "every word", "messy"]
)
def test_what_is_unpacked_says_what_was_packed(sources):
    unpacked = {each: unpack(pack(FileReader(each).read(), [each]), [each], OF_FILES) for each in sources}
    assert said(read_record(sources, (), unpacked)) == said(read_record(sources))


@pytest.fixture
def long(entered):
    """A record with a sheet for each day of a month, which is long enough to be kept, and what is kept of it."""
    entered.as_of = "2026-04-02"
    entered.write("sheets.cyl", "".join(map(SHEET.format, range(1, 29))))
    return entered


def kept(record) -> list[Path]:
    return sorted((record.folder / ".cache" / "cylfile" / "readings").glob("*"))


def card(record, **environment: str):
    return record("card", "T-1", "--every-fill", "--as", "json", **environment)


def not_kept(record):
    """The card as it is where nothing can be kept."""
    return card(record, XDG_CACHE_HOME="/dev/null")


def test_a_card_by_what_was_kept_is_the_card_by_what_is_written(long, monkeypatch):
    first = card(long)
    (path,) = kept(long)
    assert path.parent.stat().st_mode & 0o777 == 0o700 or os.name == "nt"
    # Nothing is read that would have to be kept.
    monkeypatch.setattr(packing, "pack", None)
    assert card(long) == first == not_kept(long)
    assert first.out.count('"filled"') > 800


def test_a_file_that_has_changed_is_read_again(long):
    before = card(long)
    text = long.text("sheets.cyl")
    long.write("sheets.cyl", text.replace("4400", "4401", 1))
    assert card(long) != before
    assert card(long) == not_kept(long)
    long.write("sheets.cyl", text)
    assert card(long) == before
    assert len(kept(long)) == 1


def test_no_damage_to_what_is_kept_changes_the_answer(long):
    told = card(long)
    (path,) = kept(long)
    whole = path.read_bytes()
    places = [0, KEY - 1, KEY, 2 * KEY - 1, 2 * KEY, *range(70, len(whole), len(whole) // 12), len(whole) - 1]
    for place in places:
        for damaged in (whole[:place], whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :]):
            path.write_bytes(damaged)
            assert card(long) == told
            assert path.read_bytes() == whole


def test_what_was_kept_of_another_text_is_not_believed_on_its_name(long):
    card(long)
    (path,) = kept(long)
    of_this = path.read_bytes()
    long.write("sheets.cyl", long.text("sheets.cyl").replace("4400", "4500"))
    told = card(long)
    path.write_bytes(of_this)
    assert card(long) == told == not_kept(long)


def test_what_another_program_kept_is_not_believed(long, monkeypatch):
    card(long)
    (path,) = kept(long)
    before = path.read_bytes()
    monkeypatch.setattr(kept_readings, "_program", lambda: b"another one")
    told = card(long)
    assert path.read_bytes()[:KEY] != before[:KEY]
    assert told == not_kept(long)


def test_all_that_reads_is_part_of_the_program():
    """What a reading hangs on is in the folders that are looked through: reading imports nothing of others."""
    for name in ("text", "record"):
        for path in (PROJECT / "cylfile" / name).glob("*.py"):
            assert not re.search(r"^ *from cylfile\.(?!text|record)\w", path.read_text("utf-8"), re.MULTILINE), path


class _Evil:
    def __reduce__(self):
        return os.mkdir, ("made by what was kept",)


def test_nothing_that_somebody_made_up_is_run(long):
    told = card(long)
    (path,) = kept(long)
    for made_up in (_Evil(), "no reading", None):
        key, packed = path.read_bytes()[:KEY], pickle.dumps(made_up)
        path.write_bytes(key + sha256(key + packed).digest() + packed)
        assert card(long) == told
    assert not (long.folder / "made by what was kept").exists()


@pytest.mark.skipif(os.name == "nt", reason="who may write is told otherwise there")
def test_where_others_may_write_nothing_is_kept(long):
    told = card(long)
    (path,) = kept(long)
    path.unlink()
    path.parent.chmod(0o777)
    assert card(long) == told
    assert kept(long) == []


def test_a_short_file_is_not_kept(entered):
    card(entered)
    assert kept(entered) == []


def test_so_many_are_kept_at_most(long, monkeypatch):
    monkeypatch.setattr(kept_readings, "_MOST", 4)
    for number in range(9):
        long.write(f"more/{number}.cyl", f"# {number}\n" + "# nothing more than a note\n" * 1_000)
        card(long)
        assert len(kept(long)) <= 4


def test_an_entry_is_written_by_what_was_kept_as_without_it(long):
    text = long.text("sheets.cyl")
    sentence = "2026-03-28 23:50 filled T-1 from 900 psi to 4400 psi at 70 F by ayla at pier"
    runs = []
    for environment in ({"XDG_CACHE_HOME": "/dev/null"}, {}, {}):
        long.write("sheets.cyl", text)
        runs.append((long("enter", sentence, **environment), long.text("sheets.cyl")))
    assert runs[0] == runs[1] == runs[2]
    assert runs[0][0].status == 0 and runs[0][1] != text
    assert kept(long)


@pytest.mark.parametrize("command", [("lint",), ("seal", "--check"), ("due",), ("trace", "C1"), ("may-fill", "T-1")])
def test_who_checks_reads_what_is_written(long, monkeypatch, command):
    def asked(*_):
        raise AssertionError("what was kept was asked for")

    told = long(*command)
    for module in ("cylfile.files.stored_record", "cylfile.files.kept_readings"):
        monkeypatch.setattr(f"{module}.add_kept", asked)
    assert long(*command) == told
    assert kept(long) == []
