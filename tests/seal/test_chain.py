"""
Seals as a chain: each covers what it adds and the one before it, and the last answers for all.

What each adds is compared here with all that stands at its day less all that stood at the day before it, each of the two
worked out anew: `spell_out` of a record without seals is all that stands.
"""

import hashlib
import random
from collections import Counter
from copy import copy
from datetime import date, timedelta
from itertools import permutations

import pytest

from cylfile.findings.seal_findings import seal_findings
from cylfile.history.order import ToldPairs, told_pairs
from cylfile.history.seals import check_seals, spell_out
from cylfile.record.plain_form import plain_seal
from cylfile.record.reader import read_record
from cylfile.text.source import Source

HEAD = """\
department "Hollin Creek Fire"
  zone  America/Denver
  rules us-dot
site hc1 "Station 1"
site hc2 "Station 2"
person vale "Ada Vale"
  fills 2021-05-03
person rowan "Iris Rowan"
  fills 2019-01-01 until 2026-02-28
  fills 2026-04-01
person newly "New Hand"
  inspects 2026-03-01 struck 2026-05-02 by vale "not yet"
source C1 "Air room"
  kind compressor
  at hc1 struck 2026-04-15 by vale "moved"
  at hc2
  2025-12-01  cartridge changed  by vale
  2025-12-02  cartridge changed  by rowan
"""
FIRST, LAST = date(2026, 1, 1), date(2026, 7, 31)
NAMES = ("K-1", "K-2")
DAYS = ["2026-01-31", "2026-03-15", "2026-03-31", "2026-04-30", "2026-06-30"]


def record_of(text: str):
    record = read_record([Source("all.cyl", text)])
    assert record.faults == []
    return record


def sealed(text: str, *signed: tuple[str, str]) -> str:
    """The text with seals of days, one after the other."""
    for day, by in signed:
        spelled = spell_out(record_of(text), date.fromisoformat(day), by)
        text += f"{spelled.first} {spelled.digest}\n"
    return text


def any_text(chance: random.Random) -> str:
    """Cards with lines in any order, and a sheet: some late, struck or answered on other days, some of a mere month."""

    def day(after: date = FIRST) -> date:
        return after + timedelta(days=chance.randrange((LAST - after).days + 1))

    def line(name: str) -> str:
        said = chance.choice(few)
        when = chance.choice(
            [said, said, f"{said} {chance.randrange(8, 11):02}:00", f"{said:%Y-%m}" if months else said]
        )
        what = "serviced" if len(str(when)) == 7 else chance.choice(["damaged", "out of service"])
        words = f'{when} {what} {name} "{chance.randrange(3)}" by {chance.choice(["vale", "rowan"])}'
        if chance.random() < 0.2:
            words += f' answered unusual {day(said)} by newly "seen"'
        if chance.random() < 0.2:
            words += f' struck {day(said)} by rowan "wrong"'
        if chance.random() < 0.3:
            words += f' late {day(said)} by vale "found"'
        return words

    # Few days, so that several lines are of one; months in some of the texts alone.
    few, months = [day() for _ in range(6)], chance.random() < 0.3
    text = HEAD
    for name in NAMES:
        text += f'cylinder {name}\n  made 2019-06 struck {day()} by vale "misread"\n  made 2019-05\n'
        text += "".join(f"  {line(name).replace(f' {name}', '')}\n" for _ in range(8))
    return text + "".join(f"{line(chance.choice(NAMES))}\n" for _ in range(6))


KEPT = (
    HEAD
    + """\
cylinder K-1
  made 2019-06
  2026-01-10  damaged "dropped" by vale
  2026-01-20  serviced "ring" by rowan  struck 2026-03-05 by vale "other one"
  2026-03-03  serviced "valve" by vale
  2026-05-05  damaged "scuffed" by rowan
  2026-01-11  serviced "hose" by vale  late 2026-05-06 by rowan "slip found"
person ash "Ash Lowe"
"""
)
MONTHS = [("2026-01-31", "vale"), ("2026-03-31", "ash"), ("2026-04-30", "ash"), ("2026-06-30", "rowan")]
SEALED = sealed(KEPT, *MONTHS)
SEALS = SEALED.removeprefix(KEPT).splitlines(keepends=True)


