"""
`cylfile enter`: write one entry, given in the ledger's own words, where it belongs.

It is judged before it is written, as part of the whole record: what is wrong only with it there
is what it brings. Nobody else writes to the record in between.
"""

import argparse
import gc
import os
import shlex
import sys
import time
from datetime import date, datetime

from cylfile.cannot import CannotDo
from cylfile.command_line.defaults import in_full, read_defaults
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_judging_options, refuse_broken_header
from cylfile.files.ledger_files import shown_path
from cylfile.files.locking import Busy
from cylfile.files.neighbors import Neighbors, county_of
from cylfile.files.rules_and_day import case_of, zone_of
from cylfile.files.stored_record import StoredRecord, folder_to_write, read_stored
from cylfile.files.writing import TRIED_AGAIN, ChangedMeanwhile, locked, write_file
from cylfile.findings.finding import Finding
from cylfile.history.order import told
from cylfile.history.standing import standing, stands
from cylfile.judging.case import Case
from cylfile.judging.new_entry import NewEntry, refusing, signed_for
from cylfile.judging.report import Report
from cylfile.record.called import cylinder_called, with_names_as_declared
from cylfile.record.entries import Entry, plain_form
from cylfile.record.file_reader import FileReader
from cylfile.record.one_sentence import read_entry, unknown_names
from cylfile.record.record import Record
from cylfile.rewriting.insertion import NoPlace, Placement, place
from cylfile.rewriting.same_facts import difference, said_in
from cylfile.show.told import tell, tell_beside
from cylfile.show.visible import visible
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Fault, Source

_PURPOSE = (
    "Write one entry into the record, given as a sentence in the ledger's own words: the day, what was done, which "
    "cylinder or source, and the rest. It goes to the sheet of its day where the record keeps sheets for such "
    "entries, else to the card, and nothing else in the file is touched. The record is judged with it first; at "
    "danger it is refused."
)
_MORE = """\
examples:
  cylfile enter "today now filled T-114 from 900 psi to 4500 psi at 85 F by ayla on C1"
  cylfile enter "now gauged T-114 4400 psi at 68 F"
  cylfile enter "2026-03-14 hydro T-114 pass by A123 at 7500 psi total 92.1 cc permanent 1.8 cc"
  cylfile enter 'today out of service T-9 "valve leaks" by ayla'
  cylfile enter                     asks for one thing after the other
  cylfile enter --sheet             at the fill station: a cylinder, then its reading, and so on

`today` stands for the day and `now` for the time, in the zone of the department. Who writes and where need not be
said each time: CYLFILE_PERSON and CYLFILE_SITE, or by = "ayla" and at = "quay" in ~/.config/cylfile/defaults.toml, fill in
`by` and `at` where the entry takes them and says nothing else.

Exit status: 0 written, 1 refused at danger, 2 the sentence could not be understood or the job not be done.
"""
_REMARKED = "remarked"
# What follows where an entry is refused.
_CURE = '. To write it anyway, somebody has to answer for it: --override "why" --by PERSON'
_NO_CURE = ", and no signature can change that: do what is advised."


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    if options.sheet:
        return _fill_sheet(options)
    _look_at(options)
    folder = folder_to_write(options.paths)
    if options.sentence is None:
        from cylfile.command_line.questions import ask_for_entry

        options.sentence = ask_for_entry(read_stored(options.paths).record, read_defaults())
    # See `reading.read`.
    gc.disable()
    # All is read and judged before the lock is had, so that others wait the less, and looked at
    # once more under it.
    entering = _Entering(options)
    try:
        with locked(folder):
            entering, until = entering.renewed(), time.monotonic() + TRIED_AGAIN
            while True:
                try:
                    return entering.end()
                except ChangedMeanwhile:
                    # Somebody saved a file with an editor, which knows of no lock.
                    if time.monotonic() > until:
                        raise
                    entering = entering.renewed()
    except (Busy, ChangedMeanwhile) as trouble:
        raise CannotDo(f"{trouble}; to write it later: cylfile enter {shlex.quote(entering.sentence)}") from None


