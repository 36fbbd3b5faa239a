"""A text of which only what has changed is sent is the text of the editor."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lsprotocol import types

from cylfile.server.positions import Positions
from cylfile.server.text_sync import changed

# What ends a line and what only looks so, and letters of one, two, three and four bytes.
TEXTS = st.text(st.sampled_from("a\n\r\u2028é🚒 "), max_size=12)


@pytest.mark.parametrize("encoding", ("utf-8", "utf-16", "utf-32"))
@given(TEXTS, st.lists(st.tuples(TEXTS, st.integers(0, 12), st.integers(0, 12)), max_size=3))
def test_changes_leave_the_text_of_the_editor(encoding, text, edits):
    changes, want = [], text
    for new, *places in edits:
        positions = Positions(want, encoding)
        start, end = (positions.position(min(place, len(want))) for place in sorted(places))
        changes.append(
            types.TextDocumentContentChangePartial(types.Range(types.Position(*start), types.Position(*end)), new)
        )
        want = want[: positions.offset(*start)] + new + want[positions.offset(*end) :]
    assert changed(text, changes, encoding) == want


def test_a_whole_text_and_places_beyond_the_end():
    end = types.Position(9, 9)
    changes = [
        types.TextDocumentContentChangeWholeDocument("one\ntwo"),
        types.TextDocumentContentChangePartial(types.Range(types.Position(0, 9), end), "\nlast"),
    ]
    assert changed("gone", changes, "utf-16") == "one\nlast"
