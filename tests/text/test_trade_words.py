"""A word of the trade that is no word of the language is refused with the whole form that says it."""

import pytest

from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.marked_ledgers import with_verbs

_HEAD = 'cylinder K-1\nsource C1 "Compressor"\n  kind compressor\n'


def refusal(line: str) -> tuple[str, str]:
    (fault,) = read_record([Source("a.cyl", f"{_HEAD}{line}\n")]).faults
    return fault.text, fault.cure


@pytest.mark.parametrize(
    "words, form",
    [
        ("inspected", "`visual pass` or `visual fail`"),
        ("hydrostatic test", "`hydro pass`, `hydro fail` or `hydro condemned`"),
        ("requalified", "`hydro pass`, `hydro fail` or `hydro condemned`"),
        ("tested", "`hydro pass`, `hydro fail` or `hydro condemned`"),
        ("rejected", "`visual fail` or `hydro fail`"),
        ("drained", "`emptied`"),
        ("topped off", "`filled to 4500 psi`"),
        ("relocated", "`moved to SITE`"),
        ("Checked", "`gauged 4200 psi`"),
        ("removed from service", '`out of service "..."`'),
        ("repaired", '`serviced "..."`'),
        ("scrapped", "`retired`"),
        ("noted", '`remarked "..."`'),
        ("VIP", "`visual pass` or `visual fail`"),
        ("out-of-service", '`out of service "..."`'),
        ("sampled", "`air sample pass` or `air sample fail`"),
        ("filter changed", "`cartridge changed`"),
    ],
)
def test_it_is_told_how_the_ledger_says_it(words, form):
    for line in (f"2026-03-14 {words} K-1", f"2026-03-14 09:42 {words} K-1 by wren", f"2026-03 {words} K-1"):
        text, cure = refusal(line)
        assert text == f"`{words}` is not a word of this language" and form in cure and cure.endswith(".")


def test_a_near_miss_of_a_word_of_the_language_is_no_word_of_the_trade():
    assert refusal("2026-03-14 gauged K-1 4200 PSI")[1] == "Write 4200 psi."
    assert refusal("2026-03-14 visuel K-1 pass")[1] == "Did you mean `visual`?"


@pytest.mark.parametrize(
    "line, said, text",
    [
        ("2026-03-14 remarked K-1 valve weeps", "valve weeps", "valve weeps"),
        ("2026-03-14 remarked K-1 valve weeps by wren", "valve weeps", "valve weeps"),
        ("2026-03-14 damaged K-1 dropped heat", "dropped", "dropped"),
        ("2026-03-14 out of service K-1 'bad valve'", "'bad valve'", "bad valve"),
        ("2026-03-14 filled K-1 to 4500 psi remark second fill of the day", "second fill of the day", "second fill of the day"),
    ],
)  # fmt: skip
def test_words_without_quotation_marks_are_told_of(line, said, text):
    assert refusal(line) == (f"`{said}` is not in quotation marks", f'Write a text as "{text}".')


def test_a_word_of_the_trade_before_words_without_quotation_marks_asks_for_them_too():
    (fault,) = read_record([Source("a.cyl", "cylinder K-1\n  2026-03-14 noted valve weeps\n")]).faults
    assert fault.cure == 'A remark is written `remarked "..."`, the words in quotation marks.'


def test_what_may_follow_is_told_in_whole_verbs():
    cure = refusal("2026-03-14 xyz K-1")[1]
    assert cure == with_verbs("Expected a time such as 09:42, <verbs of anything>.") and "`out of service`" in cure


@pytest.mark.parametrize(
    "line, cure",
    [
        ("  made 06/19", "Write the year with four digits: 2019-06, or 1919-06."),
        ("  made 6-94", "Write the year with four digits: 2094-06, or 1994-06."),
        ("  made 13/19", "Write the day as 2026-03-14, or the month as 2026-03 where no more is known."),
        ("  06/19 hydro pass", "Write the day as 2026-03-14, or the month as 2026-03 where no more is known."),
        ("  made 06/2019", "Write 2019-06."),
    ],
)
def test_a_month_as_it_is_stamped_is_told_how_to_write(line, cure):
    (fault,) = read_record([Source("a.cyl", f"cylinder K-1\n{line}\n")]).faults
    assert fault.cure == cure


@pytest.mark.parametrize("verb", ["filled to 4500 psi", "gauged 4500 psi", 'damaged "cut"', "emptied", 'remarked "x"'])
def test_what_happened_on_a_day_is_written_with_it(verb):
    (fault,) = read_record([Source("a.cyl", f"cylinder K-1\n  2026-03 {verb}\n")]).faults
    assert fault.text == f"`{verb.split()[0]}` is written with its day" and "`hydro`" in fault.cure
