"""Which cylinders a recall means: all that it names must fit, and what is not on the card is not known."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cylfile.history.recalls import Recalls
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.record.serials import in_serials
from cylfile.text.source import Source

RULES, _ = load_rules(["practice"], lambda name: None)
RECALL = """\
recall 2024-03-01 "Neck threads"
  maker   "Elm Works"
  serial  "EW-77*"
  made    2019-01 to 2019-06
"""
CARD = """\
cylinder K-1
  maker   "Elm Works"
  serial  EW-7701
  made    2019-06-30
  class   steel
  2019-08-02  entered service
"""


def record_of(text):
    record = read_record([Source("f.cyl", text)])
    assert record.faults == []
    return record


def meant(card: str, recall: str = RECALL, class_name=None) -> bool | None:
    record = record_of(recall + card)
    return Recalls(record.cylinders["K-1"], class_name, record.recalls).may_mean(date(2024, 3, 1), True)


@pytest.mark.parametrize(
    "was, now, expected",
    [
        ("", "", True),
        ('"Elm Works"', '"ELM  works"', True),
        ("EW-7701", "ew-77", True),
        ("EW-7701", "EW-7801", False),
        ("EW-7701", "X-EW-7701", False),
        ("2019-06-30", "2019-06", True),
        ("2019-06-30", "2019-07-01", False),
        ("2019-06-30", "2018-12", False),
        ('"Elm Works"', "Oak", False),
        # What is missing on the card is not known, unless another property rules it out.
        ('  maker   "Elm Works"\n', "", None),
        ("  serial  EW-7701\n", "", None),
        ("  made    2019-06-30\n", "", None),
    ],
)
def test_every_property_must_fit(was, now, expected):
    assert meant(CARD.replace(was, now)) is expected


def test_what_is_ruled_out_is_not_in_doubt():
    assert meant(CARD.replace('  maker   "Elm Works"\n', "").replace("EW-7701", "OW-1")) is False


def test_the_class_is_the_one_that_the_rules_tell():
    recall = 'recall 2024-03-01 "Steel"\n  class steel\n'
    assert meant(CARD, recall, "steel") is True
    assert meant(CARD, recall, "aluminum") is False
    assert meant(CARD, recall, None) is None


def test_several_patterns_are_one_property():
    recall = RECALL.replace('  serial  "EW-77*"\n', '  serial  "OW-*"\n  serial  "EW-77*"\n')
    assert meant(CARD, recall) is True
    assert meant(CARD.replace("EW-7701", "OW-1"), recall) is True
    assert meant(CARD.replace("EW-7701", "PW-1"), recall) is False


def test_a_range_of_serial_numbers():
    recall = RECALL.replace('serial  "EW-77*"', "serial  EW-7650 to EW-7750")
    assert meant(CARD, recall) is True
    assert meant(CARD.replace("EW-7701", "EW-7751"), recall) is False
    # Ranges and patterns are one property.
    both = recall.replace("  made", '  serial "OW*"\n  made')
    assert meant(CARD, both) is True and meant(CARD.replace("EW-7701", "OW-7"), both) is True


@pytest.mark.parametrize("line", ['serial "EW-7650" to "OW-7750"', "serial EW-7750 to EW-7650", 'serial "EW" to "EX"'])
def test_what_is_no_range(line):
    record = read_record([Source("f.cyl", RECALL.replace('serial  "EW-77*"', line))])
    (fault,) = record.faults
    assert fault.rule == "unreadable-line" and "no range of serial numbers" in fault.text and fault.span.line == 3


def test_a_recall_that_names_nothing_is_a_fault():
    record = read_record([Source("f.cyl", 'recall 2024-03-01 "Valves"\n' + CARD)])
    (fault,) = record.faults
    assert fault.rule == "unreadable-line" and fault.span.line == 1
    assert fault.text == "this recall does not say which cylinders it means"


def test_the_day_of_the_recall():
    record = record_of(RECALL + CARD)
    recalls = Recalls(record.cylinders["K-1"], None, record.recalls)
    assert recalls.may_mean(date(2024, 2, 29), True) is False
    assert recalls.may_mean(date(2024, 3, 1), False) is False
    assert recalls.may_mean(date(2024, 3, 2), False) is True


@pytest.mark.parametrize(
    "pattern, fit, miss",
    [
        ("EW-7701", ["EW-7701", "ew-7701"], ["EW-77011", "EW-770", ""]),
        ("EW-*", ["EW-", "EW-1", "ew-XYZ"], ["EW", "XEW-1"]),
        ("*-77", ["EW-77", "-77"], ["EW-771", "77"]),
        ("E*7*1", ["E71", "E-77-001", "E711"], ["E7", "E17", "E1"]),
        ("a*a", ["aa", "aba"], ["a"]),
        ("*", ["", "anything"], []),
        ("[1].?", ["[1].?"], ["1x", "[1].x"]),
        (("EW-0990", "EW-1010"), ["EW-0990", "EW-1000", "ew-1010"], ["EW-0989", "EW-1011", "EW-990", "XW-1000", "EW-", "EW-1000A"]),
        (("A9B", "A120B"), ["A9B", "A10B", "A120B", "A99B"], ["A8B", "A121B", "A50C", "A0050B"]),
        (("5", "12"), ["5", "9", "10", "12"], ["4", "13", "A5", "005"]),
    ],
)  # fmt: skip
def test_serial_numbers(pattern, fit, miss):
    assert [serial for serial in fit if not in_serials(serial, pattern)] == []
    assert [serial for serial in miss if in_serials(serial, pattern)] == []


def test_a_pattern_made_to_take_for_ever_does_not():
    """Tried one way after the other, the stars would have the program search for years."""
    assert not in_serials("a" * 2_000, "a*" * 900 + "b")


def findings(text: str, as_of=date(2024, 3, 5)) -> list[tuple]:
    found = judge(record_of(text), RULES, as_of).findings
    return [
        (finding.rule, finding.span.line, finding.text) for finding in found if "recall" in finding.rule + finding.text
    ]


def test_a_fill_after_the_recall_and_the_cylinder_in_service():
    text = RECALL + CARD + "  2024-03-01 filled to 4500 psi at 70 F\n  2024-03-04 filled to 4500 psi at 70 F\n"
    said = 'recalled: "Neck threads" of 2024-03-01'
    assert findings(text) == [("recalled", 5, said), ("recalled", 12, said)]
    assert findings(text, date(2024, 2, 29)) == []


def test_a_cylinder_of_which_nobody_can_tell():
    (found,) = findings(RECALL + CARD.replace("  serial  EW-7701\n", ""))
    assert found[0] == "cannot-judge"
    assert "recalled not known" in found[2]


def test_without_a_recall_nothing_is_in_doubt():
    assert findings("cylinder K-1\n  2019-08-02  entered service\n") == []


_SAYS = [
    RECALL, RECALL.replace("EW-77*", "*1"), RECALL.replace("EW-77*", "ew-7701"), RECALL.replace("2024", "2023"),
    'recall 2024-02-01 "A"\n  serial  EW-7650 to EW-7750\n', 'recall 2024-02-01 "B"\n  serial  EW-99 to EW-9000\n',
    'recall 2024-02-01 "C"\n  serial  "OW*"\n  serial  "EW-7*1"\n', 'recall 2024-02-01 "D"\n  class  steel\n',
    'recall 2024-02-01 "E"\n  maker  "elm  works"\n', 'recall 2024-02-01 "F"\n  made  2019-01 to 2019-12\n',
]  # fmt: skip
_CARDS = [
    CARD.partition("\n")[2], '  serial  "ew-7701"\n', '  maker  "ELM works"\n', "  made  2019-06\n", "", "  serial  OW\n",
    "  serial  EW-07701\n", "  serial  EW-100\n",
]  # fmt: skip


@given(
    st.lists(st.sampled_from(_SAYS), min_size=1, max_size=6), st.sampled_from(_CARDS), st.sampled_from(["steel", None])
)
def test_a_card_is_held_against_every_recall_that_may_mean_it(recalls, card, class_name):
    record = record_of("".join(recalls) + f"cylinder K-1\n{card}")
    cylinder = record.cylinders["K-1"]
    few, all_ = (
        Recalls(cylinder, class_name, them) for them in (record.recalls_about(cylinder, class_name), record.recalls)
    )
    assert (few.certain, few.in_doubt) == (all_.certain, all_.in_doubt)
