"""
The packs of other countries: each period at its last day and the day after, with the text it is from.

Sources of the expected days are named in the packs, figure by figure; what was read in summaries or
is from memory says so there.
"""

from datetime import date

import pytest

from cylfile.judging.judge import judge
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.house_pack import COUNTRIES, shipped


def rules_found(pack: str, lines: str, as_of: str = "2040-01-01") -> set[str]:
    rules, faults = shipped(pack)
    assert faults == []
    text = f'department "A brigade"\n  rules {pack}\n\ncylinder K-1\n' + "".join(
        f"  {line}\n" for line in lines.split("; ")
    )
    findings = judge(read_record([Source("a.cyl", text)]), rules, date.fromisoformat(as_of)).findings
    assert not [finding.text for finding in findings if finding.rule == "unreadable-line"]
    return {finding.rule for finding in findings}


@pytest.mark.parametrize(
    "pack, card, in_time, too_late",
    [
        # Norway, Forskrift om utførelse av arbeid, section 25-2: five years, and two under water.
        ("no", "class no-ba; made 2010-03", "2015-03-31", "2015-04-01"),
        ("no", "class no-ba-composite; life until 2025-03; made 2010-03", "2015-03-31", "2015-04-01"),
        ("no", "class no-diving; made 2010-03", "2012-03-31", "2012-04-01"),
        ("no", "class no-diving-composite; life until 2025-03; made 2010-03", "2012-03-31", "2012-04-01"),
        # Germany, BetrSichV, annex 2, section 4, table 12, no. 7.6.
        ("de", "class de-ba; made 2010-03", "2015-03-31", "2015-04-01"),
        ("de", "class de-diving; made 2010-03", "2015-03-31", "2015-04-01"),
        # Austria, VBV 2011, section 5(4).
        ("at", "class at-ba; made 2010-03", "2020-03-31", "2020-04-01"),
        ("at", "class at-composite; test-every 4 years; life until 2025-03; made 2010-03", "2014-03-31", "2014-04-01"),
        # France, arrêté of 20 November 2017, article 18 I: to the day, from service or the last requalification.
        ("fr", "class fr-diving; made 2009-01; 2010-03-14 entered service", "2012-03-14", "2012-03-15"),
        ("fr", "class fr-diving; test-every 6 years; made 2009-01; 2010-03-14 entered service", "2016-03-14", "2016-03-15"),
        ("fr", "class fr-diving; made 2001-01; 2002-03-14 entered service; 2010-03-14 hydro pass", "2012-03-14", "2012-03-15"),
        # Finland, Tukes: ten years for metal, three for composite.
        ("fi", "class fi-metal; made 2010-03", "2020-03-31", "2020-04-01"),
        ("fi", "class fi-composite; life until 2025-03; made 2010-03", "2013-03-31", "2013-04-01"),
        # United Kingdom, practice.
        ("uk", "class uk-ba; made 2010-03", "2015-03-31", "2015-04-01"),
        # Ships, IMO MSC.1/Circ.1452; what the maker says is shorter.
        ("ships", "class ships-ba; made 2010-03", "2015-03-31", "2015-04-01"),
        ("ships", "class ships-ba; test-every 2 years; made 2010-03", "2012-03-31", "2012-04-01"),
        # Canada: the card says it.
        ("ca", 'marked "TC-3ALM 207"; test-every 5 years; made 2010-03', "2015-03-31", "2015-04-01"),
    ],
)  # fmt: skip
def test_a_fill_is_in_time_on_the_last_day_and_not_on_the_next(pack, card, in_time, too_late):
    card = f"{card.partition('; ')[0]}; rated 200 bar; {card.partition('; ')[2]}"
    assert "filled-past-test" not in rules_found(pack, f"{card}; {in_time} filled to 100 bar", in_time)
    assert "filled-past-test" in rules_found(pack, f"{card}; {too_late} filled to 100 bar", too_late)


@pytest.mark.parametrize(
    "pack, name, months",
    [("de", "de-ba", 60), ("de", "de-diving", 30), ("at", "at-diving", 36), ("uk", "uk-diving", 30), ("no", "no-ba", None)],
)  # fmt: skip
def test_visual_inspections(pack, name, months):
    assert shipped(pack)[0].classes[name].figures.visual_every == months


@pytest.mark.parametrize("pack", COUNTRIES)
def test_a_life_that_is_marked_is_asked_for(pack):
    """A composite has a life, and no country's text fixes it: the card has to say what is marked."""
    classes = shipped(pack)[0].classes
    for name, of in classes.items():
        if "composite" in of.title.lower():
            assert of.figures.life is None, name


@pytest.mark.parametrize("pack", COUNTRIES)
def test_nothing_of_another_country_is_cited(pack):
    """49 CFR holds in the United States, and "until emptied" is said there alone."""
    rules, faults = shipped(pack)
    assert faults == []
    cites = [cite for rule in rules.rules.values() for cite in rule.cite]
    cites += [cite for of in rules.classes.values() for cite in of.cites.values()]
    assert cites and not [cite for cite in cites if "CFR" in cite]


def test_a_french_period_is_not_known_before_the_cylinder_is_put_into_service():
    found = rules_found(
        "fr", "class fr-diving; rated 200 bar; made 2009-01; 2010-03-14 filled to 100 bar", "2010-03-14"
    )
    assert "filled-past-test" not in found and "cannot-judge" in found


def test_a_first_period_of_its_own():
    """As a house in Norway may take it: the first test three years after manufacture, then every two."""
    from support.house_pack import load

    rules, faults = load(
        'pack house "x"\n  over no\nclass no-diving\n  first-test-every 3 years  cite "section 25-2"\n'
    )
    assert faults == []

    def past_test(day: str, tested: str = "") -> list:
        text = f"cylinder K-1\n  class no-diving\n  rated 200 bar\n  made 2010-03\n{tested}  {day} filled to 100 bar\n"
        findings = judge(read_record([Source("a.cyl", text)]), rules, date.fromisoformat(day)).findings
        return [finding for finding in findings if finding.rule == "filled-past-test"]

    assert not past_test("2013-03-31")
    (finding,) = past_test("2013-04-01")
    assert finding.cite[-1] == "section 25-2"
    tested = "  2013-02-01 hydro pass\n"
    assert not past_test("2015-02-28", tested)
    (finding,) = past_test("2015-03-01", tested)
    assert finding.cite[-1] == "Forskrift om utførelse av arbeid, section 25-2"
