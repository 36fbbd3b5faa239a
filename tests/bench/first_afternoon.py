"""
The first afternoon of a new department: all that is typed from `start` to a first clean lint, and how many lines that is.

    python tests/bench/first_afternoon.py           two departments: from paper, and from a spreadsheet; each line as it is typed
    python tests/bench/first_afternoon.py --quiet   the numbers only

The commands are run and the lines of files written, and the run fails where the lint at the end is not clean. What is
counted is what somebody has to type, a line a line; what the program writes is not. Beside it stands what the same
took when a card could be made in no other way than by typing it, and a fill entered in no other than as a sentence.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
# The day of the afternoon.
DAY = "2026-03-16"
_DEPARTMENT = """\
department "Vallow Fire District"
  zone          America/Denver
  rules         "rules/house.cylpack"
  usual-source  air-room

site quay "Station 1, Quay Street"
site hill "Station 2, Hill Road"

person ash "Ash Tamsin"
  fills      2024-01-10
  inspects   2024-01-10
person birk "Birk Osei"
  fills      2025-06-01

tester A123 "Northgate Requalification"

source air-room "Compressor of the air room"
  kind       compressor
  rated      6000 psi
  cartridge  67000 ft3
  at         quay
  2026-02-16        cartridge changed  by ash
  2026-02-16        gauge checked  by ash
  2026-02-16        air sample pass  CO 1.2 ppm  CO2 410 ppm  O2 20.9 %  oil 0.1 mg/m3  water 12 ppm  odor none
"""
_CARD = """\
cylinder V-{number}
  serial     TV-{number:04}
  marked     "DOT-3AA2265"
  made       2023-05
  2026-02-20        entered service  at {site}
  2026-02-20        visual pass  by ash
"""
_CYLINDERS = 12
_INVENTORY = "cylinder,serial,marking,made,site,in service,visual\n" + "".join(
    f"V-{number},TV-{number:04},DOT-3AA2265,2023-05,{'quay' if number % 2 else 'hill'},2026-02-20,2026-02-20\n"
    for number in range(1, _CYLINDERS + 1)
)


class Afternoon:
    """A new record, and every line that was typed for it."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.typed: list[str] = []

    @property
    def count(self) -> str:
        return f"{len(self.typed)} lines, {sum(map(len, self.typed)):,} characters"

    def runs(self, *words: str, answers: str = "", status: int = 0) -> str:
        """Type a command, and the answers to what it asks."""
        shown = " ".join(f'"{word}"' if " " in word else word for word in ("cylfile", *words))
        self.typed += [shown, *answers.splitlines()]
        done = subprocess.run(
            [sys.executable, "-m", "cylfile", *words], cwd=self.folder, input=answers, capture_output=True, text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT), "CYLFILE_PERSON": "ash", "CYLFILE_SITE": "quay"},
        )  # fmt: skip
        if done.returncode != status:
            raise SystemExit(f"{shown}: exit status {done.returncode}\n{done.stdout}{done.stderr}")
        return done.stdout

    def writes(self, file: str, text: str) -> None:
        """Type the lines of a file in an editor; those that are there already need not be typed."""
        path = self.folder / file
        there = path.read_text().splitlines() if path.exists() else []
        for line in text.splitlines():
            if line in there:
                there.remove(line)
            elif line.strip():
                self.typed.append(line)
        path.write_text(text)

    def begins(self) -> None:
        self.runs("start", "air", "--name", "Vallow Fire District", "--zone", "America/Denver", "--as-of", DAY)
        self.folder = self.folder / "air"
        self.writes("department.cyl", _DEPARTMENT)
        # The example goes, and its row with it.
        for file in (self.folder / "fills").iterdir():
            file.write_text("fill sheet 2026-03-16  at quay  on air-room  by ash\n")
        (self.folder / "cards.cyl").write_text("")

    def ends(self, in_sentences: bool = False) -> None:
        """All cylinders are filled, and the first lint has nothing to say."""
        names = [f"V-{number}" for number in range(1, _CYLINDERS + 1)]
        if in_sentences:
            for name in names:
                sentence = f"{DAY} filled {name} to 2250 psi at 70 F by ash on air-room at quay"
                self.runs("enter", sentence, "--as-of", DAY)
        else:
            answers = "".join(f"{name}\n2250 70\n" for name in names) + "end\n"
            self.runs("enter", "--sheet", "--as-of", DAY, answers=answers)
        self.runs("lint", "--fail-at", "notice", "--as-of", DAY)


def from_paper(folder: Path, in_sentences: bool = False) -> Afternoon:
    """A dozen cards are typed from a card box."""
    new = Afternoon(folder)
    new.begins()
    cards = (_CARD.format(number=number, site="quay" if number % 2 else "hill") for number in range(1, _CYLINDERS + 1))
    new.writes("cards.cyl", "\n".join(cards))
    new.ends(in_sentences)
    return new


def from_spreadsheet(folder: Path) -> Afternoon:
    """The cards are made of an inventory that the department has."""
    new = Afternoon(folder)
    new.begins()
    (new.folder / "inventory.csv").write_text(_INVENTORY)
    # Typed with `> cards.toml` behind it.
    (new.folder / "cards.toml").write_text(new.runs("import", "inventory.csv", "--cards", "--draft-map"))
    new.runs(
        "import",
        "inventory.csv",
        "--cards",
        "--columns",
        "cards.toml",
        "--enter",
        "--into",
        "cards.cyl",
        "--as-of",
        DAY,
    )
    new.ends()
    return new


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--quiet", action="store_true")
    quiet = options.parse_args().quiet
    with tempfile.TemporaryDirectory() as folder:
        before = from_paper(Path(folder), in_sentences=True).count
    for way in (from_paper, from_spreadsheet):
        with tempfile.TemporaryDirectory() as folder:
            done = way(Path(folder))
        print(f"{way.__name__.replace('_', ' ')}, {_CYLINDERS} cylinders: {done.count} typed (before: {before})")
        if not quiet:
            print("".join(f"    {line}\n" for line in done.typed))


if __name__ == "__main__":
    main()