def _fill_sheet(options: argparse.Namespace) -> int:
    """Ask for one fill after the other."""
    from cylfile.command_line.sheet_questions import fill_sheet
    from cylfile.files.fill_session import FillSession

    if options.override is not None:
        raise CannotDo("a fill sheet asks who answers for a fill that is refused; leave --override out")
    gc.disable()
    session = FillSession(
        [*filter(None, [options.sentence]), *options.paths], options.as_of, options.rules, options.into
    )
    # What has been read stays as long as the session lasts, so that no row need wait while it is looked through for garbage.
    gc.freeze()
    gc.enable()
    return fill_sheet(session, read_defaults(), options.by, options.color)


def make_options() -> Options:
    options = Options("enter", _PURPOSE, _MORE)
    options.add_argument("sentence", nargs="?", metavar="SENTENCE", help="the entry, in quotation marks")
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record")
    options.add_argument(
        "--sheet",
        action="store_true",
        help="fill after fill: a cylinder a line, by name or tag, its verdict at once, and the reading closes the row",
    )
    options.add_argument("--into", metavar="FILE", help="put it on a sheet in this file, which may be new")
    options.add_argument(
        "--override", metavar="WHY", help="write it although it is refused, with this reason as a remark"
    )
    options.add_argument("--by", metavar="PERSON", help="who answers for that; with --sheet, who fills")
    add_judging_options(options)
    add_form_options(options)
    return options


def _look_at(options: argparse.Namespace) -> None:
    """Raise CannotDo where the options do not go together."""
    sentence = options.sentence
    if (options.override is None) != (options.by is None):
        raise CannotDo('to override a refusal takes a reason and a name: give both, --override "why" --by PERSON')
    if options.override is not None and not options.override.strip():
        raise CannotDo("an override without a reason is none; say why it is written all the same")
    if sentence is None and not sys.stdin.isatty():
        raise CannotDo(
            'questions are asked on a terminal only; give a sentence: cylfile enter "today filled T-1 to 300 bar"'
        )
    if sentence is not None and " " not in sentence.strip():
        raise CannotDo(
            f'the sentence `{sentence}` is one word; put all of it in quotation marks: cylfile enter "today ..."'
        )
    if sentence is not None and ("\n" in sentence or "\r" in sentence):
        raise CannotDo("a sentence is one line; give one entry at a time")


def _stored(options: argparse.Namespace, earlier: StoredRecord | None = None) -> StoredRecord:
    """Read the record. Raises CannotDo where the file that somebody names is there and no part of it."""
    stored = read_stored(options.paths, earlier)
    into = None if options.into is None else shown_path(options.into)
    if into is not None and into not in stored.files and os.path.exists(into):
        # Somebody else may have begun it since.
        stored = read_stored(options.paths, stored)
        if into not in stored.files:
            raise CannotDo(f"`{into}` is not a file of this record; name the record's folder, or another file")
    return stored


