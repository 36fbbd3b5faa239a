"""The lines of sources: what a compressor and a storage may have, and readings with their units."""

import pytest

from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.text.source import Source

_SOURCES = """\
source C1 "Compressor"
  kind  compressor
{compressor}source B1 "Bank"
  kind  storage
{storage}source X1 "Of no known kind"
{unknown}"""


def record_of(compressor: str = "", storage: str = "", unknown: str = ""):
    lines = {
        name: f"  {line}\n" if line else ""
        for name, line in (("compressor", compressor), ("storage", storage), ("unknown", unknown))
    }
    return read_record([Source("air.cyl", _SOURCES.format(**lines))])


@pytest.mark.parametrize("line", ["2024-01-05  filled  to 5000 psi  on B1", "2024-01-05  emptied"])
def test_a_compressor_holds_no_air(line):
    record = record_of(compressor=line)
    (fault,) = record.faults
    verb = line.split()[1]
    assert fault.rule == "unreadable-line" and fault.subject == "C1"
    assert fault.text == f"`{verb}` is an entry of a storage, and C1 is a compressor, which holds no air"
    assert "on C1" in fault.cure
    assert fault.span.line == 3 and fault.span.text == line
    assert record.entries["C1"] == [] and record.damaged["C1"] == [fault]


@pytest.mark.parametrize("line", ["2024-01-05  filled  from 0 psi  to 5000 psi  on C1", "2024-01-05  emptied"])
def test_a_storage_is_filled_and_emptied(line):
    record = record_of(storage=line)
    assert not record.faults
    assert [entry.verb for entry in record.entries["B1"]] == [line.split()[1]]


def test_nobody_says_that_a_source_of_no_known_kind_is_a_compressor():
    assert not record_of(unknown="2024-01-05  filled  to 5000 psi  on C1").faults


@pytest.mark.parametrize("line", ["2024-01-05  visual pass", "2024-01-05  gauged  4000 psi", "2024-01-05  retired"])
@pytest.mark.parametrize("kind", ["compressor", "storage"])
def test_what_is_done_to_cylinders_is_not_done_to_sources(kind, line):
    (fault,) = record_of(**{kind: line}).faults
    assert fault.rule == "unreadable-line" and fault.span.text == line.split()[1]


def test_loose_lines_mean_the_same():
    record = read_record(
        [
            Source(
                "a.cyl", 'source B1 "Bank"\n  kind  storage\n2024-01-05 emptied B1\n2024-01-06 filled B1 to 5000 psi\n'
            )
        ]
    )
    assert not record.faults
    assert [plain_form(entry) for entry in record.entries["B1"]] == [
        "2024-01-05 emptied B1",
        "2024-01-06 filled B1 to 5000 psi",
    ]


READINGS = (
    "CO 1.2 ppm  CO2 410 ppm  O2 20.9 %  N2 78 %  H2S 0.1 ppm  oil 0.1 mg/m3  water 12 ppm  dew point -62 F  "
    "organics 3 ppm  particulate 0.2 mg/m3  odor none"
)


def test_every_reading_keeps_its_unit():
    record = record_of(compressor=f"2024-01-05  air sample pass  {READINGS}")
    assert not record.faults
    (sample,) = record.entries["C1"]
    assert plain_form(sample) == "2024-01-05 air sample C1 pass " + READINGS.replace("  ", " ")
    metric = record_of(compressor="2024-01-05  air sample pass  water 21 mg/m3  dew point -52 C").entries["C1"][0]
    assert (metric.water.unit, metric.dew_point.unit) == ("mg/m3", "C")


@pytest.mark.parametrize(
    "reading",
    [
        "CO 1 mg/m3", "CO 1 %", "CO2 4 %", "O2 209 ppm", "N2 78 ppm", "H2S 1 mg/m3", "oil 1 ppm", "water 1 %",
        "dew point -50 psi", "dew point 12 ppm", "organics 1 mg/m3", "particulate 1 ppm", "odor 1 ppm", "odor bad",
        "CO 1", "O2 20.9",
    ],
)  # fmt: skip
def test_a_reading_in_a_wrong_kind_of_unit_is_not_read(reading):
    record = record_of(compressor=f"2024-01-05  air sample pass  {reading}")
    (fault,) = record.faults
    assert fault.rule == "unreadable-line" and fault.subject == "C1" and fault.span.line == 3
    assert record.entries["C1"] == []
