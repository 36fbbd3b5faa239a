"""
`cylfile enter`: write one entry, given in the ledger's own words, where it belongs.

It is judged before it is written, as part of the whole record: what is wrong only with it there
is what it brings. Nobody else writes to the record in between.
"""

import argparse
import os
import shlex
import sys
import time
from collections import Counter
from datetime import date, datetime
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.command_line.defaults import in_full, read_defaults
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_judging_options
from cylfile.files.ledger_files import shown_path
from cylfile.files.rules_and_day import case_of, zone_of
from cylfile.files.stored_record import Papers, folder_to_write, read_papers
from cylfile.files.writing import Busy, ChangedMeanwhile, locked, write_file
from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import Finding
from cylfile.judging.case import Case
from cylfile.judging.fill_verdict import over_strictly
from cylfile.judging.report import Report
from cylfile.judging.whole_record import judge_record
from cylfile.record.called import cylinder_called
from cylfile.record.entries import Entry, plain_form, write_text
from cylfile.record.one_sentence import read_entry, unknown_names
from cylfile.record.reader import FileReader
from cylfile.record.record import Record
from cylfile.rewriting.arrangement import FURTHER_IN, set_text
from cylfile.rewriting.extents import newline_of, physical_lines
from cylfile.rewriting.insertion import NoPlace, Placement, place
from cylfile.rewriting.same_facts import difference
from cylfile.show.visible import visible
from cylfile.text.ledger import LEDGER, TOP
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

`today` stands for the day and `now` for the time, in the zone of the department. Who writes and where need not be
said each time: CYLFILE_PERSON and CYLFILE_SITE, or by = "ayla" and at = "quay" in ~/.config/cylfile/defaults.toml, fill in
`by` and `at` where the entry takes them and says nothing else.

