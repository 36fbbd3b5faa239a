"""
Lint of several records: each judged by its own rules, side by side where that is asked for, and what they share.
"""

import gc
import os
import sys
from argparse import Namespace
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from contextlib import chdir, redirect_stderr
from datetime import date
from io import StringIO
from threading import Lock
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.command_line.reading import case_in
from cylfile.files.neighbors import bar_there, bars_there
from cylfile.files.records import Folder
from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import LEVELS, Finding, of_fault
from cylfile.history.barring import Bar
from cylfile.history.fold import life_of
from cylfile.history.lending import Neighbor, barred_elsewhere, is_with, neighbor
from cylfile.history.service_state import IN_SERVICE, state_of
from cylfile.judging.processes import in_processes, processes_for, shares_of
from cylfile.judging.report import Report
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry
from cylfile.record.record import Record
from cylfile.show.terminal.layout import Layout
from cylfile.text.source import Fault, Source, Span

_OVER = ("condemned", "retired")
_NOT_READ = "unreadable-folder"


class _Outcome(NamedTuple):
    """What is kept of one record: it goes from one process to another, so it is words and numbers."""

    output: list
    counts: Counter
    stands: bool
    # Serial number -> the name of the cylinder that has it.
    serials: dict[str, str]
    known_rules: set[str]
    as_of: date


def lint_county(folders: list[Folder], options, report_of: Callable[[Folder, object, int], Report]) -> int:
    """Print what is wrong in each record, and then in all of them; the exit status."""
    from cylfile.show.forms import forms_of
    from cylfile.show.several_records import joined_pages, joined_texts
    from cylfile.show.terminal.screen import in_color, layout_for, write, write_exactly

    form = forms_of(options.command)[options.form]
    make, layout = form.make(), layout_for(sys.stdout)
    tasks = [_Task(folder, options, report_of, layout_for(sys.stdout)) for folder in folders]
    done: list[_Outcome] = []
    shared: list[Finding] = []
    total: list[str] = []

    def outputs() -> Iterator[tuple[str, list]]:
        for folder, outcome in zip(folders, _in_turn(tasks, options)):
            yield folder.shown, outcome.output
            done.append(outcome._replace(output=[]))
        shared.extend(_shared(folders, done, options))
        total.extend(_total(done, shared))
        if shared and not form.is_page:
            yield ".", list(make(_report_of(shared, done[0].as_of)))

    if form.is_page:
        pages = (output for _, output in outputs())
        write(joined_pages(pages, len(folders), total, layout), sys.stdout, in_color(sys.stdout, options.color))
        if shared:
            from cylfile.show.pages.lint_page import findings_alone

            page = findings_alone(_report_of(shared, done[0].as_of), layout_for(sys.stdout))
            write(page, sys.stdout, in_color(sys.stdout, options.color))
    else:
        write_exactly(joined_texts(options.form, outputs()), sys.stdout)
    known = set(CORE_RULES).union(*(outcome.known_rules for outcome in done))
    for rule in (*options.only, *options.without):
        if rule not in known:
            raise CannotDo(f"no rules here have a `{rule}`; `cylfile rules list` names them")
    return int(any(outcome.stands for outcome in done) or _report_of(shared, done[0].as_of).stands_at(options.least))


class _Task(NamedTuple):
    """The judging of one record. What comes of it depends on the texts of the record's files and nothing else."""

    folder: Folder
    options: Namespace
    report_of: Callable[[Folder, object, int], Report]
    layout: Layout

    def outcome(self) -> _Outcome:
        # Garbage is looked for once a record, when the one before is gone: while one is read there is none, and looking takes longer
        # the more has been read before.
        gc.collect()
        gc.disable()
        try:
            return self.outcome_of(self.report_of(self.folder, self.options, 1))
        finally:
            gc.enable()

    def outcome_of(self, report: Report) -> _Outcome:
        from cylfile.show.forms import forms_of

        options = self.options
        form = forms_of(options.command)[options.form]
        make = form.make()
        output = list(make(report, self.layout) if form.is_page else make(report))
        counts = Counter({level: report.count(level) for level in LEVELS})
        counts += Counter(cylinders=report.cylinders, entries=report.entries, waived=report.waived)
        serials = {card.serial.casefold(): name for name, card in report.record.cylinders.items() if card.serial}
        asked = {*options.only, *options.without}
        return _Outcome(
            output, counts, report.stands_at(options.least), serials, asked & report.rules.rules.keys(), report.as_of
        )

    def not_judged(self, failure: Exception) -> _Outcome:
        """The outcome where nobody could judge the record: that this is so."""
        why = " ".join(f"{failure.__class__.__name__}: {failure}".split())
        text = f"the workers of --cluster could not judge this record: {why}"
        cure = "Judge it here, without --cluster. Workers need this version of the program, and the same paths."
        source = Source(self.folder.tree.shown(self.folder.department or self.folder.path), "")
        fault = Fault(Span(source, 0, 0), text, cure, rule=_NOT_READ)
        report = _report_of([of_fault(fault, CORE_RULES[_NOT_READ].level)], self.options.as_of or date.today())
        report.record.sources.append(source)
        report.record.faults.append(fault)
        return self.outcome_of(report)


