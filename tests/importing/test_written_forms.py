"""
Days and times in stated forms.
"""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from cylfile.importing.written_forms import Form, FormRefused


@pytest.mark.parametrize(
    "words, cell, moment",
    [
        ("year-month-day", "2026-03-14", datetime(2026, 3, 14)),
        ("month/day/year", "03/14/2026", datetime(2026, 3, 14)),
        ("month/day/year", "3/4/2026", datetime(2026, 3, 4)),
        ("day/month/year", "3/4/2026", datetime(2026, 4, 3)),
        ("day.month.short-year", "14.3.26", datetime(2026, 3, 14)),
        ("yearmonthday", "20260314", datetime(2026, 3, 14)),
        ("yearmonthdayhourminutesecond", "20260314094210", datetime(2026, 3, 14, 9, 42, 10)),
        ("day month-name year", "14 Mar 2026", datetime(2026, 3, 14)),
        ("month-name day, year", "September 9, 2026", datetime(2026, 9, 9)),
        ("month/day/year hour:minute am", "3/14/2026 9:42 PM", datetime(2026, 3, 14, 21, 42)),
        ("month/day/year hour:minute am", "3/14/2026  12:05 a.m.", datetime(2026, 3, 14, 0, 5)),
        ("month/day/year hour:minute am", "3/14/2026 12:05 pm", datetime(2026, 3, 14, 12, 5)),
        ("year-month-dayThour:minute:second", "2026-03-14T09:42:10", datetime(2026, 3, 14, 9, 42, 10)),
        ("year-month-day hour:minute:second.fraction", "2026-03-14 09:42:10.512", datetime(2026, 3, 14, 9, 42, 10)),
        ("year-month-dayThour:minuteoffset", "2026-03-14T09:42Z", datetime(2026, 3, 14, 9, 42, tzinfo=UTC)),
        (
            "year-month-day hour:minute offset",
            "2026-03-14 09:42 -0730",
            datetime(2026, 3, 14, 9, 42, tzinfo=timezone(-timedelta(hours=7, minutes=30))),
        ),
        ("hour:minute", "9:42", datetime(1, 1, 1, 9, 42)),
    ],
)
def test_a_form_reads_its_cells(words, cell, moment):
    assert Form(words).read(cell) == moment


@pytest.mark.parametrize(
    "words, cell",
    [
        ("year-month-day", "2026-02-30"),
        ("year-month-day", "2026-03-14 09:42"),
        ("year-month-day", "26-03-14"),
        ("year-month-day", "\u0662\u0660\u0662\u0666-03-14"),
        ("month/day/year", "14/03/2026"),
        ("yearmonthday", "2026314"),
        ("hour:minute", "24:00"),
        ("hour:minute am", "13:00 pm"),
        ("hour:minute am", "0:30 am"),
        ("day month-name year", "14 Mai 2026"),
        ("year-month-day", ""),
    ],
)
def test_a_cell_of_another_form_is_nothing(words, cell):
    assert Form(words).read(cell) is None


@pytest.mark.parametrize(
    "words, why",
    [
        ("YYYY-MM-DD", "none of the words"),
        ("%m/%d/%Y", "none of the words"),
        ("month/day", "does not say the year"),
        ("day/day/year", "says `day` twice"),
        ("hour", "does not say the minute"),
        ("", "neither a day nor a time"),
        ("offset", "neither a day nor a time"),
    ],
)
def test_a_form_that_says_nothing_is_refused(words, why):
    with pytest.raises(FormRefused, match=why):
        Form(words)
