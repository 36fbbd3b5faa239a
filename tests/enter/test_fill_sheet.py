"""`cylfile enter --sheet`: fill after fill at the station, as it is typed, scanned and broken off."""

import contextlib
import fcntl
import os
import pty
import select
import signal
import subprocess
import termios
import time

import pytest

from cylfile.files import writing
from support.small_record import CARDS, SHEETS

NEXT_DAY = "2026-03-15"
HEAD = "\nfill sheet 2026-03-15  at quay  on C1  by ayla\n"
WHO = {"CYLFILE_PERSON": "ayla", "CYLFILE_SITE": "quay"}


@pytest.fixture
def entered(entered):
    """The small record, with what a cylinder needs to be filled."""
    cards = CARDS.replace("class      steel\n", "class      steel\n  rated      4500 psi\n")
    entered.write("cards.cyl", cards.replace("cylinder T-1\n", "cylinder T-1\n  serial     NC-77\n"))
    return entered


@pytest.fixture
def fill(entered):
    """A session in which lines are typed: its status and all that it said."""

    def session(*lines: str, day: str = NEXT_DAY, **environment: str):
        typed = "".join(f"{line}\n" for line in lines).encode()
        done = entered("enter", "--sheet", given=typed, as_of=day, **{**WHO, **environment})
        assert done.err == "", done.err
        return done.status, done.out

    return session


def test_a_tag_brings_the_verdict_and_the_reading_closes_the_row(entered, fill):
    status, out = fill("e200341", "4400 85", "end")
    assert status == 0 and " T-1  MAY BE FILLED, stop at 4500 psi" in out and "serial NC-77, rated 4500 psi" in out
    assert "fills.cyl:6  2026-03-15 filled T-1 to 4400 psi at 85 F by ayla on C1 at quay" in out
    assert entered.text("fills.cyl") == f"{SHEETS}{HEAD}  T-1     to 4400 psi  at 85 F\n"
    assert "1 fill is written to fills.cyl." in out


@pytest.mark.parametrize(
    "typed, clauses",
    [
        ("4400", "to 4400 psi"),
        ("4400psi", "to 4400 psi"),
        ("300 bar", "to 300 bar"),
        ("900 to 4400 29 C", "from 900 psi to 4400 psi at 29 C"),
        ("from 900 psi to 4400 psi over 12 min", "from 900 psi to 4400 psi over 12 min"),
        ("unread", "to unread"),
    ],
)
def test_a_reading_may_be_short_or_in_the_words_of_the_language(fill, typed, clauses):
    assert f"2026-03-15 filled T-1 {clauses} by ayla on C1 at quay" in fill("T-1", typed)[1]


def test_a_sheet_that_is_there_is_added_to_and_lent_from(entered, fill):
    assert "filled T-1 to 4400 psi by ayla on C1 at quay" in fill("T-1", "4400", day="2026-03-14")[1]
    assert entered.text("fills.cyl") == SHEETS + "  T-1     to 4400 psi\n"


def test_rows_on_one_sheet_and_what_stands_after_it_stays(entered, fill):
    rest = '\n# The end.\nsite hill "Hill"\r\n'
    entered.write("fills.cyl", SHEETS + rest)
    fill("T-1", "4400", "T-1", "4300", day="2026-03-14")
    assert entered.text("fills.cyl") == SHEETS + "  T-1     to 4400 psi\n  T-1     to 4300 psi\n" + rest


@pytest.mark.parametrize("day, head", [("2026-03-14", ""), (NEXT_DAY, HEAD)])
def test_line_ends_and_a_byte_order_mark_stay(entered, fill, day, head):
    before = ("\ufeff" + SHEETS).replace("\n", "\r\n")
    entered.write("fills.cyl", before)
    fill("T-1", "4400", "T-1", "4300", day=day)
    rows = f"{head}  T-1     to 4400 psi\n  T-1     to 4300 psi\n".replace("\n", "\r\n")
    assert entered.text("fills.cyl") == before + rows


