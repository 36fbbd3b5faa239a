"""
What every revision between two did to a record: what came and went, by which commit.

Of each commit no more is read than the blocks that differ from its parents. Which files are the record's is looked for
anew only where a commit does more than change files of it, or put one beside them.
"""

import posixpath
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache, partial
from itertools import combinations
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.compare.commit import Commit
from cylfile.compare.states import Before, Comparison, told_by
from cylfile.compare.steps import Step, compare_texts, of_interest, own_changes
from cylfile.files.git.repository import Objects, Repository, Revision
from cylfile.files.git.revision_tree import NoRecordThen, RevisionTree, record_in, shown_from
from cylfile.files.git.tree_changes import Trees
from cylfile.files.records import Folder, declares_department, title_in
from cylfile.files.tree import LEDGER_ENDING, PACK_ENDING
from cylfile.packs.rule_changes import compare_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.record.reader import read_record
from cylfile.text.source import Source, decode

# The parent of a commit that has none.
_NOTHING = ""
_PLAIN = ("100644", "100755")
_MOST_KEPT = 64


class Home(NamedTuple):
    """A folder that holds a record, from the top of the repository, and its department; see `Folder.title`."""

    place: str
    title: bytes


class _Held(NamedTuple):
    """What a commit holds of the record: the objects of its files, by path, and why what of it cannot be read."""

    tree: str = ""
    department: str | None = None
    files: Mapping[str, str] = {}
    has_links: bool = False
    unread: Mapping[str, str] = {}