def kept(text: str) -> list[tuple[bool, bool]]:
    """Of each seal, whether what it covers itself is as it was, and whether it holds."""
    return [(check.is_kept, check.holds) for check in check_seals(record_of(text))]


def held(text: str) -> list[bool]:
    return [holds for _, holds in kept(text)]


ALL, OWN, NONE = (True, True), (True, False), (False, False)


@pytest.mark.parametrize(
    "was, now, states",
    [
        ("", "", [ALL, ALL, ALL, ALL]),
        # An altered line breaks the seal of its period, and those after it rest on that.
        ('"dropped"', '"bumped"', [NONE, OWN, OWN, OWN]),
        ('"valve"', '"gauge"', [ALL, NONE, OWN, OWN]),
        ('"scuffed"', '"scraped"', [ALL, ALL, ALL, NONE]),
        # A line that is gone, or new, changes the number of its own period alone.
        ('  2026-01-10  damaged "dropped" by vale\n', "", [NONE, OWN, OWN, OWN]),
        ("  2026-05-05", '  2026-03-04  damaged "x" by vale\n  2026-05-05', [ALL, NONE, OWN, OWN]),
        # A late line counts from the day it was written; out of it, it would have been in the first.
        ('"hose"', '"tube"', [ALL, ALL, ALL, NONE]),
        ('  late 2026-05-06 by rowan "slip found"', "", [NONE, OWN, OWN, NONE]),
        # A struck line stands in two ways: as it was, and with the strike.
        ('"ring"', '"rings"', [NONE, NONE, OWN, OWN]),
        ('"other one"', '"another"', [ALL, NONE, OWN, OWN]),
        ('  struck 2026-03-05 by vale "other one"', "", [ALL, NONE, OWN, OWN]),
        ("struck 2026-03-05", "struck 2026-04-05", [ALL, NONE, NONE, OWN]),
        ("struck 2026-03-05", "struck 2026-01-25", [NONE, NONE, OWN, OWN]),
        # Whoever seals is covered by the seal, and by those after it.
        ('"Ash Lowe"', '"Ash Low"', [ALL, NONE, NONE, OWN]),
        # Authority that ended in a period; one that goes on says nothing more.
        ("until 2026-02-28", "until 2026-02-27", [ALL, NONE, OWN, OWN]),
        ("  fills 2026-04-01\n", "", [ALL, ALL, NONE, OWN]),
        ("fills 2021-05-03", "fills 2021-05-03 until 2026-07-01", [ALL, ALL, ALL, ALL]),
        ("fills 2021-05-03", "fills 2021-05-03 until 2026-06-29", [ALL, ALL, ALL, NONE]),
        # A line of a block that is struck in a period, and where a source was until then.
        ('vale "moved"', 'rowan "moved"', [ALL, ALL, NONE, OWN]),
        ('hc1 "Station 1"', 'hc1 "Barn"', [NONE, OWN, OWN, OWN]),
        ('hc2 "Station 2"', 'hc2 "Barn"', [ALL, ALL, NONE, OWN]),
        # After the last seal: what may come.
        ('"scuffed" by rowan', '"scuffed" by rowan struck 2026-07-01 by vale "no"', [ALL, ALL, ALL, ALL]),
        ("  2026-05-05", '  2026-03-04  damaged "x" by vale late 2026-07-01 by ash "found"\n  2026-05-05', [ALL, ALL, ALL, ALL]),
        # The seals themselves: one gone, altered, signed by another, twice, or of a day between.
        (SEALS[0], "", [NONE, OWN, OWN]),
        (SEALS[2], "", [ALL, ALL, NONE]),
        # Nor is a person named any more whom nothing but that seal named.
        (SEALS[1], "", [ALL, NONE, NONE]),
        (SEALS[3], "", [ALL, ALL, ALL]),
        ("sealed 2026-03-31 by ash", "sealed 2026-03-31 by rowan", [ALL, NONE, NONE, NONE]),
        ("sealed 2026-03-31 by ash", "sealed 2026-03-30 by ash", [ALL, NONE, NONE, OWN]),
        (SEALS[1], SEALS[1] * 2, [ALL, ALL, ALL, NONE, OWN]),
        (SEALS[1], f"{SEALS[1]}sealed 2026-04-15 by vale 3 entries {'0' * 64}\n", [ALL, ALL, NONE, NONE, OWN]),
    ],
)  # fmt: skip
def test_what_is_altered_breaks_the_seal_of_its_period_and_none_after_it_holds(was, now, states):
    assert was in SEALED
    text = SEALED.replace(was, now, 1)
    assert kept(text) == states
    # In any order of the lines of seals, and wherever they stand.
    lines = [line for line in text.splitlines(keepends=True) if line.startswith("sealed ")]
    rest = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("sealed "))
    assert kept("".join(reversed(lines)) + rest) == states
    found = list(seal_findings(check_seals(record_of(text), date(2026, 12, 31)), lambda rule: "danger"))
    assert len(found) == states.count(NONE)
    # Those that rest on others are told of at the first that is broken.
    told = [any("seals after it that rest on it" in line for line in each.working) for each in found]
    assert told == [OWN in states, *[False] * len(found)][: len(found)]


