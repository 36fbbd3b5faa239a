"""
What is offered in place of a word that cannot be read: only where there is no doubt, and then it can be read.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.record.reader import read_record
from cylfile.text.ledger import LEDGER, TOP
from cylfile.text.source import Source
from support.ledger_lines import HEADERS, PLACES, lines

CARD = 'person wren "Wren"\ncylinder K-1\n  '


def faults_of(text: str):
    return read_record([Source("a.cyl", text)]).faults


def mended(text: str, fault) -> str:
    return text[: fault.span.start] + fault.instead + text[fault.span.end :]


# A line of a card that is wrong, and what it is once what is offered stands in it.
CERTAIN = {
    "2026-03-14 Filled to 4500 psi": "2026-03-14 filled to 4500 psi",
    "2026-03-14 fileld to 4500 psi": "2026-03-14 filled to 4500 psi",
    "2026-03-14 visuel pass": "2026-03-14 visual pass",
    "2026-03-14 VISUAL pass": "2026-03-14 visual pass",
    "2026-03-14 visual passed": "2026-03-14 visual pass",
    "2026-03-14 out of servise \"x\"": "2026-03-14 out of service \"x\"",
    "serail 12": "serial 12",
    "testpressure 7500 psi": "test-pressure 7500 psi",
    "3/14/2026 emptied": "2026-03-14 emptied",
    "14.03.2026 emptied": "2026-03-14 emptied",
    "14.3.26 emptied": "2026-03-14 emptied",
    "2026/03/14 emptied": "2026-03-14 emptied",
    "2026-3-4 emptied": "2026-03-04 emptied",
    "made 06/2019": "made 2019-06",
    "made 2019.6": "made 2019-06",
    "2026-03-14 9:42 emptied": "2026-03-14 09:42 emptied",
    "2026-03-14 9:42:10 emptied": "2026-03-14 09:42:10 emptied",
    "2026-03-14 9:42 PM emptied": "2026-03-14 21:42 emptied",
    "2026-03-14 12:42am emptied": "2026-03-14 00:42 emptied",
    "2026-03-14 12:42pm emptied": "2026-03-14 12:42 emptied",
    "2026-03-14 0942 emptied": "2026-03-14 09:42 emptied",
    "2026-03-14 9h42 emptied": "2026-03-14 09:42 emptied",
    "2026-03-14 filled to 4,500 psi": "2026-03-14 filled to 4500 psi",
    "2026-03-14 filled to 31,026 kPa": "2026-03-14 filled to 31026 kPa",
    "2026-03-14 filled to 4,500.5 psi": "2026-03-14 filled to 4500.5 psi",
    "2026-03-14 filled to 4500 PSI": "2026-03-14 filled to 4500 psi",
    "2026-03-14 filled to 4500Psig": "2026-03-14 filled to 4500 psi",
    "2026-03-14 filled to 31 mpa": "2026-03-14 filled to 31 MPa",
    "holds 6.8L": "holds 6.8 L",
    "holds 6.8 liters": "holds 6.8 L",
    "2026-03-14 filled to 4500 psi at 80 f": "2026-03-14 filled to 4500 psi at 80 F",
    "2026-03-14 filled to 4500 psi over 2h": "2026-03-14 filled to 4500 psi over 2 h",
    "2026-03-14 filled to 4500\u00a0psi": "2026-03-14 filled to 4500 psi",
    "made 2020\u201301": "made 2020-01",
    "serial PC\u201144": "serial PC-44",
    "2026-03-14 filled to 4500 psi at \u22125 F": "2026-03-14 filled to 4500 psi at -5 F",
    "2026-03-14 filled to 4500 psi at 80\u02daF": "2026-03-14 filled to 4500 psi at 80°F",
    "2026-03-14 filled to 4500 psi at 80 \u00baF": "2026-03-14 filled to 4500 psi at 80 °F",
    "tag \"E2\"": "tag E2",
    "2026-03-14 remarked \"C:\\temp\"": "2026-03-14 remarked \"C:\\\\temp\"",
    "2026-03-14 remarked \u201cvalve leaks\u201d by wren": "2026-03-14 remarked \"valve leaks\" by wren",
    "2026-03-14 remarked \u201evalve\u201c": "2026-03-14 remarked \"valve\"",
}  # fmt: skip
# Nobody can tell what was meant, so nothing is offered.
DOUBTFUL = [
    "03/04/2026 emptied", "26-3-14 emptied", "14/14/2026 emptied", "2026-02-30 emptied", "made 13/2019", "made 2019",
    "2026-03-14 9:75 emptied", "2026-03-14 13:15 pm emptied", "2026-03-14 942 emptied", "2026-03-14 24:00 emptied",
    "2026-03-14 filled to 310,5 bar", "2026-03-14 filled to 31,026 bar", "2026-03-14 filled to 4500",
    "2026-03-14 filled to 45O0 psi",
    "2026-03-14 filled to 80 F", "2026-03-14 filled to 80 l", "2026-03-14 filled 4500 psi",
    "2026-03-14 emptied by wr\u0435n",
    "2026-03-14 remarked \"x", "2026-03-14 refuelled", "2026-03-14 emptied by", "made 2019-06 2019-07",
    "2026-03-14 filled",
    "2026-03-14 filled to 4500 psi to 4400 psi", "2026-03-14 filled to 4500 psia", "tag \"E 2\"",
]  # fmt: skip


@pytest.mark.parametrize("line", CERTAIN)
def test_what_is_offered_is_what_was_meant(line):
    text = CARD + line
    (fault,) = faults_of(text)
    assert mended(text, fault) == CARD + CERTAIN[line]
    assert faults_of(CARD + CERTAIN[line]) == []


@pytest.mark.parametrize("line", DOUBTFUL)
def test_nothing_is_offered_where_there_is_doubt(line):
    (fault,) = faults_of(CARD + line)
    assert fault.instead is None and fault.cure


FIRST_WORDS = [
    (place, LEDGER.keyword_terminals[terminal])
    for place in PLACES
    for terminal in sorted(LEDGER._lark.parse_interactive(start=place).accepts() & LEDGER.keyword_terminals.keys())
]


@pytest.mark.parametrize("place, keyword", FIRST_WORDS)
def test_a_word_of_the_language_in_capitals_is_offered_as_it_is_written(place, keyword):
    wrong = keyword.upper()
    fault = LEDGER.read(Source("a", wrong), 0, len(wrong), place).fault
    assert (fault.text, fault.instead) == (f"`{wrong}` is not allowed here", keyword)


@settings(deadline=None, max_examples=150)
@given(st.sampled_from(PLACES), st.data())
def test_every_fault_has_its_place_in_the_line_and_a_cure(place, data):
    line = data.draw(lines(place))
    indent = "" if place == TOP else "  "
    text = ("" if place == TOP else HEADERS[place] + "\n") + indent + line
    start = text.rindex("\n") + 1 if "\n" in text else 0
    for fault in faults_of(text):
        assert fault.text and fault.cure and "\n" not in fault.text + fault.cure
        assert 0 <= fault.span.start <= fault.span.end <= len(text)
        if fault.rule == "unreadable-line" and fault.span.start >= start:
            assert fault.span.start < fault.span.end
            assert len(fault.text) < 250
        if fault.instead is not None:
            assert mended(text, fault) != text
            after = [(other.span.start, other.text) for other in faults_of(mended(text, fault))]
            assert (fault.span.start, fault.text) not in after