def test_a_file_that_becomes_unreadable_in_between_ends_nothing(entered, fill, monkeypatch):
    typed = iter(["T-1", "4400", "", "T-1", "T-2"])

    def ask(question):
        line = next(typed, None)
        if line is None:
            raise EOFError
        if line == "4400":
            (entered.folder / "cards.cyl").write_bytes(b"cylinder T-1\n  serial \xff\n")
        return line

    monkeypatch.setattr("builtins.input", ask)
    status, out = fill()
    assert status == 0 and "there is no card for T-1 any more" in out and "0 fills are written." in out
    assert entered.text("fills.cyl") == SHEETS


def test_what_is_no_cylinder_and_no_reading_is_said_and_asked_again(entered, fill):
    status, out = fill("X-9", "T-1", "4,400", "12 to", "at 85 F", "4400", "\x02T-1\x03", "4300", "end")
    assert status == 0 and "there is no card for a cylinder `X-9`" in out
    assert out.count("is neither a reading nor a cylinder") == 3
    assert entered.text("fills.cyl").endswith(f"{HEAD}  T-1     to 4400 psi\n  T-1     to 4300 psi\n")


def test_a_burst_of_tags_takes_none_for_a_reading(entered, fill):
    out = fill("E200341", "T-2", "E200341", "E200341", "T-1", "4400")[1]
    assert out.count("MAY BE FILLED") == 4 and out.count("DO NOT FILL") == 1
    assert "Nothing is written for T-2." in out and "Without a row: T-1, T-2." in out
    assert entered.text("fills.cyl").endswith(f"{HEAD}  T-1     to 4400 psi\n")


def test_a_number_that_is_a_cylinder_too_is_no_reading(entered, fill):
    entered.write("cards.cyl", entered.text("cards.cyl").replace("E200341", "4400"))
    out = fill("4400", "4400", "4400 psi", "T-1", "4300")[1]
    assert "`4400` is a cylinder as well" in out and out.count("2026-03-15 filled T-1") == 2


def test_a_cylinder_that_must_not_be_filled_is_written_only_when_somebody_signs_for_it(entered, fill):
    out = fill("T-2", "", "T-2", "4400", "", "", "end")[1]
    assert "T-2  DO NOT FILL" in out and "due by 2025-01-31" in out and "0 fills are written." in out
    assert entered.text("fills.cyl") == SHEETS
    out = fill("T-2", "4400", "nobody", "ben", "fire on the ridge", "end")[1]
    assert "No block declares the person `nobody`: ayla, ben." in out
    assert entered.text("fills.cyl").endswith(
        HEAD + '  T-2     to 4400 psi  remark "overridden by ben: fire on the ridge"\n'
    )


def test_a_tag_in_place_of_a_signature_signs_nothing(entered, fill):
    for typed in (("T-2", "4400", "T-1", "4400"), ("T-2", "4400", "ben", "T-1", "4400")):
        entered.write("fills.cyl", SHEETS)
        fill(*typed)
        assert entered.text("fills.cyl").endswith(f"{HEAD}  T-1     to 4400 psi\n")


def test_an_unread_line_about_its_air_refuses_it(entered, fill):
    entered.write("department.cyl", entered.text("department.cyl") + "  2026-01-14  air sample paas\n")
    out = fill("T-1", "4400", "", "", "end")[1]
    assert "DANGER" in out and "nobody knows what it says of C1" in out and entered.text("fills.cyl") == SHEETS


def test_a_fill_of_which_nothing_tells_whether_it_came_first_asks_for_a_time(entered, fill):
    cards = entered.text("cards.cyl")
    entered.write("cards.cyl", cards.replace("at quay\n\n", "at quay\n  2026-03-15  visual pass  by ben\n\n", 1))
    out = fill("T-1", "4400", "", "end")[1]
    said = " ".join(out.split())
    assert "nothing tells whether this came before or after `2026-03-15 visual T-1 pass by ben` (cards.cyl:8)" in said
    assert 'cylfile enter "2026-03-15 filled T-1 to 4400 psi by ayla on C1 at quay"' in said
    assert entered.text("fills.cyl") == SHEETS
    assert entered("enter", "2026-03-15 filled T-1 to 4400 psi by ayla on C1 at quay", as_of=NEXT_DAY).status == 0


