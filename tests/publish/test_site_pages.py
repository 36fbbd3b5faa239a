"""
The pages of `publish`: valid, whole by themselves, the same words as `lint`, inert, legible, and never "it may be filled".
"""

import os
import re
import shutil
from datetime import date
from pathlib import Path

import html5lib
import pytest

from cylfile import __version__
from cylfile.files.records import only_one, records_on_disk
from cylfile.files.rules_and_day import case_of
from cylfile.judging.report import Report
from cylfile.judging.whole_record import judge_record
from cylfile.record.reader import read_record
from cylfile.show.pages.lint_page import findings_page
from cylfile.show.site import rendering
from cylfile.show.terminal.heading import CAUTION_LINE
from cylfile.show.terminal.layout import Layout
from cylfile.show.visible import visible
from support.running import PROJECT, Here

DAY = "2026-11-25"
SVG = "{http://www.w3.org/2000/svg}"


class Published:
    """The record of an example, its pages by their paths, each parsed once as valid HTML, and what each says."""

    def __init__(self, folder: Path, name: str):
        shutil.copytree(PROJECT / "examples" / name, folder / "record")
        self.here = Here(folder)
        self.ended = self.here("publish", "pages", "record", as_of=DAY)
        self.folder = folder / "pages"
        self.texts = {path: path.read_text(encoding="utf-8") for path in sorted(self.folder.rglob("*.html"))}
        parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
        self.trees = {path: parser.parse(text) for path, text in self.texts.items()}
        self.said = {path: words_of(tree) for path, tree in self.trees.items()}
        self.of_cylinder = {
            "".join(next(tree.iter("h1")).itertext()): path
            for path, tree in self.trees.items()
            if path.parent.name == "cylinders"
        }


def words_of(tree) -> str:
    """What a page says, blanks made one."""
    for each in (*tree.iter("style"), *tree.iter("script")):
        each.text = ""
    return " ".join("".join(tree.itertext()).split())


@pytest.fixture(scope="module", params=["clean", "faulty"])
def site(request, tmp_path_factory) -> Published:
    return Published(tmp_path_factory.mktemp("site"), request.param)


def test_every_page_is_valid_says_what_it_must_and_leads_only_to_what_is_there(site):
    assert site.ended.out == "pages/index.html\n", site.ended.err
    department = re.search('department "(.*?)"', site.here.text("record/department.cyl"))[1]
    ids = {path: [each.get("id") for each in tree.iter() if each.get("id")] for path, tree in site.trees.items()}
    stale = set()
    for path, tree in site.trees.items():
        said = site.said[path]
        assert tree.get("lang") == "en" and len(list(tree.iter("h1"))) == 1, path
        for must in (department, DAY, CAUTION_LINE, f"cylfile {__version__}", "in no commit", "rules SHA-256 "):
            assert must in said, (path, must)
        stale |= set(re.findall("[Ss]tale from ([0-9-]{10})", said))
        assert len(ids[path]) == len(set(ids[path])), path
        for table in tree.iter("table"):
            assert table.find("caption") is not None and all(th.get("scope") for th in table.iter("th")), path
        for each in tree.iter():
            href = each.get("href")
            if href is None:
                continue
            file, _, anchor = href.partition("#")
            target = Path(os.path.normpath(path.parent / file)) if file else path
            assert target in site.trees, (path, href)
            assert not anchor or anchor in ids[target], (path, href)
    assert len(stale) == 1


def test_pages_say_what_lint_says_in_the_same_words(site, monkeypatch):
    """All that `lint` has to say of a cylinder stands on its page: findings, working, advice, sources; the rest elsewhere."""

    class Options:
        rules: list = []
        as_of = date.fromisoformat(DAY)

    monkeypatch.chdir(site.here.folder)
    folder = only_one(records_on_disk(["record"]))
    case = case_of(folder, read_record(*folder.texts()), Options)
    judgement = judge_record(case)
    told = 0
    for name, path in site.of_cylinder.items():
        findings, head = judgement.about(name), judgement.heads[name]
        report = Report(case.record, case.rules, case.as_of, findings, {name: head}, 1, 0)
        told += len(findings)
        assert_said(report, site.said[path], name)
        assert ("DO NOT FILL" in site.said[path]) == head.is_barred, name
    everything = " ".join(site.said.values())
    for name in judgement.of_source:
        assert_said(Report(case.record, case.rules, case.as_of, judgement.about(name), {}, 0, 0), everything, name)
    rest = Report(case.record, case.rules, case.as_of, judgement.of_record, {}, 0, 0)
    assert_said(rest, site.said[site.folder / "index.html"], "")
    told += len(judgement.of_record)
    assert all(f"made laxer by {easing.pack}: {easing}" in everything for easing in case.rules.laxer)
    assert told > 100 or not site.ended.status


