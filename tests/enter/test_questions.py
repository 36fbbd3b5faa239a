"""`cylfile enter` without a sentence: the questions, and what answers make."""

import os
import select
import sys
import time

import pytest

from cylfile.cannot import CannotDo
from cylfile.command_line.defaults import Defaults
from cylfile.command_line.questions import ask_for_entry
from cylfile.record.reader import read_record
from cylfile.record.vocabulary import VERBS
from cylfile.text.source import Source
from support.small_record import CARDS, DEPARTMENT, SHEETS

RECORD = read_record([Source("d.cyl", DEPARTMENT), Source("c.cyl", CARDS), Source("f.cyl", SHEETS)])

NO_DEFAULTS = Defaults()


def asked(answers, record=RECORD, defaults=NO_DEFAULTS):
    """The sentence that answers make, and all that was said. Every question must have its answer."""
    said, left = [], list(answers)

    def ask(question):
        said.append(question)
        if not left:
            raise EOFError
        return left.pop(0)

    sentence = ask_for_entry(record, defaults, ask, said.append)
    assert left == []
    return sentence, said


def test_a_fill():
    answers = ["T-1", "filled", "", "4500 psi", "900 psi", "", "", "ayla", "C1", "quay", "", "y"]
    sentence, said = asked(answers)
    assert sentence == "today now filled T-1 from 900 psi to 4500 psi by ayla on C1 at quay"
    grown = [line.strip() for line in said if line.startswith("    ")]
    assert grown == [
        "today now filled T-1 to 4500 psi",
        "today now filled T-1 from 900 psi to 4500 psi",
        "today now filled T-1 from 900 psi to 4500 psi by ayla",
        "today now filled T-1 from 900 psi to 4500 psi by ayla on C1",
        "today now filled T-1 from 900 psi to 4500 psi by ayla on C1 at quay",
    ]


def test_an_answer_may_say_more_and_the_usual_source_is_offered():
    sentence, _ = asked(["T-1", "filled", "", "4500 psi at 85 F by ayla on C1 at quay", "900 psi", "", "", "y"])
    assert sentence == "today now filled T-1 from 900 psi to 4500 psi at 85 F by ayla on C1 at quay"
    usual = read_record(
        [Source("d.cyl", DEPARTMENT.replace("\n  zone", "\n  usual-source  C1\n  zone")), *RECORD.sources[:1]]
    )
    answers = ["T-1", "filled", "", "4500 psi", *[""] * 7, "y"]
    sentence, said = asked(answers, usual, Defaults("ayla", "quay"))
    assert sentence == "today now filled T-1 to 4500 psi by ayla on C1 at quay"
    assert any(line.endswith("? (empty for C1) ") for line in said)


def test_names_by_number_beginning_tag_and_title():
    assert asked(["2", "emptied", "2026-03-14", "", "", "", "y"])[0] == "2026-03-14 emptied T-2"
    assert asked(["E200341", "empt", "2026-03-14 09:30", "till", "2", "", "y"])[0] == (
        "2026-03-14 09:30 emptied T-1 by ben at pier"
    )
    sentence, said = asked(["T-", "1", "gauged", "", "4400 psi", "68 F", "", "", "", "y"])
    assert sentence == "today now gauged T-1 4400 psi at 68 F" and "   1  T-1  E200341" in said


def test_an_answer_that_cannot_be_read_is_asked_for_again():
    sentence, said = asked(
        ["T-1", "visual", "14.3.2026", "2026-03-14", "maybe", "1", "nobody", "ayla", "", 'it is "fine"', "y"]
    )
    assert sentence == '2026-03-14 visual T-1 pass by ayla remark "it is \\"fine\\""'
    assert any("`14.3.2026` is not a day" in line for line in said)
    assert any("`nobody` is none of them" in line for line in said)
    sentence, said = asked(["T-1", "filled", "", "", "4500", "4500 psi", *[""] * 7, "y"])
    assert sentence == "today now filled T-1 to 4500 psi"
    assert any("This cannot be left out" in line for line in said) and any("no unit" in line for line in said)


def test_a_name_is_no_temperature():
    sentence, said = asked(["T-1", "filled", "", "4500 psi", "", "quay", "70 F", "", "", "", "", "", "y"])
    assert sentence == "today now filled T-1 to 4500 psi at 70 F"
    assert "  That does not answer this question. Write it such as 88 F." in said


def test_a_test_asks_for_the_tester_and_a_source_for_its_own():
    sentence, said = asked(
        ["T-1", "hydro", "", "pass", "A123", "5000 psi", *[""] * 3, "proof", "pass", "y", "n", "pass", "", "", "y"]
    )
    assert sentence == "today now hydro T-1 pass by A123 at 5000 psi method proof crack pass plus visual pass"
    # All that a sample may say but for its outcome and the CO, and a remark.
    left = [""] * (len(VERBS["air sample"].own) - 2 + 1)
    sentence, said = asked(["C1", "air sample", "", "pass", "1.2 ppm", *left, "y"])
    assert sentence == "today now air sample C1 pass CO 1.2 ppm"


def test_defaults_are_offered():
    sentence, said = asked(["T-1", "emptied", "", "", "", "", "y"], defaults=Defaults("ben", "pier"))
    assert sentence == "today now emptied T-1 by ben at pier" and "By whom? (empty for ben) " in said


@pytest.mark.parametrize("answers", [[], ["T-1", "emptied"], ["T-1", "emptied", "", "", "", "", "n"]])
def test_nothing_is_written_before_the_last_yes(answers):
    with pytest.raises(CannotDo, match="nothing was written|as you said"):
        asked(answers)


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such terminal")
def test_on_a_terminal(entered, program):
    """With a real terminal, from the first question to the line in the file."""
    import pty

    near, far = pty.openpty()
    pipes = {"stdin": far, "stdout": far, "stderr": far}
    process = program.start("enter", "--as-of", "2026-03-14", pipes=pipes)
    os.close(far)
    shown = b""
    for question, answer in [("cylinder or source?", "T-2"), ("What was done?", "emptied"), ("When?", "2026-03-14"),
                             ("By whom?", "ben"), ("At which site?", ""), ("A remark?", ""), ("Write it?", "y")]:  # fmt: skip
        shown = _read_until(near, question.encode(), shown)
        os.write(near, f"{answer}\n".encode())
        shown = b""
    assert process.wait(timeout=60) == 0
    os.close(near)
    assert entered.text("cards.cyl") == CARDS + "  2026-03-14        emptied  by ben\n"


def _read_until(terminal, wanted, shown):
    end = time.monotonic() + 60
    while wanted not in shown:
        assert time.monotonic() < end, shown
        if select.select([terminal], [], [], 1)[0]:
            shown += os.read(terminal, 4096)
    return shown
