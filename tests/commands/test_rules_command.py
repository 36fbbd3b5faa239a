"""
`cylfile rules`: what is judged, by which text, in which words, and whether packs do what their examples say.
"""

import pytest

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import DIMENSIONS, FACTS
from cylfile.packs.shipped import shipped_names
from support.house_record import PACK


@pytest.fixture
def house(house):
    """Rules are the same whatever the day."""
    house.as_of = None
    return house


def rows(text: str) -> dict[str, list[str]]:
    """The lines of a listing, by the name of the rule or setting in them."""
    return {
        line[11:].split()[0]: line.split(maxsplit=2)
        for line in text.split("\n")
        if line.startswith("  ") and line[11:].split()
    }


def place_of(text: str, more: int = 0) -> str:
    """The place in the house pack of the line that begins with a text, or of one some lines below it."""
    return f"house.cylpack:{PACK[: PACK.index(text)].count(chr(10)) + 1 + more}"


def test_the_list_has_every_rule_that_ships(here):
    status, out, err = here("rules")
    assert (status, err) == (0, "")
    assert here("rules", "list").out == out
    listed = rows(out)
    for name, rule in CORE_RULES.items():
        assert listed[name] == [rule.level.upper(), name, rule.meaning]
    for pack in shipped_names():
        assert f"\n{pack}   " in out
    assert listed["filled-past-test"][0] == "DANGER"
    assert listed["due-soon"] == ["setting", "due-soon", "90 days"]


def test_a_rule_is_listed_with_the_first_sentence_of_why_else_with_what_it_says(house):
    listed = rows(house("rules", "list", "--rules", "./house.cylpack").out)
    assert listed["past-test"] == ["DANGER", "past-test", "A cylinder past its test is not filled."]
    assert listed["due-soon"] == ["NOTICE", "due-soon", "test falls due in {days-to-test}"]
    assert listed["soon"] == ["setting", "soon", "90 days"]


def test_the_rules_of_a_record_are_listed_as_they_are_in_force(house):
    over = 'pack over "Over"\n  over "house.cylpack"\nlevel past-test caution\nlevel no-class notice\nsetting soon 30 days\n'
    (house.folder / "over.cylpack").write_text(over + 'suspend due-soon "Asked in May"\n')
    department = (house.folder / "department.cyl").read_text()
    (house.folder / "department.cyl").write_text(department.replace("house.cylpack", "over.cylpack"))
    status, out, err = house("rules", "list", ".")
    assert (status, err) == (0, "")
    listed = rows(out)
    assert out.startswith("rules: house.cylpack, over.cylpack\n")
    assert listed["past-test"][0] == "CAUTION" and listed["no-class"][0] == "NOTICE"
    assert listed["due-soon"] == ["NOTICE", "due-soon", "suspended: Asked in May"]
    assert listed["soon"] == ["setting", "soon", "30 days  (pack over)"]


def test_faults_of_a_pack_are_said_beside_its_list(house):
    (house.folder / "house.cylpack").write_text(PACK + "level gone danger\n")
    status, out, err = house("rules", "list", "--rules", "./house.cylpack")
    assert status == 1 and "past-test" in out
    line = PACK.count("\n") + 1
    assert err.startswith(f"house.cylpack:{line}:7: danger: unreadable-line: there is no rule `gone`")


def test_the_words_are_the_fact_table(here):
    status, out, err = here("rules", "facts")
    assert (status, err) == (0, "")
    lines = out.split("\n")
    for fact in FACTS.values():
        (line,) = [line for line in lines if line.startswith(f"  {fact.name} ")]
        _, dimension, meaning = line.split(maxsplit=2)
        assert (dimension, meaning) == (fact.dimension, fact.meaning) and dimension in DIMENSIONS
    assert "At every entry of a cylinder, and on the as-of day\n" in out


def test_the_classes_are_listed_with_figures_sources_and_markings(house):
    status, out, err = house("rules", "classes")
    assert (status, err) == (0, "")
    block = out[out.index("dot-3ht  Seamless") :].partition("\n\n")[0].split("\n")
    assert [line.split(maxsplit=1) for line in block[1:]] == [
        ["test-every", "3 years           49 CFR 180.209(a) Table 1"],
        ["test-factor", "5/3               49 CFR 180.209(a) Table 1"],
        ["expansion-limit", "10 %              49 CFR 180.205(j)(1)(iv)"],
        ["life", "24 years          49 CFR 180.205(j)(1)(v)"],
        ["cycle-limit", "4380              49 CFR 180.205(j)(1)(v)"],
        ["aluminum", "no"],
        ["ree-marked", "yes               49 CFR 180.205(j)(1)(v)"],
        ["marked", "[DOT-]3HT{psi}"],
        ["marked", "ICC-3HT{psi}"],
    ]
    (house.folder / "tubes.cylpack").write_text('pack tubes "x"\nclass tube "A tube"\n  test-every 7 years\n')
    out = house("rules", "classes", "--rules", "./tubes.cylpack").out
    assert [line.split() for line in out.strip().split("\n")] == [
        ["tube", "A", "tube", "pack", "tubes"],
        ["test-every", "7", "years"],
    ]


