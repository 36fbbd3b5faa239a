"""
A line says the same whether it is read by the act of its verb, with clauses in any order, or word by word.

Each record is read twice: with no line read by an act, and with all that an act can take.
"""

import gc
import weakref
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.record import file_reader
from cylfile.record.file_reader import FileReader
from cylfile.text.acts import Act
from cylfile.text.ledger import LEDGER, TOP
from cylfile.text.matcher import Matchers
from cylfile.text.source import Source, decode
from support.ledger_lines import HEADERS, PLACES, ledgers, lines

PROJECT = Path(__file__).parents[2]
LEDGERS = sorted(path for path in PROJECT.rglob("*.cyl") if "/." not in path.relative_to(PROJECT).as_posix())
NO_ACTS = Matchers(lambda place: ())
ALL_ACTS = Matchers(lambda place: LEDGER.matchers_of(place, [*LEDGER.acts[place].values()], ()))


def read(text: str, matchers: Matchers) -> FileReader:
    known, LEDGER.act_matchers = LEDGER.act_matchers, matchers
    try:
        return FileReader(Source("x", text)).read()
    finally:
        LEDGER.act_matchers = known


def said(file: FileReader) -> tuple:
    """All that was read, and where it stands."""
    record = file.record
    return (
        {name: [(*entry.facts, entry.start, entry.block, entry.span[1:]) for entry in of_name]
         for name, of_name in record.entries.items()},
        [place_of(fault) for fault in record.faults],
        {name: [place_of(fault) for fault in faults] for name, faults in record.damaged.items()},
        sorted((place_of(line.fault), sorted(line.names), line.declares, sorted(line.rows)) for line in file.damaged_lines),
        {key: (LEDGER.value_span(record.sources[0], line.start, line.shape, slot)[1:], count)
         for key, (line, slot, count) in file.used.items()},
    )  # fmt: skip


def place_of(fault) -> tuple:
    return fault.span[1:], fault.text, fault.cure, fault.subject or "", fault.because and fault.because[1:]


def assert_the_same(text: str) -> FileReader:
    by_acts = read(text, ALL_ACTS)
    assert said(by_acts) == said(read(text, NO_ACTS))
    return by_acts


@pytest.mark.parametrize("path", LEDGERS, ids=lambda path: path.relative_to(PROJECT).as_posix())
def test_ledgers(path):
    assert_the_same(decode(str(path), path.read_bytes())[0].text)


def test_acts_take_most_lines():
    """Else the other tests here would say nothing."""
    text = "".join(path.read_text("utf-8") for path in LEDGERS if "clean" in path.parts)
    entries = [entry for of_name in read(text, ALL_ACTS).record.entries.values() for entry in of_name]
    assert sum(isinstance(entry.shape, Act) for entry in entries) > 0.8 * len(entries)
    kinds = {entry.verb for entry in entries if isinstance(entry.shape, Act)}
    assert kinds == {entry.verb for entry in entries} - {"air sample"}


def test_a_line_of_no_act_is_matched_by_its_shape():
    text = (
        'fill sheet 2026-03-14  by ayla\n  K-1  to 4500 psi\n  K-2  to 2216 psi  struck 2026-03-15 by bo "wrong row"\n'
    )
    word_by_word = read(text, NO_ACTS)
    shapes = [entry.shape for of_name in word_by_word.record.entries.values() for entry in of_name]
    rows = LEDGER.matchers_of("fill_row", [LEDGER.acts["fill_row"]["fill_row"]], shapes)
    at, end = text.index("  K-2"), len(text)
    assert [matcher.match(text, at, end) is not None for matcher in rows] == [False, True]
    assert said(read(text, Matchers({"fill_row": rows, TOP: ALL_ACTS[TOP]}.__getitem__))) == said(word_by_word)


@settings(deadline=None)
@given(ledgers())
def test_any_ledger(text):
    assert_the_same(text)


