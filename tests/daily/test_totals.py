"""`cylfile totals`: the annual report, counted by hand beside it."""

import csv
import io
import json

import pytest

LEDGER = """\
department "Tarn Valley Fire"
  rules  us-dot
  rules  air
site s1 "Station 1"
person ode "Ode Marrable"
source C1 "Compressor"
  kind  compressor
tester A123 "Invented Requalifiers"
cylinder K-1
  class  carbon-wrapped
  rated  4500 psi
  made   2021-04
  holds  6.8 L
  2021-06-01  entered service  at s1
  2025-12-31  filled  from 900 psi  to 4500 psi  at 70 F  by ode  on C1
  2026-01-05  filled  from 900 psi  to 4500 psi  at 70 F  by ode  on C1  at s1
  2026-01-06  filled  to 4500 psi  by ode  struck 2026-01-07 by ode "typed twice"
  2026-02-07  filled  to 4500 psi
  2026-03-08  hydro pass  by A123  at 7500 psi  visual pass
  2026-03-09  visual fail  by ode
cylinder K-2
  class  carbon-wrapped
  rated  4500 psi
  made   2021-04
  2026-12-24  filled  to 4500 psi
"""


@pytest.fixture
def totals(here):
    (here.folder / "all.cyl").write_text(LEDGER)
    return lambda *arguments, **environment: here("totals", "--as-of", "2026-11-25", *arguments, **environment)


def test_a_year_by_month(totals):
    done = totals("--as", "json")
    said = json.loads(done.out)
    assert done.status == 0 and (said["first"], said["last"], said["per"]) == ("2026-01-01", "2026-11-25", ["month"])
    rows = {row.pop("month"): row for row in said["rows"]}
    assert list(rows) == ["2026-01", "2026-02", "2026-03"], "nothing of the year before, nothing to come"
    assert rows["2026-01"]["fills"] == 1 and rows["2026-01"]["fills_without_free_air"] == 0
    # 6.8 L of water from 900 to 4500 psi at 70 F: about 1.7 times 1,000 L (real gas, by hand with Z of about 1.1 and 1.0).
    assert 1_400 < rows["2026-01"]["free_air_liters"] < 1_800
    assert (rows["2026-02"]["fills"], rows["2026-02"]["fills_without_free_air"]) == (1, 0), (
        "the air pack assumes the rest"
    )
    counts = [rows["2026-03"][name] for name in ("tests_passed", "tests_failed", "visuals_passed", "visuals_failed")]
    assert counts == [1, 0, 1, 1]


def test_by_several_things_and_over_other_days(totals):
    out = totals("--per", "source,person", "--first", "2025-01-01", "--as", "csv").out
    rows = list(csv.reader(io.StringIO(out)))
    assert rows[0][:3] == ["source", "person", "fills"]
    assert ["C1", "ode", "2"] in [row[:3] for row in rows] and ["", "", "1"] in [row[:3] for row in rows]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_page_has_the_sum_and_keeps_to_its_width(totals, width):
    out = totals(COLUMNS=str(width)).out
    assert max(map(len, out.split("\n"))) <= width
    assert out.startswith("Tarn Valley Fire    2026-01-01 to 2026-11-25") and "2026-01" in out
    (sums,) = [line for line in out.split("\n") if line.startswith("  all ")]
    assert sums.split()[1] == "2"


@pytest.mark.parametrize(
    "arguments, message",
    [
        (
            ["--per", "moon"],
            "`--per`: `moon` is not something to count by; write month, source, site, person, class, cylinder",
        ),
        (["--per", "site,site"], "`--per`: `site,site` names one thing twice"),
        (
            ["--first", "2026-02-01", "--last", "2026-01-01"],
            "the last day, 2026-01-01, is before the first, 2026-02-01",
        ),
    ],
)
def test_what_cannot_be_counted(totals, arguments, message):
    done = totals(*arguments)
    assert done.status == 2 and done.out == "" and done.err.startswith(f"cylfile: {message}")