class _Entering:
    """
    One attempt: the record as it is, the entry in its place, and what the rules say of that.

    With an `earlier` attempt, the moment that its sentence meant is kept, and its rules where the
    department has not changed.
    """

    def __init__(
        self, options: argparse.Namespace, stored: StoredRecord | None = None, earlier: "_Entering | None" = None
    ):
        self.options = options
        self.stored = stored or _stored(options)
        record = self.stored.record
        self.now: datetime = earlier.now if earlier else datetime.now(zone_of(record)[0])
        as_of: date = options.as_of or self.now.date()
        self.sentence = in_full(options.sentence, datetime.combine(as_of, self.now.time()))
        if earlier and _department_of(earlier.case.record) == _department_of(record):
            record.clock = earlier.case.record.clock
            self.case: Case = earlier.case._replace(record=record)
        else:
            self.case = case_of(self.stored.folder, record, argparse.Namespace(as_of=as_of, rules=options.rules))
        self._put()

    def renewed(self) -> "_Entering":
        """This attempt where no file has changed since, else a new one."""
        stored = _stored(self.options, self.stored)
        return self if stored is self.stored else _Entering(self.options, stored, self)

    def _put(self) -> None:
        """Put the entry in its place and judge it there; where it is refused and overridden, with the reason on it."""
        entry, self.by_default = self._entry()
        self._judge(entry)
        if self.barring and self.options.override is not None and not self._is_beyond_signing:
            self._judge(self._signed(entry))
            self.barring: list[Finding] = []

    @property
    def _is_beyond_signing(self) -> bool:
        """Whether it would break what is no one cylinder's, such as a seal."""
        return any(finding.subject not in self.stored.record.declared for finding in self.barring)

    def _judge(self, entry: Entry) -> None:
        self.placement, self.new = self._told(entry)
        self.barring = refusing(entry, self.new.findings) or self._against_fill()

    def _told(self, entry: Entry) -> tuple[Placement, NewEntry]:
        """
        Where the entry goes, and the record with it there. It comes after all that is written for its day.

        Where its sheet does not tell that, its card may. Raises CannotDo where neither does.
        """
        placement = self._place(entry, on_card=False)
        new = self._new(placement)
        untold = self._untold(new)
        on_card = placement if self.options.into is not None or untold is None else self._place(entry, on_card=True)
        if (on_card.path, on_card.text) != (placement.path, placement.text):
            placement, new = on_card, self._new(on_card)
            untold = self._untold(new)
        if untold is None:
            return placement, new
        place = f"{untold.source.path}:{untold.span.line}"
        raise CannotDo(
            f"nothing tells whether this came before or after `{plain_form(untold)}` ({place}). Say the time after the day, "
            f"such as {entry.day} 09:42, or `now`. Nothing was written."
        )

    def _untold(self, new: NewEntry) -> Entry | None:
        """An entry of the same cylinder or source, of whose order with the new one nothing tells; a remark needs none."""
        entry, as_of = new.entry, self.case.as_of
        if entry.verb == _REMARKED or not stands(entry, as_of):
            return None
        entries = standing(new.record.entries[entry.subject], as_of)
        others = (each for each in entries if each is not entry and each.verb != _REMARKED)
        return next((each for each in others if told(each, entry) is None), None)

    def _signed(self, entry: Entry) -> Entry:
        """The entry with why it is written although it is refused, and who answers for that, as a remark."""
        options = self.options
        if options.by not in self.stored.record.people:
            raise CannotDo(f"no block declares the person `{options.by}`, who is to answer for it; correct the name")
        signed = signed_for(entry, options.by, options.override)
        _, faults = read_entry(Source("", plain_form(signed)))
        if faults:
            raise CannotDo(f"--override: {faults[0].text}. {_full_stop(faults[0].cure)} Nothing was written.")
        return signed

    def _against_fill(self) -> list[Finding]:
        fill = self.new.entry
        if fill.verb != "filled":
            return []
        record, refused = self.stored.record, self.new.refusing_fill()
        card = record.cylinders.get(fill.subject)
        if card is not None and card.serial:
            folder = self.stored.folder
            neighbors = Neighbors(county_of([folder]), folder, [card], self.case.as_of, self.options.rules)
            refused += [there.finding(card, self.case.rules) for there in neighbors.against(record, card)]
        return refused

    def end(self) -> int:
        """Write the entry, or say why it is refused; the exit status."""
        if self.barring:
            self._print_findings(self.barring)
            tell(f"Nothing was written{_NO_CURE if self._is_beyond_signing else _CURE}")
            return 1
        self._write(self.placement.path, self.placement.text)
        self._tell()
        return 0

    # The entry.

    def _entry(self) -> tuple[Entry, list[str]]:
        """The entry that the sentence says, with defaults; raises CannotDo where it says none that can be placed."""
        entry, faults = read_entry(Source("", self.sentence))
        if entry is None:
            raise CannotDo(self._fault_line(faults[0]))
        record = self.stored.record
        card = cylinder_called(record, entry.subject, entry.day)
        if card is not None and entry.subject not in record.declared:
            entry = entry._replace(subject=card.name)
        entry = with_names_as_declared(record, entry)
        entry, by_default = read_defaults().apply(entry)
        faults = unknown_names(Source("", plain_form(entry)), self.stored.read_before.values())
        if faults:
            refuse_broken_header(record, entry.subject)
            raise CannotDo(f"{faults[0].text}. {_full_stop(faults[0].cure)} Nothing was written.")
        return entry, by_default

    def _fault_line(self, fault: Fault) -> str:
        """What is wrong with the sentence, in one line; on a terminal a picture of the place stands before it."""
        column = fault.span.column
        if sys.stderr.isatty():
            mark = "^" * max(1, min(fault.span.end, len(self.sentence)) - fault.span.start)
            tell_beside(f"  {self.sentence}")
            tell_beside(f"  {' ' * len(visible(self.sentence[: column - 1]))}{mark}")
        words = LEDGER.words(self.sentence)
        if not words or words[0].type not in ("DAY", "MONTH"):
            return "a sentence begins with the day: `today`, `now` or, say, 2026-03-14. Nothing was written."
        return f"character {column} of the sentence: {fault.text}. {_full_stop(fault.cure)} Nothing was written."

    def _place(self, entry: Entry, on_card: bool) -> Placement:
        into = None
        if self.options.into is not None:
            into = shown_path(self.options.into)
            self._look_at_sheet(into)
        try:
            return place(self.stored.record, entry, into, on_card)
        except NoPlace as reason:
            raise CannotDo(f"{reason}. Nothing was written.") from None

    def _look_at_sheet(self, path: str) -> None:
        """Raise CannotDo where a file would be no part of the record."""
        if path in self.stored.files:
            return
        inside = os.path.relpath(os.path.realpath(path), self.stored.folder.path)
        if inside.startswith("..") or os.path.isabs(inside) or not path.endswith(".cyl") or "/." in f"/{inside}":
            raise CannotDo(f"`{path}` would not be a file of this record; name a *.cyl file in its folder")

    # Judging.

    def _new(self, placement: Placement) -> NewEntry:
        path = placement.path
        file = self.stored.files.get(path)
        if file is not None and not file.is_whole:
            raise CannotDo(f"`{path}` is not UTF-8 text, so nothing can be written in it; save it as UTF-8 first")
        files, now = self.stored.read_before, Source(path, placement.text)
        was = files[file.source] if file else FileReader(Source(path, "")).read()
        record = self.stored.with_text(now)
        wrong = difference(said_in(was), said_in(files[now]), [plain_form(placement.entry)])
        if wrong:
            raise CannotDo(f"this line would change something else in the record too ({wrong}); nothing was written")
        own = record.entries[placement.entry.subject]
        (entry,) = (each for each in own if each.source is now and each.span.line == placement.line)
        return NewEntry(self.case, record, entry)

    # Writing and telling.

    def _write(self, path: str, text: str) -> None:
        file = self.stored.files.get(path)
        if file is None:
            write_file(path, None, text.encode("utf-8"))
        else:
            write_file(file.path, file.data, file.encoded(text))

    def _tell(self) -> None:
        placement = self.placement
        tell(f"{placement.path}:{placement.line}  {plain_form(placement.entry)}")
        if placement.opens_sheet:
            tell("  on a new sheet")
        if placement.from_sheet:
            tell(f"  from the head of the sheet: {', '.join(placement.from_sheet)}")
        if self.by_default:
            tell(f"  by your defaults: {', '.join(self.by_default)}")
        if self.new.findings:
            tell()
            self._print_findings(self.new.findings)

    def _print_findings(self, findings: list[Finding]) -> None:
        report = Report(self.new.record, self.case.rules, self.case.as_of, findings, {}, 0, 0)
        show(report, self.options)


def _department_of(record: Record) -> Source | None:
    return record.department.span.source if record.department else None


def _full_stop(text: str) -> str:
    return text if text.endswith((".", "?")) else f"{text}."