@settings(deadline=None)
@given(st.sampled_from(PLACES), st.data())
def test_any_lines_of_a_place(place, data):
    some = data.draw(st.lists(lines(place), min_size=1, max_size=6))
    indent = "  " if place in HEADERS else ""
    header = HEADERS.get(place, "#") + data.draw(st.sampled_from(["", " to unread", " by wren", " to 4500 psi"]))
    assert_the_same("\n".join([header, *(indent + line for line in some), ""]))


SHEETS = {
    "a row says itself what its header says": "fill sheet 2026-03-14  on C1  by ayla\n  K-1  to 4500 psi  by bo\n",
    "a header says for all what a row has not": "fill sheet 2026-03-14  to 4500 psi\n  K-1\n  K-2  to 2216 psi\n",
    "a row says a pressure where its header says that none was read": (
        "fill sheet 2026-03-14  to unread\n  K-1\n  K-2  to 2216 psi\n"
    ),
    "a row lacks the pressure": "fill sheet 2026-03-14\n  K-1\n  K-2  to 2216 psi\n",
    "there is no such day": "fill sheet 2026-02-30  by ayla\n  K-1  to 4500 psi\n  K-2 to 4500 PSI\n",
    "there is no such time": "fill sheet 2026-02-28\n  K-1  to 4500 psi\n  25:00  K-2  to 4500 psi\n  K-3  to 400 psi\n",
    "two loose lines of one name, the second by an act": (
        "2026-03-14 filled K-1 to unread by bo\n2026-03-15 filled K-1 to 4500 psi by bo\n"
    ),
    "an indented line under a loose line": "2026-03-14 filled K-1 to 4500 psi\n  2026-03-15 filled to 4500 psi\n",
    "a clause twice": "2026-03-14 filled K-1 to 4500 psi by bo by ayla\n2026-03-14 filled K-1 by bo to 4500 psi by bo\n",
    "a word of the language for a name": "2026-03-14 filled K-1 to 4500 psi by to\n2026-03-15 filled from to 4500 psi\n",
    "flags and words before and after figures": (
        "2026-03-14 hydro K-1 pass star by A123 visual pass plus at 7500 psi crack fail total 10 cc permanent 1 cc\n"
        "2026-03-14 hydro K-1 condemned visual fail method proof\n2026-03-14 damaged K-1 heat \"hot\" overpressure by bo\n"
    ),
    "a line that goes on": "fill sheet 2026-03-14\n  K-1  to 4500 psi\n    by ayla\n  K-2  to 400 psi\n",
    "a header that goes on": "fill sheet 2026-03-14\n  by ayla\n  K-1  to 4500 psi\n",
    "a name of digits before a figure": "gauge sheet 2026-03-14\n  114  4500 psi\n  12 C  4500 psi\n  12  4500  psi\n",
}  # fmt: skip


@pytest.mark.parametrize("text", SHEETS.values(), ids=SHEETS)
def test_sheets_and_lines(text):
    assert_the_same(text)
    assert_the_same(text.replace("\n", "  # said so\r\n"))


def test_what_was_at_hand_when_a_word_was_refused_is_not_kept():
    """Nobody looks for garbage while a record is read: what is not let go stays."""
    file = FileReader(
        Source("x", "fill sheet 2026-03-14\n  25:00  K-1  to 4500 psi\n2026-02-30 moved K-1 to st1\n")
    ).read()
    assert len(file.record.faults) == 2
    there = weakref.ref(file)
    gc.disable()
    try:
        del file
        assert there() is None
    finally:
        gc.enable()


def test_the_names_on_a_sheet_are_looked_for_once(monkeypatch):
    asked, look = [], file_reader._name_of_row
    monkeypatch.setattr(file_reader, "_name_of_row", lambda source, at: asked.append(at) or look(source, at))
    rows = "".join(f"  25:00  K-{number}  to 4500 psi\n" for number in range(20))
    file = FileReader(Source("x", f"fill sheet 2026-03-14  on C1\n{rows}")).read()
    assert len(asked) == 20
    assert [line.rows for line in file.damaged_lines] == [{f"K-{number}" for number in range(20)}] * 20
