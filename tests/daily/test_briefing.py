"""The chief's ten seconds: one screen of 24 lines by 80 columns, whatever the record."""

import json

import pytest

from cylfile.show.terminal.layout import cells

# Of 24 lines one is the prompt's.
HEIGHT, WIDTH = 23, 80
DEPARTMENT = """\
department "Big Lake"
  rules  us-dot
  rules  air
site st1 "Station 1"
source comp "Compressor"
  kind       compressor
  2026-10-01  air sample pass  CO 1 ppm  CO2 400 ppm  O2 20.9 %  oil 0.1 mg/m3  water 10 ppm
"""
CARD = """\
cylinder {name}
  serial  {name}-S
  class   carbon-wrapped
  rated   4500 psi
  made    {made}
  {made}-15  entered service  at st1
"""


@pytest.fixture
def briefing(here):
    """What the command prints of a record, as on a terminal of 80 columns."""

    def briefing(*arguments: str, text: str = "") -> list[str]:
        if text:
            (here.folder / "all.cyl").write_text(text)
        done = here("briefing", "--as-of", "2026-11-25", *arguments, COLUMNS=str(WIDTH))
        assert done.err == ""
        return done.out.rstrip("\n").split("\n")

    return briefing


def fits(lines: list[str]) -> bool:
    return len(lines) <= HEIGHT and max(map(cells, lines)) <= WIDTH


@pytest.mark.parametrize("demo", ["faulty", "clean"])
def test_the_demos_fit_on_one_screen(briefing, demo):
    from support.running import PROJECT

    lines = briefing(str(PROJECT / "examples" / demo))
    assert fits(lines)
    assert ("TAKE OUT OF USE NOW" in "\n".join(lines)) == (demo == "faulty")


def test_three_hundred_cylinders_fit_on_one_screen_with_their_numbers(briefing):
    cards = [
        CARD.format(name=f"K-{number}", made=f"20{14 + number % 12}-{1 + number % 12:02}") for number in range(300)
    ]
    lines = briefing(text=DEPARTMENT + "\n".join(cards))
    assert fits(lines) and "300 cylinders" in lines[0]
    overdue = next(line for line in lines if line.strip().startswith("test overdue, "))
    assert overdue.endswith(" more") and "air from comp: sample by" in "\n".join(lines)


def test_names_of_what_must_come_out_of_use_are_never_cut(briefing):
    cards = [CARD.format(name=f"K-{number}", made="2008-01") for number in range(300)]
    text = "\n".join(briefing(text=DEPARTMENT + "\n".join(cards)))
    assert "TAKE OUT OF USE NOW 300" in text and "K-299" in text and " more" not in text.split("DO NOT FILL")[0]


def test_as_json(briefing):
    said = json.loads("\n".join(briefing("--as", "json", text=DEPARTMENT + CARD.format(name="K-1", made="2008-01"))))
    assert said["take_out_of_use"] == [{"reason": "past its life", "cylinders": ["K-1"]}]
    assert said["unread"] == [] and said["sources"][0] == {
        "what": "air-sample",
        "subject": "comp",
        "due_by": "2027-01-01",
    }


def test_what_could_not_be_read_comes_first_and_fails_the_run(here):
    (here.folder / "all.cyl").write_text(DEPARTMENT + CARD.format(name="K-1", made="2024-01") + "  2025-01-01 xyzzy\n")
    for command in ("briefing", "inventory", "due", "coming"):
        done = here(command, "--as-of", "2026-11-25")
        assert done.status == 1 and "could not be read: 1 place, all.cyl:14" in done.out.split("\n\n")[0]
        assert json.loads(here(command, "--as-of", "2026-11-25", "--as", "json").out)["unread"] == ["all.cyl:14"]
