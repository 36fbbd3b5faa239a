"""
The program and the second reading of the rules side by side, on generated records: where they differ, and the fewest
lines on which they still do.
"""

import contextlib
import copy
import io
import json
import tempfile
from pathlib import Path
from typing import NamedTuple

from cylfile.__main__ import main
from outside.generated_records import TESTERS, iso, ledger_of
from outside.second_reading import (
    PRESSURES,
    RULES,
    RULES_OF_CYLINDERS,
    TODAY,
    Reading,
)

MAY_FILL = "may-fill"


class Difference(NamedTuple):
    """One of the two says `rule` of this cylinder at this place (number of the entry, or TODAY), the other does not."""

    cylinder: str
    rule: str
    place: int | str
    program: object
    second: object


def run(folder, *arguments):
    """What a command writes on standard output as JSON, run in this process."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()) as errors:
        status = main([*arguments, str(folder), "--as", "json"])
    assert status in (0, 1), errors.getvalue()
    return json.loads(out.getvalue())


def program_reads(cylinders, today):
    """
    By cylinder: what the program says of the rules compared, as (rule, place), and whether it may be filled.

    Raises AssertionError where the program could not read a line: the generator writes none such.
    """
    text, places = ledger_of(cylinders)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "record.cyl").write_text(text)
        lint = run(folder, "lint", "--as-of", iso(today))
        inventory = run(folder, "inventory", "--as-of", iso(today))
    named = {cylinder["name"]: cylinder for cylinder in cylinders}
    said = {name: set() for name in named}
    for finding in lint["findings"]:
        assert finding["rule"] not in ("unreadable-line", "order-not-told", "name-taken"), (finding, text)
        if finding["rule"] == "bar-struck" and finding["answered"]:
            continue  # somebody else has answered for it: it bars no longer
        if finding["rule"] in RULES and finding["subject"] in said:
            name, place = places.get(finding["line"], (None, TODAY))
            if finding["rule"] in RULES_OF_CYLINDERS or name and named[name]["entries"][place]["first"] > today:
                place = TODAY
            said[finding["subject"]].add((finding["rule"], place))
    return said, {row["cylinder"]: row["may_be_filled"] for row in inventory["cylinders"]}


def differences(cylinders, today):
    """All of them, in a record of these cylinders judged on `today`."""
    said, may = program_reads(cylinders, today)
    found = []
    for cylinder in cylinders:
        name, second = cylinder["name"], Reading(cylinder, TESTERS, today)
        for rule, place in sorted((said[name] ^ second.found) - second.open, key=str):
            says = (rule, place) in said[name]
            if (rule, place) in said[name] | second.found:
                found.append(Difference(name, rule, place, says, not says))
        if second.may is not None and may.get(name, False) != second.may:
            says = may.get(name, False)
            found.append(Difference(name, MAY_FILL, TODAY, says, second.may))
    return found


def stop_differs(cylinder, today, temperature):
    """
    Where may-fill lets the gauge go higher than the second reading, or stops more than 10 psi (or 1 bar) lower:
    (cylinder, what the program says, psi, and of the second reading, psi); otherwise None.
    """
    text, _ = ledger_of([cylinder])
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "record.cyl").write_text(text)
        at = " ".join(temperature)
        answer = run(folder, "may-fill", cylinder["name"], "--as-of", iso(today), "--at", at)
    if not answer["stop"]:
        return None
    number, unit = answer["stop"].split()
    stop, most = float(number) * PRESSURES[unit], Reading(cylinder, TESTERS, today).stop(temperature)
    if most - 15 < stop < most + 0.01:
        return None
    return cylinder["name"], stop, most


def may_fill_to_differs(cylinder, today, to, temperature):
    """
    Where the program lets a cylinder be filled to a pressure that would be over its limit once settled, beyond what
    the last places written tell, or refuses one that would not: what the program says; otherwise None.
    """
    text, _ = ledger_of([cylinder])
    second = Reading(cylinder, TESTERS, today)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "record.cyl").write_text(text)
        asked = ("--to", " ".join(to), "--at", " ".join(temperature))
        may = run(folder, "may-fill", cylinder["name"], "--as-of", iso(today), *asked)["may_be_filled"]
    expected = second.may and second.may_fill_to(to, temperature)
    return None if expected in (None, may) else may


def shrunk(cylinder, today, difference):
    """The cylinder with all taken out that the difference does not need."""

    def differs(smaller):
        if (
            smaller["entries"]
            and difference.place != TODAY
            and not any("here" in entry for entry in smaller["entries"])
        ):
            return False
        place = next((n for n, entry in enumerate(smaller["entries"]) if "here" in entry), TODAY)
        try:
            return any(
                (other.rule, other.program, other.place) == (difference.rule, difference.program, place)
                for other in differences([smaller], today)
            )
        except AssertionError:
            return False

    cylinder = copy.deepcopy(cylinder)
    if difference.place != TODAY:
        cylinder["entries"][difference.place]["here"] = True
    kept = ("stamped", "verb", "first", "last", "month", "here", "outcome", "name", "class", "entries", "to", "text")
    smaller = True
    while smaller:
        smaller = False
        for number in reversed(range(len(cylinder["entries"]))):
            trial = copy.deepcopy(cylinder)
            del trial["entries"][number]
            if differs(trial):
                cylinder, smaller = trial, True
        for holder in [None, *range(len(cylinder["entries"]))]:
            for key in list(cylinder if holder is None else cylinder["entries"][holder]):
                trial = copy.deepcopy(cylinder)
                del (trial if holder is None else trial["entries"][holder])[key]
                if key not in kept and differs(trial):
                    cylinder, smaller = trial, True
    return cylinder


def shown(cylinder, today, difference):
    """A difference on paper: the shrunk ledger and both answers."""
    smaller = shrunk(cylinder, today, difference)
    text, _ = ledger_of([smaller])
    card = text[text.index("cylinder ") :]
    said, may = program_reads([smaller], today)
    second = Reading(smaller, TESTERS, today)
    program = [*sorted(said[smaller["name"]], key=str), f"may be filled: {may.get(smaller['name'])}"]
    other = [*sorted(second.found, key=str), f"may be filled: {second.may}"]
    return (
        f"{difference.rule}, as of {iso(today)}: the program says {difference.program}, the second reading "
        f"{difference.second}\n{card}  program: {program}\n  second:  {other}\n"
    )
