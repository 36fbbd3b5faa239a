"""The packs that ship: complete, and each rule does what its examples say."""

from pathlib import Path

import pytest

from cylfile.findings.core_rules import CORE_RULES
from cylfile.packs.proving import prove
from cylfile.packs.shipped import open_shipped, shipped_names
from support.house_pack import COUNTRIES, findings, shipped

# Rule -> level and places, as fixed: people search for them and waive by them.
CATALOGUE = {
    "vessel": {
        "filled-past-test": ("danger", "filled"),
        "filled-past-life": ("danger", "filled"),
        "filled-over-limit": ("danger", "filled"),
        "filled-at-limit": ("caution", "filled"),
        "read-over-limit": ("warning", "filled, gauged, status"),
        "holds-over-limit": ("danger", "gauged, status"),
        "unlikely-temperature": ("warning", "filled, gauged"),
        "used-while-barred": ("warning", "gauged"),
        "barred-not-taken-out": ("warning", "status"),
        "filled-over-test-pressure": ("danger", "filled, gauged"),
        "filled-hot-over": ("danger", "filled"),
        "filled-out-of-service": ("danger", "filled"),
        "heat-and-aluminum": ("danger", "damaged"),
        "used-past-life": ("danger", "status"),
        "test-overdue": ("warning", "status"),
        "test-due-soon": ("notice", "status"),
        "life-ends-soon": ("notice", "status"),
        "test-pressure-low": ("danger", "hydro"),
        "expansion-over-limit": ("danger", "hydro"),
        "expansion-adds-up-wrong": ("caution", "hydro"),
        "tested-before-return": ("warning", "returned to service"),
        "life-extended-too-far": ("danger", "life extended"),
        "passed-with-failed-visual": ("danger", "hydro"),
        "method-not-allowed": ("danger", "hydro"),
        "crack-examination-missing": ("danger", "hydro"),
        "life-extension-unproven": ("warning", "life extended"),
    },
    "us-dot": {
        "filled-in-due-month": ("notice", "filled"),
        "cycles-exceeded": ("danger", "filled"),
        "filled-for-export-only": ("warning", "filled"),
        "plus-not-allowed": ("danger", "hydro"),
        "tester-not-authorized": ("warning", "hydro"),
        "test-record-incomplete": ("caution", "hydro"),
    },
    "osha": {
        "charge-below-90": ("warning", "gauged, status"),
        "monthly-check-missed": ("caution", "status"),
        "short-fill": ("caution", "filled"),
    },
    "practice": {
        "fill-without-temperature": ("notice", "filled"),
        "filled-too-fast": ("caution", "filled"),
        "visual-overdue": ("warning", "filled, status"),
        "visual-due-soon": ("notice", "status"),
        "filler-not-authorized": ("warning", "filled"),
        "inspector-not-authorized": ("warning", "visual"),
        "fill-not-read": ("caution", "filled"),
        "recalled": ("danger", "filled, status"),
    },
    "air": {
        "sample-overdue": ("warning", "filled"),
        "sample-out-of-limits": ("danger", "air sample"),
        "sample-without-readings": ("caution", "air sample"),
        "filled-on-failed-air": ("danger", "filled"),
        "filled-from-barred-source": ("danger", "filled, storage filled"),
        "holds-suspect-air": ("danger", "status"),
        "storage-holds-suspect-air": ("danger", "storage status"),
        "cartridge-spent": ("warning", "filled, storage filled"),
        "cartridge-overdue": ("warning", "filled, storage filled"),
        "source-too-weak": ("caution", "filled"),
        "fill-lost-air": ("caution", "filled, storage filled"),
        "source-over-rated": ("danger", "storage filled"),
        "storage-gave-too-much": ("caution", "filled"),
    },
}
# Packs that set the limits of `air` anew and have no rule of their own; a department names one of
# them at most. The examples of `air` show its own limits. See tests/air_log for theirs.
STANDARDS = ("en-12021", "nfpa-1989")
# Classes and sources of other countries, over the rules of `vessel`; see test_countries.
CLASSES = (
    "dot-3 dot-3a dot-3aa dot-3ax dot-3aax dot-3t dot-3al dot-3al-6351 dot-3ht dot-3b dot-3bn dot-3e dot-4b dot-4aa480 "
    "dot-4d dot-4e dot-4l dot-8 carbon-wrapped glass-wrapped hoop-wrapped un-steel un-aluminum un-composite special-permit foreign"
).split()


