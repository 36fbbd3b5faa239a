"""
`cylfile compare`: two states of a record beside each other, for somebody who has to trust it.

A state is a folder or a file, or a revision of git, read without touching the working tree.
"""

import gc
import os
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show_each
from cylfile.command_line.reading import add_judging_options, with_origin
from cylfile.compare.signed_between import SIGNED_KINDS
from cylfile.compare.states import compare_records
from cylfile.compare.steps import Step, beside_ends, of_interest
from cylfile.files.git.each_revision import Home, Walk
from cylfile.files.git.repository import STAGED, Repository, Revision
from cylfile.files.git.revision_tree import NoRecordThen, RevisionTree, from_top, record_in, titles_at
from cylfile.files.git.revisions import State, States, notes_on
from cylfile.files.ledger_files import Disk, real_path
from cylfile.files.records import Folder, only_one, records_on_disk, the_record
from cylfile.files.rules_and_day import case_of
from cylfile.judging.processes import processes_for
from cylfile.judging.whole_record import judge_record
from cylfile.packs.rule_changes import compare_rules
from cylfile.record.reader import read_record
from cylfile.show.pages.compare_page import ComparisonReport
from cylfile.show.terminal.progress import told
from cylfile.show.told import note

_PURPOSE = "Say what was added, struck, changed and removed between two states of a record, cylinder by cylinder."
_MORE = (
    "A state is a folder, a file, or a revision of git: HEAD~20, a tag, a branch. OLD..NEW names two revisions, "
    "OLD...NEW compares NEW with the last revision that both have in common. Both states are judged for one day, each by "
    "its own rules. Exit status: 0 nothing was altered, 1 something that the record said was changed or removed without "
    "a strike, written into a sealed period without `late`, backdated or turned round, a seal is broken, a rule asks for less, or a file or folder could not be read at all; 2 the "
    "job could not be done."
)


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    gc.disable()
    try:
        each = [(place, _report(old, new, options)) for place, old, new in _asked(options).each()]
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


# Which states the arguments name.


class NothingYet(Exception):
    """There is no older state: the record is about to be committed for the first time."""


class _Asked(NamedTuple):
    """Two states as they were asked for, each a path or a revision, and where their record stands on disk."""

    old: str | Revision
    new: str | Revision
    place: str
    finder: "_Finder"
    may_be_first: bool = False

    def each(self) -> Iterator[tuple[str, State, State]]:
        """
        The folder and both states of each record at the place. Of several one may be in one state alone, and holds
        nothing in the other.
        """
        now, before = self._departments(self.new), self._departments(self.old)
        gone = [folder for folder, title in before.items() if folder not in now and title not in now.values()]
        # One alone is the same record, whatever its folder and its department were called.
        if max(len(now), len(before)) < 2:
            yield self.place, *self._states()
            return
        for place in sorted([*now, *gone]):
            if place in gone:
                earlier = self._earlier(States(), place)
                yield place, earlier, self._without_record(self.new, place)
                continue
            states = States()
            later = self._later(states, place)
            try:
                yield place, self._earlier(states, place, later), later
            except NoRecordThen:
                yield place, self._without_record(self.old, place), later

    def _departments(self, named: str | Revision) -> dict[str, bytes]:
        """The folders of the records that a state has at the place, by which departments; folders beside each other have one each."""
        if not isinstance(self.old, Revision):
            return {}
        if isinstance(named, Revision):
            return titles_at(self.finder.repository, named, self.place)
        return {folder.shown: folder.title for folder in records_on_disk([named])}

    def _without_record(self, named: str | Revision, place: str) -> State:
        """A state in which there is no record at a place."""
        if isinstance(named, Revision):
            repository = self.finder.repository
            folder = Folder(RevisionTree(repository, named, {}), from_top(repository, place), None)
        else:
            folder = Folder(Disk(), os.path.abspath(place), None)
        return State(_label_of(named), read_record([]), folder)

    def _states(self) -> tuple[State, State]:
        states = States()
        # The later state is read first: mistakes in it are what somebody can still do something about.
        later = self._later(states, self.new if isinstance(self.new, str) else self.place)
        try:
            return self._earlier(states, self.place, later), later
        except NoRecordThen as none:
            if self.may_be_first:
                raise NothingYet(f"{_label_of(self.old)} holds no record yet to compare with") from None
            raise none

    def _later(self, states: States, place: str) -> State:
        if isinstance(self.new, Revision):
            return states.at(self.finder.repository, self.new, place)
        found = records_on_disk([place])
        # A folder that holds a record leads to those below it too, which are others.
        exact = [folder for folder in found if folder.path == real_path(place)]
        return states.of(only_one(exact or found), _label_of(self.new))

    def _earlier(self, states: States, place: str, later: State | None = None) -> State:
        if not isinstance(self.old, Revision):
            return states.of(the_record([self.old]), _label_of(self.old))
        if later is None:
            return states.at(self.finder.repository, self.old, place)
        # A folder may have had another name then: the department is the same.
        of_disk = isinstance(later.folder.tree, Disk)
        return states.at(self.finder.repository, self.old, later.folder.shown if of_disk else place, later.folder.title)


