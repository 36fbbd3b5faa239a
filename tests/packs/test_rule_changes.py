"""What differs between the rules of a record then and now, and what of it asks for less."""

import pytest

from cylfile.packs.layering import load_rules
from cylfile.packs.rule_changes import compare_rules
from cylfile.text.source import Source

BASE = """\
pack base "Base"
  reference 70 F
setting slack 10 psi
rule too-full  danger
  on    filled
  when  to > fill-limit + slack
  say   "too full"
rule too-late  warning
  on    filled
  when  day > test-due
  say   "too late"
class tube "Tube"
  test-every  5 years
class pipe "Pipe"
  test-every  3 years
"""
HOUSE = 'pack house "House"\n  over "base.cylpack"\n'


def rules(*names: str, **texts: str):
    files = {f"{name}.cylpack": text for name, text in texts.items()}
    ruleset, faults = load_rules(
        names or list(files), lambda name: Source(name, files[name]) if name in files else None
    )
    assert [fault.text for fault in faults] == []
    return ruleset


def changes(old, new) -> list[tuple[str, bool, int | None]]:
    """What is said of each change, whether it is laxer, and the line."""
    return [(each.text, each.laxer, each.span.line if each.span else None) for each in compare_rules(old, new)]


def altered(was: str, now: str) -> list[tuple[str, bool, int | None]]:
    assert was in BASE
    return changes(rules(base=BASE), rules(base=BASE.replace(was, now)))[:-1]


def of_every(reference: str, line: int) -> list[tuple[str, bool, int]]:
    """Of what a pack says of every cylinder, which is that of each class as well."""
    text = f"reference {reference} in place of 70 F"
    return [(text, True, line), (f"class tube: {text}", True, line + 10), (f"class pipe: {text}", True, line + 12)]


@pytest.mark.parametrize(
    "was, now, said",
    [
        ("too-full  danger", "too-full  caution", [("too-full lowered from danger to caution", True, 4)]),
        ("too-late  warning", "too-late  danger", []),
        ("slack 10 psi", "slack 20 psi", [("setting slack 20 psi in place of 10 psi", True, 3)]),
        ("slack 10 psi", "slack 5 psi", []),
        ("every  5 years", "every  6 years", [("class tube: test-every 6 years in place of 5 years", True, 13)]),
        ("every  5 years", "every  4 years", []),
        ("  test-every  5 years\n", "", [("class tube: test-every none given in place of 5 years", True, 12)]),
        ("reference 70 F", "reference 60 F", of_every("60 F", 2)),
        ("  reference 70 F\n", "", of_every("none given", 1)),
        ("day > test-due", "day > test-due + 30 days", [("too-late judges by another condition", True, 8)]),
        ('"too late"', '"much too late"', []),
        ("rule too-late", "rule far-too-late", [("too-late is in no pack any more", True, 8)]),
        ('class pipe "Pipe"\n  test-every  3 years\n', "", [("class pipe is in no pack any more", True, 14)]),
    ],
)  # fmt: skip
def test_what_of_a_pack_asks_for_less(was, now, said):
    assert altered(was, now) == said


def test_nothing_differs_where_each_pack_says_the_same():
    assert changes(rules(base=BASE), rules(base=BASE)) == []


def test_a_pack_above_suspends_a_rule_or_lowers_it():
    old = rules("house.cylpack", base=BASE, house=HOUSE)
    new = rules("house.cylpack", base=BASE, house=HOUSE + 'suspend too-late "no"\nlevel too-full notice\n')
    assert changes(old, new) == [
        ("too-full lowered from danger to notice", True, 4),
        ("too-late suspended: no", True, 3),
        ("pack house.cylpack says something else", False, 1),
    ]
    # What was off before is no change, on or off.
    assert changes(new, old) == [("pack house.cylpack says something else", False, 1)]


def test_a_pack_that_is_gone_takes_its_rules_and_classes_with_it_and_is_told_once():
    assert changes(rules(base=BASE), rules()) == [
        ("pack base.cylpack is gone, and with it 2 of its rules and 2 of its classes", True, 1)
    ]
    assert changes(rules(), rules(base=BASE)) == [("pack base.cylpack is new", False, 1)]
    # Whoever renames a file takes nothing away.
    renamed = changes(rules(base=BASE), rules(other=BASE))
    assert renamed == [("pack base.cylpack is gone", False, 1), ("pack other.cylpack is new", False, 1)]


def test_packs_laid_in_another_order_are_told_where_nothing_else_is():
    two = {
        "base": BASE,
        "more": BASE.replace("too-", "more-").replace("class ", "class more-").replace("pack base", "pack more"),
    }
    two["more"] = two["more"].replace("slack", "more-slack")
    old, new = rules("base.cylpack", "more.cylpack", **two), rules("more.cylpack", "base.cylpack", **two)
    assert changes(old, new) == [("packs laid as more.cylpack, base.cylpack", False, None)]
