"""
The code of rules that is kept when the program is installed: it judges as code that is compiled now, and only what says the same.
"""

from datetime import date
from pathlib import Path

import pytest

from cylfile.files.records import the_record
from cylfile.judging.judge import judge
from cylfile.packs import judges
from cylfile.record.reader import read_record
from cylfile.text import made
from support.house_pack import RULE, load

DEMO = Path(__file__).resolve().parents[2] / "examples" / "faulty"
AS_OF = date(2026, 11, 25)
_HOUSE = 'pack house "A house"\n{setting}' + RULE.replace("danger", "{level}")
_SAYS = {"setting": "setting most  2000 psi\n", "on": "filled", "when": "to > most", "say": '"said"', "level": "danger"}


@pytest.fixture
def keep(monkeypatch, tmp_path):
    """Have the code of a ruleset kept, and nothing compiled from then on."""

    def refuse(what, place, rules):
        raise AssertionError(f"compiled for {place}: {what}")

    def kept(ruleset):
        monkeypatch.setattr(made, "FOLDER", str(tmp_path))
        judges.save_judges([[rule for rule in ruleset.rules.values() if rule.name not in ruleset.suspended]])
        code = judges._kept.__wrapped__()
        monkeypatch.setattr(judges, "_kept", lambda: code)
        monkeypatch.setattr(judges, "_compiled", refuse)

    return kept


def test_kept_code_finds_what_is_found_by_code_that_is_compiled(keep):
    def found():
        folder = the_record([str(DEMO)])
        record = read_record(*folder.texts())
        rules, faults = folder.rules(record)
        assert not faults
        return rules, [
            (*each.span[1:], each.rule, each.text, each.working) for each in judge(record, rules, AS_OF).findings
        ]

    rules, compiled = found()
    keep(rules)
    assert found()[1] == compiled


def test_only_what_says_the_same_is_judged_by_kept_code(keep):
    keep(load(_HOUSE.format(**_SAYS))[0])
    assert load(_HOUSE.format(**{**_SAYS, "level": "caution"}))[0].judge_of("filled")
    other = [
        {"when": "to >= most"}, {"setting": "setting most  2100 psi\n"}, {"on": "storage filled"},
        {"say": '"said"\nrule b-rule  danger\n  on  filled\n  when  hot > most\n  say  "b"'},
    ]  # fmt: skip
    for change in other:
        ruleset, faults = load(_HOUSE.format(**{**_SAYS, **change}))
        assert not faults
        with pytest.raises(AssertionError):
            ruleset.judge_of(change.get("on", "filled"))
