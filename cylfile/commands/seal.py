"""
`cylfile seal`: close a period of the record, or check whether closed ones still say what they said.
"""

import os
from datetime import date

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import day, read, read_each, tell_unread
from cylfile.files.git.sealed import name_what_broke
from cylfile.files.ledger_files import file_bytes, real_path, shown_path
from cylfile.files.stored_record import folder_to_write
from cylfile.files.tree import LEDGER_ENDING, is_within
from cylfile.files.writing import locked, write_file
from cylfile.findings.seal_findings import seal_findings
from cylfile.history.seals import Chain, check_seals, spell_out
from cylfile.judging.case import Case
from cylfile.record.blocks import Seal
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.show.forms import PAGE
from cylfile.show.pages.seal_page import SealChecks
from cylfile.show.told import hand_on_exactly, tell
from cylfile.text.phrases import counted
from cylfile.text.source import decode

_PURPOSE = "Close the period up to a day, so that whatever is changed in it afterwards shows; or check that."
_MORE = (
    "A seal covers all that is dated up to its day: what came after the seal before it, and that seal. After it, a line may be struck, and a line that was forgotten may "
    "be written with `late`. Exit status of --check: 0 every seal holds, 1 one is broken or not all of the record could be read; 2 the job could not be done."
)
# The file that the first seal of a record is written to.
_FILE = "seals.cyl"
# What nobody could put right once it is sealed.
_TO_MEND = ("unreadable-folder", "unreadable-line", "name-taken", "unknown-name")


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    if (options.through is not None) + options.check + (options.show_lines is not None) != 1:
        raise CannotDo("say what to do: `cylfile seal --through DAY --by PERSON`, or `cylfile seal --check`")
    if options.check:
        return _check(options)
    if options.form != PAGE or options.digest is not None:
        raise CannotDo("--as and --digest go with `cylfile seal --check`; leave them out, or check")
    if options.show_lines is not None:
        return _spell_out(options)
    if options.by is None:
        raise CannotDo("a seal is signed: say who seals with --by PERSON")
    return _seal(options)


def make_options() -> Options:
    options = Options("seal", _PURPOSE, _MORE)
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record")
    options.add_argument("--through", metavar="DAY", type=day, help="write a seal of all days up to this one")
    options.add_argument("--by", metavar="PERSON", help="who seals, or sealed: a person that the record declares")
    options.add_argument("--check", action="store_true", help="say of each seal whether it holds")
    meaning = "with --check, the digest as it was kept elsewhere: whether a seal that holds has it"
    options.add_argument("--digest", metavar="SHA256", help=meaning)
    meaning = "print the lines that the seal of this day is the SHA-256 of: what it adds, and the seal before it"
    options.add_argument("--show-lines", metavar="DAY", type=day, help=meaning)
    options.add_argument("--into", metavar="FILE", help="the file to write to: by default that of the last seal")
    options.add_argument("--as-of", metavar="DAY", type=day, help="the day it is today; in the department's zone")
    add_form_options(options)
    options.set_defaults(rules=[])
    return options


# Checking.


def _check(options) -> int:
    cases = list(read_each(options))
    each = [(case.folder, _checks_of(case, options)) for case in cases]
    total = [
        counted(sum(len(seals.checks) for _, seals in each), "seal"),
        f"{sum(not check.holds for _, seals in each for check in seals.checks):,} broken",
    ]
    show_each(each, options, total)
    has_it = options.digest is None or any(seals.has_it for _, seals in each)
    return int(tell_unread(cases, options) or any(seals.findings for _, seals in each) or not has_it)


def _checks_of(case: Case, options) -> SealChecks:
    record = case.record
    checks = check_seals(record, case.as_of)
    findings = list(seal_findings(checks, lambda rule: "danger"))
    name_what_broke(findings, record, case.folder)
    digest = options.digest and options.digest.strip().lower()
    return SealChecks(checks, findings, record, case.rules, case.as_of, digest)


def _spell_out(options) -> int:
    case = read(options)
    by = {seal.by for seal in case.record.seals if seal.day == options.show_lines}
    if options.by is not None:
        by &= {options.by}
    if not by:
        which = f"{options.show_lines}" + (f" by {options.by}" if options.by is not None else "")
        raise CannotDo(f"there is no seal of {which}; `cylfile seal --check` lists those there are")
    if len(by) > 1:
        raise CannotDo(
            f"{len(by)} people sealed {options.show_lines}; say with --by which of them: {', '.join(sorted(by))}"
        )
    text = spell_out(case.record, options.show_lines, by.pop(), case.as_of).text
    # The very bytes that the digest is of, whatever the terminal or the system would make of them.
    hand_on_exactly(text.encode("utf-8", "surrogatepass"))
    return 0


