"""What a marking says of class and rated pressure, and what contradicts it."""

import pytest

from support.house_pack import load, shipped

US_DOT = shipped("us-dot")[0]
PERMIT = ("carbon-wrapped", "glass-wrapped", "hoop-wrapped", "special-permit")


@pytest.mark.parametrize(
    "marking, name, rated",
    [
        ("DOT-3AA2265", "dot-3aa", 2265),
        ("DOT-3A1800", "dot-3a", 1800),
        ("DOT-3AAX2400", "dot-3aax", 2400),
        ("DOT-3AX2400", "dot-3ax", 2400),
        ("DOT-3AL3000", "dot-3al", 3000),
        ("DOT-3HT1850", "dot-3ht", 1850),
        ("DOT-3B300", "dot-3b", 300),
        ("DOT-3BN400", "dot-3bn", 400),
        ("DOT-4BA240", "dot-4b", 240),
        ("DOT-4E240", "dot-4e", 240),
        ("dot-3aa 2265", "dot-3aa", 2265),
        (" DOT - 3AA\t2265 ", "dot-3aa", 2265),
    ],
)
def test_a_marking_gives_class_and_rated_pressure(marking, name, rated):
    found = US_DOT.resolve_class(marking, None)
    assert (found.figures.class_name, found.rated, found.figures.rated) == (name, rated, rated)
    assert (found.fits, found.disagrees, found.unknown) == ((name,), None, None)


@pytest.mark.parametrize("marking", ["DOT-SP 99123-4500", "DOT-E 9634-4500"])
def test_the_marking_of_a_permit_fits_several_classes(marking):
    found = US_DOT.resolve_class(marking, None)
    assert sorted(found.fits) == sorted(PERMIT)
    assert (found.figures.class_name, found.rated) == (None, 4500)
    # What holds for every cylinder is known of this one too.
    assert found.figures.reference == US_DOT.of_every.reference
    for name in PERMIT:
        found = US_DOT.resolve_class(marking, name)
        assert (found.figures.class_name, found.rated, found.disagrees) == (name, 4500, None)


@pytest.mark.parametrize(
    "marking", ["DOT-3AA", "3AA2265", "DOT-3ZZ2265", "DOT-3AA2265+", "DOT-3AA226500", "", "PW 300"]
)
def test_a_marking_that_fits_nothing_gives_nothing(marking):
    found = US_DOT.resolve_class(marking, None)
    assert (found.figures.class_name, found.rated, found.fits) == (None, None, ())


def test_the_class_on_the_card_wins_and_the_contradiction_is_said():
    found = US_DOT.resolve_class("DOT-3AA2265", "dot-3al")
    assert found.figures.class_name == "dot-3al"
    assert found.disagrees == "the card says class dot-3al, and the marking DOT-3AA2265 is one of dot-3aa"


@pytest.mark.parametrize("marking", ["DOT-3AL3000", "DOT-3AA2265", "unreadable", None])
def test_a_class_without_markings_contradicts_nothing(marking):
    found = US_DOT.resolve_class(marking, "dot-3al-6351")
    assert (found.figures.class_name, found.disagrees) == ("dot-3al-6351", None)


def test_a_marking_that_fits_nothing_contradicts_nothing():
    assert US_DOT.resolve_class("TC-3AAM 153", "dot-3aa").disagrees is None


def test_a_class_that_no_pack_has_gets_a_suggestion_and_no_figures():
    found = US_DOT.resolve_class("DOT-3AA2265", "dot-3a1")
    assert found.unknown == "no rule pack has a class `dot-3a1`. Did you mean `dot-3a`?"
    assert (found.figures.class_name, found.figures.test_every, found.rated) == (None, None, 2265)


def test_a_pressure_in_bar_is_kept_as_psi():
    ruleset, faults = load('pack house "x"\nclass tube "x"\n  marked "{any} PW{bar} {any}"\n')
    assert not faults
    assert ruleset.resolve_class("ISO 9809-1 PW200 PH300BAR", None).rated == pytest.approx(2900.75, abs=0.01)
    assert ruleset.resolve_class("PW200", None).rated == pytest.approx(2900.75, abs=0.01)
    assert ruleset.resolve_class("PW2000000", None).fits == ()


@pytest.mark.parametrize(
    "pattern, marking, rated",
    [
        ("A{any}B{psi}", "AB300", 300),
        ("A{any}B{psi}", "A-B-B300", 300),
        ("A{any}B{psi}", "AB300B", None),
        ("{any}-{psi}-{any}x", "a-b-1800-cx-x", 1800),
        ("{any}", "anything", None),
        ("A.B{psi}", "AxB300", None),
    ],
)
def test_gaps_of_a_pattern(pattern, marking, rated):
    ruleset, _ = load(f'pack house "x"\nclass tube "x"\n  marked "{pattern}"\n')
    assert ruleset.resolve_class(marking, None).rated == rated


@pytest.mark.parametrize(
    "pattern, text",
    [
        ("A{psi}{bar}", "a marking with two rated pressures"),
        ("A{kpa}", "a gap that is none of {psi}, {bar} and {any}"),
        ("A{psi", "a gap that is none of {psi}, {bar} and {any}"),
        ("A" * 300, "a marking that is too long to search for"),
    ],
)
def test_a_pattern_that_cannot_be_read(pattern, text):
    ruleset, faults = load(f'pack house "x"\nclass tube "x"\n  marked "{pattern}"\n')
    assert [fault.text.split(": ")[-1] for fault in faults] == [text]
    assert ruleset.classes["tube"].patterns == ()
