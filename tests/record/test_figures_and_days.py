"""What figures, days and periods mean, by published conversions and the calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.record.dates import NEVER, Month, day, month, month_end, months_after
from cylfile.record.quantities import quantity
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.ledger_entries import HEAD, entry_of

unhurried = settings(deadline=None)
# Exact or to all digits given: NIST SP 811 (2008), appendix B.8, and BIPM, the SI brochure.
VALUES = [
    ("PRESSURE", "4500 psi", 4500, "4500 psi", "psi"),
    ("PRESSURE", "1 bar", 14.503773773, "1 bar", "bar"),
    ("PRESSURE", "310 bar", 4496.16987, "310 bar", "bar"),
    ("PRESSURE", "1MPa", 145.03773773, "1 MPa", "MPa"),
    ("PRESSURE", "100 \t kPa", 14.503773773, "100 kPa", "kPa"),
    ("PRESSURE", "0 psi", 0, "0 psi", "psi"),
    ("TEMPERATURE", "32 F", 273.15, "32 F", "F"),
    ("TEMPERATURE", "212°F", 373.15, "212 F", "F"),
    ("TEMPERATURE", "70 F", 294.2611111, "70 F", "F"),
    ("TEMPERATURE", "-40 F", 233.15, "-40 F", "F"),
    ("TEMPERATURE", "-40 °C", 233.15, "-40 C", "C"),
    ("TEMPERATURE", "15 C", 288.15, "15 C", "C"),
    ("VOLUME", "6.8 L", 6800, "6.8 L", "L"),
    ("VOLUME", "92.1cc", 92.1, "92.1 cc", "cc"),
    ("VOLUME", "92.1 mL", 92.1, "92.1 mL", "mL"),
    ("VOLUME", "1 in3", 16.387064, "1 in3", "in3"),
    ("VOLUME", "1 ft3", 28316.846592, "1 ft3", "ft3"),
    ("VOLUME", "2 m3", 2e6, "2 m3", "m3"),
    ("DURATION", "90 s", timedelta(seconds=90), "90 s", "s"),
    ("DURATION", "6min", timedelta(minutes=6), "6 min", "min"),
    ("DURATION", "1.5 h", timedelta(minutes=90), "1.5 h", "h"),
    ("SHARE", "10%", 0.1, "10 %", "%"),
    ("PPM", "410 ppm", 410, "410 ppm", "ppm"),
    ("DENSITY", "0.1mg/m3", 0.1, "0.1 mg/m3", "mg/m3"),
]


@pytest.mark.parametrize("terminal, word, value, text, unit", VALUES, ids=[row[1] for row in VALUES])
def test_a_figure_is_kept_as_written_and_as_a_number_to_reckon_with(terminal, word, value, text, unit):
    found = quantity(terminal, word)
    assert (found.text, str(found), found.unit) == (text, text, unit)
    assert found.value == (value if isinstance(value, timedelta) else pytest.approx(value, rel=1e-9))


@pytest.mark.parametrize(
    "words, fault",
    [
        ("filled to 999999999 psi", None),
        ("filled to 1000000000 psi", "a number of 10 digits; the longest has 9"),
        ("filled to 1234567.890 psi", "a number of 10 digits; the longest has 9"),
        ("filled to 4500 psi over 999999999 h", None),
        ("filled to 4500 psi over 9999999999 h", "a number of 10 digits; the longest has 9"),
        ("filled to 4500 psi over " + "9" * 4000 + " s", "a number of 4000 digits; the longest has 9"),
        ("hydro pass total 123456789 in3", None),
        ("filled to 4500 psi at -459 F", None),
        ("filled to 4500 psi at -460 F", "there is no temperature of -460 F"),
        ("filled to 4500 psi at -273.15 C", None),
        ("filled to 4500 psi at -273.16 C", "there is no temperature of -273.16 C"),
    ],
)
def test_figures_that_nobody_read_from_a_gauge_are_refused(words, fault):
    record = read_record([Source("a.cyl", f"cylinder K-1\n  2026-01-01 {words}\n")])
    assert [found.text for found in record.faults] == ([fault] if fault else [])
    assert record.entry_count == (fault is None)


def test_a_word_that_was_refused_is_refused_again_and_takes_no_other_line_with_it():
    """Words are read once and remembered; many lines of one shape are made at once."""
    days = ["2026-02-27", "2026-02-30", "2026-02-28", "2026-02-30", "2026-03-01"]
    text = "cylinder K-1\n" + "".join(f'  {one} remarked "x"\n' for one in days)
    for _ in range(2):
        record = read_record([Source("a.cyl", text)])
        assert [entry.day for entry in record.entries["K-1"]] == [
            date(2026, 2, 27),
            date(2026, 2, 28),
            date(2026, 3, 1),
        ]
        assert [fault.span.line for fault in record.faults] == [3, 5]


@pytest.mark.parametrize("text", ["", "x" * 2000, '\\"' * 2000, "\\\\" * 2000, "\u706b" * 2000])
def test_a_text_of_two_thousand_characters_is_read(text):
    entry = entry_of(f'{HEAD}cylinder K-1\n  2026-01-01 remarked "{text}"\n')
    assert entry.text == text.replace("\\\\", "\\").replace('\\"', '"')


def test_a_text_of_one_more_is_refused():
    (fault,) = read_record([Source("a.cyl", f'cylinder K-1\n  2026-01-01 remarked "{"x" * 2001}"\n')]).faults
    assert fault.text == "a text of 2,001 characters; the longest has 2,000"


@unhurried
@given(
    st.text(
        st.characters(exclude_characters="\r\n", exclude_categories=["Cc", "Cs"], max_codepoint=0x1FFF), max_size=30
    )
)
def test_any_text_is_read_as_it_was_meant(text):
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    source = Source("a.cyl", f'cylinder K-1\n  2026-01-01 remarked "{quoted}"\n')
    if source.is_clean():
        ((entry,),) = read_record([source]).entries.values()
        assert entry.text == text


class TestDays:
    @pytest.mark.parametrize(
        "word", ["2026-02-29", "2026-04-31", "2026-00-10", "2026-13-01", "2026-01-00", "0000-01-01", "2100-02-29"]
    )
    def test_a_day_that_the_calendar_has_not(self, word):
        with pytest.raises(ValueError):
            day(word)

    def test_leap_days(self):
        assert day("2024-02-29") == date(2024, 2, 29) and day("2000-02-29") == date(2000, 2, 29)

    def test_a_month_is_written_without_its_day(self):
        assert str(month("2026-03")) == "2026-03" and month("2026-03") == Month(2026, 3, 1)
        assert str(month("0999-12")) == "0999-12"

    @pytest.mark.parametrize(
        "a_day, end",
        [
            ("2026-02-01", "2026-02-28"),
            ("2024-02-10", "2024-02-29"),
            ("2026-04-30", "2026-04-30"),
            ("2026-12-31", "2026-12-31"),
        ],
    )
    def test_the_last_day_of_a_month(self, a_day, end):
        assert month_end(day(a_day)) == day(end)

    @pytest.mark.parametrize(
        "anchor, months, after",
        [
            ("2020-03-31", 60, "2025-03-31"), ("2026-01-31", 1, "2026-02-28"), ("2024-01-31", 1, "2024-02-29"),
            ("2024-02-29", 12, "2025-02-28"), ("2024-02-29", 48, "2028-02-29"), ("2019-08-31", 180, "2034-08-31"),
            ("2026-12-15", 0, "2026-12-15"),
        ],
    )  # fmt: skip
    def test_months_later(self, anchor, months, after):
        assert months_after(day(anchor), months) == day(after)

    def test_two_steps_of_a_year_are_not_always_one_of_two(self):
        leap = date(2024, 2, 29)
        assert months_after(months_after(leap, 24), 24) == date(2028, 2, 28) != months_after(leap, 48)

    @pytest.mark.parametrize("months", [12 * 7974, 10**9, 10**30])
    def test_past_the_end_of_the_calendar_is_never(self, months):
        assert months_after(date(2026, 1, 1), months) == NEVER

    @unhurried
    @given(st.dates(max_value=date(3000, 1, 1)), st.integers(0, 2400))
    def test_the_same_day_of_the_month_or_its_last(self, anchor, months):
        after = months_after(anchor, months)
        assert (after.year * 12 + after.month) - (anchor.year * 12 + anchor.month) == months
        assert after.day == min(anchor.day, month_end(after).day)
        assert type(months_after(Month(anchor.year, anchor.month, 1), months)) is date