# Sealing.


def _seal(options) -> int:
    folder = folder_to_write(options.paths)
    with locked(folder):
        case = read(options)
        record = case.record
        _refuse_part(case, options.paths)
        spelled = _chain_before(case, options.through, options.by).spelled(options.through, options.by)
        line = f"{spelled.first} {spelled.digest}"
        path = os.path.realpath(options.into or _file_for(record, folder))
        if not path.endswith(LEDGER_ENDING) or "/." in path[len(folder) :] or not is_within(path, folder):
            raise CannotDo(f"`{shown_path(path)}` would not be part of the record; name a *.cyl file in its folder")
        before, after = _with_line(path, line)
        _prove(record, case.as_of, path, after, line)
        write_file(path, before, after)
    tell(
        f"sealed through {options.through} by {options.by}: {counted(spelled.entries, 'entry', 'entries')}, in {shown_path(path)}"
    )
    tell(f"SHA-256 {spelled.digest}")
    tell("Commit it, and keep the digest where nobody who writes the record can change it.")
    return 0


def _refuse_part(case: Case, paths: list[str]) -> None:
    """Raise CannotDo where somebody names a part of a record, which leads to all of it."""
    if case.asked is not None:
        raise CannotDo("a seal covers the whole of a record; name its folder in place of a file")
    if any(
        is_within(real_path(path), real_path(case.folder)) and real_path(path) != real_path(case.folder)
        for path in paths
    ):
        raise CannotDo(f"a seal covers the whole of a record; name its folder, `{case.folder}`, in place of one in it")


def _chain_before(case: Case, through: date, by: str) -> Chain:
    """The seals before, which are gone through once. Raises CannotDo where the period cannot be sealed."""
    record = case.record
    if by not in record.people:
        raise CannotDo(f'no block declares the person `{by}`; correct the name, or write: person {by} "..."')
    if through >= case.as_of:
        raise CannotDo(f"{through} is not over (today is {case.as_of}); seal through a day that is")
    to_mend = [fault for fault in record.faults if fault.rule in _TO_MEND]
    if to_mend:
        place = to_mend[0].span.place
        count = f"{len(to_mend)} things" if len(to_mend) > 1 else "one thing"
        raise CannotDo(f"{count} must be corrected before sealing, the first at {place}; `cylfile lint` shows them")
    chain = Chain(record, case.as_of)
    broken = [check.seal for check in chain.checks() if not check.holds]
    if broken:
        raise CannotDo(f"the seal of {broken[0].day} is broken; `cylfile seal --check` tells more. Correct that first")
    last = max((seal.day for seal in record.seals), default=None)
    if last is not None and through <= last:
        raise CannotDo(f"the record is sealed through {last} already; seal through a later day")
    return chain


def _file_for(record: Record, folder: str) -> str:
    last: Seal | None = max(record.seals, key=lambda seal: seal.day, default=None)
    if last is not None:
        return last.span.source.path
    beside = os.path.dirname(record.department.span.source.path) if record.department else folder
    return os.path.join(beside, _FILE)


def _with_line(path: str, line: str) -> tuple[bytes | None, bytes]:
    """The bytes of a file, and those that it has with a line added, in its own line ends."""
    try:
        before = file_bytes(path)
    except FileNotFoundError:
        return None, f"{line}\n".encode()
    end = b"\r\n" if b"\r\n" in before else b"\n"
    parting = end if before and not before.endswith(b"\n") else b""
    return before, before + parting + line.encode("ascii") + end


def _prove(record: Record, as_of: date, path: str, after: bytes, line: str) -> None:
    """Read the record as it is going to be, and see that the seal holds in it."""
    shown = shown_path(path)
    source, _ = decode(shown, after)
    others = [other for other in record.sources if other.path != shown]
    checks = check_seals(read_record([*others, source]), as_of)
    if not checks[-1].holds or not line.endswith(checks[-1].digest):
        raise CannotDo(f"the seal would not hold in {shown}; nothing was written. Please report it")