def _label_of(named: str | Revision) -> str:
    return named.label if isinstance(named, Revision) else "on disk" if named == "." else named


def _asked(options) -> _Asked:
    # Revisions are looked up where a state stands on disk, and hold the record at that place.
    paths = [argument for argument in (options.new, options.old) if argument and os.path.exists(argument)]
    place = paths[0] if paths else options.folder
    finder = _Finder(place)
    if finder.is_bare():
        # What stands in such a folder is git's own.
        paths, place = [], options.folder
    if options.staged:
        if options.new is not None:
            raise CannotDo("--staged is the new state; name the old one only, as in cylfile compare HEAD --staged")
        if options.old == "HEAD" and not finder.repository.knows("HEAD"):
            raise NothingYet("there is no revision yet to compare with")
        return _Asked(finder.repository.revision(options.old), STAGED, options.folder, finder, may_be_first=True)
    if options.new is None and ".." in options.old and not paths:
        return _Asked(*finder.range(options.old), place, finder)
    old = finder.named(options.old)
    new = options.folder if options.new is None else finder.named(options.new)
    if options.new is None and finder.is_bare():
        raise CannotDo("a bare repository has no files on disk; name two revisions, as in HEAD~1..HEAD")
    _refuse_nested(old, new)
    return _Asked(old, new, place, finder)


def _refuse_nested(old, new) -> None:
    if isinstance(old, str) and isinstance(new, str):
        one, other = os.path.realpath(old), os.path.realpath(new)
        if one == other or one.startswith(os.path.join(other, "")) or other.startswith(os.path.join(one, "")):
            raise CannotDo(f"`{old}` and `{new}` hold the same files; name two folders that lie apart")


class _Finder:
    """Finds what an argument names: a path on disk or a revision."""

    def __init__(self, place: str):
        self._repository: Repository | None = None
        there = place
        while not os.path.exists(there):
            there = os.path.dirname(there) or os.curdir
        self.folder = there if os.path.isdir(there) else os.path.dirname(there)
        # Of a bare repository it may be a folder of its revisions.
        if there != place and not self.is_bare():
            raise CannotDo(f"there is no folder `{place}`; check the name")

    @property
    def repository(self) -> Repository:
        if self._repository is None:
            self._repository = Repository(self.folder)
        return self._repository

    def is_bare(self) -> bool:
        """Whether the place is that of a repository without files on disk."""
        try:
            return self.repository.top is None
        except CannotDo:
            return False

    def named(self, argument: str) -> str | Revision:
        """The path, or the revision of this name. Raises CannotDo where it is neither, or could be both."""
        if os.path.exists(argument):
            if _is_only_a_path(argument) or not self._is_revision(argument):
                return argument
            if not self.is_bare():
                revision = self.repository.full_name(argument)
                raise CannotDo(f"`{argument}` is a revision and is on disk too; write ./{argument} or {revision}")
        if _is_only_a_path(argument):
            raise CannotDo(f"there is no file or folder `{argument}`; check the name")
        try:
            repository = self.repository
        except CannotDo as trouble:
            raise CannotDo(f"`{argument}` is not a file or folder, and {trouble}") from None
        return repository.revision(argument)

    def _is_revision(self, name: str) -> bool:
        try:
            return self.repository.knows(name)
        except CannotDo:
            # Without git or a repository, it can only be the path.
            return False

    def range(self, argument: str) -> tuple[Revision, Revision]:
        """The two revisions of `OLD..NEW` or `OLD...NEW`; HEAD for one that is left out."""
        dots = "..." if "..." in argument else ".."
        names = [name or "HEAD" for name in argument.split(dots, 1)]
        old, new = map(self.repository.revision, names)
        return (self.repository.common_ancestor(old, new), new) if dots == "..." else (old, new)


def _is_only_a_path(argument: str) -> bool:
    return argument.startswith((".", os.sep, "/")) or argument.endswith((os.sep, "/"))
