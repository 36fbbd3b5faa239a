"""
The command `may-fill`, from end to end, and the page of its answer.
"""

import json
import re
from datetime import date
from functools import partial

import pytest

from cylfile.judging.fill_answer import LOOK_FOR, answer
from cylfile.judging.heads import Head
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.show.pages.may_fill_page import Asked, may_fill_page
from cylfile.show.terminal.layout import Layout, cells
from cylfile.show.terminal.letters import HEIGHT, KNOWN, in_letters
from cylfile.show.terminal.signs import ASCII
from cylfile.text.source import Source

RECORD = """\
department "Pinewater"
  rules  us-dot
site quay "Quay"
person ash "Ash"
tester Z999 "Tests"
cylinder K-1
  marked  "DOT-SP 99999-4500"
  class   carbon-wrapped
  made    2019-06
  tag     AA01
  2019-08-02  entered service  at quay
  2024-06-20  hydro pass  by Z999
cylinder K-2
  marked  "DOT-SP 99999-4500"
  class   carbon-wrapped
  made    2016-06
  2016-08-02  entered service  at quay
  2020-06-20  hydro pass  by Z999
fill sheet 2026-03-01
  K-1  from 500 psi  to 4500 psi
"""


@pytest.fixture
def ask(here):
    """Asks about a cylinder of the record."""
    here.write("all.cyl", RECORD)
    return partial(here, "may-fill", as_of="2026-11-25")


def test_yes(ask):
    run = ask("K-1")
    assert run.status == 0 and run.err == ""
    assert run.out.startswith("K-1: MAY BE FILLED to 4500 psi\n")
    assert "last filled 2026-03-01 to 4500 psi; 1 fill on record" in run.out
    assert all(sign in run.out for sign in LOOK_FOR) and "49 CFR 173.301(a)(2)" in run.out
    assert "Checks the record, not the cylinder." in run.out


def test_no(ask):
    run = ask("K-2")
    assert run.status == 1 and run.err == ""
    assert run.out.startswith("K-2: DO NOT FILL\n")
    assert "last test 2020-06-20 + 5 years = due by 2025-06-30" in run.out
    assert "hydro pass" in run.out.split("What would allow a fill again")[1]


def test_by_tag_and_to_a_pressure(ask):
    assert ask("AA01", "--to", "4000psi").out.startswith("K-1: MAY BE FILLED to 4000 psi\n")
    assert "found by its tag AA01" in ask("AA01").out


@pytest.mark.parametrize("to", [["5000psi"], ["5000 psi"], ["5000", "psi"], ["345", "bar"], ["35MPa"]])
def test_more_than_its_limit(ask, to):
    run = ask("K-1", "--to", *to)
    assert run.status == 1 and "is over its fill limit, 4500 psi" in run.out


@pytest.mark.parametrize("to", ["4500", "psi", "4,500 psi", "-5 psi", "\u0664500psi", "4500 PSI"])
def test_what_is_no_pressure(ask, to):
    run = ask("K-1", f"--to={to}")
    assert run.status == 2 and run.out == "" and "is not a pressure" in run.err and run.err.count("\n") == 1


@pytest.mark.parametrize("option", ["--to", "--at"])
def test_a_figure_that_is_too_long(ask, option):
    status, out, err = ask("T-1", option, f"{'9' * 20}{'psi' if option == '--to' else 'F'}")
    assert (status, out) == (2, "") and f"cylfile: {option}: a number of 20 digits; the longest has 9" in err


def test_a_name_that_nobody_has(ask):
    run = ask("K-11")
    assert run.status == 1 and run.out.startswith("K-11: DO NOT FILL\n")
    assert "there is no card for a cylinder `K-11`" in run.out and "Did you mean `K-1`?" in run.out


@pytest.mark.parametrize("word", ["K 1", "\x1b[31m", "(", "K-1\n"])
def test_words_that_no_cylinder_can_be_named(ask, word):
    run = ask(word)
    assert run.status == 1 and "DO NOT FILL" in run.out and "\x1b" not in run.out


def test_json(ask):
    value = json.loads(ask("AA01", "--as", "json").out)
    assert (value["asked"], value["cylinder"], value["may_be_filled"], value["to"]) == ("AA01", "K-1", True, "4500 psi")
    assert value["test_due"] == "2029-06-30" and value["life_end"] == "2034-06-30" and value["reasons"] == []
    run = ask("K-2", "--as", "json")
    value = json.loads(run.out)
    assert run.status == 1 and value["may_be_filled"] is False
    assert value["reasons"][0]["rule"] == "filled-past-test" and value["reasons"][0]["cite"]
    assert value["fillable_again"] and value["for_good"] is False


