"""
`cylfile lint`: read everything, judge the whole history, say what is wrong, cylinder by cylinder.
"""

import gc
from argparse import ArgumentTypeError

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_reading_options, case_in, cylinder_named, the_one_holding
from cylfile.files.records import Folder, records_on_disk
from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import LEVELS
from cylfile.findings.seal_findings import SEAL_BROKEN
from cylfile.judging.judge import Judgement
from cylfile.judging.processes import processes_for
from cylfile.judging.report import Report
from cylfile.judging.whole_record import judge_record
from cylfile.packs.suggest import did_you_mean
from cylfile.record.called import cylinder_called
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.show.forms import PAGE
from cylfile.show.terminal.progress import told
from cylfile.show.told import note
from cylfile.text.spelling import american

_PURPOSE = "Read the whole record, judge it by its rules, and say what is wrong, cylinder by cylinder."
_MORE = "Exit status: 0 nothing at or above --fail-at, 1 something is, 2 the job could not be done."


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    if options.cluster is not None and (options.jobs or 1) > 1:
        raise CannotDo("--jobs is for this machine and --cluster for others; give one of them")
    folders = _folders(options)
    if len(folders) > 1 and options.cylinder is not None:
        holds = [(folder, folder.shown, cylinder_called(_record(folder), options.cylinder)) for folder in folders]
        folders = [the_one_holding(options.cylinder, holds)]
    if len(folders) > 1:
        from cylfile.command_line.county import lint_county

        return lint_county(folders, options, _report)
    if options.cluster is not None:
        raise CannotDo("--cluster shares out the records of a county, and there is one here; lint it without")
    gc.disable()
    report = _report(folders[0], options, options.jobs)
    for rule in (*options.only, *options.without):
        _look_up(rule, report)
    show(report, options)
    return int(report.stands_at(options.least))


def _folders(options) -> list[Folder]:
    if not options.staged:
        return records_on_disk(options.paths)
    # What asks git, here and below, is imported where git is asked.
    from cylfile.files.git.revision_tree import records_staged

    return records_staged(options.paths)


def _record(folder: Folder) -> Record:
    return read_record(*folder.texts())


def _report(folder: Folder, options, jobs: int | None) -> Report:
    """What there is to say of a record; by so many processes, by as many as pay where that is None."""
    case = case_in(folder, options, jobs)
    sources = case.record.sources
    jobs = jobs or processes_for(source.text for source in sources)
    with told(sources, f"judging {len(case.record.cylinders)} cylinders"):
        judgement = judge_record(case, jobs, with_heads=options.form == PAGE)
    if any(finding.rule == SEAL_BROKEN for finding in judgement.of_record):
        from cylfile.files.git.sealed import name_what_broke

        name_what_broke(judgement.of_record, case.record, case.folder)
    report = _narrowed(judgement, options)
    if options.since is not None:
        from cylfile.files.git.since import keep_what_is_new

        for text in keep_what_is_new(report, judgement, options, jobs):
            note(text)
    return report


def make_options() -> Options:
    options = Options("lint", _PURPOSE, _MORE)
    add_reading_options(options)
    options.add_argument(
        "--fail-at",
        dest="least",
        metavar="LEVEL",
        choices=LEVELS,
        default="warning",
        help="the least level that fails the run; warning by default",
    )
    meaning = "the least level that the page shows, and the rest is counted; notice by default"
    options.add_argument(
        "--show", dest="least_shown", metavar="LEVEL", choices=LEVELS, default=LEVELS[-1], help=meaning
    )
    options.add_argument("--each", action="store_true", help="every finding by itself on the page, none told together")
    options.add_argument("--cylinder", metavar="NAME", help="only what is about this cylinder, by its name or a tag")
    options.add_argument(
        "--only", metavar="RULE", type=american, action="append", default=[], help="only this rule; may be repeated"
    )
    options.add_argument(
        "--without",
        metavar="RULE",
        type=american,
        action="append",
        default=[],
        help="leave this rule out; may be repeated",
    )
    options.add_argument(
        "--since", metavar="REV", help="only what is new since a git revision: HEAD~1, a branch, a tag"
    )
    options.add_argument("--staged", action="store_true", help="judge what git would commit, and not what is on disk")
    options.add_argument(
        "--jobs", metavar="N", type=_jobs, help="read and judge in this many processes; as many as pay by default"
    )
    meaning = "judge each of several records by a worker of the dask.distributed scheduler at this address"
    options.add_argument("--cluster", metavar="ADDRESS", help=meaning)
    add_form_options(options)
    return options


def _jobs(word: str) -> int:
    if not (word.isascii() and word.isdigit() and int(word[:9])):
        raise ArgumentTypeError(f"`{word}` is not a number of processes; write 1 or more")
    return int(word[:9])


def _look_up(rule: str, report: Report) -> None:
    known = (*CORE_RULES, *report.rules.rules)
    if rule not in known:
        meant = did_you_mean(rule, known, "`cylfile rules list` names them.")
        raise CannotDo(f"these rules have no `{rule}`. {meant}")


def _narrowed(judgement: Judgement, options) -> Report:
    record, findings, heads, case = judgement.record, judgement.findings, judgement.heads, judgement.case
    cylinders, entries, narrowed = len(record.cylinders), record.entry_count, []
    # Of a file of which nothing could be read, or a folder, nobody knows whom it is about.
    unread = {fault.span.source.path for fault in record.unread_files}
    if options.cylinder is not None:
        name = cylinder_named(record, options.cylinder)
        findings = [*(each for each in findings if each.span.source.path in unread), *judgement.about(name)]
        heads = {name: heads[name]} if heads else {}
        cylinders, entries = 1, len(record.entries.get(name, ()))
        narrowed.append(f"only cylinder {name}")
    if case.asked is not None:
        findings = [finding for finding in findings if finding.span.source.path in case.asked | unread]
        names = {name for name in record.cylinders if _is_in(record, name, case.asked)}
        heads = {name: head for name, head in heads.items() if name in names}
        cylinders = len(names)
        entries = sum(entry.source.path in case.asked for said in record.entries.values() for entry in said)
        narrowed.append(f"only what is said of {', '.join(sorted(case.asked))}")
    if options.only:
        findings = [finding for finding in findings if finding.rule in options.only]
        narrowed.append(f"only rules {', '.join(options.only)}")
    if options.without:
        findings = [finding for finding in findings if finding.rule not in options.without]
        narrowed.append(f"without rules {', '.join(options.without)}")
    return Report(record, judgement.rules, judgement.as_of, findings, heads, cylinders, entries, narrowed,
                  least_shown=options.least_shown, each=options.each)  # fmt: skip


def _is_in(record: Record, name: str, paths: frozenset[str]) -> bool:
    """Whether files say anything of a cylinder."""
    return record.cylinders[name].span.source.path in paths or any(
        entry.source.path in paths for entry in record.entries.get(name, ())
    )
