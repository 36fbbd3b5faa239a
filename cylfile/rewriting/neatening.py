"""
Neatening a file of a record: its canonical layout, and the proof that it says what it said.
"""

from collections import Counter
from typing import NamedTuple

from cylfile.record.file_reader import FileReader
from cylfile.record.record import Record
from cylfile.rewriting.neat_layout import lay_out
from cylfile.rewriting.same_facts import comments_of, difference, said_in
from cylfile.text.source import Source
from cylfile.text.spelling import american

# What neatening may take away. The sign of a degree is no part of a unit.
_SPACING = " \t\r\u00b0\ufeff"


class Neatened(NamedTuple):
    """
    The text of a neatened source.

    `refusal` says in words what the text would change of what the file says, so that it must
    not be written. That would be a fault of this program.
    """

    text: str
    refusal: str = ""


def neaten(source: Source, record: Record, said: FileReader | None = None) -> Neatened:
    """
    Neaten a source of a record, and prove that it says the same afterwards.

    Lines that the record could not read stay as they are to the byte. `said` is what the source says, where somebody
    has read it already.
    """
    unread = {
        number
        for fault in record.faults
        if fault.span.source is source and fault.rule == "unreadable-line"
        for number in range(fault.span.line - 1, fault.span.end_line)
    }
    text = lay_out(source, unread)
    if text == source.text:
        return Neatened(text)
    return Neatened(text, _proof(source, Source(source.path, text), said))


def _proof(before: Source, after: Source, said: FileReader | None) -> str:
    """What the two would say differently, in words; empty where it is nothing."""
    if list(comments_of(before)) != list(comments_of(after)):
        return "a comment would be gone, changed or moved past another"
    if lost := _lost(before.text, after.text):
        return f"the letter `{lost}` would be gone"
    return difference(said_in(said or FileReader(before).read()), said_in(FileReader(after).read()))


def _lost(before: str, after: str) -> str:
    """A letter that one text has and the other has fewer of, empty where there is none."""
    ours, theirs = (Counter(_without_spacing(text).split("\n")) for text in (before, after))
    # Nearly every line is only spaced otherwise.
    letters, left = (Counter("".join(lines.elements())) for lines in (ours - theirs, theirs - ours))
    return min(letters - left, default="")


def _without_spacing(text: str) -> str:
    text = american(text)
    for sign in _SPACING:
        text = text.replace(sign, "")
    return text
