"""
Which two states of a record two words name: folders and files on disk, revisions of git, and what is staged.
"""

import os
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.git.repository import STAGED, Repository, Revision
from cylfile.files.git.revision_tree import NoRecordThen, RevisionTree, from_top, titles_at
from cylfile.files.git.revisions import State, States
from cylfile.files.ledger_files import Disk, real_path
from cylfile.files.records import Folder, only_one, records_on_disk, the_record
from cylfile.record.reader import read_record


class NothingYet(Exception):
    """There is no older state: the record is about to be committed for the first time."""


class TwoStates(NamedTuple):
    """Two states of a record or of several, each a path or a revision, and where these stand on disk."""

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


def two_states(old: str, new: str | None, folder: str, staged: bool) -> TwoStates:
    """
    The states that two words name, each a path or a revision; `old` may be a range, `OLD..NEW`.

    Without `new` the later one is what is on disk in the `folder` where revisions are looked up, or what is `staged`.
    Raises CannotDo where a word names nothing, or more than one thing, and NothingYet.
    """
    # Revisions are looked up where a state stands on disk, and hold the record at that place.
    paths = [argument for argument in (new, old) if argument and os.path.exists(argument)]
    place = paths[0] if paths else folder
    finder = _Finder(place)
    if finder.is_bare():
        # What stands in such a folder is git's own.
        paths, place = [], folder
    if staged:
        if new is not None:
            raise CannotDo("--staged is the new state; name the old one only, as in cylfile compare HEAD --staged")
        if old == "HEAD" and not finder.repository.knows("HEAD"):
            raise NothingYet("there is no revision yet to compare with")
        return TwoStates(finder.repository.revision(old), STAGED, folder, finder, may_be_first=True)
    if new is None and ".." in old and not paths:
        return TwoStates(*finder.range(old), place, finder)
    earlier = finder.named(old)
    later = folder if new is None else finder.named(new)
    if new is None and finder.is_bare():
        raise CannotDo("a bare repository has no files on disk; name two revisions, as in HEAD~1..HEAD")
    _refuse_nested(earlier, later)
    return TwoStates(earlier, later, place, finder)


def _refuse_nested(old: str | Revision, new: str | Revision) -> None:
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
