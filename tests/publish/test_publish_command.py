"""
`cylfile publish`: what is written, what is left alone, what is refused, and what a hostile record cannot do.
"""

import hashlib
import re
import sys
from datetime import date, timedelta

import html5lib
import pytest

from cylfile.files import writing
from cylfile.files.published_folder import LIST
from cylfile.show.site.page_names import page_names

MESSAGE = 'cylfile: `publish` needs the extra `pages`; install the program once more, with ".[pages]" for "." as README.md says\n'


def files_in(folder) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_second_run_writes_only_what_changed_and_removes_only_its_own(station):
    pages = station.folder / "pages"
    assert station("publish", "pages", "all.cyl").err.endswith(" written, 0 as before, 0 removed\n")
    first, written = files_in(pages), {path: path.stat().st_ino for path in pages.rglob("*.html")}
    (pages / "logo.txt").write_text("ours")
    (pages / "cylinders/note.html").write_text("ours too")
    assert re.search(r": \d+ pages, 0 written, \d+ as before, 0 removed", station("publish", "pages", "all.cyl").err)
    text = station.text("all.cyl")
    station.write("all.cyl", text.replace("  valve", "  valve").replace("cylinder R-1", "cylinder R-2"))
    err = station("publish", "pages", "all.cyl").err
    second = files_in(pages)
    assert re.search(r", 1 removed$", err.strip()) and "cylinders/r-1.html" not in second
    assert second["logo.txt"] == b"ours" and second["cylinders/note.html"] == b"ours too"
    kept = [path for path in first if path in second and first[path] == second[path] and path.endswith(".html")]
    assert kept and all((pages / path).stat().st_ino == written[pages / path] for path in kept)
    sums = dict(reversed(line.split("  ")) for line in second[LIST].decode().splitlines())
    assert sums == {
        path: hashlib.sha256(data).hexdigest()
        for path, data in second.items()
        if path not in (LIST, "logo.txt", "cylinders/note.html")
    }
    assert [path.name for path in station.folder.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize("can_exchange", [True, False])
def test_a_run_that_fails_leaves_the_old_pages(station, monkeypatch, can_exchange):
    station("publish", "pages", "all.cyl")
    before = files_in(station.folder / "pages")
    if not can_exchange:
        monkeypatch.setattr(writing, "_exchanged", lambda one, other: False)
    station.write("all.cyl", station.text("all.cyl").replace("Quay Street", "Quay Road"))

    def fails(path):
        raise OSError("disk")

    with monkeypatch.context() as patch:
        patch.setattr(writing, "_force_folder", fails)
        assert station("publish", "pages", "all.cyl").status == 2
    assert files_in(station.folder / "pages") == before
    if not can_exchange:
        # Broken off between the two steps of an exchange, the old folder is found again.
        (station.folder / "pages").rename(station.folder / ".pages.old.writing")
        (station.folder / ".pages.old.writing/logo.txt").write_text("ours")
    assert station("publish", "pages", "all.cyl").status == 0
    assert (station.folder / "pages/logo.txt").exists() != can_exchange
    assert b"Quay Road" in files_in(station.folder / "pages")["index.html"]
    assert sorted(path.name for path in station.folder.iterdir()) == ["all.cyl", "pages"]


def test_a_folder_that_it_did_not_write_is_refused(station):
    station.write("pages/mine.txt", "mine")
    message = "cylfile: `pages` holds what was not published there; name a folder that is empty or not there yet\n"
    assert station("publish", "pages", "all.cyl") == (2, "", message)
    assert files_in(station.folder / "pages") == {"mine.txt": b"mine"}
    assert station("publish", "all.cyl", "all.cyl") == (2, "", "cylfile: `all.cyl` is a file; name a folder\n")
    station("publish", "good", "all.cyl")
    (station.folder / "good/cylinders/r-1.html").unlink()
    station.write("good/cylinders/new.html", "mine")
    station.write("all.cyl", station.text("all.cyl") + "cylinder New\n")
    assert station("publish", "good", "all.cyl").err == (
        "cylfile: `good/cylinders/new.html` was put there by somebody else; move it, or name another folder\n"
    )
    station.write(f"good/{LIST}", "nonsense\n")
    assert station("publish", "good", "all.cyl").status == 2


def test_without_the_extra_there_is_one_clear_line(station, monkeypatch):
    for name in [name for name in sys.modules if name.startswith("cylfile.show.site")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "segno", None)
    assert station("publish", "pages", "all.cyl") == (2, "", MESSAGE)
    assert not (station.folder / "pages").exists()


@pytest.mark.parametrize("words", [("--label", "10x10"), ("--label", "big"), ("--label", "90x999")])
def test_a_size_that_is_none_is_refused(station, words):
    status, out, err = station("publish", "pages", "all.cyl", *words)
    assert (status, out) == (2, "") and "write it in mm, from 15 to 250, as 90x38" in err


def test_what_could_not_be_read_is_said_and_the_exit_status_is_1(station):
    station.write("more.cyl", "2026-11-01 filed K-9 to 2000 psi\n")
    assert station("publish", "pages", ".").status == 1
    index = (station.folder / "pages/index.html").read_text()
    assert "Not all of the record could be read: 1 place" in index and "more.cyl:1" in index


def test_a_county_has_a_folder_a_department_and_an_index_of_all(station):
    text = station.text("all.cyl")
    for name in ("Ash", "ash-2", "Birch Hill"):
        station.write(f"{name}/all.cyl", text.replace("Pinewater, Fire; Department", f"{name} <Fire>"))
    (station.folder / "all.cyl").unlink()
    assert station("publish", "pages").status == 0
    names = sorted(path.name for path in (station.folder / "pages").iterdir())
    assert names == ["ash", "ash-2", "birch-hill", "index.html", LIST]
    index = (station.folder / "pages/index.html").read_text()
    assert "Birch Hill &lt;Fire&gt;" in index and 'href="birch-hill/index.html"' in index
    assert '<a href="../../index.html">All records</a>' in (station.folder / "pages/ash/cylinders/k-9.html").read_text()
    html5lib.HTMLParser(strict=True).parse(index)


def test_a_long_life_is_told_whole_on_pages_that_stay_small(here):
    fills = (
        f"  {date(2004, 1, 2) + timedelta(3 * number)} filled from 500 psi to {2100 + number % 150} psi at 70 F"
        ' by p remark "the weekly round"\n'
        for number in range(2_000)
    )
    card = "cylinder K\n  class dot-3aa\n  rated 2216 psi\n  made 2000-01\n"
    here.write("all.cyl", f'department "D"\n  rules us-dot\nperson p "P"\n{card}{"".join(fills)}')
    assert here("publish", "pages", as_of="2026-01-01").status == 0
    pages = {path.name: path.read_text() for path in (here.folder / "pages").rglob("*.html")}
    assert max(map(len, pages.values())) < 500_000
    lines = [
        int(line) for text in (pages["k-1.html"], pages["k.html"]) for line in re.findall("<td>all.cyl:([0-9]+)", text)
    ]
    assert lines == list(range(8, 2_008))
    assert 'href="../earlier/k-1.html"' in pages["k.html"] and 'href="../cylinders/k.html"' in pages["k-1.html"]


def test_the_list_of_all_is_there_in_other_orders(station):
    station("publish", "pages", "all.cyl")
    for page, column in (("by-next-test", "next test"), ("by-end-of-life", "life ends"), ("by-site", "site")):
        text = (station.folder / f"pages/{page}.html").read_text()
        cells = re.findall(f'data-head="{column}"[^>]*>([^<]*)<', text)
        known = [cell for cell in cells if cell]
        assert len(cells) == 6 and known == sorted(known) and cells == [*known, *[""] * (6 - len(known))]


# What somebody may have written.

HOSTILE = """\
department "<script>alert(1)</script>"
  rules us-dot
site s1 "javascript:alert(1)"
  contact "\\"><img src=x onerror=alert(1)>"
person p "{{ 7 * 7 }}{% include 'x' %}"
  fills 2020-01-01
source c "</style><script>x</script>"
cylinder A
  serial "</title><script>"
  class carbon-wrapped
  rated 4500 psi
  made 2024-01
  2024-02-01 entered service at s1
  2026-01-02 filled to 4400 psi by p remark "<script>alert('x')</script> & \u05d0\u05d1"
cylinder a
  class carbon-wrapped
  rated 4500 psi
  made 2024-01
  2026-01-02 filled to 4400 psi by p remark "]]> --> <!-- javascript:"
cylinder con
"""


def test_what_is_written_in_a_record_is_inert(here):
    here.write("all.cyl", HOSTILE)
    assert here("publish", "pages", as_of="2026-02-01").status in (0, 1)
    for path in (here.folder / "pages").rglob("*.html"):
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(path.read_text(encoding="utf-8"))
        assert len(list(tree.iter("script"))) == 1 and not list(tree.iter("img")), path
        for each in tree.iter():
            assert not any(name.lower().startswith("on") for name in each.attrib if isinstance(name, str)), path
            assert not (each.get("href") or "").startswith("javascript"), path
    whole = (here.folder / "pages/cylinders").glob("*.html")
    assert any("&lt;script&gt;alert(&#39;x&#39;)" in path.read_text() for path in whole)
    assert "{{ 7 * 7 }}" in (here.folder / "pages/wall.html").read_text()


def test_names_of_pages_are_safe_and_told_apart_where_capitals_make_no_difference():
    names = ["T-114", "a/b", "a\\b", "A", "a", "..", "con", "COM1", "ключ", "x" * 300, "x" * 299, "a b", "index", "é"]
    pages = page_names(names)
    assert len({page.lower() for page in pages.values()}) == len(names)
    assert all(re.fullmatch("[a-z0-9-]{1,60}", page) for page in pages.values())
    assert pages["T-114"] == "t-114" and pages["con"] != "con" and pages["COM1"] != "com1"
    # A link to one of them stays good when another comes.
    assert page_names([*names, "A ", "new"])["A"] == pages["A"]