class Walk:
    """
    Goes from revision to revision of one record; a context manager.

    `homes` say where the record is, each as `record_in` takes it; a commit whose parent held it is looked into there
    first. Of what is after the day `as_of` nothing is late.
    With `rules`, those that each commit brought are compared as well. `walked` counts the commits.
    """

    def __init__(self, repository: Repository, homes: Sequence[Home], as_of: date, rules: bool = True):
        self.repository = repository
        self.walked = 0
        self._homes, self._as_of, self._compares_rules = homes, as_of, rules
        self._objects = Objects(repository)
        trees = Trees(self._objects)
        self._differing = lru_cache(_MOST_KEPT)(lambda old, new: tuple(trees.differing(old, new)))
        # Commit -> what it holds, and what is told in it, this as long as one that has come from it is to be walked.
        self._held = {_NOTHING: _Held()}
        self._told = {_NOTHING: Before()}
        # What objects of other repositories within this one hold.
        self._foreign: dict[str, bytes] = {}
        self._text = lru_cache(_MOST_KEPT)(self._decoded)
        self._shown = lru_cache(None)(partial(shown_from, repository))
        self._rules = lru_cache(_MOST_KEPT)(self._rules_at)

    def __enter__(self) -> "Walk":
        return self

    def __exit__(self, *of_exception) -> None:
        self._objects.__exit__(*of_exception)

    def steps(self, old: Revision, new: Revision) -> Iterator[Step]:
        """What the commits between did, each after its parents; those that only wrote on or corrected are left out."""
        commits = self.repository.commits(old, new)
        waiting = Counter(parent for commit in commits for parent in commit.parents)
        for commit in commits:
            yield from of_interest([self._step(commit)])
            self.walked += 1
            waiting.subtract(commit.parents)
            for done in commit.parents:
                if not waiting[done]:
                    self._told.pop(done, None)

    def _step(self, commit: Commit) -> Step:
        parents = commit.parents or (_NOTHING,)
        held = self._held[commit.id] = self._after(self._at(parents[0]), commit)
        told = [self._told_in(parent) for parent in parents]
        comparisons = [self._compared(parent, commit.id, before) for parent, before in zip(parents, told)]
        self._told[commit.id] = self._told_after(told, comparisons)
        known = set().union(*(self._at(parent).unread.items() for parent in parents))
        unread = tuple(f"{path}: {why}" for path, why in held.unread.items() if (path, why) not in known)
        if len(parents) > 1:
            return Step(commit, self._own(parents, comparisons), unread)
        return Step(commit, comparisons[0], unread)

    def _told_after(self, told: list[Before], comparisons: list[Comparison]) -> Before:
        """What is told in a commit: what is in each of its parents, and what it brought."""
        before = told[0]
        for other in told[1:]:
            moments = dict(before.moments)
            for name, moment in other.moments.items():
                moments[name] = max(moment, moments.get(name, moment))
            sealed = max((day for day in (before.sealed, other.sealed) if day), default=None)
            before = Before(sealed, max(before.since, other.since), moments)
        for comparison in comparisons:
            before = told_by(comparison.new, self._as_of, before)
        return before

    def _own(self, parents: tuple[str, ...], comparisons: list[Comparison]) -> Comparison:
        """What a merge did that none of its sides did. What is in order needs no second look."""
        if not any(comparison.grave for comparison in comparisons):
            return Comparison(comparisons[0].old, comparisons[0].new)
        pairs = combinations(parents, 2)
        bases = dict.fromkeys(base for pair in pairs for base in self.repository.common_ancestors(*pair)) or [_NOTHING]
        sides = [[self._compared(base, parent, Before()) for base in bases] for parent in parents]
        return own_changes(comparisons, sides)

    def _compared(self, old: str, new: str, before: Before) -> Comparison:
        """Two commits, by the files in which they differ."""
        was, is_now = self._at(old), self._at(new)
        gone, come = dict(was.files.items() - is_now.files.items()), dict(is_now.files.items() - was.files.items())
        # A file that only has another name says what it said.
        only_moved = Counter(gone.values()) & Counter(come.values())
        for files in (gone, come):
            left = Counter(only_moved)
            for path, id_ in list(files.items()):
                if left[id_]:
                    left[id_] -= 1
                    del files[path]
        texts = [(self._shown(path), self._text(gone.get(path))[0], self._text(come.get(path))[0])
                 for path in sorted(gone.keys() | come.keys())]  # fmt: skip
        comparison = compare_texts(texts, before, self._as_of)
        departments = comparison.old.department, comparison.new.department
        named = [department.rules if department else [] for department in departments]
        if (
            self._compares_rules
            and _NOTHING not in (old, new)
            and (
                named[0] != named[1]
                or any(each.path.endswith(PACK_ENDING) for each in self._differing(was.tree, is_now.tree))
            )
        ):
            first, last = self._rules(old), self._rules(new)
            comparison.rules = compare_rules(first, last) if first and last else []
        return comparison

    # What a commit holds.

    def _at(self, commit: str) -> _Held:
        if commit not in self._held:
            self._held[commit] = self._found(commit, self._tree_of(commit), _Held())
        return self._held[commit]

    def _tree_of(self, commit: str) -> str:
        return self._objects.read(commit).split(None, 2)[1].decode("ascii")

    def _told_in(self, commit: str) -> Before:
        if commit not in self._told:
            files = self._at(commit).files
            record = read_record([Source(path, self._text(id_)[0]) for path, id_ in files.items()])
            self._told[commit] = told_by(record, self._as_of)
        return self._told[commit]

    def _after(self, before: _Held, commit: Commit) -> _Held:
        """What a commit holds, by what its parent does and what differs."""
        files, unread = dict(before.files), dict(before.unread)
        for path, old, new in self._differing(before.tree, commit.tree):
            modes = [blob.mode for blob in (old, new) if blob is not None]
            if all(mode in _PLAIN for mode in modes) and not path.lower().endswith(LEDGER_ENDING):
                continue
            is_simple = all(mode in _PLAIN for mode in modes) and (
                path in files and (new is not None or (path != before.department and not before.has_links))
                if old is not None
                else _is_beside(path, files) and not before.has_links
            )
            text, why = self._text(new.id if new and is_simple else None)
            if not is_simple or declares_department(text.encode()) != (path == before.department):
                return self._found(commit.id, commit.tree, before)
            unread.pop(self._shown(path), None)
            if new is None:
                del files[path]
            else:
                files[path] = new.id
            if why:
                unread[self._shown(path)] = why
        return before._replace(tree=commit.tree, files=files, unread=unread)

    def _found(self, commit: str, tree: str, before: _Held) -> _Held:
        """What a commit holds, looked for as in every state of a record."""
        try:
            folder = self._folder(commit, before)
        except NoRecordThen:
            return _Held(tree)
        except CannotDo as trouble:
            return before._replace(tree=tree, unread={"the revision": str(trouble)})
        assert isinstance(folder.tree, RevisionTree)
        self._foreign |= folder.tree.foreign
        files = folder.tree.ids(folder.data)
        unread = {self._shown(path): trouble.text for path, trouble in folder.troubles.items()}
        unread |= {self._shown(path): why for path, id_ in files.items() if (why := self._text(id_)[1])}
        return _Held(tree, folder.department, files, folder.tree.has_links(folder.path), unread)

    def _folder(self, commit: str, before: _Held) -> Folder:
        """The record in a commit: where its parent had it, else where the ends of the walk do."""
        homes = list(self._homes)
        if before.department is not None:
            title = title_in(self._text(before.files[before.department])[0].encode())
            homes.insert(0, Home(posixpath.dirname(before.department), title))
        for home in homes[:-1]:
            try:
                return record_in(self.repository, _revision(commit), *home)
            except NoRecordThen:
                continue
        return record_in(self.repository, _revision(commit), *homes[-1])

    def _rules_at(self, commit: str) -> Ruleset | None:
        """The rules that the department named then; None where there was no record."""
        try:
            folder = self._folder(commit, self._at(commit))
        except CannotDo:
            return None
        department = (
            [decode(folder.tree.shown(folder.department), folder.tree.data(folder.department))[0]]
            if folder.department
            else []
        )
        return folder.rules(read_record(department))[0]

    def _decoded(self, object_id: str | None) -> tuple[str, str]:
        """The text of an object, none where there is no object; else why it cannot be read."""
        if object_id is None:
            return "", ""
        source, faults = decode("", self._foreign.get(object_id) or self._objects.read(object_id))
        return source.text, "; ".join(fault.text for fault in faults)


def _is_beside(path: str, files: Mapping[str, str]) -> bool:
    """Whether a file that comes stands in a folder with others of the record, and is none that is left out."""
    folder, name = posixpath.split(path)
    return not name.startswith(".") and any(posixpath.dirname(each) == folder for each in files)


def _revision(commit: str) -> Revision:
    return Revision(commit[:10], commit, "")
