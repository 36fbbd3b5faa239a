"""What a marking says of class and rated pressure, as people stamp and type it, and what contradicts it."""

import pytest

from cylfile.packs.marking import LONGEST_MARKING, Pattern, take_apart
from support.house_pack import load, shipped

US_DOT = shipped("us-dot")[0]
PERMIT = ("carbon-wrapped", "glass-wrapped", "hoop-wrapped", "special-permit")
UN = ("un-aluminum", "un-composite", "un-steel")


def kind(*marked: str, name: str | None = None, rules=US_DOT):
    return rules.kind(marked, name)


def rated(*marked: str, rules=US_DOT) -> list[float]:
    return [rating.value for rating in rules.kind(marked, None).ratings]


# Spellings of one marking: the layout of 49 CFR 178.35(f)(1), `DOT-3AA2265`, and what stamps, labels and
# paper make of it.
SPELLINGS = """
DOT-3AA2265 | dot-3aa | 2265
DOT 3AA 2265 | dot-3aa | 2265
DOT3AA2265 | dot-3aa | 2265
DOT-3AA-2265 | dot-3aa | 2265
dot-3aa 2265 | dot-3aa | 2265
 DOT - 3AA  2265 | dot-3aa | 2265
3AA2265 | dot-3aa | 2265
3AA 2265 | dot-3aa | 2265
3AA-2265 | dot-3aa | 2265
ICC-3AA2265 | dot-3aa | 2265
ICC 3AA 2265 | dot-3aa | 2265
DOT-3AA2265+ | dot-3aa | 2265
DOT-3AA2265 + | dot-3aa | 2265
DOT-3AA2265 * | dot-3aa | 2265
DOT-3AA2265+★ | dot-3aa | 2265
DOT-3AA2265 star | dot-3aa | 2265
DOT-3AA2265 PSI | dot-3aa | 2265
DOT–3AA–2265 | dot-3aa | 2265
CTC/DOT-3AA2265 | dot-3aa | 2265
ICC-3A1800 | dot-3a | 1800
DOT-3AX2400 | dot-3ax | 2400
DOT-3AAX2400 | dot-3aax | 2400
DOT-3T2400 | dot-3t | 2400
DOT-3AL3000 | dot-3al | 3000
3AL 3000 PSIG | dot-3al | 3000
TC-3ALM 207 / DOT-3AL3000 | dot-3al | 3000
TC-3ALM207/DOT-3AL3000 | dot-3al | 3000
DOT-3AL3000; TC-3ALM 207 | dot-3al | 3000
DOT-3HT1850 | dot-3ht | 1850
DOT-3B300 | dot-3b | 300
DOT-3BN400 | dot-3bn | 400
DOT-3E1800 | dot-3e | 1800
DOT-4BA240 | dot-4b | 240
4B-240ET | dot-4b | 240
DOT-4BW 240 | dot-4b | 240
4AA480 | dot-4aa480 | 480
DOT-4DS500 | dot-4d | 500
DOT-4DA500 | dot-4d | 500
DOT-4E240 | dot-4e | 240
DOT-4L200 | dot-4l | 200
UN ISO 9809-1 F IB 2000/12 PW200 PH300BAR | un-steel | 2900.75
ISO 7866 PW 207 BAR | un-aluminum | 3002.28
ISO 11119-2 PW300BAR PH450BAR | un-composite | 4351.13
"""
ROWS = [tuple(cell.strip() for cell in row.split(" | ")) for row in SPELLINGS.strip("\n").split("\n")]


@pytest.mark.parametrize("marking, name, pressure", ROWS)
def test_a_marking_gives_class_and_rated_pressure(marking, name, pressure):
    found = kind(marking)
    assert (found.figures.class_name, found.fits, found.disagrees) == (name, (name,), None)
    assert [rating.value for rating in found.ratings] == [pytest.approx(float(pressure), abs=0.01)]


@pytest.mark.parametrize(
    "marking, name", [("DOT-3", "dot-3"), ("ICC-8", "dot-8"), ("DOT 8AL", "dot-8"), ("DOT-3E", "dot-3e")]
)
def test_a_marking_without_a_pressure_has_that_of_the_specification(marking, name):
    found = kind(marking)
    assert (found.figures.class_name, found.ratings) == (name, ())
    # 49 CFR 173.301a(b).
    assert found.figures.rated == {"dot-3": 1800, "dot-3e": 1800, "dot-8": 250}[name]


