"""The figures of one cylinder: its class's, its card's and, where card and marking disagree, the stricter of both."""

from datetime import date

import pytest

from cylfile.history.figures import STRICTER, Figures, figures_of, stricter
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.dates import Month
from cylfile.record.reader import read_record
from cylfile.text.source import Source

US_DOT = load_rules(["us-dot"], lambda name: None)[0]
TODAY = date(2024, 1, 1)


def card(*lines: str):
    record = read_record([Source("a.cyl", "cylinder K-1\n" + "".join(f"  {line}\n" for line in lines))])
    assert [fault.text for fault in record.faults] == []
    return record.cylinders["K-1"]


def resolved(*lines: str):
    return US_DOT.resolve(card(*lines))


def found(*lines: str) -> list[tuple[str, str]]:
    """The core findings on a card: rule and text."""
    text = "department X\n  rules us-dot\n\ncylinder K-1\n" + "".join(f"  {line}\n" for line in lines)
    judgement = judge(read_record([Source("a.cyl", text)]), US_DOT, TODAY)
    core = ("marking-disagrees", "laxer-than-class", "no-class")
    return [(finding.rule, finding.text) for finding in judgement.findings if finding.rule in core]


def test_a_class_without_figures_takes_all_from_the_card():
    figures = resolved(
        "class special-permit", "rated 2400 psi", "test-every 3 years", "test-pressure 4000 psi", "expansion-limit 5 %",
        "ree 30 cc", "life 20 years",
    ).figures  # fmt: skip
    assert (figures.rated, figures.test_every, figures.test_pressure, figures.expansion_limit) == (2400, 36, 4000, 0.05)
    assert (figures.ree, figures.life) == (30, 240)
    assert resolved("class special-permit", "life until 2030-02").figures.life_until == Month(2030, 2, 1)


@pytest.mark.parametrize(
    "line, field, of_class, says",
    [
        ("test-every 30 years", "test_every", 60, "test-every 30 years on the card is laxer than 5 years of class dot-3aa (49 CFR 180.209(a) Table 1), and is not used"),
        ("expansion-limit 40 %", "expansion_limit", 0.1, "expansion-limit 40 % on the card is laxer than 10 % of class dot-3aa (49 CFR 180.205(j)(1)(iv)), and is not used"),
        ("test-pressure 2100 psi", "test_pressure", None, "test-pressure 2100 psi on the card is laxer than 3358 psi of class dot-3aa (49 CFR 180.209(a) Table 1), and is not used"),
    ],
)  # fmt: skip
def test_a_laxer_figure_than_the_specification_is_said_and_not_used(line, field, of_class, says):
    """What the specification fixes (49 CFR 180.209(a), 180.205) no card makes laxer."""
    lines = ("marked DOT-3AA2015".replace("DOT", '"DOT') + '"', line)
    assert found(*lines) == [("laxer-than-class", says)]
    assert getattr(resolved(*lines).figures, field) == of_class


@pytest.mark.parametrize(
    "line, field, own",
    [
        ("test-every 3 years", "test_every", 36),
        ("test-every 5 years", "test_every", 60),
        ("expansion-limit 5 %", "expansion_limit", 0.05),
        ("expansion-limit 10 %", "expansion_limit", 0.1),
        ("test-pressure 3360 psi", "test_pressure", 3360),
        ("test-pressure 3358 psi", "test_pressure", 3358),
        # 5/3 of 2015 psi is 3358.3, of which the last places of both leave 1.3 open.
        ("test-pressure 3357 psi", "test_pressure", 3357),
        ("life 20 years", "life", 240),
    ],
)
def test_a_stricter_figure_is_used(line, field, own):
    lines = ('marked "DOT-3AA2015"', line)
    assert found(*lines) == []
    assert getattr(resolved(*lines).figures, field) == own