exit status: 0 written, 1 refused at danger, 2 the sentence or the job could not be understood or done
"""
# How many seconds it is tried again while an editor saves the file all the time.
_LONGEST = 20.0


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    _look_at(options)
    folder = folder_to_write(options.paths)
    if options.sentence is None:
        from cylfile.command_line.questions import ask_for_entry

        options.sentence = ask_for_entry(read_papers(options.paths).record, read_defaults())
    # All is read and judged before the lock is had, so that others wait the less, and looked at
    # once more under it.
    entering = _Entering(options)
    try:
        with locked(folder):
            entering, until = entering.renewed(), time.monotonic() + _LONGEST
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


def make_options() -> Options:
    options = Options("enter", _PURPOSE, _MORE)
    options.add_argument("sentence", nargs="?", metavar="SENTENCE", help="the entry, in quotation marks")
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record")
    options.add_argument("--into", metavar="FILE", help="put it on a sheet in this file, which may be new")
    options.add_argument("--override", metavar="WHY", help="write it although it is refused; a waiver is written too")
    options.add_argument("--by", metavar="PERSON", help="who signs that waiver")
    add_judging_options(options)
    add_form_options(options)
    return options


def _look_at(options: argparse.Namespace) -> None:
    """Raise CannotDo where the options do not go together."""
    sentence = options.sentence
    if (options.override is None) != (options.by is None):
        raise CannotDo('a waiver has a reason and a signature: give both, --override "why" --by PERSON')
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


class _Judged(NamedTuple):
    """The record with the entry in it: the texts that change, what it would be, and what is wrong only with it."""

    texts: dict[str, str]
    record: Record
    findings: list[Finding]
    # What stood before and a waiver written with the entry covers too.
    covered: list[Finding]


class _Entering:
    """
    One attempt: the record as it is, the entry in its place, and what the rules say of that.

    With an `earlier` attempt, the moment that its sentence meant is kept, and its rules where the
    department has not changed.
    """

    def __init__(self, options: argparse.Namespace, papers: Papers | None = None, earlier: "_Entering | None" = None):
        self.options = options
        self.papers = papers or read_papers(options.paths)
        record = self.papers.record
        self.now: datetime = earlier.now if earlier else datetime.now(zone_of(record)[0])
        as_of: date = options.as_of or self.now.date()
        self.sentence = in_full(options.sentence, datetime.combine(as_of, self.now.time()))
        if earlier and _department_of(earlier.case.record) == _department_of(record):
            self.case: Case = earlier.case._replace(record=record)
        else:
            self.case = case_of(self.papers.folder, record, argparse.Namespace(as_of=as_of, rules=options.rules))
        findings = judge_record(self.case, with_heads=False).findings
        self.before = Counter(finding.fingerprint for finding in findings)
        self.standing = {finding.fingerprint for finding in findings if finding.stands}
        self._put()

    def renewed(self) -> "_Entering":
        """This attempt where no file has changed since, else a new one."""
        papers = read_papers(self.options.paths, self.papers)
        return self if papers is self.papers else _Entering(self.options, papers, self)

    def _put(self) -> None:
        """Put the entry in its place, with the waivers it needs where they are given, and judge it there."""
        entry, self.by_default = self._entry()
        self.waivers: list[str] = []
        self.placement = self._place(entry)
        path, plain = self.placement.path, plain_form(self.placement.entry)
        self.judged = self._judged({path: self.placement.text}, [plain])
        self.barring = _barring(entry, self.judged) or self._over_strictly(entry)
        if self.barring and self.options.override is not None:
            self.waivers = self._waivers(self.barring)
            self.judged = self._judged({path: _with_lines(self.placement.text, self.waivers)}, [plain, *self.waivers])
            self.barring = _barring(entry, self.judged)

    def _over_strictly(self, entry: Entry) -> list[Finding]:
        """What is allowed to readings of the past, for what a gauge may be off, is not to a fill that is entered now."""
        card = self.papers.record.cylinders.get(entry.subject)
        if entry.verb != "filled" or card is None:
            return []
        plain = plain_form(self.placement.entry)
        written = [each for each in self.judged.record.entries.get(entry.subject, ()) if plain_form(each) == plain]
        return over_strictly(self.papers.record, self.case.rules, card, written[-1]) if written else []

    def end(self) -> int:
        """Write the entry, or say why it is refused; the exit status."""
        if self.barring:
            self._print_findings(self.barring)
            print(self._refusal())
            return 1
        for path, text in self.judged.texts.items():
            self._write(path, text)
        self._tell()
        return 0

    # The entry.

    def _entry(self) -> tuple[Entry, list[str]]:
        """The entry that the sentence says, with defaults; raises CannotDo where it says none that can be placed."""
        entry, faults = read_entry(Source("", self.sentence))
        if entry is None:
            raise CannotDo(self._fault_line(faults[0]))
        card = cylinder_called(self.papers.record, entry.subject, entry.day)
        if card is not None and entry.subject not in self.papers.record.declared:
            entry = entry._replace(subject=card.name)
        entry, by_default = read_defaults().apply(entry)
        faults = unknown_names(Source("", plain_form(entry)), self.papers.read_before.values())
        if faults:
            raise CannotDo(f"{faults[0].text}. {_full_stop(faults[0].cure)} Nothing was written.")
        return entry, by_default

    def _fault_line(self, fault: Fault) -> str:
        """What is wrong with the sentence, in one line; on a terminal a picture of the place stands before it."""
        column = fault.span.column
        if sys.stderr.isatty():
            mark = "^" * max(1, min(fault.span.end, len(self.sentence)) - fault.span.start)
            print(
                f"  {visible(self.sentence)}\n  {' ' * len(visible(self.sentence[: column - 1]))}{mark}",
                file=sys.stderr,
            )
        words = LEDGER.words(self.sentence)
        if not words or words[0].type not in ("DAY", "MONTH"):
            return "a sentence begins with the day: `today`, `now` or, say, 2026-03-14. Nothing was written."
        return f"character {column} of the sentence: {fault.text}. {_full_stop(fault.cure)} Nothing was written."

    def _place(self, entry) -> Placement:
        into = None
        if self.options.into is not None:
            into = shown_path(self.options.into)
            self._look_at_sheet(into)
        try:
            return place(self.papers.record, entry, into)
        except NoPlace as reason:
            raise CannotDo(f"{reason}. Nothing was written.") from None

    def _look_at_sheet(self, path: str) -> None:
        """Raise CannotDo where a file would be no part of the record."""
        if path in self.papers.by_path:
            return
        if os.path.exists(path):
            raise CannotDo(f"`{path}` is not a file of this record; name the record's folder, or another file")
        inside = os.path.relpath(os.path.realpath(path), self.papers.folder.path)
        if inside.startswith("..") or os.path.isabs(inside) or not path.endswith(".cyl") or "/." in f"/{inside}":
            raise CannotDo(f"`{path}` would not be a file of this record; name a *.cyl file in its folder")

    # Judging.

    def _judged(self, texts: dict[str, str], added: list[str]) -> _Judged:
        for path in texts:
            paper = self.papers.by_path.get(path)
            if paper is not None and not paper.is_whole:
                raise CannotDo(f"`{path}` is not UTF-8 text, so nothing can be written in it; save it as UTF-8 first")
        record = self.papers.with_texts(texts)
        wrong = difference(self.papers.record, record, added)
        if wrong:
            raise CannotDo(f"this line would change something else in the record too ({wrong}); nothing was written")
        findings = judge_record(self.case._replace(record=record), with_heads=False).findings
        before, new, covered = Counter(self.before), [], []
        for finding in findings:
            if not before[finding.fingerprint]:
                new.append(finding)
                continue
            before[finding.fingerprint] -= 1
            if finding.waived is not None and finding.fingerprint in self.standing:
                covered.append(finding)
        return _Judged(texts, record, new, covered)

    def _waivers(self, dangers: list[Finding]) -> list[str]:
        """The waivers that the findings need, as lines of the ledger."""
        options, record = self.options, self.papers.record
        if options.by not in record.people:
            raise CannotDo(f"no block declares the person `{options.by}`, who is to sign; correct the name")
        lines = []
        for finding in dangers:
            if finding.subject not in record.declared:
                raise CannotDo(f"{finding.rule} cannot be waived, for it is about no one cylinder: {finding.text}")
            until = finding.day or self.case.as_of
            line = f"waived {finding.rule} for {finding.subject} until {until} by {options.by} {write_text(options.override)}"
            faults = FileReader(Source("", line)).read().record.faults
            if faults:
                raise CannotDo(f"--override: {faults[0].text}. {_full_stop(faults[0].cure)} Nothing was written.")
            lines.append(line)
        return list(dict.fromkeys(lines))

    # Writing and telling.

    def _write(self, path: str, text: str) -> None:
        paper = self.papers.by_path.get(path)
        if paper is None:
            write_file(path, None, text.encode("utf-8"))
        else:
            write_file(paper.path, paper.data, paper.encoded(text))

    def _refusal(self) -> str:
        if self.options.override is not None:
            return "Nothing was written: the waivers would not cover this."
        if any(finding.subject not in self.papers.record.declared for finding in self.barring):
            return "Nothing was written, and no signature can change that: do what is advised."
        return 'Nothing was written. To write it anyway, somebody has to sign for it: --override "why" --by PERSON'

    def _tell(self) -> None:
        placement = self.placement
        print(visible(f"{placement.path}:{placement.line}  {plain_form(placement.entry)}"))
        if placement.opens_sheet:
            print("  on a new sheet")
        if placement.from_sheet:
            print(visible(f"  from the head of the sheet: {', '.join(placement.from_sheet)}"))
        if self.by_default:
            print(visible(f"  by your defaults: {', '.join(self.by_default)}"))
        for line in self.waivers:
            print(visible(f"  {line}"))
        for finding in self.judged.covered:
            print(visible(f"  this waiver also covers: {finding.subject}: {finding.text}"))
        if self.judged.findings:
            print()
            self._print_findings(self.judged.findings)

    def _print_findings(self, findings: list[Finding]) -> None:
        report = Report(self.judged.record, self.case.rules, self.case.as_of, findings, {}, 0, 0)
        show(report, self.options)


def _department_of(record: Record) -> Source | None:
    return record.department.span.source if record.department else None


def _full_stop(text: str) -> str:
    return text if text.endswith((".", "?")) else f"{text}."


def _barring(entry, judged: _Judged) -> list[Finding]:
    """The findings for which an entry is refused: one of bad news only where it cannot be at all."""
    return [
        finding
        for finding in judged.findings
        if finding.level == "danger" and finding.stands and (finding.rule in CORE_RULES or not entry.is_bad_news)
    ]


def _with_lines(text: str, lines: list[str]) -> str:
    """A text with sentences in column 1 after it."""
    newline = newline_of(physical_lines(Source("", text)))
    if not text.endswith("\n"):
        text += newline
    for line in lines:
        text += newline + newline.join(set_text(line, TOP, "", FURTHER_IN)) + newline
    return text
