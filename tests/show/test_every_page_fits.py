"""Every page of both demos on terminals of four widths, with and without block characters: no line is wider."""

import pytest
from rich.cells import cell_len

from cylfile.command_line import options
from cylfile.show.forms import FORMS, forms_of
from cylfile.show.terminal.layout import Layout
from cylfile.show.terminal.signs import ASCII, BLOCKS
from support.running import PROJECT, Here
from support.small_record import CARDS

LAYOUTS = ((60, BLOCKS), (60, ASCII), (80, BLOCKS), (120, BLOCKS), (200, BLOCKS))
DAY = "2026-11-26"
# Words after each command; several where a page has several faces.
ASKED = {
    "briefing": [()],
    "card": [("{other}",), ("{one}", "--every-fill")],
    "coming": [("--years", "12")],
    "compare": [("../{neighbor}", ".")],
    "due": [("--within", "2y")],
    "import": [("{inventory}", "--cards", "--columns", "{map}")],
    "inventory": [()],
    "lint": [(), ("--each",)],
    "may-fill": [("{one}",), ("{other}", "--at", "30 F"), ("nobody",)],
    "rules": [("list",), ("facts",), ("classes",), ("show", "filled-past-test"), ("show", "filled-over-limit")],
    "seal": [("--check",), ("--check", "--digest", "0" * 64)],
    "totals": [("--per", "month,source"), ("--per", "cylinder", "--first", "2019-01-01")],
    "trace": [("{source}", "--first", "2019-01-01", "--each")],
}
# It shows what was written; see below.
ELSEWHERE = {"enter"}
LONG = "N" * 64
# A row that can be taken, and two that cannot.
INVENTORY = f"Unit,Serial,Made\nN-1,TV-101,2021-04\n{LONG},TV-102,{LONG}\n,TV-103,2021-05\n"
MAP = '[cylinder]\ncolumn = "Unit"\n[serial]\ncolumn = "Serial"\n[made]\ncolumn = "Made"\nform = "year-month"\n'
NAMES = {
    "clean": {"one": "H22-02", "other": "H11-01", "source": "comp1", "neighbor": "faulty"},
    "faulty": {"one": "106", "other": "117", "source": "comp", "neighbor": "clean"},
}


def test_no_page_is_left_out():
    assert {form.command for form in FORMS if form.is_page} == ASKED.keys() | ELSEWHERE


@pytest.mark.parametrize(
    "demo, command", [(demo, command) for command in ASKED for demo in NAMES if (demo, command) != ("faulty", "rules")]
)
def test_no_line_is_wider_than_the_terminal(demo, command, monkeypatch, tmp_path):
    shown = []
    (tmp_path / "inventory.csv").write_text(INVENTORY)
    (tmp_path / "map.toml").write_text(MAP)
    names = {**NAMES[demo], "inventory": str(tmp_path / "inventory.csv"), "map": str(tmp_path / "map.toml")}
    monkeypatch.setattr(options, "write_form", lambda command, form, what, *_: shown.append(what))
    monkeypatch.setattr(options, "write_each", lambda command, form, each, *_: shown.extend(what for _, what in each))
    run = Here(PROJECT / "examples" / demo, None if command == "rules" else DAY)
    for words in ASKED[command]:
        done = run(command, *(word.format(**names) for word in words))
        assert done.status in (0, 1) and done.err == "", (words, done.err)
    assert len(shown) == len(ASKED[command])
    make = next(form for form in forms_of(command).values() if form.is_page).make()
    wide = []
    for words, what in zip(ASKED[command], shown):
        for width, signs in LAYOUTS:
            page = ["".join(text for text, _ in line).rstrip(" ") for line in make(what, Layout(width, signs, 24))]
            wide += [(*words, width, line) for line in page if cell_len(line) > width]
            assert signs is BLOCKS or not any(set("█▓▒░▪▁▂▃▄▅▆▇─├└│") & set(line) for line in page), words
    assert not wide, "\n".join(f"{words}: {line}" for *words, line in wide)


@pytest.mark.parametrize("width", ["60", "80", "120"])
def test_the_fill_session_fits(entered, width):
    entered.write("cards.cyl", CARDS.replace("T-1", LONG))
    typed = f"{LONG}\n4400 85\n\nX\nT-2\n4400\nben\nfire on the ridge\nend\n".encode()
    out = entered(
        "enter", "--sheet", "--by", "ayla", given=typed, as_of="2026-03-15", CYLFILE_SITE="quay", COLUMNS=width
    ).out
    assert "overridden by ben" in " ".join(out.split()) and max(map(cell_len, out.split("\n"))) <= int(width)
