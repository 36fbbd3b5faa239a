"""
The files of a record as a command that writes needs them: the bytes, beside what they say.
"""

from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.kept_readings import add_kept
from cylfile.files.records import Folder, the_record
from cylfile.files.tree import STANDARD_INPUT
from cylfile.record.reader import FileReader, read_record
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, decode

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class StoredFile(NamedTuple):
    """A file of the record. `is_whole` is false where its bytes are no text, so that nothing can be written in it."""

    path: str
    data: bytes
    source: Source
    is_whole: bool

    @property
    def shown(self) -> str:
        return self.source.path

    def encoded(self, text: str) -> bytes:
        """The bytes of the file with another text; a byte-order mark that it has stays."""
        mark = _BYTE_ORDER_MARK if self.data.startswith(_BYTE_ORDER_MARK) else b""
        return mark + text.encode("utf-8")


class StoredRecord(NamedTuple):
    """
    All files of a record, by the path that people see, and the record that they make, as it stands in its folder.

    `read_before` holds what each of them says; see `read_record`.
    """

    folder: Folder
    files: dict[str, StoredFile]
    record: Record
    faults: list[Fault]
    read_before: dict[Source, FileReader]

    def with_text(self, source: Source) -> Record:
        """The record as it would be with another text in a file, or with a file that is new; by the same clocks."""
        sources = {path: file.source for path, file in self.files.items()} | {source.path: source}
        record = read_record(list(sources.values()), self.faults, self.read_before)
        record.clock = self.record.clock
        return record


def read_stored(paths: list[str], earlier: StoredRecord | None = None, keeps_blocks: bool = False) -> StoredRecord:
    """
    Read the one record that paths lead to, in order to write to it.

    Raises CannotDo where a file of it cannot be read. With the record of an earlier look, only what has changed
    since is read anew, and these are given back where nothing has. Who will write most of it anew has the blocks of
    each file kept, see `FileReader`.
    """
    folder = the_record(paths)
    if folder.troubles:
        path, trouble = next(iter(folder.troubles.items()))
        raise CannotDo(
            f"`{folder.tree.shown(path)}`: {trouble.text}, and without it nothing is written. {trouble.cure}"
        )
    files, faults, read_before = {}, [], {}
    for path, data in folder.contents():
        file, of_text = _stored_file(path, folder.tree.shown(path), data)
        known = earlier.files.get(file.shown) if earlier else None
        if earlier and known is not None and known.is_whole and known.data == file.data:
            file = known
            read_before[known.source] = earlier.read_before[known.source]
        elif keeps_blocks:
            read_before[file.source] = FileReader(file.source, keeps_blocks).read()
        files[file.shown] = file
        faults += of_text
    if earlier and len(read_before) == len(files) == len(earlier.files):
        return earlier
    sources = [file.source for file in files.values()]
    add_kept(read_before, sources)
    record = read_record(sources, faults, read_before)
    return StoredRecord(folder, files, record, faults, read_before)


def _stored_file(path: str, shown: str, data: bytes) -> tuple[StoredFile, list[Fault]]:
    source, faults = decode(shown, data)
    return StoredFile(path, data, source, not faults), faults


def folder_to_write(paths: list[str]) -> str:
    """The folder of the one record that paths lead to. Raises CannotDo for standard input, which is no place to write to."""
    if STANDARD_INPUT in paths:
        raise CannotDo("standard input cannot be written to; name the folder of the record")
    return the_record(paths).path
