"""
The files of a record as a command that writes needs them: the bytes, beside what they say.
"""

import os
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import STANDARD_INPUT, LedgerFile, bytes_of, find_ledgers
from cylfile.record.reader import FileReader, read_record
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, decode

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class Paper(NamedTuple):
    """A file of the record. `is_whole` is false where its bytes are no text, so that nothing can be written in it."""

    file: LedgerFile
    data: bytes
    source: Source
    is_whole: bool

    def encoded(self, text: str) -> bytes:
        """The bytes of the file with another text; a byte-order mark that it has stays."""
        mark = _BYTE_ORDER_MARK if self.data.startswith(_BYTE_ORDER_MARK) else b""
        return mark + text.encode("utf-8")


class Papers(NamedTuple):
    """
    All files of a record, by the path that people see, and the record that they make.

    `read_before` holds what each of them says; see `read_record`.
    """

    by_path: dict[str, Paper]
    record: Record
    faults: list[Fault]
    read_before: dict[Source, FileReader]

    def with_texts(self, texts: dict[str, str]) -> Record:
        """The record as it would be with other texts in the files of these paths, or with files that are new."""
        sources = {path: paper.source for path, paper in self.by_path.items()}
        sources |= {path: Source(path, text) for path, text in texts.items()}
        return read_record(list(sources.values()), self.faults, self.read_before)


def read_papers(paths: list[str], earlier: Papers | None = None) -> Papers:
    """
    Read a record in order to write to it. Raises CannotDo where a file of it cannot be read.

    With the papers of an earlier look, only what has changed since is read anew, and these are
    given back where nothing has.
    """
    by_path, faults, read_before = {}, [], {}
    for file in find_ledgers(paths):
        paper, of_text = _read(file)
        known = earlier.by_path.get(file.shown) if earlier else None
        if known is not None and known.is_whole and known.data == paper.data:
            paper = known
            read_before[known.source] = earlier.read_before[known.source]
        by_path[file.shown] = paper
        faults += of_text
    if earlier and len(read_before) == len(by_path) == len(earlier.by_path):
        return earlier
    record = read_record([paper.source for paper in by_path.values()], faults, read_before)
    return Papers(by_path, record, faults, read_before)


def _read(file: LedgerFile) -> tuple[Paper, list[Fault]]:
    try:
        data = bytes_of(file)
    except OSError as trouble:
        why = (trouble.strerror or "the system gives no reason").lower()
        raise CannotDo(f"`{file.shown}` cannot be read ({why}), and without it nothing is written") from None
    source, faults = decode(file.shown, data)
    return Paper(file, data, source, not faults), faults


def record_folder(paths: list[str]) -> str:
    """The folder that holds all of a record. Raises CannotDo for standard input, which is no place to write to."""
    if STANDARD_INPUT in paths:
        raise CannotDo("standard input cannot be written to; name the folder of the record")
    places = [os.path.abspath(path) for path in paths or ["."]]
    folders = [place if os.path.isdir(place) else os.path.dirname(place) for place in places]
    try:
        return os.path.commonpath(folders)
    except ValueError:
        raise CannotDo("the record stands on several drives; put it on one") from None