@pytest.mark.parametrize("line, field, own", [("test-every 8 years", "test_every", 96), ("expansion-limit 7 %", "expansion_limit", 0.07), ("test-pressure 6750 psi", "test_pressure", 6750)])  # fmt: skip
def test_what_the_permit_settles_the_card_may_say(line, field, own):
    lines = ('marked "DOT-SP 99123-4500"', "class carbon-wrapped", line)
    assert found(*lines) == []
    figures = resolved(*lines).figures
    assert getattr(figures, field) == own
    # The source of the class's figure is not that of the card's.
    assert field.replace("_", "-") not in figures.cites


@pytest.mark.parametrize("line, is_used", [("life 15 years", True), ("life 16 years", False), ("life until 2033-01", True), ("life until 2033-02", False)])  # fmt: skip
def test_no_card_makes_a_life_longer(line, is_used):
    """15 years for composites: Notice 93-22, 58 FR 60899."""
    lines = ('marked "DOT-SP 99123-4500"', "class hoop-wrapped", "made 2018-01", line)
    assert [rule for rule, _ in found(*lines)] == ([] if is_used else ["laxer-than-class"])
    figures = resolved(*lines).figures
    assert figures.life == 180 and (figures.life_until is not None) == (is_used and "until" in line)


def test_a_test_pressure_beyond_what_the_last_places_leave_open_is_laxer():
    assert [rule for rule, _ in found('marked "DOT-3AA2015"', "test-pressure 3356 psi")] == ["laxer-than-class"]


@pytest.mark.parametrize("line, said", [("life 16 years", "16 years on the card is laxer than 15 years"), ("life until 2033-02", "2033-02 on the card is laxer than 2033-01-31")])  # fmt: skip
def test_a_longer_life_is_said_as_it_stands_on_the_card(line, said):
    ((_, text),) = found('marked "DOT-SP 99123-4500"', "class hoop-wrapped", "made 2018-01", line)
    assert text.startswith(f"life {said} of class hoop-wrapped")


def test_a_period_on_the_card_outweighs_a_star():
    figures = resolved('marked "DOT-3AA2015"', "test-every 3 years").figures
    assert (figures.test_every, figures.star_test_every) == (36, 36)
    assert resolved('marked "DOT-3AA2015"').figures.star_test_every == 120
    assert resolved('marked "DOT-3AL3000"', "test-every 3 years").figures.star_test_every is None


def test_the_lower_rating_fills_and_the_higher_one_tests():
    """A card that says 2216 psi, the plus fill, of a cylinder marked 2015 psi."""
    lines = ('marked "DOT-3AA2015"', "rated 2216 psi")
    assert found(*lines) == [
        ("marking-disagrees", "the card says rated 2216 psi, the marking 2015 psi"),
    ]
    figures = resolved(*lines).figures
    assert figures.rated == 2015
    # Read over 5/3 of the lower it is over-pressurized, and tested it has to be at 5/3 of the higher.
    assert figures.proof_pressure == pytest.approx(3358.333333)
    assert figures.test_pressure_required == pytest.approx(3693.333333)


def test_an_aluminum_cylinder_that_the_card_calls_steel_has_no_plus():
    lines = ('marked "DOT-3AL3000"', "class dot-3aa")
    ((rule, text),) = found(*lines)
    assert (rule, text) == (
        "marking-disagrees",
        "the card says class dot-3aa, the marking DOT-3AL3000 is one of dot-3al",
    )
    figures = resolved(*lines).figures
    assert (figures.class_name, figures.rated, figures.plus_fill, figures.star_test_every) == (
        "dot-3aa",
        3000,
        None,
        None,
    )
    assert figures.aluminum is True