def test_what_a_house_makes_laxer_is_listed_with_its_place(house):
    (house.folder / "house.cylpack").write_text('pack house "x"\n  over us-dot\nsetting due-soon 30 days\n')
    out = house("rules", "list", "--rules", "./house.cylpack").out
    assert "setting due-soon 30 days in place of 90 days (house.cylpack:3)" in out


def test_a_rule_is_shown_as_it_is_written(house):
    status, out, err = house("rules", "show", "past-test", "--rules", "./house.cylpack")
    assert (status, err) == (0, "")
    place = place_of("rule past-test")
    assert out.startswith("  DANGER   past-test ") and f"{place}\n" in out
    assert "           from pack house, asked on filled\n" in out
    block = PACK[PACK.index("rule past-test") : PACK.index("rule due-soon")].rstrip()
    assert f"\n\n{block}\n" in out
    assert out.rstrip().endswith("2015-01-31  filled  to 2015 psi")


def test_rules_that_ship_and_rules_of_the_reader_are_shown(here):
    assert "\nrule filled-past-test  danger\n" in here("rules", "show", "filled-past-test").out
    core = here("rules", "show", "unreadable-line").out
    assert CORE_RULES["unreadable-line"].meaning in core and "stands in no pack" in core


def test_a_rule_of_a_record_is_shown(house):
    assert place_of("rule past-test") in house("rules", "show", "past-test", ".").out


@pytest.mark.parametrize(
    "arguments, message",
    [
        (["show"], "`cylfile rules show` needs the name of a rule; `cylfile rules list` names them"),
        (["show", "filled-past-tset"], "there is no rule `filled-past-tset`. Did you mean `filled-past-test`?"),
        (["prove"], "`cylfile rules prove` needs one pack, by its name or its file, such as us-dot or ./house.cylpack"),
        (
            ["prove", "us-dto"],
            "there is no rule pack `us-dto`. Did you mean `us-dot`? A file is named with its folder, as in ./us-dto.cylpack",
        ),
        (["facts", "test-due"], "`cylfile rules facts` takes nothing more; leave out what stands after it"),
        (["list", "gone"], "there is no file or folder `gone`; check the name and the folder you are in"),
        (
            ["lists"],
            "`cylfile rules` does not take `lists`. It takes list, facts, classes, show or prove.",
        ),
    ],
)
def test_what_cannot_be_answered_is_one_line(house, arguments, message):
    assert house("rules", *arguments) == (2, "", f"cylfile: {message}\n")


@pytest.mark.parametrize("pack", shipped_names())
def test_packs_that_ship_do_what_their_examples_say(here, pack):
    status, out, err = here("rules", "prove", pack)
    assert (status, err) == (0, "") and out.endswith("of which none fail\n")


def test_a_pack_of_the_house_is_proved_alone(house):
    assert (
        house("rules", "prove", "./house.cylpack").out
        == "./house.cylpack: 2 rules with 2 examples, of which none fail\n"
    )
    over = 'pack over "Over"\n  over "house.cylpack"\nrule late caution\n  on filled\n  when day > test-due\n  say "late"\n'
    (house.folder / "over.cylpack").write_text(over)
    assert house("rules", "prove", "over.cylpack").out == "over.cylpack: 1 rule with 0 examples, of which none fail\n"


def test_an_example_that_fails_is_shown(house):
    (house.folder / "house.cylpack").write_text(PACK.replace("2015-01-31  filled", "2015-02-01  filled"))
    status, out, err = house("rules", "prove", "./house.cylpack")
    assert (status, err) == (1, "")
    assert out.startswith("past-test: keeps ") and f"{place_of('  keeps', 1)}\n" in out
    assert "  expected at no line, found at line 4 of the record\n" in out
    assert "     4    2015-02-01  filled  to 2015 psi\n" in out
    assert out.endswith("./house.cylpack: 2 rules with 2 examples, of which 1 fails\n")


def test_a_pack_that_cannot_be_read_is_not_proved(house):
    (house.folder / "house.cylpack").write_text(PACK + "ruel x danger\n")
    status, out, err = house("rules", "prove", "./house.cylpack")
    assert status == 1 and "`ruel`" in err
