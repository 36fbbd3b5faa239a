"""
The calendar of due days, by the letter of RFC 5545 and as two other programs read it.
"""

from datetime import date

import icalendar
import vobject

from cylfile.show.machine.calendar import Event, calendar_lines

AS_OF = date(2026, 11, 25)
EVENTS = [
    Event(
        "test",
        "K-1",
        date(2026, 12, 31),
        "Test K-1",
        "last test 2021-12 + 5 years = due by 2026-12-31\nat Quay; then, home",
    ),
    Event("visual", "K-1", date(2027, 1, 31), "Visual K-1 " + "Größe 消防署 " * 12, "back\\slash"),
]


def written(events=EVENTS, name="Pinewater, Fire; Department", as_of=AS_OF) -> str:
    return "".join(calendar_lines(name, events, as_of))


def test_lines_end_with_cr_lf_and_are_no_longer_than_75_octets():
    data = written().encode()
    assert data.endswith(b"\r\n")
    lines = data.split(b"\r\n")[:-1]
    assert all(len(line) <= 75 and b"\n" not in line and b"\r" not in line for line in lines)
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode()


def test_folding_fills_lines_and_loses_nothing():
    for length in range(60, 230):
        event = Event("test", "K-1", AS_OF, "x" * length, "é" * length)
        unfolded = written([event]).replace("\r\n ", "")
        assert f"SUMMARY:{'x' * length}\r\n" in unfolded and f"DESCRIPTION:{'é' * length}\r\n" in unfolded
    line = written([Event("test", "K-1", AS_OF, "x" * 67, "")]).split("\r\n")
    assert "SUMMARY:" + "x" * 67 in line, "75 octets need no folding"


def test_as_icalendar_reads_it():
    calendar = icalendar.Calendar.from_ical(written())
    first, second = calendar.walk("VEVENT")
    assert first.decoded("DTSTART") == date(2026, 12, 31)
    assert first.decoded("DTEND") == date(2027, 1, 1)
    assert str(first["DESCRIPTION"]) == EVENTS[0].description
    assert str(second["SUMMARY"]) == EVENTS[1].summary
    assert str(second["DESCRIPTION"]) == "back\\slash"
    assert str(first["TRANSP"]) == "TRANSPARENT"
    assert first.decoded("DTSTAMP").date() == AS_OF
    assert not calendar.errors and not first.errors


def test_the_calendar_has_the_name_of_the_record():
    """RFC 7986 names a calendar by `NAME`, a text; older programs read `X-WR-CALNAME`."""
    lines = written().split("\r\n")
    assert "NAME:Pinewater\\, Fire\\; Department" in lines
    assert "X-WR-CALNAME:Pinewater\\, Fire\\; Department" in lines


def test_as_vobject_reads_it():
    calendar = vobject.readOne(written())
    assert calendar.validate(raiseException=True)
    first, second = calendar.vevent_list
    assert first.dtstart.value == date(2026, 12, 31)
    assert first.summary.value == "Test K-1"
    assert second.summary.value == EVENTS[1].summary


def test_the_same_day_gives_the_same_bytes():
    assert written() == written()


def test_an_event_keeps_its_identity_when_its_day_moves():
    def uids(text):
        return [line for line in text.split("\r\n") if line.startswith("UID")]

    moved = [event._replace(day=date(2031, 12, 31), summary="later") for event in EVENTS]
    assert uids(written()) == uids(written(moved, as_of=date(2027, 1, 1)))
    assert len(set(uids(written()))) == 2
    assert uids(written()) != uids(written(name="Another Department"))


def test_control_characters_and_markup_are_shown_as_text():
    text = written([Event("test", "K-1", AS_OF, "a\x1b]0;title\x07b", "\u202e")])
    assert "\x1b" not in text and "\x07" not in text and "\u202e" not in text


def test_the_last_day_of_the_calendar():
    assert "DTSTART;VALUE=DATE:99991231" in written([Event("test", "K-1", date.max, "never", "")])


def test_nothing_due_is_a_calendar_all_the_same():
    assert icalendar.Calendar.from_ical(written([])).walk("VEVENT") == []