@pytest.mark.parametrize(
    "marking",
    ["DOT-SP 99123-4500", "DOT-SP99123-4500", "DOT SP 99123 4500", "SP 99123-4500", "DOT-E 9634-4500", "DOT-E9634 4500", "DOT-E 9634-4500 PSI"],
)  # fmt: skip
def test_the_marking_of_a_permit_fits_several_classes(marking):
    found = kind(marking)
    assert sorted(found.fits) == sorted(PERMIT)
    assert (found.figures.class_name, rated(marking)) == (None, [4500])
    # What holds for every cylinder is known of this one too.
    assert found.figures.reference == US_DOT.of_every.reference
    for name in PERMIT:
        found = kind(marking, name=name)
        assert (found.figures.class_name, found.disagrees) == (name, None)


@pytest.mark.parametrize(
    "marking, nearest",
    [
        ("DOT-3AA", ("dot-3aa",)),
        ("DOT-3ZZ2265", ()),
        ("DOT-3AA226500", ("dot-3aa",)),
        ("TC-3ALM 207", ("dot-3al",)),
        ("TC-3AAM 153", ("dot-3aa",)),
        ("", ()),
        ("A" * 300, ()),
    ],
)
def test_a_marking_that_fits_nothing_gives_nothing_and_is_told_the_nearest(marking, nearest):
    found = kind(marking)
    assert (found.figures.class_name, found.ratings, found.fits) == (None, (), ())
    assert found.nearest[: len(nearest)] == nearest


@pytest.mark.parametrize(
    "marking, earned",
    [("DOT-3AA2265", ""), ("DOT-3AA2265+", "+"), ("DOT-3AA2265 *", "*"), ("DOT-3AA2265 + STAR", "+*"), ("3AA2265★+", "+*")],
)  # fmt: skip
def test_what_a_test_earned_is_known_and_changes_nothing(marking, earned):
    """The plus and the star belong to a test (49 CFR 180.213(f)(2) and (3)), not to the marking."""
    found = kind(marking)
    assert found.marking.earned == earned
    assert found.figures == kind("DOT-3AA2265").figures


def test_what_names_an_authority_alone_is_no_marking():
    assert take_apart(("CTC/DOT-3AL3000", "DOT")).stamps == ("CTC/DOT-3AL3000", "DOT-3AL3000")


def test_markings_on_two_lines_are_taken_together():
    """A UN marking has its standard and its pressure in two groups (UN Model Regulations, 6.2.2.7.5)."""
    assert sorted(kind("PW200 PH300BAR 62.1 KG 50 L 5.8 MM").fits) == sorted(UN)
    found = kind("25E D MF 765432 H", "PW200 PH300BAR 62.1 KG 50 L 5.8 MM", "UN ISO 9809-1 F IB 2000/12")
    assert found.fits == ("un-steel",)
    assert [rating.text for rating in found.ratings] == ["200 bar"]
    assert kind("TC-3ALM 207", "DOT-3AL3000").fits == ("dot-3al",)


def test_two_markings_of_two_classes_fit_both_and_no_other():
    assert kind("DOT-3AA2015", "DOT-3AL3000").fits == ("dot-3aa", "dot-3al")


def test_the_card_and_the_marking_disagree_on_the_class():
    found = kind("DOT-3AA2265", name="dot-3al")
    assert found.figures.class_name == "dot-3al"
    assert found.disagrees == "the card says class dot-3al, the marking DOT-3AA2265 is one of dot-3aa"


@pytest.mark.parametrize("marking", ["DOT-3AL3000", "DOT-3AA2265", "unreadable"])
def test_a_class_without_markings_contradicts_nothing(marking):
    found = kind(marking, name="dot-3al-6351")
    assert (found.figures.class_name, found.disagrees) == ("dot-3al-6351", None)


def test_a_marking_that_fits_nothing_contradicts_nothing():
    assert kind("TC-3AAM 153", name="dot-3aa").disagrees is None


