"""What a house pack makes laxer than the shipped ones is listed, with its pack and line; what it makes stricter is not."""

import pytest

from support.house_pack import load

HOUSE = 'pack house "A house"\n  over us-dot\n  over practice\n'


def laxer(lines: str) -> list[str]:
    ruleset, faults = load(HOUSE + lines)
    assert faults == []
    return [str(easing) for easing in ruleset.laxer]


@pytest.mark.parametrize(
    "lines, listed",
    [
        ("level filled-past-test warning\n", ["filled-past-test lowered from danger to warning (house0.cylpack:4)"]),
        ("level filled-in-due-month danger\n", []),
        ("level no-class notice\n", ["no-class lowered from warning to notice (house0.cylpack:4)"]),
        ("level no-class warning\n", []),
        ('suspend filled-too-fast "no clock"\n', ["filled-too-fast suspended: no clock (house0.cylpack:4)"]),
        ("setting due-soon 30 days\n", ["setting due-soon 30 days in place of 90 days (house0.cylpack:4)"]),
        ("setting due-soon 120 days\n", []),
        ("setting due-soon 90 days\n", []),
        ("setting fill-rate-limit 9000 psi/min\n", ["setting fill-rate-limit 9000 psi/min in place of 600 psi/min (house0.cylpack:4)"]),
        ("setting fill-rate-limit 1 psi/min\n", []),
        ("class dot-3al\n  plus-fill 10 %\n", ["class dot-3al: plus-fill 10 % in place of none given (house0.cylpack:5)"]),
        ("class dot-3aa\n  test-every 10 years\n", ["class dot-3aa: test-every 10 years in place of 5 years (house0.cylpack:5)"]),
        ("class dot-3aa\n  test-every none\n", ["class dot-3aa: test-every no limit in place of 5 years (house0.cylpack:5)"]),
        ("class dot-3aa\n  test-every 3 years\n", []),
        ("class dot-3aa\n  test-factor 3/2\n", ["class dot-3aa: test-factor 3/2 in place of 5/3 (house0.cylpack:5)"]),
        ("class carbon-wrapped\n  visual-every 12 months\n", []),
        ("class carbon-wrapped\n  life-extendable 30 years\n", ["class carbon-wrapped: life-extendable 30 years in place of none given (house0.cylpack:5)"]),
        ("class carbon-wrapped\n  from-permit life, test-every\n", ["class carbon-wrapped: from-permit life, test-every in place of test-every, test-pressure, expansion-limit (house0.cylpack:5)"]),
        ("class carbon-wrapped\n  methods expansion, acoustic\n", ["class carbon-wrapped: methods expansion, acoustic in place of none given (house0.cylpack:5)"]),
        ('class ours "Ours"\n  test-every 20 years\n', []),
    ],
)  # fmt: skip
def test_what_is_laxer_is_listed(lines, listed):
    assert laxer(lines) == listed


def test_a_header_that_judges_at_a_colder_temperature_is_laxer():
    ruleset, faults = load('pack house "A house"\n  over us-dot\n  reference  15 C\n  to-the-day\n')
    assert faults == []
    assert [str(easing) for easing in ruleset.laxer] == ["reference 59 F in place of 70 F (house0.cylpack:3)"]


def test_the_last_pack_settles_it():
    second = 'pack second "x"\nlevel filled-past-test danger\nsetting due-soon 90 days\n'
    ruleset, faults = load(HOUSE + "level filled-past-test notice\nsetting due-soon 10 days\n", second)
    assert (faults, ruleset.laxer) == ([], [])


def test_a_setting_whose_sense_is_not_plain_is_listed_whichever_way_it_goes():
    from cylfile.packs.expressions import Value
    from cylfile.packs.laxer import eased_setting

    ruleset, faults = load(
        'pack base "x"\nsetting even 10 psi\nrule r danger\n  on filled\n  when to = even or to > even\n  say "x"\n'
    )
    assert not faults
    shipped = ruleset.settings["even"]
    rule = ruleset.rules["r"]
    for psi in (9.0, 11.0):
        changed = Value(psi, "pressure", "even")
        assert [each.pack for each in eased_setting(shipped, changed, [rule], "house", rule.span)] == ["house"]
    assert list(eased_setting(shipped, shipped, [rule], "house", rule.span)) == []


@pytest.mark.parametrize(
    "when, sense",
    [
        ("to > most", 1), ("to >= most", 1), ("to < most", -1), ("to <= most", -1), ("most > to", -1), ("most < to", 1),
        ("not to > most", -1), ("to > rated + most", 1), ("to + most > rated", -1), ("rated - most > to", 1),
        ("to > 2 * most", 1), ("to / most > 2", 1), ("to > most and rated > most", 1), ("to > most or rated > 2 * most", 1),
    ],
)  # fmt: skip
def test_the_sense_of_a_setting(when, sense):
    """1 where a greater figure makes the rule hold less often, and so is the laxer one."""
    from cylfile.packs.expressions import Value
    from cylfile.packs.laxer import eased_setting

    ruleset, faults = load(
        f'pack base "x"\nsetting most 10 psi\nrule r danger\n  on filled\n  when {when}\n  say "x"\n'
    )
    assert not faults
    rule = ruleset.rules["r"]
    for psi, is_laxer in ((11.0, sense == 1), (9.0, sense == -1)):
        found = list(eased_setting(ruleset.settings["most"], Value(psi, "pressure", "most"), [rule], "h", rule.span))
        assert bool(found) is is_laxer


def test_shipped_packs_over_each_other_make_nothing_laxer():
    ruleset, _ = load('pack house "A house"\n  over en-12021\n')
    assert ruleset.laxer == []
