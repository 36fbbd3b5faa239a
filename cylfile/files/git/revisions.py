"""
The state of a record: what is on disk now, or what a revision held, read in the same way.

Two states have most of their files in common. Objects of git are fetched once, and a text that
stands in both is read once.
"""

from dataclasses import dataclass

from cylfile.files.git.repository import Repository, Revision
from cylfile.files.git.revision_tree import RevisionTree, record_at
from cylfile.files.records import Folder
from cylfile.files.rules_and_day import case_of
from cylfile.judging.case import Case
from cylfile.record.blocks import Department
from cylfile.record.entries import write_text
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.source import Source


@dataclass
class State:
    """A record as it is or was, and the folder that it is in. `label` says which."""

    label: str
    record: Record
    folder: Folder


class States:
    """Reads states of one record. A file that says the same in two of them is read once."""

    def __init__(self) -> None:
        # What objects of git hold.
        self._known: dict[str, bytes] = {}
        # (path, text) -> the one source that stands for it in every state.
        self._sources: dict[tuple[str, str], Source] = {}
        self._read_before: dict = {}

    def of(self, folder: Folder, label: str) -> State:
        """The state of a record as it was found."""
        sources, faults = folder.texts()
        shared = [self._sources.setdefault((source.path, source.text), source) for source in sources]
        return State(label, read_record(shared, faults, self._read_before), folder)

    def at(self, repository: Repository, revision: Revision, path: str, title: bytes | None = None) -> State:
        """The state that a path led to at a revision; see `record_at`."""
        folder = record_at(repository, revision, path, title, self._known)
        return self.of(folder, revision.label)


def title_bytes(department: Department | None) -> bytes | None:
    """The name of a department as its file has it; see `Folder.title`."""
    return None if department is None else write_text(department.title).encode()


def notes_on(*states: State) -> list[str]:
    """What makes the states another record than people may think: in their repository, and what could not be read."""
    repositories = [state.folder.tree.repository for state in states if isinstance(state.folder.tree, RevisionTree)]
    notes = repositories[0].notes() if repositories else []
    for state in states:
        tree, troubles = state.folder.tree, state.folder.troubles
        notes += (f"{state.label}: {tree.shown(path)}: {trouble.text}" for path, trouble in troubles.items())
    return notes


def judged_like(state: State, now: Case, options) -> Case:
    """
    A state, to be judged for the same day and by the same rules as another case.

    What was wrong with its own packs and its zone is among its faults.
    """
    own = case_of(state.folder, state.record, options)
    return own._replace(rules=now.rules, as_of=now.as_of)
