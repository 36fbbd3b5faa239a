"""
A fill sheet that rows are added to, one after the other: only its own lines are read again for each.

A sheet says the same wherever it stands in a file, and whatever stands round it; so what the
rest of the file says need not be asked again.
"""

from typing import NamedTuple

from cylfile.record.entries import Entry, plain_form
from cylfile.record.file_reader import FileReader
from cylfile.record.record import Record
from cylfile.rewriting.insertion import NoPlace, on_sheet
from cylfile.rewriting.same_facts import difference
from cylfile.text.excerpt import Searchable
from cylfile.text.source import Source


class Row(NamedTuple):
    """A row on its sheet: the file with it, the rows of the sheet, this one among them, and the number of its line."""

    source: Source
    sheet: "OpenSheet"
    entries: list[Entry]
    entry: Entry
    line: int

    @property
    def place(self) -> str:
        """Its file and its line, see `Source.place`."""
        return f"{self.source.path}:{self.line}"


class OpenSheet(NamedTuple):
    """
    The lines of a sheet, `text`, in the file of a path between what stands `before` and `after` it.

    `model` is the line of a row that shows how rows are set on a sheet that has none yet, counted from 0;
    it is taken off the sheet with the first row. `is_new` tells that the file has no such sheet yet.
    """

    path: str
    before: str
    text: str
    after: str
    model: int | None = None

    @property
    def is_new(self) -> bool:
        return self.model is not None

    def with_row(self, record: Record, entry: Entry) -> Row:
        """
        The sheet with one more row. `record` has to declare the cylinder, and nothing else of it matters.

        Raises NoPlace where the row would change anything else.
        """
        alone = Record([Source(self.path, self.text)])
        alone.cylinders = record.cylinders
        placement = on_sheet(alone, entry, self.path)
        text, line = placement.text, placement.line
        if self.model is not None:
            lines = text.split("\n")
            text = "\n".join(lines[: self.model] + lines[line - 1 :])
            line = self.model + 1
        sheet = self._replace(text=text, model=None)
        entries = sheet.rows(self, [plain_form(placement.entry)])
        source = Source(self.path, f"{self.before}{text}{self.after}")
        start = len(self.before)
        entries = [
            each._replace(source=source, start=each.start + start, block=(each.block or 0) + start) for each in entries
        ]
        line += self.before.count("\n")
        (new,) = (each for each in entries if source.position(each.start)[0] == line)
        return Row(source, sheet, entries, new, line)

    def rows(self, before: "OpenSheet", added: list[str]) -> list[Entry]:
        """What the sheet says. Raises NoPlace where that is anything else than what it said before, and `added`."""
        old, new = (
            FileReader(Source(self.path, "" if sheet.is_new else sheet.text)).read() for sheet in (before, self)
        )
        wrong = difference(old.record, new.record, added)
        if wrong or new.things:
            raise NoPlace(f"this row would change something else on its sheet too ({wrong})")
        return [entry for entries in new.record.entries.values() for entry in entries]


def open_sheet(record: Record, like: Entry, into: str | None = None) -> OpenSheet:
    """
    The sheet that a fill like one would go to; with `into`, in the file of this path.

    Raises NoPlace where that cannot be told.
    """
    placement = on_sheet(record, like, into)
    whole = Source(placement.path, placement.text)
    offset = whole.line_starts[placement.line - 1]
    start, end = Searchable(whole).block_at(offset)
    old = next((source.text for source in record.sources if source.path == placement.path), "")
    before, after = whole.text[:start], whole.text[end:]
    if placement.opens_sheet:
        return OpenSheet(placement.path, before, whole.text[start:end], after, whole.text.count("\n", start, offset))
    return OpenSheet(placement.path, before, old[start : len(old) - len(after)], after)
