"""
`cylfile compare`: two states of a record beside each other, for somebody who has to trust it.

A state is a folder or a file, or a revision of git, read without touching the working tree.
"""

import gc
from collections import Counter
from contextlib import suppress

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_judging_options, with_origin
from cylfile.compare.signed_between import SIGNED_KINDS
from cylfile.compare.states import compare_records
from cylfile.compare.steps import Step, beside_ends, of_interest
from cylfile.files.git.each_revision import Home, Walk
from cylfile.files.git.repository import STAGED
from cylfile.files.git.revision_tree import NoRecordThen, RevisionTree, from_top, record_in
from cylfile.files.git.revisions import State, States, notes_on
from cylfile.files.git.two_states import NothingYet, two_states
from cylfile.files.rules_and_day import case_of
from cylfile.judging.processes import processes_for
from cylfile.judging.whole_record import judge_record
from cylfile.packs.rule_changes import compare_rules
from cylfile.show.pages.compare_page import ComparisonReport
from cylfile.show.terminal.progress import told
from cylfile.show.told import note

_PURPOSE = "Say what was added, struck, changed and removed between two states of a record, cylinder by cylinder."
_MORE = (
    "A state is a folder, a file, or a revision of git: HEAD~20, a tag, a branch. OLD..NEW names two revisions, "
    "OLD...NEW compares NEW with the last revision that both have in common. Both states are judged for one day, each by "
    "its own rules. Exit status: 0 nothing was altered, be entries backdated or not; 1 something that "
    "the record said was changed or removed without a strike or turned round, written into a sealed period without `late`, a signature backdated, a seal broken, a rule made laxer, or a "
    "file or folder could not be read at all; 2 the job could not be done."
)


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    gc.disable()
    try:
        states = two_states(options.old, options.new, options.folder, options.staged)
        each = [(place, _report(old, new, options)) for place, old, new in states.each()]
    except NothingYet as none:
        note(str(none))
        return 0
    grave = sum((Counter(report.comparison.grave) for _, report in each), Counter())
    show_each(each, options, [f"{what}: {count:,}" for what, count in grave.items()] or ["nothing was altered"])
    return int(any(_is_to_look_at(report) for _, report in each))


def _is_to_look_at(report: ComparisonReport) -> bool:
    comparison = report.comparison
    return comparison.is_grave or bool(comparison.unread_files) or any(step.unread for step in report.steps)


def _report(old: State, new: State, options) -> ComparisonReport:
    for text in notes_on(old, new):
        note(text)
    now = with_origin(case_of(new.folder, new.record, options), new.folder, options)
    then = case_of(old.folder, old.record, options)._replace(as_of=now.as_of)
    then = with_origin(then, old.folder, options)
    # Where there were no rules, none asks for less.
    changes = compare_rules(then.rules, now.rules) if then.rules.names else []
    cases = [then, now, *([then._replace(rules=now.rules)] if changes else [])]
    gc.freeze()
    jobs = processes_for(source.text for source in new.record.sources)
    with told(new.record.sources, "judging both states"):
        findings = [judge_record(case, jobs, with_heads=False).findings for case in cases]
    first, last, *between = findings
    comparison = compare_records(
        old.record, new.record, first, last, between[0] if between else None, changes, now.as_of
    )
    report = ComparisonReport(comparison, old.label, new.label, now.as_of, then.rules, now.rules, options.all)
    report.only = tuple(dict.fromkeys(options.only))
    if options.each_revision:
        _walk(report, old, new, options)
    return report


def _walk(report: ComparisonReport, old: State, new: State, options) -> None:
    """Put what the revisions between did into a report."""
    first, last = old.folder.tree, new.folder.tree
    if not isinstance(first, RevisionTree):
        raise CannotDo("--each-revision goes from revision to revision; name OLD as one, as in HEAD~20 or a tag")
    repository = first.repository
    newest = last.revision if isinstance(last, RevisionTree) else STAGED
    head = repository.revision("HEAD") if newest == STAGED else newest
    if not repository.is_ancestor(first.revision, head):
        note(
            f"{head.label} has not come from {first.revision.label}; what only the old one has come from is not walked"
        )
    place = new.folder.path if isinstance(last, RevisionTree) else from_top(repository, new.folder.path)
    title, as_of, rules = new.folder.title or old.folder.title, report.as_of, not options.rules
    homes = [Home(old.folder.path, old.folder.title), Home(place, title)]
    with Walk(repository, homes, as_of, rules) as walk:
        steps = list(walk.steps(first.revision, head))
    if newest == STAGED:
        with suppress(NoRecordThen):
            then = States().of(record_in(repository, head, place, title), head.label)
            changes = compare_rules(then.folder.rules(then.record)[0], report.rules) if rules else []
            steps += of_interest([Step(None, compare_records(then.record, new.record, rules=changes, as_of=as_of))])
    report.steps, report.walked = beside_ends(steps, report.comparison), walk.walked
    report.comparison.came_and_went = sum(step.unseen for step in report.steps)


def make_options() -> Options:
    options = Options("compare", _PURPOSE, _MORE)
    options.add_argument("old", metavar="OLD", help="the earlier state")
    options.add_argument("new", metavar="NEW", nargs="?", help="the later state; by default what is on disk")
    options.add_argument(
        "--folder", metavar="FOLDER", default=".", help="where the record stands, for revisions: the current folder"
    )
    add_judging_options(options)
    meaning = (
        "NEW is what git would commit; where OLD holds no record yet, nothing can be altered, and that is status 0"
    )
    options.add_argument("--staged", action="store_true", help=meaning)
    meaning = "tell of each revision between what it altered unseen, and of that what neither state shows"
    options.add_argument("--each-revision", action="store_true", help=meaning)
    meaning = "list nothing but what was signed like this, by its days; may be repeated"
    options.add_argument("--only", metavar="SIGNED", action="append", default=[], choices=SIGNED_KINDS, help=meaning)
    options.add_argument(
        "--all", action="store_true", help="list every entry and finding, entries added in the order of days too"
    )
    add_form_options(options)
    return options
