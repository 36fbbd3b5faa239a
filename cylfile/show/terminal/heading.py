"""
How the pages of a record begin and end, and what its places are called.
"""

import hashlib
import posixpath
from datetime import date

from cylfile import __version__
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.show.terminal.layout import Layout
from cylfile.text.phrases import counted

CAUTION_LINE = "Checks the record, not the cylinder. The marking, its permit, local code and a qualified person decide."
NO_SITE = "No site"
_INDENT = 4
# How much of a digest a page shows; machine forms have all of it.
_SHORT = 16


def put_heading(layout: Layout, record: Record, rules: Ruleset, facts: list[str], in_short: bool = False) -> None:
    """
    The name of the department, facts, where the record is, and the rules, as many side by side as there is room
    for; then what the rules leave out or make laxer, with `in_short` only in how many ways, and what could not be
    read.
    """
    title = record.department.title if record.department else "A record without a department"
    where = f"record: {folder_of(record) or '.'}"
    packs = f"rules: {', '.join(rules.names) or 'none'}"
    layout.put_facts([(title, "strong"), *((fact, "") for fact in (*facts, where, packs))])
    if rules.laxer and in_short:
        layout.put(
            f"rules made laxer in {counted(len(rules.laxer), 'way')}: see cylfile lint", _INDENT, first=[("  ", "")]
        )
    for easing in rules.laxer if not in_short else ():
        layout.put(f"made laxer by {easing.pack}: {easing}", _INDENT, first=[("  ", "")])
    put_unread(layout, record)


def put_foot(layout: Layout, record: Record, rules: Ruleset) -> None:
    """The caution, and what a paper of the record must carry: see `origin_facts`."""
    layout.put(CAUTION_LINE)
    put_origin(layout, record, rules)


def put_origin(layout: Layout, record: Record, rules: Ruleset) -> None:
    layout.put_facts([(fact, "faint") for fact in origin_facts(record, rules)])


def origin_line(record: Record, rules: Ruleset, as_of: date) -> str:
    """In one line what rows and events of a record are of, with the whole digest of its rules."""
    return "; ".join([f"as of {as_of}", *origin_facts(record, rules, short=False)])


def origin_facts(record: Record, rules: Ruleset, short: bool = True) -> list[str]:
    """The version of the program, the commit, the digest of the rules, and when the page was made where it says so."""
    origin = record.origin()
    commit = f"commit {origin.commit}" if origin.commit else "in no commit"
    facts = [f"cylfile {__version__}", commit, *(["with uncommitted changes"] if origin.uncommitted else [])]
    facts.append(f"rules SHA-256 {digest_of(rules)[: _SHORT if short else None]}")
    return [*facts, *([f"made {origin.stamp}"] if origin.stamp else [])]


def digest_of(rules: Ruleset) -> str:
    """One SHA-256 of all packs: of lines `NAME DIGEST`, sorted, each with a line feed at its end."""
    lines = "".join(sorted(f"{name} {digest}\n" for name, digest in rules.digests.items()))
    return hashlib.sha256(lines.encode()).hexdigest()


def put_unread(layout: Layout, record: Record) -> None:
    """What of the record could not be read; nothing where all of it could."""
    faults = record.unread
    if faults:
        folder = folder_of(record)
        named = ", ".join(place_in(folder, fault.span) for fault in faults[:3]) + (", ..." if len(faults) > 3 else "")
        layout.put(
            f"could not be read: {counted(len(faults), 'place')}, {named}", _INDENT, "danger", first=[("  ", "")]
        )


def folder_of(record: Record) -> str:
    """The folder that holds all files of a record, empty where that is the current one; of a single file its folder."""
    folders = [posixpath.dirname(source.path) for source in record.sources]
    try:
        return posixpath.commonpath(folders) if folders else ""
    except ValueError:
        # Absolute and relative paths beside each other.
        return ""


def place_in(folder: str, span) -> str:
    """The file, without the folder of the record, and the line."""
    return path_in(folder, span.place)


def path_in(folder: str, path: str) -> str:
    return path.removeprefix(f"{folder}/") if folder else path


def whom_to_call(record: Record, site: str | None) -> str:
    """Whom to call at a site, empty where nobody is written."""
    known = record.sites.get(site or "")
    return f"call {known.contact}" if known and known.contact else ""


def title_of(record: Record, site: str | None) -> str:
    """What a site is called, or the tester where a cylinder is."""
    if site is None:
        return NO_SITE
    if site in record.testers and site not in record.sites:
        return f"At the tester, {record.testers[site].title or site}"
    known = record.sites.get(site)
    return known.title if known and known.title else site