def _in_turn(tasks: list[_Task], options: Namespace) -> Iterator[_Outcome]:
    if options.cluster is not None:
        return _by_cluster(tasks, options.cluster)
    texts = (data or b"" for task in tasks for data in task.folder.data.values())
    return _in_processes(tasks, options.jobs or processes_for(texts))


def _in_processes(tasks: list[_Task], jobs: int) -> Iterator[_Outcome]:
    with in_processes(_outcomes, shares_of(((task, 1) for task in tasks), jobs), jobs, []) as outcomes:
        yield from outcomes


def _outcomes(tasks: list[_Task]) -> Iterator[_Outcome]:
    return (task.outcome() for task in tasks)


def _by_cluster(tasks: list[_Task], address: str) -> Iterator[_Outcome]:
    from cylfile.judging.cluster import on_cluster

    here = os.getcwd()
    for task, done in zip(tasks, on_cluster(address, _on_worker, [(task, here) for task in tasks])):
        if isinstance(done, CannotDo):
            raise done
        if isinstance(done, Exception):
            yield task.not_judged(done)
        else:
            outcome, said = done
            sys.stderr.write(said)
            yield outcome


# A worker may have several threads, and the current folder is that of all.
_ONE_AT_A_TIME = Lock()


def _on_worker(sent: tuple[_Task, str]) -> tuple[_Outcome, str]:
    """The outcome of a task as in the folder where the program was started, and what was said beside it."""
    task, here = sent
    with _ONE_AT_A_TIME, chdir(here), redirect_stderr(StringIO()) as said:
        return task.outcome(), said.getvalue()


class _Holder(NamedTuple):
    """What a record says of the cylinder of a serial number, as far as others have to know it."""

    card: Cylinder
    folder: str
    rules: Ruleset
    site: str | None
    department: Neighbor
    state: str
    entries: list[Entry]
    bars: list[Bar]


def _shared(folders: list[Folder], done: list[_Outcome], options) -> list[Finding]:
    """The findings of serial numbers that are on cards of two records; only those records are read once more."""
    numbers: dict[str, list[int]] = defaultdict(list)
    for number, outcome in enumerate(done):
        for serial in outcome.serials:
            numbers[serial].append(number)
    twice = {serial: in_records for serial, in_records in numbers.items() if len(in_records) > 1}
    holders: dict[str, list[_Holder]] = {serial: [] for serial in sorted(twice)}
    for number in sorted({number for in_records in twice.values() for number in in_records}):
        # One at a time: all of them may be more than memory holds.
        case = case_in(folders[number], options)
        record, rules = case.record, case.rules
        for serial in sorted(twice.keys() & done[number].serials.keys()):
            card = record.cylinders[done[number].serials[serial]]
            life = life_of(record, rules, card, case.as_of)
            entries = record.entries.get(card.name, [])
            own, bars = neighbor(record), bars_there(record, rules, life)
            holders[serial].append(_Holder(card, case.folder, rules, life.site, own, state_of(life), entries, bars))
    found = [finding for each in holders.values() for finding in (*_in_service(each), *_barred(each))]
    return [
        finding
        for finding in found
        if (not options.only or finding.rule in options.only) and finding.rule not in options.without
    ]


def _in_service(holders: list[_Holder]) -> Iterator[Finding]:
    """Where it is in service in two records, and neither says that it lent it to the other."""
    here = [holder for holder in holders if holder.state == IN_SERVICE]
    for one, other in zip(here[1:], here):
        if is_with(one.site, one.department, other.department) or is_with(other.site, other.department, one.department):
            continue
        text = f"serial {one.card.serial} is in service here and in `{other.folder}` as {other.card.name}"
        place = other.card.span.place
        advice = "See who has it, and take it out of service in the other record, or correct the serial."
        rule, card = "serial-in-two-records", one.card
        yield Finding(
            rule,
            one.rules.level_of(rule),
            card.name,
            card.where["serial"],
            text,
            [place],
            advice,
            about=card.serial or "",
        )


def _barred(holders: list[_Holder]) -> Iterator[Finding]:
    """Where one of them bars it, and another that may use it does not know."""
    for one in holders:
        for other in holders:
            if other is one or one.state in _OVER:
                continue
            for bar in barred_elsewhere(one.entries, other.bars):
                yield bar_there(other.folder, other.card.name, bar).finding(one.card, one.rules)


def _total(done: list[_Outcome], shared: list[Finding]) -> list[str]:
    counts = sum((outcome.counts for outcome in done), Counter(finding.level for finding in shared))
    return [
        f"{counts['cylinders']:,} cylinders, {counts['entries']:,} entries",
        *(f"{level.upper()} {counts[level]:,}" for level in LEVELS),
    ]


def _report_of(findings: list[Finding], as_of: date) -> Report:
    return Report(Record([]), load_rules([], lambda name: None)[0], as_of, findings, {}, 0, 0)
