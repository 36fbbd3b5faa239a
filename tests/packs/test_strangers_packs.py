"""A pack from a stranger runs nothing, opens nothing, loops over nothing and takes no time."""

import ast
import builtins
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.packs.layering import MOST_CHARACTERS, MOST_RULES, load_rules
from cylfile.packs.pack_sentences import LONGEST_FORMULA
from cylfile.packs.shipped import open_shipped, shipped_names
from cylfile.text.source import Source
from support.house_pack import RULE, fill, judged, life, load, load_rule

HOSTILE = [
    "__import__(\"os\")",
    "__import__",
    "day.year",
    "day.__class__ = day",
    "life",
    "entry",
    "hits",
    "object0",
    "fact0 = fact0",
    "day > (lambda: 0)",
    "[day for day in day]",
    "day[0]",
    "day := 5",
    "exec(\"1\")",
    "day if day else day",
    "print(day)",
    "yes; no",
    "`day`",
    "f\"{day}\"",
    "{day} = {day}",
    "\"a\" % \"b\" = \"c\"",
    "day ** 9 = day",
    "9 ** 9 ** 9 > 1",
    "site * 1000000000 = site",
    "yes\\",
    "known life.people",
    "known __class__",
]  # fmt: skip


@pytest.mark.parametrize("condition", HOSTILE)
def test_nothing_but_the_language_is_read(condition):
    ruleset, faults = load_rule(condition)
    assert faults and not ruleset.rules
    assert all(fault.span.end >= fault.span.start for fault in faults)


@pytest.mark.parametrize("inside", ["__import__('os').getcwd()", "day.year", "day!r", "day:%Y", "0", "life", "{day}"])
def test_braces_in_texts_hold_the_same_language(inside):
    ruleset, faults = load_rule("yes", say='"x {' + inside + '}"')
    if inside == "0":
        assert ruleset.rules["a-rule"].say(life(), fill()) == "x 0"
    else:
        assert faults and not ruleset.rules


def test_a_compiled_rule_sees_no_builtins_and_no_modules():
    ruleset, _ = load_rule("day > test-due and to > rated * 2 and hot > 5 psi")
    names = ruleset.judge_of("filled").__globals__
    assert names["__builtins__"] == {}
    assert not {name for name in names if hasattr(builtins, name)} - {"__builtins__"}
    attributes = set(ruleset.judge_of("filled").__code__.co_names) - set(names)
    # `hot` is not asked of a fill without a gas temperature.
    assert attributes == {"day", "test_due", "reading", "value", "rated", "at_temperature", "append"}


def test_no_text_of_a_pack_is_compiled(monkeypatch):
    """What goes to the compiler is a syntax tree, and no name in it is a word of the pack."""
    trees = []
    real = builtins.compile
    monkeypatch.setattr(
        builtins, "compile", lambda tree, *rest, **more: trees.append(tree) or real(tree, *rest, **more)
    )
    ruleset, _ = load_rule('site = "evil_name" or day > test-due')
    assert ruleset.judge_of("filled") is not None
    ours = [tree for tree in trees if isinstance(tree, ast.Module)]
    assert ours and all(isinstance(tree, ast.AST) for tree in ours)
    names = {node.id for tree in ours for node in ast.walk(tree) if isinstance(node, ast.Name)}
    assert all(
        name in ("life", "entry", "hits") or name.rstrip("0123456789") in ("fact", "object", "result") for name in names
    )


@pytest.mark.parametrize(
    "path",
    [
        "../other.cylpack",
        "/etc/passwd",
        "a/../../b.cylpack",
        "~/x.cylpack",
        "..",
        "c:\\x.cylpack",
        "..\\x.cylpack",
        "http://x/y.cylpack",
        "\0",
    ],
)
def test_a_path_out_of_the_record_is_never_opened(path):
    opened = []
    _, faults = load_rules([path], opened.append)
    assert opened == []
    assert len(faults) == 1 and faults[0].text.endswith("leads out of the record")


