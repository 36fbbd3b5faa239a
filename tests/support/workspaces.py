"""Small records on disk for the tests of the server, and a way to point at a place: `|` in a text."""

from datetime import datetime

from cylfile.server.workspace import Desk

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


def desk_in(folder, **more: str) -> Desk:
    """A desk for the record in a folder, at `NOW`."""
    write(folder, **more)
    desk = Desk(str(folder), clock=lambda zone: NOW.replace(tzinfo=zone))
    desk.search()
    return desk


def opened(desk: Desk, path: str, text: str):
    """Open a text at a desk; its source, and the offset where `|` stood in it."""
    offset = text.find("|")
    desk.open(path, text.replace("|", "", 1) if offset >= 0 else text)
    desk.follow()
    return desk.source(path), offset
