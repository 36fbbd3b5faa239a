"""
What is done with input that was damaged on purpose, one trial a kind of input, and how long it may take.

A trial raises whatever the program raises, AssertionError where something of the input is lost, and `Hang` where it
does not end. Refusals that the program means are no finds.
"""

import asyncio
import io
import json
import logging
import posixpath
import re
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from functools import cache
from types import SimpleNamespace
from unittest.mock import patch

from pygls.io_ import run_async

from cylfile.cannot import CannotDo
from cylfile.compare.states import compare_records
from cylfile.files.git import revision_tree
from cylfile.files.git.repository import Blob, Revision
from cylfile.files.git.revisions import States
from cylfile.files.records import declares_department
from cylfile.files.tree import is_within
from cylfile.importing.card_rows import CardReader, take_in_cards, written_cards
from cylfile.importing.column_map import CARDS, FILLS, MapRefused, column_map, file_form, map_of
from cylfile.importing.draft_map import draft_of, heading_of
from cylfile.importing.export_table import TableRefused, read_table
from cylfile.importing.fill_rows import FillReader
from cylfile.importing.import_fills import take_in, written
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.packs.pack_reader import read_pack
from cylfile.record.reader import read_record
from cylfile.rewriting.neatening import neaten
from cylfile.server.serving import _Messages, make_service
from cylfile.show.pages.import_page import rejected_rows
from cylfile.text.language import Sentence
from cylfile.text.ledger import CONFLICT, LEDGER, read_blocks
from cylfile.text.source import Source, decode
from support.exports import RECORD

AS_OF = date(2026, 11, 25)
# In seconds.
LONGEST = 10.0
_LINE = re.compile(r"[^\n]*\n|[^\n]+")
_BLANK = re.compile(r"[ \t]*(?:#|\r?\n?\Z)")
_BETWEEN = re.compile(r"(?:[ \t\r]*(?:#[^\n]*)?(?:\n|\Z))*")


class Hang(BaseException):
    """It took longer than anything may; no `except Exception` stops it."""


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """
    Raise Hang in what is done here when it has used so many seconds of the processor.

    What waits and uses none has sixty times as long, for other programs may want the machine too.
    """

    def ring(*_):
        raise Hang(f"it took over {seconds:g} seconds")

    clocks = ((signal.ITIMER_PROF, signal.SIGPROF, seconds), (signal.ITIMER_REAL, signal.SIGALRM, 60 * seconds))
    before = [signal.signal(alarm, ring) for _, alarm, _ in clocks]
    for clock, _, limit in clocks:
        signal.setitimer(clock, limit)
    try:
        yield
    finally:
        for (clock, alarm, _), handler in zip(clocks, before):
            signal.setitimer(clock, 0)
            signal.signal(alarm, handler)


for name in ("pygls", "asyncio"):
    logging.getLogger(name).setLevel(logging.CRITICAL + 1)


@cache
def _rules():
    return load_rules(["us-dot"], lambda name: None)[0]


def ledger(data: bytes) -> None:
    """Reads, lays out and judges a ledger."""
    source, undecoded = decode("a.cyl", data)
    record = read_record([source], undecoded)
    each_line_is_accounted_for(source, record)
    assert not neaten(source, record).refusal
    judge(record, _rules(), AS_OF)


def ledger_read(data: bytes) -> None:
    """Only reads a ledger, which is quicker."""
    source, undecoded = decode("a.cyl", data)
    each_line_is_accounted_for(source, read_record([source], undecoded))


def each_line_is_accounted_for(source: Source, record) -> None:
    """
    Each line of a file is an entry, a part of a block, blank, a comment or a fault.

    The words that stand from one sentence to the next must be those of the first one's shape, so that no line is
    swallowed by another; what is an entry by its first words must be one.
    """
    text = source.text
    entries = {entry.start for entries in record.entries.values() for entry in entries}
    faults = sorted(fault.span.start for fault in record.faults)
    blocks, _ = read_blocks(source)
    lines = [
        (line, block) for block in blocks for line in ([block.header] if block.header is not None else []) + block.lines
    ]
    ends = [*(line.start for line, _ in lines[1:]), len(text)]
    first = lines[0][0].start if lines else len(text)
    assert _BETWEEN.fullmatch(_without_markers(text[:first])), f"lines are lost: {text[:first]!r}"
    for (line, block), end in zip(lines, ends):
        if isinstance(line, Sentence):
            stretch = _without_markers(text[line.start : end])
            words = tuple(word.type for word in LEDGER.words(stretch))
            assert words == line.shape.terminals, f"words are lost: {stretch!r}"
            opens = line is block.header and line.shape.heading in _BLOCKS
            says = (line is not block.header and block.place.endswith("_row")) or (
                line.shape.heading is None and not opens
            )
            if not says or line.start in entries:
                continue
        else:
            rest = _without_markers(text[line.end : end])
            assert _BETWEEN.fullmatch(rest), f"lines are lost: {rest!r}"
        assert any(line.start <= place <= end for place in faults), f"a line is lost: {text[line.start : end]!r}"


_BLOCKS = ("department", "site", "person", "tester", "source", "cylinder", "recall", "waived", "sealed")


def _without_markers(text: str) -> str:
    """A text without its blank lines, those of comments, and the markers of merge conflicts, which are faults."""
    return "".join(line for line in _LINE.findall(text) if not CONFLICT.match(line) and not _BLANK.match(line))


def pack(data: bytes) -> None:
    """Reads a pack."""
    read_pack(decode("a.cylpack", data)[0])


def pack_in_force(data: bytes) -> None:
    """Lays a pack over one that ships, and makes rules of both."""
    source, _ = decode("a.cylpack", data)
    load_rules(["us-dot", "a.cylpack"], lambda name: source if name == "a.cylpack" else None)