def test_no_seal_made_anew_after_an_alteration_leaves_the_last_digest():
    """What the minutes have is the last digest: somebody alters a line and writes one, two or all seals anew."""
    altered = KEPT.replace('"dropped"', '"bumped"')
    last = SEALS[-1].split()[-1]
    for anew in range(1, len(SEALS) + 1):
        again = sealed(altered, *MONTHS[:anew]) + "".join(SEALS[anew:])
        assert not any(check.holds and check.digest == last for check in check_seals(record_of(again))), anew
        assert held(again) == [True] * anew + [False] * (len(SEALS) - anew)


def test_two_seals_of_a_day_hold_beside_each_other_and_the_next_covers_both():
    first, (day, _) = sealed(KEPT, MONTHS[0]), MONTHS[1]
    one, other = (sealed(first, (day, by)).removeprefix(first) for by in ("vale", "rowan"))
    both = sealed(first + one + other, *MONTHS[2:])
    assert held(both) == [True] * 5
    for gone in (one, other):
        assert kept(both.replace(gone, "")) == [ALL, ALL, NONE, OWN]
    # One that comes when there is a later one already.
    assert kept(SEALED + other) == [ALL, ALL, ALL, NONE, OWN]


def test_a_strike_shows_what_stood_until_then():
    lines = spell_out(record_of(SEALED), date(2026, 3, 31), "ash").lines
    serviced = '2026-01-20 serviced K-1 "ring" by rowan'
    assert f"no longer: {serviced}" in lines and f'{serviced} struck 2026-03-05 by vale "other one"' in lines
    assert SEALS[0].rstrip() in lines and not any("dropped" in line for line in lines)
    assert (
        "person rowan fills 2019-01-01 until 2026-02-28" in lines
        and "no longer: person rowan fills 2019-01-01" in lines
    )
    assert not any(line.startswith("person vale") for line in lines)


def added(text: str) -> list[list[str]]:
    """What each seal of a text covers, worked out anew of all that stands; each seal has to have its digest."""
    record = record_of(text)
    alone = copy(record)
    alone.seals = []
    before: Counter = Counter()
    above, found = [], []
    for seal in sorted(record.seals, key=lambda seal: seal.day):
        stands = spell_out(alone, seal.day, "vale")
        now = Counter(stands.lines)
        lines = [*(now - before).elements(), *(f"no longer: {each}" for each in (before - now).elements()), *above]
        lines = [f"sealed {seal.day} by {seal.by} {stands.entries} entries", *sorted(lines)]
        expected = "".join(f"{each}\n" for each in lines)
        assert hashlib.sha256(expected.encode()).hexdigest() == seal.digest, expected
        before, above = now, [plain_seal(seal)]
        found.append(lines)
    assert all(check.holds for check in check_seals(record))
    return found