def test_the_usual_source_and_a_change_of_crew(entered, fill):
    department = entered.text("department.cyl").replace("\n  zone", "\n  usual-source  C2\n  zone")
    entered.write("department.cyl", department + 'source C2 "Trailer"\n  kind  compressor\n')
    out = fill("ayla", "T-1", "4400", "by ben", "T-1", "4300", "by nobody", "end", CYLFILE_PERSON="")[1]
    assert "on C2 by ayla" in out and "no block declares the person `nobody`" in out
    assert entered.text("fills.cyl").endswith(
        HEAD.replace("C1", "C2") + "  T-1     to 4400 psi\n  T-1     to 4300 psi  by ben\n"
    )


def test_a_closed_period_and_a_record_without_sheets_are_said_at_once(entered):
    entered.write("seal.cyl", f"sealed 2026-03-31 by ben 1 entries {'0' * 64}\n")
    done = entered("enter", "--sheet", as_of=NEXT_DAY, **WHO)
    assert done.status == 2 and "sealed through 2026-03-31" in done.err
    (entered.folder / "seal.cyl").unlink()
    (entered.folder / "fills.cyl").unlink()
    assert "name a file with --into" in entered("enter", "--sheet", as_of=NEXT_DAY, **WHO).err
    done = entered("enter", "--sheet", "--into", "new.cyl", given=b"T-1\n4400\n", as_of=NEXT_DAY, **WHO)
    assert done.status == 0 and "new.cyl" in done.out
    assert "filled T-1 to 4400 psi by ayla on C1 at quay" in entered("plain", "new.cyl", as_of=None).out


@pytest.mark.parametrize("is_in_place", [True, False])
def test_an_interrupt_while_a_row_is_written_says_what_is_in_the_file(entered, monkeypatch, is_in_place):
    put = writing._put_in_place

    def interrupted(*paths):
        if is_in_place:
            put(*paths)
        raise KeyboardInterrupt

    monkeypatch.setattr(writing, "_put_in_place", interrupted)
    done = entered("enter", "--sheet", given=b"T-1\n4400\n", as_of=NEXT_DAY, **WHO)
    assert done.status == 130 and ("to 4400 psi" in entered.text("fills.cyl")) == is_in_place
    assert ("The fill of T-1 was written before the end: fills.cyl:6" in done.out) == is_in_place
    assert ("1 fill is written" in done.out, "Nothing is written for T-1" in done.out) == (is_in_place, not is_in_place)
    assert sorted(os.listdir(entered.folder)) == ["cards.cyl", "department.cyl", "fills.cyl", "house.cylpack"]


# In a real terminal.


class Terminal:
    """A session with a terminal of its own. `sees` waits until it shows something, and gives all that it has shown."""

    def __init__(self, program, *arguments: str):
        self.ours, theirs = pty.openpty()
        environment = program.environment(TERM="xterm", **WHO)
        command = [*program.command, "enter", "--sheet", *arguments]
        self.process = subprocess.Popen(
            command, stdin=theirs, stdout=theirs, stderr=theirs, cwd=program.folder, env=environment,
            start_new_session=True, preexec_fn=self._takes_the_terminal,
        )  # fmt: skip
        os.close(theirs)
        self.shown = ""
        self.seen = 0

    @staticmethod
    def _takes_the_terminal() -> None:
        # A process in the background of a shell leaves it to those that it starts to be deaf to Ctrl-C.
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)

    def types(self, text: str) -> None:
        os.write(self.ours, text.encode())

    def sees(self, text: str) -> None:
        """Wait until it shows a text after what was seen last."""
        until = time.monotonic() + 20
        while self.shown.find(text, self.seen) < 0:
            ready, _, _ = select.select([self.ours], [], [], max(0, until - time.monotonic()))
            assert ready, f"never showed {text!r}: {self.shown}"
            try:
                self.shown += os.read(self.ours, 65536).decode()
            except OSError:
                raise AssertionError(f"ended without {text!r}: {self.shown}") from None
        self.seen = self.shown.find(text, self.seen) + len(text)

    def ends(self) -> int:
        with contextlib.suppress(OSError):
            while select.select([self.ours], [], [], 20)[0] and (piece := os.read(self.ours, 65536)):
                self.shown += piece.decode()
        os.close(self.ours)
        return self.process.wait(20)