def test_a_path_is_found_from_the_folder_of_the_pack_that_names_it():
    files = {
        "rules/a.cylpack": 'pack a "x"\n  over "b.cylpack"\n',
        "rules/b.cylpack": 'pack b "x"\n  over "../c.cylpack"\n',
    }
    opened = []

    def open_pack(name):
        opened.append(name)
        return Source(name, files[name]) if name in files else None

    _, faults = load_rules(["rules/a.cylpack"], open_pack)
    assert opened == ["rules/a.cylpack", "rules/b.cylpack", "c.cylpack"]
    assert [fault.text for fault in faults] == ["there is no rule pack `../c.cylpack`"]
    _, faults = load_rules(["rules/out.cylpack"], lambda name: Source(name, 'pack a "x"\n  over "../../c.cylpack"\n'))
    assert [fault.text for fault in faults] == ["the path `../../c.cylpack` leads out of the record"]


def nested(piece: str, times: int, end: str) -> str:
    return piece * times + end


@pytest.mark.parametrize(
    "condition",
    [
        nested("(", 3000, "yes"),
        nested("(", 500, "yes") + ")" * 500,
        nested("not ", 4000, "in-service"),
        nested("in-service and ", 900, "in-service"),
        nested("to + ", 3000, "to > 4 psi"),
        nested("known ", 1000, "to"),
    ],
)
def test_deep_and_long_conditions_are_refused_in_no_time(condition):
    start = time.perf_counter()
    ruleset, faults = load_rule(condition)
    assert faults and not ruleset.rules
    assert time.perf_counter() - start < 5


