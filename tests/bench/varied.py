"""
A made-up record that is as varied as paper: twenty years of a department, deterministic by its seed.

    python tests/bench/varied.py FOLDER                       100,000 entries in many files
    python tests/bench/varied.py FOLDER --entries 1000000 --wrong 0.04 --seed 7

Cards, sheets and loose lines; clauses in any order on a third of the loose and card lines; remarks in
several scripts; temperatures in two units; compressors, a cascade of storages, their samples and
cartridges; inspections, tests, moves, damage; strikes and late lines; and a share of lines that are wrong
in the ways in which people are wrong. What is not wrong is a department that goes about its work: most
fills are lawful. About one cylinder to 333 entries. All names and numbers are invented.
"""

import argparse
import random
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

FIRST_DAY = date(2006, 1, 2)
DAYS = 7_300
LAST_DAY = FIRST_DAY + timedelta(days=DAYS - 1)
ENTRIES_A_CYLINDER = 333

# Shares of the lines that are no matter of routine: what is no fill, and fills on cards and loose lines.
_OTHER = 0.09
_ON_CARDS, _LOOSE = 0.10, 0.12
_ANY_ORDER = 1 / 3
_BANK_EVERY = 3


class Kind(NamedTuple):
    """A kind of cylinder: rated in psi, years from test to test and of life."""

    class_line: str
    marked: str
    rated: int
    holds: str
    test_every: int
    life: int


_KINDS = (
    Kind("class carbon-wrapped", "DOT-SP 99123-4500", 4500, "6.8 L", 5, 15),
    Kind("class carbon-wrapped", "DOT-SP 99123-5500", 5500, "9.0 L", 5, 15),
    Kind("", "DOT-3AA2216", 2216, "11.1 L", 5, 99),
    Kind("", "DOT-3AA4500", 4500, "46 L", 5, 99),
    Kind("", "DOT-3AL3000", 3000, "11 L", 5, 99),
    Kind("class glass-wrapped", "DOT-SP 99077-3000", 3000, "8.9 L", 3, 15),
)
_REMARKS = (
    "gauge lens fogged; read twice", "o-ring replaced, thread clean", "crew 3 (night)", "50% humidity?", "lot #4 - see binder",
    "für die Übung am Samstag", "проверено дважды", "確認済み", "μέτρηση ξανά", "tag half torn, number read with a lamp",
    "left hand-wheel stiff", "hose whip, no leak", "swap with the trailer's", "says \\\"K-12\\\" on the collar",
)  # fmt: skip
_REASONS = ("dropped from the engine bay", "cut on the outer wrap", "gouge near the shoulder", "valve bent", "scuffed")
_OUT = ("valve leaks", "lost label", "waiting for a neck ring", "at the bench")
_WHY_STRUCK = ("typed 5400 for 4500", "other bottle", "entered twice", "wrong day", "wrong row")


class _Bottle:
    """A cylinder of the record while its years go by."""

    def __init__(self, name: str, kind: Kind, made: date, next_test: date):
        self.name = name
        self.kind = kind
        self.made = made
        self.next_test = next_test
        self.back = FIRST_DAY
        self.end = date(min(made.year + kind.life, 9998), made.month, 1)
        self.is_retired = False


