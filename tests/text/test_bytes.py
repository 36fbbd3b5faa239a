"""From a file's bytes to its text: UTF-8 whole, or a fault that names the byte and nothing read."""

import pytest

from cylfile.record.reader import read_record
from cylfile.text.source import decode

CURE = "Save the file as UTF-8 text; nothing of it was read."


def refused(data: bytes) -> str:
    """What is said of a file of which nothing can be read."""
    source, (fault,) = decode("bad.cyl", data)
    assert source.text == "" and source.path == "bad.cyl"
    assert (fault.span.line, fault.span.column, fault.cure, fault.rule) == (1, 1, CURE, "unreadable-line")
    record = read_record([source], [fault])
    assert record.faults == [fault] and record.entry_count == 0
    return fault.text


@pytest.mark.parametrize(
    "data, text",
    [
        (b"cylinder K-\xff", "not UTF-8 text: byte 0xff at offset 11 (line 1, byte 12 of it)"),
        (b"# \xc3\xbc\r\n# \xc3", "not UTF-8 text: byte 0xc3 at offset 8 (line 2, byte 3 of it)"),
        (b"# M\xfcller\n", "not UTF-8 text: byte 0xfc at offset 3 (line 1, byte 4 of it)"),
        # The mark at the start counts as bytes of the file and of its first line.
        (b"\xef\xbb\xbf# \x80\n", "not UTF-8 text: byte 0x80 at offset 5 (line 1, byte 6 of it)"),
        # A surrogate, a too long form, and a code point past the last are no UTF-8.
        (b"\n\xed\xa0\x80", "not UTF-8 text: byte 0xed at offset 1 (line 2, byte 1 of it)"),
        (b"\xc0\xaf", "not UTF-8 text: byte 0xc0 at offset 0 (line 1, byte 1 of it)"),
        (b"\xf5\x80\x80\x80", "not UTF-8 text: byte 0xf5 at offset 0 (line 1, byte 1 of it)"),
        (
            b"\x89PNG\r\n\x1a\n\x00\x00",
            "a binary file, not a ledger: not UTF-8 text: byte 0x89 at offset 0 (line 1, byte 1 of it)",
        ),
    ],
)
def test_a_file_that_is_no_text_is_told_by_its_first_bad_byte(data, text):
    assert refused(data) == text


@pytest.mark.parametrize("name", ["utf-16", "utf-16-le", "utf-16-be"])
def test_a_file_in_utf_16_with_its_mark_is_told_as_such(name):
    data = ("" if name == "utf-16" else "\ufeff").__add__('person m "M\u00fcller"\n').encode(name)
    assert refused(data) == "not UTF-8 text but UTF-16"


def test_a_mark_at_the_start_is_passed_over_and_stands_for_nothing():
    source, faults = decode("a.cyl", b"\xef\xbb\xbfcylinder K-1\n")
    assert (source.text, faults) == ("cylinder K-1\n", [])
    (card,) = read_record([source]).cylinders.values()
    assert (card.span.line, card.span.column) == (1, 10)


def test_a_mark_further_on_is_a_character_that_no_word_has():
    source, _ = decode("a.cyl", b"\xef\xbb\xbf\xef\xbb\xbfcylinder K-1\n")
    (fault,) = read_record([source]).faults
    assert fault.text == "U+FEFF ZERO WIDTH NO-BREAK SPACE in a word"


@pytest.mark.parametrize("data", [b"", b"\n", b"\r\n", b"\xef\xbb\xbf", b"  \t\n\n", b"# nothing"])
def test_a_file_with_nothing_in_it_says_nothing(data):
    source, faults = decode("empty.cyl", data)
    record = read_record([source], faults)
    assert record.faults == [] and not record.declared and not record.entries


def test_half_a_character_at_the_end_is_a_file_cut_off():
    whole = 'person m "M\u00fcller"'.encode()
    assert refused(whole[: whole.index(b"\xc3") + 1]).startswith("not UTF-8 text: byte 0xc3 at offset 11")