def test_a_seal_covers_what_stands_at_its_day_and_did_not_before_and_the_other_way_round():
    chance = random.Random(5)
    gone = 0
    for _ in range(30):
        chosen = [(day, chance.choice(["vale", "rowan"])) for day in DAYS if chance.random() < 0.7]
        lines = added(sealed(any_text(chance), *chosen))
        gone += sum(any(line.startswith("no longer: ") for line in of_seal) for of_seal in lines)
    assert gone > 25


EDGES = """\
person ash "Ash Lowe"
  fills 2026-01-01 until 2026-03-31
person elm "Elm Roe"
  inspects 2026-03-10 until 2026-03-20 struck 2026-07-02 by vale "never had it"
person oak "Oak Hale"
cylinder K-1
  2026-01-31  damaged "dropped" by elm  at hc2
  2026-01-31  serviced "ring" by ash  struck 2026-03-31 by vale "other one"
  2026-01-05  serviced "hose" by vale  struck 2026-01-20 by oak "no"  late 2026-04-30 by pine "found"
person pine "Pat Pine"
"""


def test_what_comes_or_ends_on_the_very_day_of_a_seal():
    text = HEAD + EDGES
    first, second, third, fourth, _ = added(sealed(text, *((day, "vale") for day in DAYS)))
    assert "person ash fills 2026-01-01" in first and "person elm inspects never" in first
    assert "no longer: person elm inspects never" in second and "person elm inspects 2026-03-10" in second
    assert "person elm inspects 2026-03-10 until 2026-03-20" in third
    assert "no longer: person ash fills 2026-01-01" not in third
    assert "person ash fills 2026-01-01 until 2026-03-31" in fourth and {"person oak", "person pine"} <= {*fourth}
    assert any('struck 2026-03-31 by vale "other one"' in line for line in third)
    # A site that a line names, and the source that was moved there only later.
    assert 'site hc2 title "Station 2"' in first and 'site hc1 title "Station 1"' in first
    # Who seals and is named on that day is covered once.
    once = sealed(text, ("2026-01-31", "ash"))
    assert spell_out(record_of(once), date(2026, 1, 31), "ash").lines.count("person ash") == 1


def test_what_is_told_of_entries_taken_in_bit_by_bit_is_what_is_told_of_all_of_them():
    chance = random.Random(6)
    less = 0
    for _ in range(40):
        for entries in record_of(any_text(chance)).entries.values():
            of_name, told, known = ToldPairs(), Counter(), []
            chance.shuffle(entries)
            while entries:
                more = [entries.pop() for _ in range(min(len(entries), chance.randrange(1, 4)))]
                known += more
                before, after = of_name.take_in(more)
                told.update(after)
                told.subtract(before)
                less += bool(Counter(before) - Counter(after))
                assert +told == Counter(told_pairs(known)) and min(told.values(), default=0) >= 0
    assert less > 25


def test_what_is_told_of_a_few_lines_in_any_order_and_taken_in_in_any_order():
    lines = ['2026-03-05 serviced "a"', '2026-03 serviced "b"', '2026-03-03 serviced "c"', '2026-03-03 serviced "d"']
    for standing in permutations(lines):
        entries = record_of("cylinder K-1\n" + "".join(f"  {line}\n" for line in standing)).entries["K-1"]
        for taken in permutations(entries):
            of_name, told = ToldPairs(), Counter()
            for count, entry in enumerate(taken, 1):
                before, after = of_name.take_in([entry])
                told.update(after)
                told.subtract(before)
                assert +told == Counter(told_pairs(taken[:count])), (standing, taken)