@pytest.mark.parametrize("name", ["dot-3aa", "DOT-3AA", "un-aluminium", "un-aluminum"])
def test_a_class_is_read_in_capitals_and_in_british_spelling(name):
    assert kind(name=name).figures.class_name == name.lower().replace("aluminium", "aluminum")


@pytest.mark.parametrize(
    "name, nearest",
    [
        ("dot-3a1", ("dot-3a",)),
        ("steel", ("dot-3", "dot-3a", "dot-3aa", "dot-3ax")),
        ("carbon", ("carbon-wrapped",)),
        ("composite", ("carbon-wrapped", "glass-wrapped", "hoop-wrapped", "un-composite")),
        ("3aa", ("dot-3aa",)),
        ("banana", ()),
    ],
)
def test_a_class_that_no_pack_has_is_told_the_nearest(name, nearest):
    found = kind(name=name)
    assert found.nearest[: len(nearest)] == nearest
    assert (found.figures.class_name, found.figures.test_every) == (None, None)


def test_what_the_marking_says_is_nearer_than_a_name_that_is_like_it():
    assert kind("DOT-3AL3000", name="steel").nearest[:2] == ("dot-3al", "dot-3")


def test_a_pressure_in_bar_is_kept_as_psi():
    ruleset, faults = load('pack house "x"\nclass tube "x"\n  marked "{any} PW{bar} {any}"\n')
    assert not faults
    assert rated("ISO 9809-1 PW200 PH300BAR", rules=ruleset) == [pytest.approx(2900.75, abs=0.01)]
    assert rated("PW200", rules=ruleset) == [pytest.approx(2900.75, abs=0.01)]
    assert kind("PW2000000", rules=ruleset).fits == ()


@pytest.mark.parametrize(
    "pattern, marking, pressure",
    [
        ("A{any}B{psi}", "AB300", 300),
        ("A{any}B{psi}", "A-B-B300", 300),
        ("A{any}B{psi}", "AB300B", None),
        ("{any}-{psi}-{any}x", "a-b-1800-cx-x", 1800),
        ("A.B{psi}", "AxB300", None),
        ("A{number}-{psi}", "A-12-300", 300),
        ("A{number}-{psi}", "A12300", None),
        ("A{number}-{psi}", "AX12-300", None),
        ("[DOT-]A{psi}", "A300", 300),
        ("[DOT-]A{psi}", "DOT A-300", 300),
        ("[DOT-]A{psi}", "DO-A-300", None),
        ("A[-B]{psi}", "AB300", 300),
        ("A[-B]{psi}", "A 300", 300),
    ],
)
def test_gaps_of_a_pattern(pattern, marking, pressure):
    ruleset, faults = load(f'pack house "x"\nclass tube "x"\n  marked "{pattern}"\n')
    assert not faults
    assert rated(marking, rules=ruleset) == ([] if pressure is None else [pressure])


@pytest.mark.parametrize(
    "pattern, text",
    [
        ("A{psi}{bar}", "a marking with two rated pressures"),
        ("A{kpa}", "a gap that is none of {psi}, {bar}, {number} and {any}"),
        ("A{psi", "a gap that is none of {psi}, {bar}, {number} and {any}"),
        ("A" * 300, "a marking that is too long to search for"),
        ("[A[B]]", "brackets in brackets"),
        ("[A", "a bracket that is not closed"),
        ("[A{any}]", "a bracket that is not closed"),
        ("A]", "a bracket that is not opened"),
    ],
)
def test_a_pattern_that_cannot_be_read(pattern, text):
    ruleset, faults = load(f'pack house "x"\nclass tube "x"\n  marked "{pattern}"\n')
    assert [fault.text.split(": ")[-1] for fault in faults] == [text]
    assert ruleset.classes["tube"].patterns == ()


def test_a_hyphen_keeps_a_number_from_the_gap_before_it_and_is_none_where_a_marking_begins():
    after_anything = Pattern("A{any}-{number}")
    assert after_anything.read("AX-5") is not None and after_anything.read("AX5") is None
    assert Pattern("-{number}").read("5") is not None


def test_a_longer_text_than_a_marking_can_be_is_none():
    longest = "DOT-3AL3000" + "X" * (LONGEST_MARKING - 11)
    assert take_apart((longest,)).stamps == (longest,)
    assert take_apart((f"{longest}X",)).stamps == ()