@pytest.mark.parametrize(
    "marked, rated, agree",
    [
        ("DOT-3AL3000", "3000 psi", True),
        ("DOT-3AL3000", "207 bar", True),
        ("DOT-3AL3000", "206.8 bar", True),
        ("DOT-3AL3000", "210 bar", False),
        # 165 bar is 2393 psi, and anything up to 2400; but rounding is no more than a five-hundredth.
        ("DOT-3AL2400", "165 bar", False),
        ("DOT-3AL3000", "3001 psi", True),
        ("DOT-3AL3000", "3002 psi", False),
        ("TC-3ALM 207 / DOT-3AL3000", "3000 psi", True),
    ],
)
def test_one_pressure_in_two_units_agrees_up_to_its_last_place(marked, rated, agree):
    lines = (f'marked "{marked}"', f"rated {rated}")
    assert bool(found(*lines)) is not agree


def test_the_service_pressure_of_a_specification_that_is_not_marked():
    """Specification 3 is of 1800 psi (49 CFR 173.301a(b)); a card that says more is not believed."""
    assert found('marked "DOT-3"') == []
    assert resolved('marked "DOT-3"').figures.rated == 1800
    assert found('marked "DOT-3"', "rated 1800 psi") == []
    lines = ('marked "DOT-3"', "rated 2000 psi")
    assert found(*lines) == [("marking-disagrees", "the card says rated 2000 psi, class dot-3 1800 psi")]
    assert resolved(*lines).figures.rated == 1800
    assert resolved('marked "DOT-3E1800"').figures.rated == 1800


def test_two_ratings_in_one_marking_are_the_stricter():
    lines = ('marked "DOT-3AL3000 / DOT-3AL2216"',)
    assert found(*lines) == [("marking-disagrees", "the marking says 2216 psi and 3000 psi")]
    assert resolved(*lines).figures.rated == 2216


def test_the_advice_names_the_nearest_classes_and_where_all_are():
    text = "department X\n  rules us-dot\n\ncylinder K-1\n  class steel\n"
    judgement = judge(read_record([Source("a.cyl", text)]), US_DOT, TODAY)
    (finding,) = [finding for finding in judgement.findings if finding.rule == "no-class"]
    assert finding.text == "no rule pack has a class steel"
    assert "Nearest: dot-3, dot-3a, dot-3aa, dot-3ax." in finding.advice
    assert "See `cylfile rules classes`" in finding.advice


@pytest.mark.parametrize(
    "lines, said",
    [
        (("rated 3000 psi",), "neither `class` nor `marked` tells what kind of cylinder it is"),
        (('marked "DOT-SP 99123-4500"',), 'the marking "DOT-SP 99123-4500" fits more than one class: carbon-wrapped, '),
        (('marked "XYZ-7"',), 'the marking "XYZ-7" fits no class'),
        (('marked "DOT-3AL3000"', "class steel"), "no rule pack has a class steel"),
    ],
)
def test_why_nobody_can_tell_what_kind_of_cylinder_it_is(lines, said):
    ((rule, text),) = found(*lines)
    assert rule == "no-class" and text.startswith(said)


def test_figures_of_without_a_class_are_the_card_s():
    figures, laxer = figures_of(card("test-every 3 years", "ree 20 cc"), Figures())
    assert (figures.test_every, figures.ree, laxer) == (36, 20, [])


