"""
Small ledgers, each named for what it shows: those in `ok` have no fault, those in `err` the faults that they mark.
"""

from pathlib import Path

import pytest

from cylfile.record.reader import read_record
from cylfile.rewriting.same_facts import difference
from cylfile.text.source import Source
from support.marked_ledgers import as_marks, marks_of

CORPUS = Path(__file__).parent / "corpus"
GOOD = sorted((CORPUS / "ok").glob("*.cyl"))
BAD = sorted((CORPUS / "err").glob("*.cyl"))


def name_of(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


def text_of(path: Path) -> str:
    return path.read_bytes().decode("utf-8")


def record_of(text: str):
    return read_record([Source("corpus.cyl", text)])


def test_no_ledger_is_lost():
    assert (len(GOOD), len(BAD)) == (18, 34)


@pytest.mark.parametrize("path", GOOD, ids=name_of)
def test_a_good_ledger_has_no_fault(path):
    assert [(fault.span.line, fault.text) for fault in record_of(text_of(path)).faults] == []


@pytest.mark.parametrize("path", BAD, ids=name_of)
def test_a_bad_ledger_has_the_faults_that_it_marks(path):
    text = text_of(path)
    assert marks_of(text) and as_marks(record_of(text).faults) == marks_of(text)


@pytest.mark.parametrize("path", BAD, ids=name_of)
def test_every_mark_names_a_cure(path):
    assert all(mark.cure for mark in marks_of(text_of(path)))


@pytest.mark.parametrize("path", GOOD + BAD, ids=name_of)
@pytest.mark.parametrize("ends", ["\r\n", "\r\n mixed \n"])
def test_line_ends_make_no_difference(path, ends):
    text = text_of(path)
    lines = text.split("\n")
    if ends == "\r\n":
        other = "\r\n".join(lines)
    else:
        other = "".join(line + ("\r\n" if number % 2 else "\n") for number, line in enumerate(lines[:-1])) + lines[-1]
    ours, theirs = record_of(text), record_of(other)
    assert difference(ours, theirs) == ""
    assert as_marks(ours.faults) == as_marks(theirs.faults)


@pytest.mark.parametrize("path", GOOD + BAD, ids=name_of)
def test_a_ledger_that_breaks_off_in_any_line_is_read_up_to_there(path):
    """Of a file cut off in a line, an entry of the lines before is what it was, unless it went on there."""
    text = text_of(path)
    whole = {(entry.span.start, entry.span.end): entry.facts for entry in entries_of(text)}
    start = compared = 0
    for line in text.split("\n"):
        for end in (start + len(line) // 2, start + len(line)):
            for entry in entries_of(text[:end]):
                place = entry.span.start, entry.span.end
                if place[1] < start and place in whole:
                    assert entry.facts == whole[place]
                    compared += 1
        start += len(line) + 1
    assert compared or len(whole) < 2


def entries_of(text: str):
    return [entry for entries in record_of(text).entries.values() for entry in entries]
