"""
The pages in a real browser: nothing is complained of, nothing is asked for, and what is printed has the pages it should.
"""

import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest

from support.running import PROJECT, Here

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
pytestmark = [
    pytest.mark.editors,
    pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine; .ci/editors installs it"),
]
LETTER, A4 = (612, 792), (595, 842)
QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync",
    "--disable-component-update", "--disable-default-apps", "--enable-logging=stderr", "--no-pdf-header-footer",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)  # fmt: skip
# In its log, what marks a request that a page made and not the browser for itself.
OF_A_PAGE = "101845102"


class Printed(NamedTuple):
    """What the console said, which addresses were asked for, and the size of each printed page in points."""

    console: list[str]
    asked: list[str]
    pages: list[tuple[int, int]]


class Browser:
    def __init__(self, folder: Path):
        self.folder = folder

    def run(self, page: Path, *words: str) -> subprocess.CompletedProcess:
        command = [BROWSER, *QUIET, f"--user-data-dir={self.folder / 'profile'}", *words, page.as_uri()]
        return subprocess.run(command, capture_output=True, text=True, timeout=90)

    def print(self, page: Path) -> Printed:
        log, pdf = self.folder / "net.json", self.folder / "page.pdf"
        done = self.run(page, f"--log-net-log={log}", f"--print-to-pdf={pdf}")
        addresses = re.findall(rf'"traffic_annotation":{OF_A_PAGE},"url":"([^"]*)"', log.read_text())
        sizes = re.findall(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", pdf.read_bytes())
        console = [line for line in done.stderr.split("\n") if "CONSOLE" in line]
        return Printed(console, addresses, [(round(float(wide)), round(float(high))) for wide, high in sizes])


@pytest.fixture(scope="module")
def browser(tmp_path_factory) -> Browser:
    return Browser(tmp_path_factory.mktemp("browser"))


@pytest.fixture(scope="module")
def pages(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    shutil.copytree(PROJECT / "examples/faulty", folder / "record")
    # With a stamp what stands at the foot is as long as that of a record in git.
    Here(folder)("publish", "pages", "record", "--stamp", as_of="2026-11-25")
    return folder / "pages"


def test_what_the_other_tests_look_for_would_be_seen(browser):
    page = browser.folder / "bad.html"
    page.write_text('<!DOCTYPE html><title>x</title><img src="http://127.0.0.1:9/x.png"><script>nowhere()</script>')
    printed = browser.print(page)
    assert "http://127.0.0.1:9/x.png" in printed.asked and any("nowhere" in line for line in printed.console)


@pytest.mark.parametrize(
    "page, sizes",
    [
        ("wall.html", [LETTER, A4]),
        ("fill-sheet.html", None),
        ("labels.html", None),
        ("index.html", None),
        ("due.html", None),
        ("sources.html", None),
        ("cylinders/107.html", None),
    ],
)
def test_each_kind_of_page_loads_in_silence_asks_for_nothing_and_prints(browser, pages, page, sizes):
    printed = browser.print(pages / page)
    assert (printed.console, printed.asked) == ([], [])
    text = (pages / page).read_text()
    least, most = {
        "fill-sheet.html": (text.count('class="fills"'),) * 2,
        # Twelve labels of the usual size go on a page.
        "labels.html": (-(-text.count('class="label"') // 12),) * 2,
    }.get(page, (1, 20))
    assert printed.pages == sizes if sizes else least <= len(printed.pages) <= most


@pytest.mark.parametrize("count", [9, 25, 45, 84])
def test_a_wall_sheet_is_one_sheet_however_many_are_on_it(browser, tmp_path, count):
    cards = "".join(
        f'cylinder C-{number}\n  marked "DOT-3AA2216"\n  made 2015-01\n  2015-02 entered service\n'
        for number in range(100, 100 + count)
    )
    people = "".join(f'person p{number} "Rowan Underwood {number}"\n  fills 2020-01-01\n' for number in range(5))
    here = Here(tmp_path)
    here.write("all.cyl", f'department "Quay Street"\n  rules us-dot\n{people}{cards}')
    # Of a day that is not past, so that the pages are not stale.
    here("publish", "pages", "all.cyl", "--stamp", as_of="2199-01-01")
    assert browser.print(tmp_path / "pages/wall.html").pages == [LETTER, A4]


def test_a_page_says_by_itself_that_it_is_stale_where_the_browser_tells_the_day(browser, station):
    # The day of the browser is that of the machine, which lies between the two.
    for day, is_stale in (("2199-01-01", False), ("2012-06-01", True)):
        station("publish", f"pages-{day}", "all.cyl", as_of=day)
        dom = browser.run(station.folder / f"pages-{day}/index.html", "--dump-dom").stdout
        assert ('class="stale"' in dom.split("<head>")[0]) == is_stale