# What ships, as the United States lays it.
SHIPPED = shipped(*CATALOGUE)[0].rules
RULES = [(rule.pack, rule) for rule in SHIPPED.values()]


@pytest.mark.parametrize("pack", shipped_names())
def test_a_shipped_pack_has_no_fault(pack):
    assert shipped(pack)[1] == []


def test_every_shipped_pack_is_here_and_every_country_in_the_readme():
    assert set(shipped_names()) == {*CATALOGUE, *STANDARDS, *COUNTRIES}
    named = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    assert [name for name in COUNTRIES if f"`{name}`" not in named] == []


def test_every_country_is_held_to_a_source():
    """Some period of each stands in the tests of countries with its last day and the day after."""
    tests = Path(__file__).with_name("test_countries.py").read_text(encoding="utf-8")
    assert [name for name in COUNTRIES if f'("{name}", ' not in tests] == []


@pytest.mark.parametrize("pack", CATALOGUE)
def test_every_example_shows_what_it_says(pack):
    ruleset, _ = shipped(pack)
    assert [str(unproved) for unproved in prove(ruleset, findings)] == []


def test_examples_hold_with_all_packs_laid_over_each_other():
    ruleset, faults = shipped(*CATALOGUE)
    assert faults == []
    assert [str(unproved) for unproved in prove(ruleset, findings)] == []


@pytest.mark.parametrize("pack", CATALOGUE)
def test_names_levels_and_places_are_those_of_the_catalogue(pack):
    rules = [rule for _, rule in RULES if rule.pack == pack]
    assert {rule.name: (rule.level, ", ".join(rule.on)) for rule in rules} == CATALOGUE[pack]


@pytest.mark.parametrize("rule", [rule for _, rule in RULES], ids=lambda rule: rule.name)
def test_a_rule_explains_itself(rule):
    assert rule.cite and rule.breaks and rule.keeps
    assert rule._advice.parts and rule._working
    # One that breaks, one that keeps, and the edge between them.
    assert len(rule.breaks) + len(rule.keeps) >= 2
    assert all(example.title for example in rule.keeps)


def test_what_a_rule_says_can_be_scanned():
    """A sentence, a line of working and an advice are each less than a line of 60 letters, a figure counted as one letter."""

    def letters(phrase) -> int:
        return sum(len(part) if isinstance(part, str) else 1 for part in phrase.parts)

    long = [
        (rule.name, letters(phrase))
        for _, rule in RULES
        for most, phrases in ((58, [rule._say]), (54, rule._working), (55, [rule._advice]))
        for phrase in phrases
        if letters(phrase) > most
    ]
    assert long == []


def test_the_classes_of_us_dot_are_fixed():
    assert sorted(shipped("us-dot")[0].classes) == sorted(CLASSES)


# From 49 CFR 180.209(a) Table 1, 180.209(b), 173.302a(b), 180.205 and 173.302b(b); months, and fractions.
FIGURES = {
    "dot-3": (60, None, None, None, 0.1, 0),
    "dot-3a": (60, 120, 5 / 3, 0.1, 0.1, 0),
    "dot-3aa": (60, 120, 5 / 3, 0.1, 0.1, 0),
    "dot-3ax": (60, None, 5 / 3, 0.1, 0.1, 0),
    "dot-3aax": (60, None, 5 / 3, 0.1, 0.1, 0),
    "dot-3t": (60, None, 5 / 3, 0.1, 0.1, 0),
    "dot-3al": (60, None, 5 / 3, None, 0.1, 0),
    "dot-3al-6351": (60, None, 5 / 3, None, 0.1, 0),
    "dot-3ht": (36, None, 5 / 3, None, 0.1, 288),
    "dot-3b": (60, None, 2, None, 0.1, 0),
    "dot-3bn": (60, None, 2, None, 0.1, 0),
    "dot-3e": (0, None, None, None, None, 0),
    "dot-4b": (60, None, 2, None, 0.1, 0),
    "dot-4aa480": (60, None, 2, None, 0.1, 0),
    "dot-4d": (60, None, 2, None, 0.1, 0),
    "dot-4l": (0, None, None, None, None, 0),
    "dot-8": (120, None, None, None, None, 0),
    "dot-4e": (60, None, 2, None, 0.12, 0),
    "carbon-wrapped": (60, None, 5 / 3, None, 0.05, 180),
    "glass-wrapped": (36, None, 5 / 3, None, 0.05, 180),
    "hoop-wrapped": (36, None, 5 / 3, None, 0.05, 180),
    "un-steel": (120, None, 1.5, None, None, 0),
    "un-aluminum": (120, None, 1.5, None, None, 0),
    "un-composite": (60, None, 1.5, None, None, None),
    "special-permit": (None, None, None, None, None, None),
    "foreign": (60, None, 5 / 3, None, None, None),
}