def table(data: bytes, said: dict | None = None) -> None:
    """Takes an export in by a map, as fills and as cards; each row must be taken in, refused or left out."""
    for kind, usual in ((FILLS, _FILL_MAP), (CARDS, _CARD_MAP)):
        try:
            columns = map_of(usual) if said is None else said
            form, faults = file_form(columns)
            if faults:
                continue
            rows = read_table(data, form.encoding, form.separator, form.heading)
            mapped, faults = column_map(columns, rows.heading, kind)
        except TableRefused:
            continue
        if faults:
            continue
        record = _record()
        reader = (FillReader if kind is FILLS else CardReader)(mapped, form, record, AS_OF)
        if reader.faults:
            continue
        outcome = (take_in if kind is FILLS else take_in_cards)(rows.rows, reader, record)
        taken = outcome.fills if kind is FILLS else outcome.cards
        if taken:
            (written if kind is FILLS else written_cards)(taken)
        rejected_rows(rows, outcome.refused, form.heading)
        count = len(taken) + len(outcome.refused) + len(outcome.doubles) + outcome.left_out
        assert count == len(rows.rows), f"{len(rows.rows) - count} rows are lost"
    if said is None:
        with suppress(TableRefused):
            heading = heading_of(read_table(data, heading=0).rows)
            assert map_of(draft_of(read_table(data, heading=heading), "x.csv", _record(), heading).encode("utf-8"))


@cache
def _record():
    return read_record([Source("all.cyl", RECORD)])


_FILL_MAP = b"""
[day]
column = "Day"
form = "year-month-day"
[time]
column = "Time"
form = "hour:minute"
[cylinder]
column = "Cylinder"
by = "name"
[to]
column = "End"
unit = "psi"
"""
_CARD_MAP = b"""
[cylinder]
column = "Cylinder"
[serial]
column = "Time"
"""
_EXPORT = b"Day,Time,Cylinder,End\n2026-03-14,09:42,K-7,4500\n2026-03-15,10:00,K-8,4400\n"


def column_map_file(data: bytes) -> None:
    """Reads a map, and takes an export in by it."""
    try:
        said = map_of(data)
    except MapRefused:
        return
    table(_EXPORT, said)


# What a revision holds, as JSON: [{path: [mode, text]}, the same of a later one].


def revisions(data: bytes) -> None:
    """Finds the record in two states of a repository, reads both and compares them."""
    said = json.loads(data)
    objects = {f"{number}": text.encode("utf-8", "surrogatepass")
               for number, text in enumerate(text for state in said for _, text in state.values())}  # fmt: skip
    numbers = iter(objects)
    blobs = [[Blob(path, mode, next(numbers)) for path, (mode, _) in state.items()] for state in said]
    repository = SimpleNamespace(
        folder=".", prefix="", top="/top", notes=list, files=lambda revision: blobs[int(revision.commit)]
    )
    with patch.object(revision_tree, "Objects", lambda _: _Objects(objects)):
        states, found = States(), []
        try:
            for number in range(2):
                state = states.at(repository, Revision(f"r{number}", str(number), "2026-01-01"), ".")
                found.append(state)
                folder = state.folder
                texts = {blob.path: objects[blob.id] for blob in blobs[number] if blob.mode not in ("120000", "160000")}
                of_others = {posixpath.dirname(path) for path, text in texts.items() if declares_department(text)} - {
                    folder.path
                }
                for blob in blobs[number]:
                    parts = blob.path.split("/")
                    if not blob.path.lower().endswith(".cyl") or any(part.startswith(".") for part in parts):
                        continue
                    # A record below is another one.
                    if any(is_within(blob.path, other) for other in of_others if is_within(other, folder.path)):
                        continue
                    if blob.mode == "100644" and is_within(blob.path, folder.path):
                        known = blob.path in folder.data or blob.path in folder.troubles
                        assert known, f"a file is lost: {blob.path!r}"
        except CannotDo:
            return
        compare_records(found[0].record, found[1].record, as_of=AS_OF)


class _Objects:
    def __init__(self, objects: dict[str, bytes]):
        self.objects = objects

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def read(self, object_id: str) -> bytes:
        return self.objects[object_id]


class _Answers:
    """Where a server writes to."""

    def __init__(self):
        self.text = b""

    def write(self, data: bytes) -> None:
        self.text += data

    def close(self) -> None:
        pass


class _Sent:
    """What an editor sends, for the library, which waits for it."""

    def __init__(self, data: bytes):
        self.messages = _Messages(io.BytesIO(data))

    async def readline(self) -> bytes:
        return self.messages.readline()

    async def readexactly(self, count: int) -> bytes:
        return self.messages.read(count)


def messages(data: bytes) -> None:
    """Sends a server what an editor says; no fault of the program may be told of, and what it pushes is shown too."""
    service, answers = make_service(), _Answers()
    service.protocol.set_writer(answers)

    async def speak() -> None:
        try:
            await run_async(threading.Event(), _Sent(data), service.protocol, None, service.report_server_error)
        except CannotDo:
            return
        for record in list(service.records.values()):
            service.show(record)

    asyncio.run(speak())
    at = answers.text.find(b"a fault of the program")
    assert at < 0, answers.text[at : at + 200].decode("utf-8", "replace")


TRIALS: dict[str, Callable[[bytes], None]] = {
    "ledger": ledger, "ledger-read": ledger_read, "pack": pack, "pack-in-force": pack_in_force, "table": table, "map": column_map_file,
    "revisions": revisions, "messages": messages,
}  # fmt: skip
