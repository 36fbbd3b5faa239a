"""Small records on disk for the tests of the server, and a way to point at a place: `|` in a text."""

import os
import stat
import sys
from datetime import datetime
from pathlib import Path

from cylfile.server.edited_record import EditedRecord

NOW = datetime(2026, 3, 15, 10, 30)
HEAD = """\
department "Harrow Vale Fire District"
  zone   Etc/UTC
  rules  us-dot

site st1 "Station 1"
site st2 "Station 2"
person vance "Lio Vance"
  fills  2020-01-01
person ember "Ama Ember"
  fills  2020-01-01 until 2024-12-31
person quill "Jo Quill"
  inspects  2020-01-01
tester Z999 "Tarn Requalification"
source B2 "Compressor"
  kind   compressor
  rated  6000 psi
"""
CARDS = """\
cylinder H-12
  class  carbon-wrapped
  rated  4500 psi
  made   2019-06
  2019-08-02  entered service  at st1
  2024-06-20  hydro pass  by Z999

cylinder H-13
  class  carbon-wrapped
  rated  4500 psi
  made   2021-06
  2021-08-02  entered service  at st1
  2026-01-02  retired  "cracked"

cylinder H-14
  class  carbon-wrapped
  rated  4500 psi
  made   2022-06
  2022-08-02  entered service  at st2
"""
SHEET = """\
fill sheet 2026-03-15  at st1  on B2  by vance
  09:42  H-12  from 900 psi  to 4500 psi  at 85 F
  09:58  H-14  to 4400 psi
"""


def write(folder, **more: str) -> None:
    """Write the record into a folder; `more` are files by their stem, in place of those above or beside them."""
    for stem, text in {"head": HEAD, "cards": CARDS, "sheet": SHEET, **more}.items():
        (folder / f"{stem}.cyl").write_text(text, encoding="utf-8")


def edited_in(folder, **more: str) -> EditedRecord:
    """Write the record into a folder; it as an editor has it, at `NOW`."""
    write(folder, **more)
    edited = EditedRecord(str(folder), clock=lambda zone: NOW.replace(tzinfo=zone))
    edited.follow()
    return edited


def opened(edited: EditedRecord, path: str, text: str):
    """Open a text in an editor; its source, and the offset where `|` stood in it."""
    offset = text.find("|")
    edited.open(path, text.replace("|", "", 1) if offset >= 0 else text)
    edited.follow()
    return edited.source(path), offset


def put_on_path(folder: Path, monkeypatch) -> None:
    """Let the program of this tree be the one that an editor finds, in a folder of its own below another."""
    program = folder / "bin" / "cylfile"
    program.parent.mkdir()
    top = Path(__file__).resolve().parents[2]
    program.write_text(f'#!/bin/sh\nPYTHONPATH={top} exec {sys.executable} -m cylfile "$@"\n')
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}{os.environ['PATH']}")


def write_with_overfill(folder: Path) -> Path:
    """Write the record with a folder `fills` and in it a file with a danger; the file."""
    write(folder)
    (folder / "fills").mkdir()
    sheet = folder / "fills" / "day.cyl"
    sheet.write_text("fill sheet 2026-03-15  at st1  on B2  by vance\n  09:42  H-12  to 9000 psi\n")
    return sheet