@pytest.mark.parametrize("name", CLASSES)
def test_figures_of_a_class(name):
    figures = shipped("us-dot")[0].figures(name)
    assert FIGURES[name] == (
        figures.test_every, figures.star_test_every, figures.test_factor, figures.plus_fill, figures.expansion_limit,
        figures.life,
    )  # fmt: skip
    celsius = (15, 65, True) if name.startswith("un-") else (pytest.approx(21.111, abs=0.001), 55, None)
    assert (
        round(figures.reference - 273.15, 3), round(figures.hot - 273.15, 3), figures.hot_at_test_pressure
    ) == celsius  # fmt: skip
    assert figures.hot_factor == 1.25


def test_what_else_the_classes_fix():
    """49 CFR 180.205(f)(4) and (j)(1)(v), 173.301a(b), 180.209(a) Table 1: 3T by ultrasonic examination too."""
    classes = shipped("us-dot")[0].classes
    assert [name for name in classes if classes[name].figures.crack_examination] == ["dot-3al-6351"]
    assert {name: of.figures.cycle_limit for name, of in classes.items() if of.figures.cycle_limit} == {"dot-3ht": 4380}
    assert {name: of.figures.rated for name, of in classes.items() if of.figures.rated} == {
        "dot-3": 1800, "dot-3e": 1800, "dot-8": 250,
    }  # fmt: skip
    assert classes["dot-3"].figures.test_pressure == 3000
    assert classes["dot-3t"].figures.methods == ("expansion", "ultrasonic")
    # The permit of 2017 that made lives longer ended on 2019-03-31; its renewal was denied (PHMSA, 2019-04-24).
    assert not any(of.figures.life_extendable for of in classes.values())
    # No permit makes the life of a composite longer.
    assert not any("life" in (of.figures.from_permit or ()) for of in classes.values())


def test_the_figures_of_classes_name_their_sources():
    """Whatever is a figure of the regulation or of a permit; `aluminum` is what the class is."""
    for of in shipped("us-dot")[0].classes.values():
        for word in ("test-every", "test-factor", "expansion-limit", "life", "plus-fill", "methods", "rated"):
            if getattr(of.figures, word.replace("-", "_")) is not None:
                assert of.cites[word], f"{of.name}: {word}"


def test_what_is_from_memory_says_so():
    """Figures that were not found in the text of a regulation or a permit carry that in their source."""
    classes = shipped("us-dot")[0].classes
    for name, figure in (
        ("carbon-wrapped", "expansion-limit"),
        ("glass-wrapped", "expansion-limit"),
        ("hoop-wrapped", "expansion-limit"),
        ("un-steel", "test-every"),
        ("un-aluminum", "test-every"),
        ("un-composite", "test-every"),
    ):
        assert "from memory" in classes[name].cites[figure]


def test_no_rule_takes_the_name_of_a_core_rule():
    assert not {rule.name for _, rule in RULES} & set(CORE_RULES)


def test_shipped_packs_are_opened_by_bare_names_only():
    assert open_shipped("us-dot").path == "us-dot.cylpack"
    for name in ("../packs/us-dot", "us-dot.cylpack", "/us-dot", "US-DOT", "", "us-dot\0"):
        assert open_shipped(name) is None
