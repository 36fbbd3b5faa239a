"""
A record whose files are read in several processes is the record read in one.
"""

import os
import select
import signal
import sys
from datetime import date
from pathlib import Path
from unittest.mock import patch

import pytest

from cylfile.judging import processes, reading_files
from cylfile.judging.reading_files import read_files
from cylfile.record.file_reader import PLANS, FileReader
from cylfile.record.reader import read_record
from cylfile.text.ledger import stretches
from cylfile.text.source import Source
from support.said import said

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "bench"))
import varied  # noqa: E402

HERE = os.getpid()
with patch.object(varied, "LAST_DAY", date(2007, 6, 30)):
    VARIED = [Source(*each) for each in varied.files(1_500, seed=3, wrong=0.2)]
ODD = [
    Source("0.cyl", ""),
    Source(
        "1.cyl", "<<<<<<< ours\nfill sheet 2026-01-02 by nobody\n  09:00 NO-SUCH to 2216 psi\n=======\n  odd\n>>>>>>>\n"
    ),
    Source("2.cyl", '# \x07\n2026-03 damaged NO-SUCH "dent" answered past-test 2026-04-01 by nobody "seen"\n\u202e\n'),
    Source("3.cyl", 'recall 2026-01-01 "R"\n  made 2020-01 to 2021-02\nseal 2026-01-01 by nobody count 3 digest 00\n'),
]
DEMOS = [Source(str(path), path.read_text("utf-8")) for path in sorted(ROOT.glob("examples/*/**/*.cyl"))]


@pytest.mark.parametrize("sources", [VARIED, ODD, DEMOS, []], ids=["varied", "odd", "demos", "none"])
@pytest.mark.parametrize("jobs", [2, 3])
def test_a_record_read_in_several_processes_is_the_record_read_in_one(monkeypatch, sources, jobs):
    PLANS.clear()
    outlet, inlet = os.pipe()
    read_here: list[int] = []
    read = FileReader.read

    def noted(self: FileReader, start: int = 0, end: int | None = None) -> FileReader:
        if os.getpid() != HERE:
            os.write(inlet, b".")
        else:
            # This process reads nothing before another one does.
            assert read_here or select.select([outlet], [], [], 60)[0]
            read_here.append(start)
        return read(self, start, end)

    monkeypatch.setattr(FileReader, "read", noted)
    files = read_files(sources, jobs)
    monkeypatch.undo()
    os.close(inlet)
    with open(outlet, "rb") as told:
        read_elsewhere = len(told.read())
    assert read_elsewhere > 0 or not sources
    assert len(read_here) + read_elsewhere == sum(1 + len(file.further) for file in files.values())
    assert said(read_record(sources, (), files)) == said(read_record(sources))


def test_a_file_says_in_stretches_what_it_says_in_the_whole():
    together = Source("one.cyl", "".join(source.text for source in VARIED))
    for source in (together, *ODD, *DEMOS):
        places = list(stretches(source, 300))
        assert "".join(source.text[start:end] for start, end in places) == source.text
        whole, *further = (FileReader(source).read(*each) for each in places)
        whole.further = further
        assert said(read_record([source], (), {source: whole})) == said(read_record([source]))
    assert len(list(stretches(together, 300))) > 15


def test_the_files_that_a_killed_process_had_to_read_are_read_here(monkeypatch):
    each_read = reading_files._each_read

    def killed(sources):
        if os.getpid() != HERE:
            os.kill(os.getpid(), signal.SIGKILL)
        return each_read(sources)

    monkeypatch.setattr(reading_files, "_each_read", killed)
    assert said(read_record(VARIED, (), read_files(VARIED, 3))) == said(read_record(VARIED))


@pytest.fixture
def forks(monkeypatch) -> list[int]:
    """How many processes were forked."""
    started: list[int] = []
    fork = os.fork
    monkeypatch.setattr(os, "fork", lambda: (started.append(1), fork())[1])
    return started


@pytest.fixture
def record(house):
    for source in VARIED:
        house.write(source.path, source.text)
    return house


@pytest.mark.parametrize("form", ["page", "json"])
def test_lint_says_the_same_with_any_number_of_jobs(record, forks, form):
    alone = record("lint", "--as", form, "--each", "--jobs", "1")
    assert alone.status == 1 and forks == []
    for jobs in (2, 3):
        assert record("lint", "--as", form, "--each", "--jobs", str(jobs)) == alone
        # To read, to add up the air of six sources, and to judge.
        assert len(forks) == 3 * (jobs - 1)
        forks.clear()


def test_a_small_record_is_linted_in_one_process_and_a_large_one_in_as_many_as_pay(record, forks, monkeypatch):
    alone = record("lint")
    assert forks == []
    monkeypatch.setattr(processes, "_PAYS_FROM", 10_000)
    monkeypatch.setattr(processes, "processors", lambda: 3)
    assert record("lint") == alone
    assert len(forks) == 6


def test_new_processes_say_the_same_of_a_demo(program):
    """Here every sentence is new to each of them."""
    outcomes = [
        program("lint", "--as", "json", "--jobs", jobs, str(ROOT / "examples" / "faulty"), as_of="2026-11-25")
        for jobs in "13"
    ]
    assert outcomes[0].err == "" and len(outcomes[0].out) > 100
    assert outcomes[0] == outcomes[1]