class _Paper:
    """Writes one department's years."""

    def __init__(self, entries: int, seed: int, wrong: float, a_cylinder: int = ENTRIES_A_CYLINDER):
        self.chance = random.Random(seed)
        self.entries = entries
        self.wrong = wrong
        self.bottles = [self._bottle(number) for number in range(max(5, entries // a_cylinder))]
        size = max(6, min(400, len(self.bottles) // 5))
        self.people = [f"{self._letters(3 + number % 4)}{number}" for number in range(size)]
        self.sites = [f"st{number}" for number in range(1, max(3, min(40, size // 8)) + 1)]
        self.compressors = [f"C{number}" for number in range(1, max(2, len(self.sites) // 4) + 1)]
        self.banks = [f"B{number}" for number in range(1, 2 * len(self.compressors) + 1)]
        self.testers = [f"{letter}{number}" for letter in "AFZ" for number in (123, 417, 999)]
        # What is written on the cards of cylinders and sources, by name.
        self.on_card: dict[str, list[str]] = {}
        self.written = 0

    def _letters(self, count: int) -> str:
        return "".join(self.chance.choice("abdeghiklmnoprstuvw") for _ in range(count))

    def _bottle(self, number: int) -> _Bottle:
        chance, form = self.chance, self.chance.random()
        name = f"K-{number:04d}"
        if form > 0.6:
            name = f"{number + 100}" if form < 0.8 else f"{chance.choice('ABCDE')}{number:03d}.{chance.randrange(9)}"
        kind = chance.choice(_KINDS)
        made = date(FIRST_DAY.year - number % 3, number % 12 + 1, 1)
        made = min(made, date(FIRST_DAY.year - 1, 12, 1))
        return _Bottle(name, kind, made, made.replace(year=made.year + kind.test_every) - timedelta(days=20))

    # Files.

    def files(self) -> Iterator[tuple[str, str]]:
        """Path and text of every file; those of the years come first, for the cards are written to meanwhile."""
        day, year = FIRST_DAY, FIRST_DAY.year
        sheets: list[str] = []
        loose: list[str] = []
        while day <= LAST_DAY:
            if day.year != year:
                yield f"fills/{year}.cyl", "".join(sheets)
                yield f"loose/{year}.cyl", "".join(loose)
                year, sheets, loose = day.year, [], []
            share = (self.entries - self.written) / ((LAST_DAY - day).days + 1)
            # Busy days and quiet ones.
            self._day(day, round(share * self.chance.choice((0, 1, 1, 1, 2))), sheets, loose)
            day += timedelta(days=1)
        yield f"fills/{year}.cyl", "".join(sheets)
        yield f"loose/{year}.cyl", "".join(loose)
        yield "department.cyl", self._department()
        yield "air.cyl", self._sources()
        yield from self._cards()

    def _department(self) -> str:
        parts = ['department "Varied Valley Fire District"\n  zone   America/Denver\n  rules  us-dot\n  rules  air\n\n']
        parts += (f'site {site} "Station {site[2:]}, {self.chance.choice(_REMARKS[:3])}"\n' for site in self.sites)
        for person in self.people:
            parts.append(f'person {person} "{person.title()} {self._letters(6).title()}"\n  fills     2005-01-01\n')
            parts.append("  inspects  2005-01-01\n")
        parts += (f'tester {tester} "Requalifier {tester}"\n  authorized until 2031-03\n' for tester in self.testers)
        return "".join(parts)

    def _sources(self) -> str:
        parts = []
        for name in self.compressors:
            parts.append(f'source {name} "Compressor {name}"\n  kind       compressor\n  rated      6000 psi\n')
            parts.append("  cartridge  67000 ft3\n")
            parts += self.on_card.get(name, ())
            parts.append("\n")
        for name in self.banks:
            parts.append(
                f'source {name} "Bank {name}"\n  kind       storage\n  rated      6000 psi\n  holds      800 L\n'
            )
            parts += self.on_card.get(name, ())
            parts.append("\n")
        return "".join(parts)

    def _cards(self) -> Iterator[tuple[str, str]]:
        for first in range(0, len(self.bottles), 40):
            parts = []
            for number, bottle in enumerate(self.bottles[first : first + 40], first):
                kind = bottle.kind
                parts.append(f'cylinder {bottle.name}\n  serial  VV-{10_000 + number}\n  marked  "{kind.marked}"\n')
                parts.append(f"  {kind.class_line}\n" if kind.class_line else "")
                parts.append(f"  made    {bottle.made:%Y-%m}\n  holds   {kind.holds}\n")
                parts.append(f"  tag     E2{number:06X}\n" if number % 3 else "")
                site = self.sites[number % len(self.sites)]
                parts.append(f"  {FIRST_DAY - timedelta(days=1)}  entered service  at {site}\n")
                parts += self.on_card.get(bottle.name, ())
                parts.append("\n")
            yield f"cards/{first // 40:04d}.cyl", "".join(parts)

    # Days.

    def _day(self, day: date, count: int, sheets: list[str], loose: list[str]) -> None:
        chance, before = self.chance, self.written
        self._routine(day)
        rows: dict[tuple[str, str, str], list[str]] = {}
        while self.written - before < count:
            bottle = self._some_bottle(day)
            if chance.random() < _OTHER:
                self._other(day, bottle, loose)
                continue
            time = f"{chance.randrange(7, 22):02d}:{chance.randrange(60):02d}"
            source = chance.choice(self.compressors if bottle.kind.rated > 4500 else (*self.compressors, *self.banks))
            place = chance.random()
            if place < _ON_CARDS + _LOOSE:
                clauses = [*self._fill(bottle.kind), f"by {chance.choice(self.people)}", f"on {source}"]
                if chance.random() < 0.5:
                    clauses.append(f"at {chance.choice(self.sites)}")
                if chance.random() < _ANY_ORDER:
                    chance.shuffle(clauses)
                told = f" {time}" if chance.random() < 0.8 else ""
                if place < _ON_CARDS:
                    self._card_line(bottle.name, f"{day}{told}  filled  {'  '.join(clauses)}{self._tail(day)}")
                else:
                    line = f"{day}{told} filled {bottle.name} {' '.join(clauses)}{self._tail(day)}\n"
                    loose.append(self._line(line))
                continue
            # A person, a place and a source a sheet; a long tail of them over the years.
            site = self.sites[min(int(chance.paretovariate(1.1)) - 1, len(self.sites) - 1)]
            person = self.people[min(int(chance.paretovariate(0.8)) - 1, len(self.people) - 1)]
            timed = f"{time}  " if chance.random() < 0.9 else ""
            line = f"  {timed}{bottle.name}  {'  '.join(self._fill(bottle.kind))}{self._tail(day)}\n"
            rows.setdefault((site, source, person), []).append(self._line(line))
        for (site, source, person), lines in rows.items():
            sheets.append(f"fill sheet {day}  at {site}  on {source}  by {person}\n")
            sheets += lines

    def _some_bottle(self, day: date) -> _Bottle:
        """One that may be filled; now and then one that may not."""
        while True:
            bottle = self.chance.choice(self.bottles)
            if not bottle.is_retired and (bottle.back <= day or self.chance.random() < 0.01):
                return bottle

    def _routine(self, day: date) -> None:
        """Storages are filled, samples taken and cartridges changed, tests made and what is at its end retired."""
        chance, number = self.chance, (day - FIRST_DAY).days
        if number % _BANK_EVERY == 0:
            for bank in self.banks:
                source, person = chance.choice(self.compressors), chance.choice(self.people)
                self._card_line(
                    bank, f"{day} 05:30  filled  to {chance.randrange(5600, 6000, 10)} psi  on {source}  by {person}"
                )
        for at, name in enumerate(self.compressors):
            if (number + 7 * at) % 85 == 0:
                low = f"CO2 {chance.randrange(350, 600)} ppm  O2 20.9 %  oil 0.1 mg/m3  water {chance.randrange(5, 20)} ppm"
                good = f"air sample pass  CO {chance.randrange(1, 5)}.{chance.randrange(9)} ppm  {low}"
                if number and chance.random() < 0.03:
                    self._card_line(name, f"{day} 06:00  air sample fail  CO 30.5 ppm  {low}", wrong=False)
                    for bank in self.banks:
                        # All that was in them is let out.
                        self._card_line(bank, f"{day} 06:45  emptied", wrong=False)
                self._card_line(name, f"{day} 06:40  {good}", wrong=False)
                if number % 170 < 85:
                    self._card_line(name, f"{day} 06:50  cartridge changed  by {chance.choice(self.people)}")
        for bottle in self.bottles[number % 7 :: 7]:
            if bottle.is_retired:
                continue
            if day >= bottle.end - timedelta(days=10):
                bottle.is_retired = True
                self._card_line(bottle.name, f'{day}  retired  "end of its life"  by {chance.choice(self.people)}')
            elif day >= bottle.next_test:
                self._test(day, bottle)

    def _test(self, day: date, bottle: _Bottle) -> None:
        chance, kind = self.chance, bottle.kind
        total, permanent = chance.randrange(600, 1_200) / 10, chance.randrange(5, 25) / 10
        clauses = [
            f"by {chance.choice(self.testers)}", f"at {kind.rated * 5 // 3 + 1} psi", f"total {total} cc",
            f"permanent {permanent} cc", "visual pass",
        ]  # fmt: skip
        if chance.random() < _ANY_ORDER:
            chance.shuffle(clauses)
        self._card_line(bottle.name, f"{day}  hydro pass  {'  '.join(clauses)}{self._tail(day)}", wrong=False)
        bottle.next_test = day.replace(year=day.year + kind.test_every, day=1)
        bottle.back = day + timedelta(days=1)

    def _fill(self, kind: Kind) -> list[str]:
        """The clauses of a fill that stays within its limit, but for one in a hundred."""
        chance, rated = self.chance, kind.rated
        clauses = []
        if chance.random() < 0.75:
            clauses.append(f"from {chance.randrange(0, rated // 2, 10)} psi")
        reached = rated if chance.random() < 0.7 else rated - chance.randrange(0, 40) * 10
        if chance.random() < 0.6:
            fahrenheit = chance.randrange(60, 100)
            if fahrenheit < 70:
                reached = min(reached, (rated - (72 - fahrenheit) * rated // 480) // 10 * 10)
            at = f"at {fahrenheit} F" if chance.random() < 0.8 else f"at {(fahrenheit - 32) / 1.8:.0f} C"
            clauses.append(at)
        if chance.random() < 0.01:
            reached += 300
        clauses.append(f"to {reached} psi" if chance.random() < 0.97 else f"to {int(reached / 14.5038)} bar")
        if chance.random() < 0.1:
            clauses.append(f"over {chance.randrange(8, 30)} min")
        clauses.sort(key=lambda clause: ("from", "to", "at", "over").index(clause.split()[0]))
        return clauses

    def _other(self, day: date, bottle: _Bottle, loose: list[str]) -> None:
        """An inspection, a reading, a move and the rest, on the card or loose."""
        chance, rated, what = self.chance, bottle.kind.rated, self.chance.random()
        by = f"by {chance.choice(self.people)}"
        if what < 0.40:
            warm = [f"at {chance.randrange(66, 95)} F"] if what < 0.3 else []
            verb, after = "gauged", [f"{rated - chance.randrange(0, 60) * 10} psi", *warm, by]
        elif what < 0.66:
            verb, after = "visual", ["pass", by]
        elif what < 0.84:
            verb, after = "moved", [f"to {chance.choice(self.sites)}", by]
        elif what < 0.90:
            verb, after = "emptied", [by]
        elif what < 0.96:
            verb, after = "remarked", [f'"{chance.choice(_REMARKS)}"', by]
        else:
            self._trouble(day, bottle, by)
            return
        first, rest = (after[:1], after[1:]) if verb in ("gauged", "visual") else ([], after)
        if chance.random() < _ANY_ORDER:
            chance.shuffle(rest)
        if chance.random() < 0.6:
            self._card_line(bottle.name, f"{day}  {' '.join((verb, *first))}  {'  '.join(rest)}{self._tail(day)}")
        else:
            loose.append(self._line(f"{day} {verb} {bottle.name} {' '.join((*first, *rest))}{self._tail(day)}\n"))

    def _trouble(self, day: date, bottle: _Bottle, by: str) -> None:
        """What takes a cylinder out for some days, and what brings it back."""
        chance, name = self.chance, bottle.name
        back = day + timedelta(days=chance.randrange(2, 9))
        match chance.randrange(3):
            case 0:
                self._card_line(name, f'{day}  out of service  "{chance.choice(_OUT)}"  {by}', wrong=False)
                self._card_line(name, f"{back}  returned to service  {by}", wrong=False)
            case 1:
                self._card_line(name, f"{day}  visual fail  {by}", wrong=False)
                self._card_line(name, f"{back}  visual pass  {by}", wrong=False)
            case _:
                self._card_line(name, f'{day}  damaged  "{chance.choice(_REASONS)}"  {by}', wrong=False)
                self._test(back, bottle)
        bottle.back = back + timedelta(days=1)

    # Lines.

    def _card_line(self, name: str, text: str, wrong: bool = True) -> None:
        line = f"  {text}\n"
        self.on_card.setdefault(name, []).append(self._line(line) if wrong else line)
        self.written += not wrong

    def _tail(self, day: date) -> str:
        """A remark, a strike or a late clause, or nothing, as on most lines."""
        chance = self.chance
        what = chance.random()
        if what < 0.06:
            return f'  remark "{chance.choice(_REMARKS)}"'
        if what < 0.07:
            signed = f"{day + timedelta(days=chance.randrange(3))} by {chance.choice(self.people)}"
            return f'    struck {signed} "{chance.choice(_WHY_STRUCK)}"'
        if what < 0.075:
            return (
                f'    late {day + timedelta(days=chance.randrange(1, 9))} by {chance.choice(self.people)} "sheet found"'
            )
        return "  # as on the sheet" if what < 0.085 else ""

    def _line(self, line: str) -> str:
        """The line, or what somebody made of it."""
        self.written += 1
        if self.chance.random() >= self.wrong:
            return line
        match self.chance.randrange(8):
            case 0:
                return line.replace("filled", "filed").replace("gauged", "guaged").replace("visual", "visuel")
            case 1:
                return line.replace(" psi", " PSI", 1)
            case 2:
                return line.replace(" psi", "", 1)
            case 3:
                return line.replace(" to ", " too ", 1)
            case 4:
                return line.replace("by ", "bye ", 1)
            case 5:
                return line.replace("-02-", "-13-").replace("-03-", "/03/")
            case 6:
                return line.rstrip("\n") + ' remark "left open\n'
            case _:
                return line.replace("K-", "KK-", 1)


def files(
    entries: int = 100_000, seed: int = 1, wrong: float = 0.04, a_cylinder: int = ENTRIES_A_CYLINDER
) -> Iterator[tuple[str, str]]:
    """Path and text of every file of a record of about so many entries, a share `wrong` of whose lines is wrong."""
    return _Paper(entries, seed, wrong, a_cylinder).files()


def one_text(entries: int = 100_000, seed: int = 1, wrong: float = 0.04) -> str:
    """The same record as one file."""
    return "".join(text for _, text in files(entries, seed, wrong))


def write(folder: Path, entries: int, seed: int, wrong: float) -> None:
    """Write the record into a folder."""
    for path, text in files(entries, seed, wrong):
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8", newline="\n")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[1])
    options.add_argument("folder", type=Path)
    options.add_argument("--entries", type=int, default=100_000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--wrong", type=float, default=0.04)
    asked = options.parse_args()
    write(asked.folder, asked.entries, asked.seed, asked.wrong)


if __name__ == "__main__":
    main()
