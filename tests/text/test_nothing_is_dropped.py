"""Whatever a file holds, reading it ends well, and each of its lines is said by the record or told of as a fault."""

from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.record.reader import read_record
from cylfile.text.language import Damaged
from cylfile.text.ledger import LEDGER, read_blocks
from cylfile.text.parse_table import Slot
from cylfile.text.source import Source, decode
from support.ledger_lines import HEADERS, STRAYS, WORDS, ledgers

unhurried = settings(deadline=None)
HEAPS = st.lists(
    st.one_of(
        st.sampled_from([*LEDGER.keywords, *(word for words in WORDS.values() for word in words), *STRAYS]),
        st.sampled_from(
            ["\n", "\n  ", "\n      ", "\r\n\t", "\n" + "\n".join(HEADERS.values()) + "\n", "\r", "\x1b", "#", '"']
        ),
        st.text(max_size=4),
    ),
    max_size=30,
).map(" ".join)


def is_entry(line, place: str) -> bool:
    return place.endswith("_row") or isinstance(line.shape.tree.children[0], Slot)


@unhurried
@given(st.one_of(ledgers(), HEAPS, st.text()))
def test_each_line_is_said_or_told_of(text):
    source = Source("a.cyl", text)
    record = read_record([source])
    entries = {entry.start for entries in record.entries.values() for entry in entries}
    faults = [fault.span.start for fault in record.faults]
    for block in read_blocks(source)[0]:
        for line in block.lines:
            end = line.end if isinstance(line, Damaged) else source.line_end(line.start)
            if isinstance(line, Damaged) or is_entry(line, block.place) and line.start not in entries:
                assert any(line.start <= place <= end for place in faults), text[line.start : end]
        if isinstance(block.header, Damaged):
            assert block.header.fault in record.faults


@unhurried
@given(st.binary(max_size=60))
def test_any_bytes_are_text_or_one_fault(data):
    source, faults = decode("a.cyl", data)
    record = read_record([source], faults)
    assert (source.text == "" and len(record.faults) == 1) if faults else source.text.encode() in (data, data[3:])