def assert_said(report: Report, said: str, name: str) -> None:
    """Every line of the page of findings, from where it comes to a name to its foot, is said."""
    lines = [visible("".join(text for text, _ in line)).rstrip() for line in findings_page(report, Layout(None))]
    begin = next((at for at, line in enumerate(lines) if line.startswith(name or "Not about one")), len(lines))
    for line in lines[begin + 1 : next(at for at, line in enumerate(lines) if line.startswith("DANGER "))]:
        signal = re.fullmatch(r"   ?(DANGER|WARNING|CAUTION|NOTICE|waived|answered) +(.*?)(?: {3,}\S.*)?", line)
        tail = re.fullmatch(r" {4}(.*?) ?\(([a-z][a-z0-9-]*(?:; .*)?)\)", line)
        if signal:
            assert f"{signal[1]} {' '.join(signal[2].split())}" in said, (name, line)
        elif tail:
            assert " ".join(tail[1].split()) in said and tail[2] in said, (name, line)
        elif line.startswith("    "):
            assert " ".join(re.split(r": \S+:[0-9]+$", line)[0].split()) in said, (name, line)


def test_what_is_not_barred_is_only_said_to_have_nothing_against_it(site):
    index = site.trees[site.folder / "index.html"]
    rows = [tr for tr in index.iter("tr") if "a-" in (tr.get("class") or "")]
    assert len(rows) == len(site.of_cylinder)
    for row in rows:
        kind = row.get("class").split()[0]
        words = {"a-barred": "DO NOT FILL", "a-open": f"nothing against it on {DAY}: ask before filling"}.get(kind, "")
        assert words in words_of(row)
        # The word and a shape, not color alone.
        assert [use.get("href") for use in row.iter(f"{SVG}use")] == [f"#{kind[2:]}"]
    for path, said in site.said.items():
        if path.parent.name != "cylinders":
            assert "may be filled" not in said, path


def test_labels_carry_nothing_that_a_label_outlives(site):
    labels = [li for li in site.trees[site.folder / "labels.html"].iter("li") if li.get("class") == "label"]
    assert labels
    for label in labels:
        said = words_of(label)
        assert not re.search("psi|bar |20[0-9][0-9]-[0-9][0-9]", said), said
        assert label.find(f"{SVG}svg") is not None


def test_nothing_is_loaded_from_elsewhere(site):
    for path, tree in site.trees.items():
        (script,) = tree.iter("script")
        assert not script.attrib and not list(tree.iter("link")) and not list(tree.iter("img")), path
        policies = [meta.get("content") for meta in tree.iter("meta") if meta.get("http-equiv")]
        assert [policy.startswith("default-src 'none'; ") for policy in policies] == [True], path
        assert not re.search(r"url\(|@import|[a-z]://(?!www\.w3\.org/2000/svg)", site.texts[path]), path


# Colors, by computation.

CSS = (Path(rendering.__file__).parent / "templates/site.css").read_text()
# What is written in which color on which ground.
PAIRS = [
    ("ink", "paper"), ("ink", "panel"), ("faint", "paper"), ("faint", "panel"), ("link", "paper"), ("link", "panel"),
    ("stop", "paper"), ("stop", "panel"), ("danger-ink", "danger"), ("warning-ink", "warning"), ("caution-ink", "caution"),
    ("notice-ink", "notice"),
]  # fmt: skip


def palettes() -> dict[str, dict[str, str]]:
    blocks = [
        dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block)) for block in re.findall(r":root \{(.*?)\}", CSS, re.S)
    ]
    light, dark, paper = blocks
    return {"light": light, "dark": {**light, **dark}, "paper": {**light, **paper}}


def luminance(color: str) -> float:
    """Relative luminance by WCAG 2."""
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear))


def test_contrast_of_every_text_is_at_least_4_5():
    for scheme, colors in palettes().items():
        for ink, ground in PAIRS:
            light, dark = sorted((luminance(colors[ink]), luminance(colors[ground])), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 4.5, (scheme, ink, ground)


def test_all_colors_come_from_the_palette():
    """But for codes, which have to be black on white for whatever reads them."""
    rest = re.sub(r":root \{.*?\}|\.label \.qr[^}]*\}", "", CSS, flags=re.S)
    assert not re.search("#[0-9a-fA-F]{3,6}|rgb|hsl", rest)
    inks = set(re.findall(r"[^-]color: var\(--([a-z-]+)\)", rest))
    grounds = set(re.findall(r"background: var\(--([a-z-]+)\)", rest))
    assert inks <= {ink for ink, _ in PAIRS} and grounds <= {ground for _, ground in PAIRS}
