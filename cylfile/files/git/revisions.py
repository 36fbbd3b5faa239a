"""
The state of a record: what is on disk now, or what a revision held, read in the same way.

Two states have most of their files in common. Objects of git are fetched once, and a text that
stands in both is read once.
"""

import os
import posixpath
from dataclasses import dataclass

from cylfile.cannot import CannotDo
from cylfile.files.git.repository import Objects, Repository, Revision
from cylfile.files.ledger_files import find_ledgers, read_ledgers, shown_path
from cylfile.files.pack_files import rules_of_record
from cylfile.files.rules_and_day import case_of
from cylfile.judging.case import Case
from cylfile.packs.layering import load_rules
from cylfile.packs.ruleset import Ruleset
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.source import Fault, Source, decode


@dataclass
class State:
    """
    A record as it is or was. `label` says which; `revision` is None for what is on disk.
    """

    label: str
    record: Record
    repository: Repository | None = None
    revision: Revision | None = None

    def rules(self) -> tuple[Ruleset, list[Fault]]:
        """The rules that the department of this state names, its own pack files as they were then."""
        department = self.record.department
        if self.revision is None or department is None:
            return rules_of_record(self.record)
        folder = posixpath.dirname(_from_top(self.repository, department.span.source.path))
        places = {name: department.where[f"rules {name}"] for name, _ in department.rules}

        def open_pack(name: str) -> Source | str | None:
            path = posixpath.normpath(posixpath.join(folder, name))
            object_id = self.repository.blob_at(self.revision, path)
            if object_id is None:
                return None
            with Objects(self.repository) as objects:
                source, faults = decode(_shown(self.repository, path), objects.read(object_id))
            return faults[0].text if faults else source

        return load_rules([name for name, _ in department.rules], open_pack, places)


class States:
    """Reads states of one record. A file that says the same in two of them is read once."""

    def __init__(self):
        # (path, object) -> what the file is as text, and what is wrong with that.
        self._blobs: dict[tuple[str, str], tuple[Source, list[Fault]]] = {}
        # (path, text) -> the one source that stands for it in every state.
        self._sources: dict[tuple[str, str], Source] = {}
        self._read_before: dict = {}

    def on_disk(self, paths: list[str], label: str) -> State:
        """The state of the files and folders now."""
        sources, faults = read_ledgers(find_ledgers(paths))
        return State(label, self._record(sources, faults))

    def at(self, repository: Repository, revision: Revision, paths: list[str]) -> State:
        """The state of files and folders at a revision, by their paths now. Raises CannotDo where none of them was there."""
        sources: dict[str, Source] = {}
        faults: list[Fault] = []
        with Objects(repository) as objects:
            for path in paths:
                for blob in repository.ledgers(revision, _from_top(repository, path)):
                    shown = _shown(repository, blob.path)
                    if shown not in sources:
                        if blob not in self._blobs:
                            self._blobs[blob] = decode(shown, objects.read(blob.id))
                        sources[shown], of_text = self._blobs[blob]
                        faults += of_text
        if not sources:
            where = " or ".join("this folder" if path == "." else f"`{path}`" for path in paths)
            raise CannotDo(f"there was no *.cyl file in {where} at revision `{revision.name}`; name another revision")
        return State(revision.label, self._record(list(sources.values()), faults), repository, revision)

    def _record(self, sources: list[Source], faults: list[Fault]) -> Record:
        shared = [self._sources.setdefault((source.path, source.text), source) for source in sources]
        return read_record(shared, faults, self._read_before)


def judged_like(state: State, now: Case, options) -> Case:
    """
    A state, to be judged for the same day and by the same rules as another case.

    What was wrong with its own packs and its zone is among its faults.
    """
    own = case_of(state.record, options, lambda record: state.rules())
    return Case(state.record, now.rules, now.as_of, own.faults)


def _from_top(repository: Repository, shown: str) -> str:
    """The path from the top of the repository, with forward slashes, of a path that is shown to people."""
    here = os.path.relpath(os.path.abspath(shown), os.path.abspath(repository.folder)).replace(os.sep, "/")
    path = posixpath.normpath(posixpath.join(repository.prefix, here))
    if path == ".." or path.startswith("../"):
        raise CannotDo(f"`{shown}` is outside the git repository; name a folder or a file inside it")
    return "" if path == "." else path


def _shown(repository: Repository, path: str) -> str:
    """A path from the top of the repository as people see it: from the current folder."""
    return shown_path(os.path.join(repository.folder, os.path.relpath(path or ".", repository.prefix or ".")))
