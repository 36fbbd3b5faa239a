"""
A record in which every verb, clause, property and block of the language stands, and its house pack; and every text that
is one of them with a single character altered or gone.
"""

from collections.abc import Iterator
from datetime import date
from random import Random

from cylfile.compare.states import compare_records
from cylfile.history.seals import check_seals, spell_out
from cylfile.packs.layering import load_rules
from cylfile.packs.rule_changes import compare_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.source import Source

SEALED = date(2026, 3, 31)
# Lines that end in `# free` hold nothing that the seal covers. Every other line does, whole.
RECORD = r"""
department "Hollin Creek Fire"
  zone       America/Denver
  rules      us-dot                            # free
  rules      "house.cylpack"                   # free
  usual-source C1                              # free
site hc1 "Station 1, für alle"
  contact    "Battalion 2, 555-0142"           # free
site hc2 "Station 2"
person vale "Ada Vale"
  fills      2021-05-03
  inspects   2020-01-15 until 2025-12-31
person rowan "Iris Rowan"
  fills      2019-01-01 until 2024-06-30
  inspects   2018-01-15 struck 2025-02-01 by vale "never had it"
tester Z901 "Hill Requalification"
  authorized 2019-01-01 until 2025-12
source C1 "Air-room compressor"
  kind       compressor
  rated      6000 psi
  cartridge  67000 ft3
  at hc2
  2026-01-14 08:05  air sample pass  CO 1.2 ppm  CO2 410 ppm  O2 20.9 %  N2 78.1 %  H2S 0.1 ppm  oil 0.1 mg/m3
      water 12 ppm  dew point -54 F  organics 2 ppm  particulate 0.2 mg/m3  odor none  "by post"  by vale
  2026-01-15        cartridge changed  "new box"  by rowan
  2026-01-16        gauge checked  "two psi low"  by vale
  2026-01-17        out of service  "belt"  by vale
  2026-01-18        returned to service  by rowan
source B1 "Bank"
  kind       storage
  holds      49 L
  2026-01-19        filled  to 5000 psi  by vale  on C1
  2026-01-20        emptied  by rowan  at hc2
cylinder K-1
  serial     HC-88
  maker      Elm
  marked     "DOT-SP 99123-4500"
  class      carbon-wrapped
  rated      4500 psi
  made       2019-06
  holds      6.8 L
  liner      aluminum
  life       15 years
  test-every 5 years
  test-pressure 7500 psi
  expansion-limit 5 %
  ree        1.9 cc
  owner      "County"                          # free
  tag        E2003412DC03  since 2020-01-01  until 2027-01-01   # free
  2019-08-02        entered service  by vale  at hc1
  2021-02-03        moved  from hc1  to hc2  by rowan
  2021-02-04        damaged  "dropped"  heat  overpressure  by vale  at hc2
  2021-02-05        out of service  "looked at"  by vale
  2021-02-06        serviced  "new neck ring"  by rowan  at hc2
  2021-02-07        visual fail  by vale  at hc2
  2021-02-08        visual pass  by rowan  at hc2
  2021-02-09        returned to service  by vale  at hc1
  2024-06-20        hydro pass  by Z901  at 7500 psi  total 92.1 cc  permanent 1.8 cc  elastic 90.3 cc
      method expansion  crack pass  plus  star  visual pass
  2024-07-01        life extended  until 2036-05  "permit 99123"  by Z901
  2026-03-14 09:42  filled  from 1150 psi  to 4500 psi  at 88 F  over 12 min  by vale  on C1  at hc1
      remark "Fogged; read \"twice\"."
  2026-03-14 09:50  emptied  by vale
  2026-03-16        filled  to unread  by rowan  on B1
      answered filled-over-limit 2026-03-20 by vale "bled" answered filled-past-test 2026-03-21 by vale "seen"
  2026-03-20        gauged  4400 psi  at 20 C  by rowan  struck 2026-03-21 by vale "other one"
  2026-04-02        gauged  4300 psi           # free
cylinder K-2
  serial     "HC 89"
  made       2001-04-30
  life       until 2031-05
  liner      steel  struck 2026-02-01 by vale "is plastic"
  liner      plastic
  2026-03-01        entered service  late 2026-03-09 by vale "found"
  2002-05           condemned  "cut"
  2026-03-25        emptied
  2026-03-25        gauged  90 psi
cylinder K-3                                   # free
  holds      9 L                               # free
fill sheet 2026-03-15  at hc1  by vale
  09:42  K-1  to 4490 psi
  09:58:30  K-2  to 310 bar  at 20 C
visual sheet 2026-03-17  by vale
  K-2  fail
hydro sheet 2026-03-18  by Z901
  K-2  condemned  method proof
gauge sheet 2026-03-19  by rowan
  K-1  4200 psi  at 68 F
2026-03-20  remarked K-2 "wrap scuffed"
2026-03-21  retired K-2 "cut" by vale
2026-03-02  remarked K-3 "new"  late 2026-04-01 by vale "forgotten"    # free
waived test-overdue for K-1 from 2026-01-01 until 2026-12-31 by vale "agreed"       # free
recall 2026-02-01 "Valves of spring"           # free
  maker      Elm                               # free
  class      carbon-wrapped                    # free
  serial     HC-80 to HC-99                    # free
  made       2019-01 to 2019-12                # free
""".lstrip()
PACK = """\
pack house "House"
  over us-dot

class carbon-wrapped
  visual-every  12 months

suspend  test-due-soon  "the county tells us"
level  filled-at-limit  notice
"""