# Figure -> (lax, strict) of two classes; None is not known, or not allowed.
PAIRS = {
    "rated": [(3000, 2216), (None, 2216)],
    "test_every": [(60, 36), (0, 36), (None, 36), (0, None)],
    "first_test_every": [(36, None), (36, 24)],
    "count_from": [(("entered-service",), None)],
    "star_test_every": [(120, None), (120, 60)],
    "test_factor": [(1.5, 2), (None, 2)],
    "test_pressure": [(2000, 3000)],
    "plus_fill": [(0.1, None), (0.1, 0.05)],
    "expansion_limit": [(0.1, 0.05), (None, 0.05)],
    "life": [(0, 180), (None, 180), (0, None)],
    "life_extendable": [(360, None)],
    "life_step": [(60, 36)],
    "visual_every": [(60, 12), (None, 12)],
    "cycle_limit": [(None, 4380), (10_000, 4380)],
    "methods": [(("expansion", "proof"), ("expansion",)), (("expansion", "proof"), None)],
    "crack_examination": [(None, True), (False, True)],
    "aluminum": [(False, True), (None, True)],
    "reference": [(288.15, 294.26)],
    "hot": [(328.15, 338.15)],
    "hot_factor": [(1.5, 1.25)],
    "to_the_day": [(False, True)],
    "from_permit": [(("life",), None), (("life", "test-every"), ("life",))],
    "ree_marked": [(False, True), (None, True)],
    "export_only": [(False, True), (None, True)],
    "hot_at_test_pressure": [(False, True)],
    "gauge_allowance": [(0.02, 0.01), (0.01, None)],
    "rated_rounding": [(0.5, 0.05)],
    "until_emptied": [(True, False)],
}


def test_every_figure_has_a_stricter_side():
    not_compared = {
        "class_name",
        "least_test_pressure",
        "test_pressure_rounding",
        "ree",
        "life_until",
        "cites",
        "rule_cites",
    }
    assert set(PAIRS) == set(STRICTER) == set(Figures._fields) - not_compared


@pytest.mark.parametrize("field", PAIRS)
def test_the_stricter_of_two_figures(field):
    for lax, strict in PAIRS[field]:
        for one, other in ((lax, strict), (strict, lax)):
            chosen = STRICTER[field](one, other)
            assert chosen == (("expansion",) if field == "methods" else strict)


def test_a_source_goes_with_its_figure():
    one = Figures("a", test_every=60, cites={"test-every": "page 1", "life": "page 2"}, life=0)
    other = Figures("b", test_every=36, cites={"test-every": "page 3", "life": "page 4"}, life=0)
    assert stricter(one, other).cites == {"test-every": "page 3", "life": "page 2"}
    assert stricter(one, other).class_name == "a"


MARKED = {
    "dot-3a": "DOT-3A1800", "dot-3aa": "DOT-3AA2265", "dot-3al": "DOT-3AL3000", "dot-3ht": "DOT-3HT1850", "dot-3t": "DOT-3T2400",
    "dot-4b": "DOT-4BA240", "dot-4e": "DOT-4E240", "dot-8": "DOT-8", "un-steel": "ISO 9809 PW200", "un-composite": "ISO 11119 PW300",
}  # fmt: skip


@pytest.mark.parametrize("name", US_DOT.classes)
@pytest.mark.parametrize("marked", MARKED)
def test_no_figure_is_laxer_than_that_of_the_card_s_class_or_of_the_marking_s(name, marked):
    """Whatever class the card says of whatever marking, each figure is the stricter of both."""
    figures = resolved(f'marked "{MARKED[marked]}"', f"class {name}", "rated 2000 psi").figures
    of_both = [US_DOT.classes[name].figures, US_DOT.classes[marked].figures]
    if not US_DOT.classes[name].patterns or name == marked:
        del of_both[1]
    for of in of_both:
        for field, choose in STRICTER.items():
            if field not in ("rated", "rated_rounding", "test_pressure", "test_factor"):
                mine = getattr(figures, field)
                assert choose(mine, getattr(of, field)) == mine or (field, mine) == ("methods", None), (field, mine)
        if of.test_factor is not None:
            assert figures.test_pressure_required + 1 >= of.test_factor * 2000
            assert figures.proof_pressure <= of.test_factor * max(2000, 3002, 4352)


def test_of_a_class_that_nobody_describes_nothing_is_known_and_nothing_allowed():
    unknown = {name: figure for name, figure in Figures()._asdict().items() if figure is not None}
    assert unknown == {
        "rated_rounding": 0.0, "test_pressure_rounding": 0.0, "to_the_day": False, "until_emptied": False, "cites": {}, "rule_cites": {},
    }  # fmt: skip