@pytest.fixture
def terminal(entered, program):
    opened = []

    def open_one(*arguments: str) -> Terminal:
        opened.append(Terminal(program, "--as-of", NEXT_DAY, *arguments))
        return opened[-1]

    yield open_one
    for each in opened:
        each.process.kill()


def test_a_slow_typist_and_the_end_of_input(entered, terminal):
    session = terminal()
    session.sees("Cylinder? ")
    for sign in "T-1\n":
        session.types(sign)
        time.sleep(0.03)
    session.sees("MAY BE FILLED")
    session.sees("T-1 to (psi, then F)? ")
    for sign in "4400 85\n":
        session.types(sign)
        time.sleep(0.03)
    session.sees("Cylinder? ")
    # It is on the disk before the next question.
    assert entered.text("fills.cyl") == f"{SHEETS}{HEAD}  T-1     to 4400 psi  at 85 F\n"
    session.types("T-1\n")
    session.sees("then F)? ")
    session.types("\x04")
    assert session.ends() == 0
    assert "Nothing is written for T-1." in session.shown and "1 fill is written to fills.cyl." in session.shown


def test_an_interrupt_in_the_middle_of_a_row_leaves_the_rows_before_it(entered, terminal):
    session = terminal()
    session.sees("Cylinder? ")
    # All at once, as a scanner with a memory does.
    session.types("E200341\n4400\nT-2\nE200341\n4300\nE200341\n")
    session.sees("to 4300 psi by ayla")
    session.sees("T-1 to (psi, then F)? ")
    session.types("42")
    time.sleep(0.3)
    session.types("\x03")
    assert session.ends() == 130 and "Traceback" not in session.shown
    assert "Nothing is written for T-1." in session.shown and "2 fills are written to fills.cyl." in session.shown
    assert entered.text("fills.cyl") == f"{SHEETS}{HEAD}  T-1     to 4400 psi\n  T-1     to 4300 psi\n"


def test_a_kill_leaves_what_was_written_and_nothing_beside_it(entered, terminal):
    session = terminal()
    session.sees("Cylinder? ")
    session.types("T-1\n4400\n")
    session.sees("Cylinder? ")
    session.types("T-1\n")
    session.sees("then F)? ")
    os.kill(session.process.pid, signal.SIGKILL)
    session.ends()
    assert entered.text("fills.cyl") == f"{SHEETS}{HEAD}  T-1     to 4400 psi\n"
    assert sorted(os.listdir(entered.folder)) == ["cards.cyl", "department.cyl", "fills.cyl", "house.cylpack"]


def test_two_stations_and_an_editor_at_the_same_time_lose_nothing(entered, terminal):
    one, other = terminal(), terminal()
    for session in (one, other):
        session.sees("Cylinder? ")
    for number in range(3):
        for session, of_session in ((one, 4000), (other, 4100)):
            session.types(f"T-1\n{of_session + number}\n")
        for session in (one, other):
            session.sees(f"{number} psi by ayla")
            session.sees("Cylinder? ")
    text = entered.text("fills.cyl")
    assert sorted(line.split()[2] for line in text.splitlines() if line.startswith("  T-1     to")) == [
        "4000", "4001", "4002", "4100", "4101", "4102",
    ]  # fmt: skip
    # What somebody writes with an editor counts for the very next cylinder.
    cards = entered.text("cards.cyl")
    entered.write("cards.cyl", cards.replace("at quay\n\n", 'at quay\n  2026-03-15  out of service "valve"\n\n', 1))
    one.types("T-1\n")
    one.sees("DO NOT FILL")
    one.sees("out of service")
    one.sees("all the same")
    one.types("\n")
    one.sees("Cylinder? ")
    # Between the verdict and the reading, too.
    other.types("T-2\n")
    other.sees("all the same")
    entered.write("cards.cyl", cards)
    entered.write("fills.cyl", text.replace("4000 psi", "4005 psi"))
    other.types("T-1\n")
    other.sees("MAY BE FILLED")
    entered.write("fills.cyl", text.replace("4000 psi", "4009 psi"))
    other.types("4200\n")
    other.sees("to 4200 psi by ayla")
    after = entered.text("fills.cyl")
    assert "4009 psi" in after and after.count("\n") == text.count("\n") + 1
