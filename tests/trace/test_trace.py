"""`cylfile trace`: whom the air of a source reached, in every form, and how the command ends."""

import csv
import io
import json

import pytest

from cylfile.cannot import CannotDo
from cylfile.commands import trace
from cylfile.show.terminal.heading import CAUTION_LINE

RECORD = """\
department "Tarn Valley"
  zone  America/Boise
site s1 "Station 1"
site s2 "Station 2"
  contact "Battalion 2, 555-0142"
person ode "Ode Marrable"
source C1 "Compressor, air room"
  kind  compressor
source B1 "Bank, Station 2"
  kind  storage
  2024-01-10  filled  from 500 psi  to 5000 psi  on C1  by ode
  2024-03-01  emptied
source B2 "Trailer"
  kind  storage
  2024-01-12  filled  to 5000 psi  on B1
cylinder K-1
  2023-01-01  entered service  at s1
  2024-01-08 09:30  filled  to 4500 psi  on C1  by ode
cylinder K-2
  2023-01-01  entered service  at s2
  2024-02-20  filled  to 4500 psi  on B1
  2024-02-25  emptied
cylinder K-10
  2023-01-01  entered service  at s2
  2024-04-01  filled  to 4500 psi  on B2  by ode
  2024-04-09  out of service "valve"
cylinder K-11
  2023-01-01  entered service  at s2
  2024-04-01  filled  to 4500 psi  on B1
cylinder K-12
  2024-01-20  filled  to 4500 psi  on C1
cylinder K-13
  2024-01-09  filled  to 4500 psi
"""
ASKED = ["C1", "--first", "2024-01-08", "--last", "2024-01-10", "--as-of", "2024-05-01"]


@pytest.fixture
def run(tmp_path, capsys, monkeypatch):
    """The status and the output of the command on a record."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str, text: str = RECORD):
        (tmp_path / "air.cyl").write_text(text, encoding="utf-8")
        status = trace.run([*ASKED, *arguments])
        return status, capsys.readouterr().out

    return run


def rows(run, **how):
    status, out = run("--as", "csv", **how)
    return status, {row["cylinder"].lstrip("'"): row for row in csv.DictReader(io.StringIO(out))}


def test_whom_the_air_reached_and_who_holds_it(run):
    status, reached = rows(run)
    assert status == 1
    assert {name: (row["through"], row["holds it"], row["in service"]) for name, row in reached.items()} == {
        "K-1": ("", "yes", "yes"),
        "K-2": ("B1", "no", "yes"),
        "K-10": ("B1, B2", "yes", "no"),
    }
    assert (reached["K-1"]["day"], reached["K-1"]["time"], reached["K-1"]["by"]) == ("2024-01-08", "09:30", "ode")
    assert reached["K-2"]["let out"] == "emptied 2024-02-25"
    assert (reached["K-10"]["site"], reached["K-10"]["state"]) == ("s2", "out of service since 2024-04-09")
    assert (reached["K-1"]["file"], reached["K-1"]["line"]) == ("air.cyl", "18")


def test_status_0_where_none_in_service_holds_it(run):
    text = RECORD.replace("on C1  by ode\ncylinder K-2", "on C1  by ode\n  2024-02-01  emptied\ncylinder K-2")
    status, reached = rows(run, text=text)
    assert (status, reached["K-1"]["holds it"], reached["K-10"]["holds it"]) == (0, "no", "yes")


@pytest.mark.parametrize(
    "first, last, names",
    [
        ("2024-01-08", "2024-01-09", {"K-1"}),
        ("2024-01-09", "2024-01-10", {"K-2", "K-10"}),
        ("2024-01-11", "2024-01-20", {"K-12"}),
        ("2024-01-11", "2024-01-19", set()),
    ],
)
def test_both_days_are_included(run, first, last, names):
    _, reached = rows(lambda *arguments, **how: run("--first", first, "--last", last, *arguments, **how))
    assert set(reached) == names


def test_from_a_storage(run):
    trace_of_bank = ["B1", "--first", "2024-02-01", "--as-of", "2024-05-01", "--as", "json"]
    run()
    assert trace.run(trace_of_bank) == 1


def test_the_json_object(run):
    status, out = run("--as", "json")
    found = json.loads(out)
    assert status == 1
    assert (found["source"], found["from"], found["to"], found["as_of"]) == (
        "C1",
        "2024-01-08",
        "2024-01-10",
        "2024-05-01",
    )
    assert found["counts"] == {
        "cylinders": 3, "holding": 2, "holding_in_service": 1, "fills_without_source": 1, "unreadable_lines": 0,
    }  # fmt: skip
    assert [(one["storage"], one["until"]) for one in found["storages"]] == [
        ("B1", "2024-03-01 emptied B1"),
        ("B2", None),
    ]
    assert [one["cylinder"] for one in found["cylinders"]] == ["K-1", "K-10", "K-2"]
    assert found["cylinders"][1]["fills"][0]["through"] == ["B1", "B2"]


def test_the_page_says_first_who_holds_it_where_and_who_filled(run):
    status, out = run()
    assert status == 1
    assert (
        out.rpartition("cylfile ")[0]
        == """\