def sealed_record() -> Record:
    return record_of(RECORD + SEALS)


def record_of(text: str) -> Record:
    return read_record([Source("all.cyl", text)])


def _seals() -> str:
    """A chain of them, so that some of what is told stands in one period and some in the other, or in both."""
    seals = ""
    for day in (date(2021, 2, 6), date(2026, 3, 14), SEALED):
        spelled = spell_out(record_of(RECORD + seals), day, "vale")
        seals += f"sealed {day} by vale {spelled.entries} entries {spelled.digest}\n"
    return seals


SEALS = _seals()


def is_free(line: str) -> bool:
    return line.rstrip().endswith("# free")


def changes_of(text: str) -> Iterator[tuple[str, str, str]]:
    """The line, the line as it becomes and the text with it, of every character altered and every character gone."""
    at = 0
    for line in text.splitlines(keepends=True):
        said = line.partition("  #")[0].rstrip("\n")
        for offset, sign in enumerate(said):
            # Blanks mean something in a text alone.
            if not sign.isspace() or said[:offset].count('"') % 2:
                for instead in (_another(sign), ""):
                    now = line[:offset] + instead + line[offset + 1 :]
                    if now == line.replace("years", "year"):
                        # The language has both words for it.
                        continue
                    yield line, now, text[:at] + now + text[at + len(line) :]
        at += len(line)


def _another(sign: str) -> str:
    """Another character of the same sort, so that the line can often still be read."""
    if sign.isdigit():
        return str((int(sign) + 1) % 10)
    if sign.isalpha():
        return {"z": "a", "Z": "A"}.get(sign) or chr(ord(sign) + 1)
    return "x"


def _drawn(text: str, draw: Random | None, count: int) -> list[tuple[str, str, str]]:
    changes = list(changes_of(text))
    return changes if draw is None else draw.sample(changes, count)


def unseen_in_record(draw: Random | None = None, count: int = 0) -> list[tuple[str, str]]:
    """The lines, as they were and are, of the changes of the record that nothing shows; of a sample where one is drawn."""
    old = sealed_record()
    unseen = []
    for line, now, text in _drawn(RECORD, draw, count):
        record = record_of(text + SEALS)
        if (check_seals(record)[-1].holds and not is_free(line)) or compare_records(old, record).is_empty:
            unseen.append((line, now))
    return unseen


def unseen_in_pack(draw: Random | None = None, count: int = 0) -> list[tuple[str, str]]:
    """The lines of the changes of the pack that a comparison of rules does not show."""
    old, _ = _rules(PACK)
    unseen = []
    for line, now, text in _drawn(PACK, draw, count):
        # A pack that can be read no more is a fault, and lays nothing.
        rules, faults = _rules(text)
        if not faults and not compare_rules(old, rules):
            unseen.append((line, now))
    return unseen


def _rules(text: str) -> tuple[Ruleset, list]:
    return load_rules(["us-dot", "house.cylpack"], lambda name: Source(name, text) if name == "house.cylpack" else None)
