"""
`cylfile publish`: a static folder for people without the program, to look at, to print and to hang up.
"""

import gc
import os
import re
from argparse import ArgumentTypeError
from functools import partial

from cylfile.cannot import CannotDo, extra_missing
from cylfile.command_line.options import Options
from cylfile.command_line.reading import add_reading_options, case_in
from cylfile.files.ledger_files import shown_path
from cylfile.files.neighbors import Neighbors, Other, county_of
from cylfile.files.published_folder import write_pages
from cylfile.files.records import Folder, records_on_disk
from cylfile.findings.seal_findings import SEAL_BROKEN
from cylfile.judging.judge import judge
from cylfile.show.terminal.progress import told
from cylfile.show.told import tell, tell_beside
from cylfile.text.phrases import counted

_PURPOSE = (
    "Write a folder of pages for people without the program: all cylinders with the briefing, a page for each with its "
    "life drawn, what falls due, the sources of air, a wall sheet, a blank fill sheet and labels. Nothing in it is "
    "loaded from elsewhere, and every page says from which day on it is stale."
)
_MORE = """\
examples:
  cylfile publish /srv/air
  cylfile publish pages records/ --label 60x30

A second run writes only what has changed, and removes only what it has written itself. Of several records each has a
folder of its own, under an index of all.
Needs the extra `pages`: install the program with ".[pages]" for ".".
Exit status: 0 written, 1 written, but not all of the record could be read, 2 it could not be done.
"""
_SIZE = re.compile(r"([0-9]{1,3}(?:\.[0-9])?)x([0-9]{1,3}(?:\.[0-9])?)")
_LEAST, _MOST = 15, 250
_LIBRARIES = ("jinja2", "markupsafe", "segno")


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    try:
        import cylfile.show.site.site_pages  # noqa: F401
    except ModuleNotFoundError as lacking:
        if lacking.name not in _LIBRARIES:
            raise
        raise CannotDo(extra_missing("`publish`", "pages")) from None
    gc.disable()
    folders = records_on_disk(options.paths)
    files, is_whole = _files(folders, options)
    written = write_pages(options.out, files)
    pages = counted(len(files), "page")
    tell_beside(
        f"{shown_path(options.out)}: {pages}, {written.changed:,} written, {written.same:,} as before, "
        f"{written.removed:,} removed"
    )
    tell(os.path.join(options.out, "index.html"))
    return int(not is_whole)


def make_options() -> Options:
    options = Options("publish", _PURPOSE, _MORE)
    options.add_argument("out", metavar="OUT", help="the folder for the pages: new, empty, or published before")
    add_reading_options(options)
    meaning = "width and height of a label in mm; 90x38 by default"
    options.add_argument("--label", metavar="WxH", type=_size, default=(90.0, 38.0), help=meaning)
    meaning = "what the code on a label says; a cylinder without a tag has its name; name by default"
    options.add_argument("--code", metavar="WHAT", choices=("name", "tag"), default="name", help=meaning)
    options.add_argument(
        "--stamp", action="store_true", help="say on every page when it was made, and by which command"
    )
    return options


def _size(word: str) -> tuple[float, float]:
    found = _SIZE.fullmatch(word)
    sizes = (float(found[1]), float(found[2])) if found else (0.0, 0.0)
    if not all(_LEAST <= size <= _MOST for size in sizes):
        raise ArgumentTypeError(f"`{word}` is no size of a label; write it in mm, from {_LEAST} to {_MOST}, as 90x38")
    return sizes


def _files(folders: list[Folder], options) -> tuple[dict[str, bytes], bool]:
    """The pages by their paths in the folder, and whether all of the records could be read."""
    from cylfile.show.site.page_names import page_names
    from cylfile.show.site.rendering import templates
    from cylfile.show.site.site_pages import INDEX, CountyRow, LabelStyle, Site, county_page

    environment, labels = templates(), LabelStyle(options.label[0], options.label[1], options.code)
    names = page_names([folder.shown for folder in folders]) if len(folders) > 1 else {}
    files: dict[str, bytes] = {}
    rows, is_whole = [], True
    county = county_of(folders)
    for folder in folders:
        published = _published(folder, county, options, bool(names))
        is_whole = is_whole and not published.record.unread
        top = f"{names[folder.shown]}/" if names else ""
        with told(published.record.sources, "making the pages"):
            files.update((top + path, data) for path, data in Site(published, labels, environment).files())
        if names:
            rows.append(CountyRow(names[folder.shown], published))
    if names:
        files[INDEX] = county_page(rows, environment)
    return files, is_whole


def _published(folder: Folder, county: list[Other], options, above: bool):
    from cylfile.show.site.published import Published

    case = case_in(folder, options)
    with told(case.record.sources, f"judging {len(case.record.cylinders)} cylinders"):
        judgement = judge(case.record, case.rules, case.as_of, case.faults)
        judgement.case = case
        if any(finding.rule == SEAL_BROKEN for finding in judgement.of_record):
            from cylfile.files.git.sealed import name_what_broke

            name_what_broke(judgement.of_record, case.record, case.folder)
        neighbors = Neighbors(county, folder, case.record.cylinders.values(), case.as_of, options.rules)
        return Published(judgement, above, partial(neighbors.reasons, case.record))