@pytest.mark.parametrize(
    "condition",
    [
        nested("not ", LONGEST_FORMULA - 1, "in-service"),
        nested("in-service and ", LONGEST_FORMULA // 2 - 1, "in-service"),
        nested("in-service or not in-service and ", LONGEST_FORMULA // 5 - 1, "in-service"),
        nested("to + ", LONGEST_FORMULA // 2 - 2, "to > 4 psi"),
        nested("10 % / ", LONGEST_FORMULA // 2 - 4, "(to / rated) > 4 %"),
        "(" * 99 + "in-service" + ")" * 99,
        " and ".join(["to / rated > 5 %"] * 33),
    ],
)
def test_the_longest_conditions_that_are_read_are_judged(condition):
    ruleset, faults = load_rule(condition)
    assert not faults
    judged(ruleset, life(rated=4500.0), fill())
    judged(ruleset, life(), fill())


@pytest.mark.parametrize(
    "text",
    [
        "x" * 600_000,
        'pack house "x"\n' + RULE.format(on="filled", when="yes", say='"' + "x" * 30_000 + '"'),
        'pack house "x"\n' + RULE.format(on="filled", when="yes", say='"' + "{day}" * 3_000 + '"'),
        'pack house "x"\n' + RULE.format(on="filled, " * 3000 + "filled", when="yes", say='"x"'),
        'pack house "x"\n  ' + "(" * 100_000,
        'pack house "x"\nclass tube "x"\n  marked "' + "{any}" * 60 + '{psi}"\n',
        "\n" * 400_000,
        "\0\x1b[31m\u202e" * 1000,
        'pack house "x"\n' + "rule r danger\n" * 5000,
    ],
)
def test_huge_texts_are_refused_in_no_time(text):
    start = time.perf_counter()
    _, faults = load(text)
    assert faults
    assert time.perf_counter() - start < 10


def test_more_rules_than_anybody_reads_are_refused():
    """A pack of 2,000 rules is judged, one of 2,001 is not, and neither are two that have more together."""
    rule = 'rule r{} danger\n on filled\n when yes\n say ""\n'.replace('""', '"x"')

    def pack(first: int, count: int) -> str:
        return f'pack p{first} "x"\n' + "".join(rule.format(first + number) for number in range(count))

    ruleset, faults = load(pack(0, MOST_RULES))
    assert not faults and len(ruleset.rules) == MOST_RULES
    for packs in ([pack(0, MOST_RULES + 1)], [pack(0, MOST_RULES), pack(5_000, 1)]):
        ruleset, faults = load(*packs)
        assert [fault.text for fault in faults] == [
            f"with the rule pack `house{len(packs) - 1}.cylpack` there are 2,001 rules"
        ]
        assert len(ruleset.rules) == (MOST_RULES if len(packs) == 2 else 0)


def test_packs_that_are_too_long_together_are_refused():
    first, second = 'pack a "x"\n' + "#" * (MOST_CHARACTERS - 12) + "\n", 'pack b "x"\n'
    assert len(first) == MOST_CHARACTERS and load(first)[1] == []
    for packs, count in (([first, second], "100,011"), ([first + "#"], "100,001")):
        (fault,) = load(*packs)[1]
        name = f"house{len(packs) - 1}.cylpack"
        assert fault.text == f"with the rule pack `{name}` the packs that do not ship have {count} characters"


def test_any_pack_that_is_read_is_loaded_in_a_second():
    """The costliest texts found, as long as may be; the time is that of the processor, with some room for a slow one."""
    formulas = (
        'rule r{}  danger\n  on filled\n  when  to > 1 psi\n  say "' + "{{to}}" * 300 + '"\n',
        "level nothing{} danger\n",
    )
    for block in formulas:
        text = 'pack big "x"\n'
        number = 0
        while len(text) + len(block) < MOST_CHARACTERS:
            text += block.format(number)
            number += 1
        start = time.process_time()
        load(text)
        assert time.process_time() - start < 3


def test_a_marking_made_to_be_slow_is_not():
    text = 'pack house "x"\nclass tube "x"\n  marked "1{any}a{any}a{any}a{any}a{psi}"\n'
    ruleset, faults = load(text)
    assert not faults
    start = time.perf_counter()
    assert ruleset.kind(("1" + "a" * 190 + "!",), None).fits == ()
    assert ruleset.kind(("1" + "a" * 100_000,), None).fits == ()
    assert time.perf_counter() - start < 5


@pytest.mark.parametrize(
    "figure", ["9" * 5000 + " psi", "9" * 400, "1." + "9" * 400, "99999999 years", "9999999999 days"]
)
def test_a_figure_too_large_to_reckon_with_is_refused(figure):
    _, faults = load_rule(f"known day and {figure} = {figure}")
    assert faults


@pytest.mark.parametrize(
    "text",
    [
        "{day + 999999999 days}", "{day - 999999999 days}", "{day + 200 years + 200 years}", "{day - 200 years}",
        "{999999999 h * 999999999 * 999999999}", "{to * 999999999 * 999999999 * 999999999}",
        "{999999999 days + 999999999 days}", "{to / (to - to)}", "{1 h / (1 h - 1 h)}", "{to / (1 h - 1 h)}",
    ],
)  # fmt: skip
def test_reckoning_out_of_bounds_is_not_known_and_no_failure(text):
    ruleset, faults = load_rule("yes", say=f'"{text}"')
    assert not faults
    said = ruleset.rules["a-rule"].say(life(), fill())
    assert said in ("not known", "never") or said.endswith((" psi", "-01-01"))


@pytest.mark.parametrize("pack", shipped_names())
def test_every_beginning_of_a_shipped_pack_is_read_without_failing(pack):
    text = open_shipped(pack).text
    for end in range(0, len(text), 997):
        load(text[:end])


@settings(deadline=None, max_examples=150)
@given(st.text(alphabet='pack rule class on when say {}()"<>=+-*/0123456789\n\t #psi.%é\u202e', max_size=300))
def test_no_text_fails(text):
    load(text)
    load_rule(text.replace("\n", " ") or "yes")


@pytest.mark.parametrize(
    "length, refused", [(2_000, []), (2_001, ["a text of 2,001 characters; the longest has 2,000"])]
)
def test_the_longest_text_is_read_and_a_longer_one_is_not(length, refused):
    text = f'pack a "x"\nrule r  danger\n  on  filled\n  when  yes\n  say  "{"x" * length}"\n'
    assert [fault.text for fault in load(text)[1] if "characters" in fault.text] == refused


@pytest.mark.parametrize("words, is_read", [(300, True), (301, False)])
def test_a_condition_of_so_many_words_is_read_and_a_longer_one_is_not(words, is_read):
    condition = "not " * (words - 2) + "known made"
    assert (load_rule(condition)[1] == []) is is_read


@pytest.mark.parametrize("length, is_read", [(64, True), (65, False)])
def test_a_name_of_so_many_letters_is_read_and_a_longer_one_is_not(length, is_read):
    _, faults = load(f'pack a "x"\nrule {"r" * length}  danger\n  on  filled\n  when  known made\n  say  "x"\n')
    assert (faults == []) is is_read