def test_nothing_to_read(here):
    run = here("may-fill", "K-1")
    assert run.status == 2 and run.out == "" and "no *.cyl file" in run.err


def test_a_record_from_standard_input(ask):
    run = ask("K-1", "-", given=RECORD.encode())
    assert run.out.startswith("K-1: MAY BE FILLED")


def test_the_help_has_examples(ask):
    assert "cylfile may-fill T-114" in ask("--help").out


# The page on a terminal.


def page(name, width, height=None, ink="#", head=None):
    rules, _ = load_rules(["us-dot"], lambda path: None)
    record = read_record([Source("a.cyl", RECORD)])
    found = answer(record, rules, date(2026, 11, 25), name)
    layout = Layout(width, ASCII._replace(ink=ink), height)
    return ["".join(text for text, _ in line) for line in may_fill_page(Asked(found, head, rules, record), layout)]


@pytest.mark.parametrize("width", [40, 60, 80, 140, 200])
@pytest.mark.parametrize("name", ["K-1", "K-2", "K-11"])
def test_nothing_is_wider_than_the_terminal(name, width):
    assert all(cells(line) <= width for line in page(name, width))


def test_the_answer_is_drawn_first_where_the_page_fits_and_else_last():
    whole = page("K-2", 80)
    drawn = [number for number, line in enumerate(whole) if "#" in line]
    assert len(drawn) == HEIGHT and drawn[0] == 1
    low = page("K-2", 80, height=len(whole))
    assert sorted(low) == sorted(whole) and "#" in low[-2]


def test_the_rated_pressure_is_drawn_beside_a_yes_and_never_drives_the_answer_out_of_sight():
    head = Head("K-1", "", "4500 psi", "", "", "", [], False, "")
    high = [number for number, line in enumerate(page("K-1", 80, head=head)) if "#" in line]
    assert len(high) == 3 * HEIGHT and high[0] == 1
    answer = page("K-1", 60, height=24)[-19:]
    assert page("K-1", 60, height=24, head=head)[-19:] == answer and sum("#" in line for line in answer) == 3 * HEIGHT
    assert sum("#" in line for line in page("K-2", 80, head=head)) == HEIGHT


def test_letters_are_broken_at_words_and_doubled_where_there_is_room():
    one, two = in_letters("DO NOT", 20, "#")
    assert len(one) == len(two) == HEIGHT and max(map(len, one + two)) <= 20
    (small,), (large,) = in_letters("DO NOT", 40, "#"), in_letters("DO NOT", 80, "#")
    assert [line.replace("##", "#").replace("  ", " ") for line in large] != large
    assert len(large[0]) == 2 * len(small[0])


def test_every_word_that_is_ever_drawn_has_its_letters():
    assert KNOWN.issuperset("DO NOT FILL MAY BE FILLED TO RATED 0123456789. PSI BAR MPA KPA")


def test_no_name_is_no_question(ask):
    """A reader of tags that failed sends nothing, and nothing is no cylinder that lacks a card."""
    run = ask(" ")
    assert run.status == 2 and run.out == "" and run.err.startswith("cylfile: no cylinder is named")


def test_it_says_what_to_compare_and_where_the_gauge_has_to_stop(here):
    (here.folder / "all.cyl").write_text(
        'department "D"\n  rules  us-dot\ncylinder K-1\n  serial  SN-77\n  class   carbon-wrapped\n  rated   4500 psi\n'
        "  made    2024-12\n  2025-01-03  entered service\n"
    )
    page = here("may-fill", "K-1", "--as-of", "2026-11-25").out
    assert "SERIAL SN-77   RATED 4500 psi   must be what is stamped on the cylinder\n" in page
    assert "Stop the gauge at\n  - 4500 psi, with the gas at 70 F or warmer\n  - colder gas: " in page
    assert "fill it in the enclosure" in page
    cold = here("may-fill", "K-1", "--at", "50 F", "--as-of", "2026-11-25").out
    stop = re.search("  - ([0-9]+) psi, with the gas at 50 F\n", cold)
    assert 4100 < int(stop.group(1)) < 4500 and cold.startswith(f"K-1: MAY BE FILLED to {stop.group(1)} psi\n")
    said = json.loads(here("may-fill", "K-1", "--at", "50F", "--as", "json", "--as-of", "2026-11-25").out)
    assert (said["serial"], said["rated"], said["stop"]) == ("SN-77", "4500 psi", f"{stop.group(1)} psi")
    # Nobody writes kelvin in a ledger.
    for said in ("50", "300 K"):
        wrong = here("may-fill", "K-1", "--at", said, "--as-of", "2026-11-25")
        assert wrong.status == 2 and wrong.err.startswith(
            f"cylfile: `{said}` is not a temperature; write it with its unit"
        )
