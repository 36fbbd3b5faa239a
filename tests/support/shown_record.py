"""
A small record and a pack of its own for the tests of what is shown, so that no text of a shipped pack is in them.
"""

from datetime import date

from cylfile.judging.heads import head_of
from cylfile.judging.judge import judge
from cylfile.judging.report import Report
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

AS_OF = date(2026, 11, 25)
PACK = """\
pack test "A pack for tests"
  reference  70 F

class steel "Plain steel; say so on the card"
  test-every  5 years
  life        none
class wrapped "Wrapped"
  test-every  5 years
  life        15 years

setting soon  90 days

rule past-test  danger
  on       filled
  when     day > test-due
  why      "A cylinder past its test is not filled. This is the second sentence."
  say      "filled {day - test-due} after its test fell due ({test-due})"
  working  "last test {test-day} + {test-every} = due by {test-due}"
  advice   "Take it out of service."
  cite     "Statute 1"
  cite     "Statute 2, about the same"
  breaks
    cylinder T-1
      class  steel
      made   2010-01
      2015-02-01  filled  to 2015 psi      # here
  keeps
    cylinder T-1
      class  steel
      made   2010-01
      2015-01-31  filled  to 2015 psi

rule bad-test  danger
  on    hydro
  when  known test-pressure and test-pressure < rated
  say   "tested below its rated pressure"

rule past-life  danger
  on    filled
  when  day > life-end
  say   "filled past its life"

rule due-soon  notice
  on    status
  when  in-service and days-to-test >= 0 days and days-to-test <= soon
  say   "test falls due in {days-to-test}"

rule no-temperature  notice
  on    filled
  when  not known temperature
  once  cylinder
  say   "{times} fills without a temperature"
"""
HOUSE = """\
pack house "The house"
  over  "test.cylpack"
suspend no-temperature "No probe"
"""
LEDGER = """\
department "Larkspur Valley"
  rules  "house.cylpack"
site st1 "Station 1"
person vance "Ada Vance"
tester Z999 "Invented Requalifiers"

cylinder L-10
  class  steel
  rated  2216 psi
  made   2022-01
  2022-02-01  entered service  at st1

cylinder L-2
  class  wrapped
  rated  4500 psi
  made   2016-03
  2016-04-01  entered service  at st1
  2021-06-03  hydro pass  by Z999  at 7500 psi
  2026-07-12  filled  to 4500 psi  by vance
  2026-08-12  filled  to 4500 psi  by vance

cylinder L-3
  class  steel
  rated  2216 psi
  made   2024-01
  2024-02-01  entered service  at st1
  2025-01-01  out of service "valve leaks"

cylinder L-4
  class  steel
  rated  2216 psi
  made   2001-01
  2001-02-01  entered service  at st1
  2020-05-04  retired "worn"
  2021-01-01  filled  to 2000 psi

waived due-soon for L-10 until 2026-12-31 by vance "Booked for test"
2026-03-04 filled L-99 to 2000 psi
"""


def packs_of(texts: dict[str, str]):
    return lambda name: Source(name, texts[name]) if name in texts else None


def rules(*names: str, **texts: str):
    """The ruleset of packs: `rules("house.cylpack")`, or with a pack of its own text `rules("x.cylpack", x=TEXT)`."""
    known = {"test.cylpack": PACK, "house.cylpack": HOUSE} | {f"{name}.cylpack": text for name, text in texts.items()}
    ruleset, faults = load_rules(names, packs_of(known))
    assert not faults
    return ruleset


def report(ledger: str = LEDGER, ruleset=None, narrowed=(), path: str = "cards.cyl") -> Report:
    """The report of a ledger of one file."""
    ruleset = ruleset or rules("house.cylpack")
    record = read_record([Source(path, ledger)])
    judgement = judge(record, ruleset, AS_OF)
    heads = {
        name: head_of(record, ruleset, life, [finding for finding in judgement.findings if finding.subject == name])
        for name, life in judgement.lives.items()
    }
    return Report(
        record, ruleset, AS_OF, judgement.findings, heads, len(heads), record.entry_count, list(narrowed)
    )  # fmt: skip
