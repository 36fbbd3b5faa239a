"""
Every comparison and every figure in the condition of a shipped rule is held by an example of the rule:
changed by a little, the example fails. Which changes no example could tell is said in the bench.
"""

import pytest

from bench.mutate_packs import EQUIVALENT, changes, is_found_out, survivors, written
from support.house_pack import load


@pytest.mark.parametrize("pack", ["osha", "practice", "us-dot", "vessel"])
def test_no_change_of_a_condition_goes_unseen(pack):
    found, made = survivors(pack)
    assert made > 20
    assert set(found) <= set(EQUIVALENT)


def test_the_changes_of_a_condition():
    ruleset, _ = load(
        'pack house "x"\nsetting most 10 psi\nrule r danger\n  on filled\n'
        '  when known from and not (to > most or in-service) and cylinder = "x"\n  say "x"\n'
    )
    condition = ruleset.rules["r"].condition
    said = [said for said, _ in changes(condition)]
    assert len(said) == len(set(said)) == 12
    for text in (
        "to > most [10 psi] -> to >= most [10 psi]",
        "most [10 psi] -> most [11 psi]",
        "known from -> not (known from)",
        "in-service -> not (in-service)",
        '"x" -> "x?"',
        'cylinder = "x" -> cylinder != "x"',
        "(to > most [10 psi] or in-service) -> (to > most [10 psi] and in-service)",
        "not ((to > most [10 psi] or in-service)) -> (to > most [10 psi] or in-service)",
    ):
        assert text in said
    assert all(written(changed) != written(condition) for _, changed in changes(condition))


def test_a_change_that_an_example_shows_is_found_out():
    text = (
        'pack house "x"\nrule r danger\n  on filled\n  when to > 10 psi\n  say "x"\n'
        "  breaks\n    cylinder T-1\n      2024-01-01 filled to 11 psi  # here\n"
        '  keeps "x"\n    cylinder T-1\n      2024-01-01 filled to 10 psi\n'
    )
    ruleset, faults = load(text)
    assert not faults
    rule = ruleset.rules["r"]
    assert not is_found_out(rule, rule.condition, ruleset)
    for said, changed in changes(rule.condition):
        assert is_found_out(rule, changed, ruleset), said
    ruleset, _ = load(text.replace("filled to 10 psi", "filled to 1 psi"))
    rule = ruleset.rules["r"]
    unseen = [said for said, changed in changes(rule.condition) if not is_found_out(rule, changed, ruleset)]
    assert unseen == ["to > 10 psi -> to >= 10 psi", "10 psi -> 9 psi"]
    assert written(rule.condition) == "to > 10 psi"