C1   Compressor, air room, a compressor; air of 2024-01-08 to 2024-01-10, as of 2024-05-01
3 cylinders took this air; 2 hold it still, 1 of them in service.

In service, and holding this air: 1 cylinder
  Station 1; nobody to call is written
    K-1
    filled by ode, 2024-01-08

Holding this air, not in service: 1 cylinder
  Station 2; call Battalion 2, 555-0142
    K-10
    filled by ode, 2024-04-01

Storage B1 took this air and held it until 2024-03-01.
Storage B2 took this air and holds it still.
1 fill of these days names no source, and may have been of it.
Checks the record, not the cylinder.
""".replace("Checks the record, not the cylinder.", CAUTION_LINE)
    )


def test_many_at_one_site_are_one_paragraph(run):
    more = "".join(f"cylinder M-{n}\n  2023-01-01  entered service  at s2\n  2024-01-09  filled  to 4500 psi  on C1  by {by}\n"
                   for n, by in ((10, "ode"), (9, "pell"), (8, "ode")))  # fmt: skip
    _, out = run(text=RECORD + 'person pell "Pell"\n' + more)
    assert "In service, and holding this air: 4 cylinders" in out
    assert "  Station 2; call Battalion 2, 555-0142\n    M-8, M-9, M-10\n    filled by ode, pell, 2024-01-09\n" in out


def test_nobody_holds_it(run):
    out = run("--last", "2024-01-07", "--first", "2024-01-07")[1]
    assert "0 cylinders took this air; none hold it still.\n\nNo cylinder in service holds it." in out


def test_each_fill_is_listed_where_that_is_asked_for(run):
    status, out = run("--each")
    assert status == 1
    lines = {line.split()[0]: line for line in out.split("\n") if line.startswith("K-")}
    assert lines["K-1"].endswith("in service                        HOLDS IT")
    assert "B1, B2" in lines["K-10"] and "Station 2" in lines["K-10"]
    assert "3 cylinders took this air; 2 hold it still, 1 of them in service." in out


def test_each_fill_on_a_narrow_terminal(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "40")
    lines = run("--each")[1].split("\n")
    at = lines.index("K-1")
    assert lines[at + 1].startswith("    filled 2024-01-") and lines[at + 1].strip()
    assert "" not in lines[at : lines.index("K-2")]


def test_the_tree(run):
    _, out = run("--as", "tree")
    drawn = [line.rstrip() for line in out.split("\n")[3:9]]
    branches = [line.split("   filled")[0] for line in drawn]
    assert branches == ["C1", "├─ K-1", "└─ B1", "   ├─ K-2", "   └─ B2", "      └─ K-10"]
    assert drawn[3].endswith("emptied 2024-02-25") and drawn[1].endswith("HOLDS IT")


def test_the_tree_on_a_narrow_terminal(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "56")
    _, out = run("--as", "tree")
    drawn = [line.rstrip() for line in out.split("\n")]
    assert max(map(len, drawn)) <= 56
    at = drawn.index(next(line for line in drawn if line.startswith("├─ K-1")))
    assert drawn[at + 1].startswith("│     Station") and drawn[at + 1].endswith("HOLDS IT")


def test_what_cannot_be_read_is_told_first_and_fails_the_run(run):
    emptied = RECORD.replace("on C1  by ode\ncylinder K-2", "on C1  by ode\n  2024-02-01  emptied\ncylinder K-2")
    assert run(text=emptied)[0] == 0
    status, out = run(text=emptied + "  2024-01-09  filled  to 4500\n")
    assert status == 1
    assert out.startswith("Not all of the record can be read, and more cylinders may have this air: air.cyl:")


def test_a_name_that_could_steer_a_terminal_or_a_spreadsheet_is_harmless(run):
    text = RECORD.replace('"Station 1"', '"=cmd()\u202e"').replace("valve", "=1+1\u00ad")
    assert "\u202e" not in run(text=text)[1]
    assert "\u00ad" not in run("--as", "csv", text=text)[1]


@pytest.mark.parametrize(
    "arguments, words",
    [
        (["C2", "--first", "2024-01-08"], "no block declares a source `C2`. The sources are C1, B1, B2."),
        (["C1", "--first", "2024-01-08", "--last", "2024-01-07"], "is before the first"),
        (["C1", "--first", "8.1.2024"], "is not a day"),
        (["C1"], "--first"),
    ],
)
def test_what_cannot_be_done_is_said(run, arguments, words):
    run()
    with pytest.raises(CannotDo) as refusal:
        trace.run(arguments)
    assert words in str(refusal.value) and "\n" not in str(refusal.value)
