"""
The limits of the air standards, each at its edge, beside the published source of the figure.

A reading at a limit is in it. Sources: 29 CFR 1910.134(i)(1)(ii) and (i)(4)(iii) with CGA G-7.1 Grade D;
NFPA 1989:2019 and EN 12021:2014 as summarized by others, where air.cylpack and its fellows say so.
"""

from datetime import date

import pytest

from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

_RECORD = """\
source C1 "Compressor"
  kind  {kind}
  rated {rated}
  2024-01-05  air sample pass  {readings}
"""

# Pack, kind and rating of the source -> readings at their limits, and the least that is over it.
COMPRESSOR = ("compressor", "6000 psi")
LIMITS = [
    ("air", COMPRESSOR, [
        ("O2 19.5 %", "O2 19.4 %"), ("O2 23.5 %", "O2 23.6 %"), ("CO 10 ppm", "CO 10.1 ppm"), ("CO2 1000 ppm", "CO2 1001 ppm"),
        ("oil 5 mg/m3", "oil 5.1 mg/m3"), ("dew point -50 F", "dew point -49 F"), ("dew point -45.6 C", "dew point -45.5 C"),
        ("water 63 ppm", "water 64 ppm"), ("odor none", "odor slight"),
    ]),
    ("nfpa-1989", COMPRESSOR, [
        ("O2 19.5 %", "O2 19.4 %"), ("O2 23.5 %", "O2 23.6 %"), ("N2 75 %", "N2 74.9 %"), ("N2 81 %", "N2 81.1 %"),
        ("CO 5 ppm", "CO 5.1 ppm"), ("CO2 1000 ppm", "CO2 1001 ppm"), ("organics 25 ppm", "organics 26 ppm"),
        ("oil 2 mg/m3", "oil 2.1 mg/m3"), ("particulate 2 mg/m3", "particulate 2.1 mg/m3"),
        ("oil 1 mg/m3  particulate 1 mg/m3", "oil 1.1 mg/m3  particulate 1 mg/m3"),
        ("water 24 ppm", "water 25 ppm"), ("dew point -65 F", "dew point -64 F"), ("odor slight", "odor strong"),
    ]),
    ("en-12021", COMPRESSOR, [
        ("O2 20 %", "O2 19.9 %"), ("O2 22 %", "O2 22.1 %"), ("CO 5 ppm", "CO 5.1 ppm"), ("CO2 500 ppm", "CO2 501 ppm"),
        ("oil 0.5 mg/m3", "oil 0.6 mg/m3"), ("water 25 mg/m3", "water 26 mg/m3"), ("odor slight", "odor strong"),
    ]),
    # Stored water by pressure: 50 mg/m3 from 40 to 200 bar, 35 mg/m3 above; in ppm by the molar volume at 1 bar and
    # 20 C, 24.37 L, and as a dew point by the vapor pressure of ice (Murphy and Koop, Q. J. R. Meteorol. Soc. 131, 2005).
    ("en-12021", COMPRESSOR, [("water 34 ppm", "water 35 ppm"), ("dew point -51 C", "dew point -50 C")]),
    ("en-12021", ("storage", "200 bar"), [
        ("water 50 mg/m3", "water 51 mg/m3"), ("water 68 ppm", "water 69 ppm"), ("dew point -45 C", "dew point -44 C"),
    ]),
    ("en-12021", ("storage", "300 bar"), [
        ("water 35 mg/m3", "water 36 mg/m3"), ("water 47 ppm", "water 48 ppm"), ("dew point -48 C", "dew point -47 C"),
    ]),
    ("en-12021", ("storage", "201 bar"), [("water 35 mg/m3", "water 36 mg/m3")]),
    # Grade D and NFPA 1989 do not tell storages apart.
    *((pack, kind, [
        (f"water {ppm} ppm", f"water {ppm + 1} ppm"), (f"water {density} mg/m3", f"water {density + 1} mg/m3"),
        (f"dew point {dew} F", f"dew point {dew + 1} F"),
    ]) for pack, ppm, density, dew in (("air", 63, 47, -50), ("nfpa-1989", 24, 18, -65))
       for kind in (COMPRESSOR, ("storage", "150 bar"), ("storage", "300 bar"))),
]  # fmt: skip
CASES = [(pack, source, *edge) for pack, source, edges in LIMITS for edge in edges]


def out_of_limits(pack: str, source: tuple[str, str], readings: str) -> list:
    rules, faults = load_rules([pack], lambda name: None)
    assert not faults
    kind, rated = source
    record = read_record([Source("air.cyl", _RECORD.format(kind=kind, rated=rated, readings=readings))])
    assert not record.faults
    found = judge(record, rules, date(2024, 1, 5)).findings
    assert {finding.rule for finding in found} <= {
        "sample-out-of-limits",
        "storage-holds-suspect-air",
        "sample-without-readings",
    }
    return [finding for finding in found if finding.rule == "sample-out-of-limits"]


@pytest.mark.parametrize("pack, source, within, over", CASES)
def test_the_edge_of_a_limit(pack, source, within, over):
    assert out_of_limits(pack, source, within) == []
    (finding,) = out_of_limits(pack, source, over)
    assert finding.level == "danger" and finding.subject == "C1" and finding.span.line == 4


def test_60_ppm_of_water_is_lawful_in_a_storage_of_200_bar():
    """At 1 bar and 20 C those are 44 mg/m3, and EN 12021:2014 allows 50 there, by four public summaries."""
    assert out_of_limits("en-12021", ("storage", "200 bar"), "water 60 ppm") == []


@pytest.mark.parametrize("readings", ["N2 74 %", "N2 82 %", "organics 900 ppm", "particulate 9 mg/m3", "H2S 9 ppm"])
def test_grade_d_has_no_limit_for_these(readings):
    assert out_of_limits("air", COMPRESSOR, readings) == []


def test_the_working_tells_what_was_read_and_nothing_else():
    (finding,) = out_of_limits("air", COMPRESSOR, "CO 12 ppm  O2 20.9 %")
    assert finding.working == ["CO 12 ppm, limit 10 ppm", "O2 20.9 %, 19.5 % to 23.5 %"]


def test_a_house_may_set_a_limit_of_its_own():
    house = 'pack house "House"\n  over air\nsetting h2s-limit  1 ppm\n'
    rules, faults = load_rules(["house.cylpack"], lambda name: Source(name, house))
    assert not faults
    record = read_record([Source("a.cyl", _RECORD.format(kind="compressor", rated="5000 psi", readings="H2S 2 ppm"))])
    assert [finding.rule for finding in judge(record, rules, date(2024, 1, 5)).findings] == ["sample-out-of-limits"]


@pytest.mark.parametrize(
    "pack, standard", [("air", "29 CFR 1910.134"), ("nfpa-1989", "NFPA 1989"), ("en-12021", "EN 12021")]
)
def test_a_limit_cites_the_standard_that_it_is_of(pack, standard):
    (finding,) = out_of_limits(pack, COMPRESSOR, "CO 50 ppm")
    _, *cites = finding.cite
    assert cites and all(cite.startswith(standard) for cite in cites)
    assert all("memory" in cite or "secondary" in cite for cite in cites) or pack == "air"
