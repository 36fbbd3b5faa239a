"""
A git repository, asked through git's own plumbing. Nothing here writes, runs a hook or goes to the network.

Objects are read as they are: replacement references, with which somebody could show another
history on this machine only, are not followed.
"""

import os
import subprocess
from typing import NamedTuple

from cylfile.cannot import CannotDo

_ENDING = ".cyl"
# Mode of a file, executable or not; links and repositories within the repository are no ledgers.
_FILES = (b"100644", b"100755", b"100664")
# Nothing that git says is translated, nothing is asked of the person at the keyboard, no lock is
# taken, and objects that a partial clone lacks are not fetched, by whatever way.
_OF_HOOKS = ("GIT_DIR", "GIT_INDEX_FILE", "GIT_PREFIX")
_SETTINGS = {
    "LC_ALL": "C",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_ALLOW_PROTOCOL": "none",
}


class Revision(NamedTuple):
    """A revision as somebody named it, the commit that it is, and the day of that commit."""

    name: str
    commit: str
    day: str

    @property
    def label(self) -> str:
        return f"{self.name} ({self.commit[:10]}, {self.day})"


class Blob(NamedTuple):
    """A file of a revision: its path from the top of the repository, and its object."""

    path: str
    id: str


class Repository:
    """
    The repository that a folder lies in; `folder` is where questions are asked from.

    `prefix` is the way from the repository's top to the folder, with a slash at its end, empty
    at the top. Every method raises CannotDo where git cannot answer.
    """

    def __init__(self, folder: str):
        self.folder = folder or "."
        asked = _run(self.folder, "rev-parse", "--show-prefix")
        if asked.returncode:
            raise CannotDo(_why_none(self.folder, asked.stderr))
        self.prefix = os.fsdecode(asked.stdout.removesuffix(b"\n"))

    def revision(self, name: str) -> Revision:
        """The commit that a name means: `HEAD~20`, a branch, a tag, the beginning of a commit's number."""
        commit = self._commit(name)
        if commit is None:
            raise CannotDo(f"git knows no revision `{name}`; {self._cure_for_unknown()}")
        shown = _run(self.folder, "show", "--no-patch", "--no-show-signature", "--format=%cs", commit)
        return Revision(name, commit, shown.stdout.decode("ascii", "replace").strip())

    def knows(self, name: str) -> bool:
        return self._commit(name) is not None

    def _commit(self, name: str) -> str | None:
        if not name or name.startswith("-") or "\0" in name:
            return None
        # In two steps, since in `:/words of a message` all that follows is words.
        found = self._object(name)
        return found and self._object(f"{found}^{{commit}}")

    def _object(self, name: str) -> str | None:
        asked = _run(self.folder, "rev-parse", "--verify", "--quiet", "--end-of-options", name)
        return asked.stdout.decode("ascii").strip() if asked.returncode == 0 else None

    def common_ancestor(self, one: Revision, other: Revision) -> Revision:
        """The newest revision that both have come from."""
        asked = _run(self.folder, "merge-base", one.commit, other.commit)
        if asked.returncode:
            raise CannotDo(f"`{one.name}` and `{other.name}` have no revision in common; compare them as two arguments")
        return self.revision(asked.stdout.decode("ascii").split()[0])._replace(name=f"{one.name}...{other.name}")

    def _cure_for_unknown(self) -> str:
        shallow = _run(self.folder, "rev-parse", "--is-shallow-repository").stdout.strip() == b"true"
        if shallow:
            return "this clone holds only the newest part of the history: run `git fetch --unshallow` first"
        return "`git log --oneline` lists those there are"

    def ledgers(self, revision: Revision, under: str = "") -> list[Blob]:
        """
        The ledgers of a revision at or below a path from the top of the repository.

        As in a folder on disk, those in dot folders are not among them.
        """
        arguments = ["--", under.rstrip("/")] if under else []
        listed = _run(self.folder, "ls-tree", "-r", "-z", "--full-tree", revision.commit, *arguments)
        if listed.returncode:
            raise CannotDo(f"git cannot list `{revision.name}`: {_first_line(listed.stderr)}; try `git fsck`")
        blobs = []
        for line in listed.stdout.split(b"\0"):
            about, _, path = line.partition(b"\t")
            mode, _, id_ = about.partition(b" blob ")
            if mode in _FILES:
                blobs.append(Blob(os.fsdecode(path), id_.decode("ascii")))
        return [blob for blob in blobs if _is_ledger(blob.path, under)]

    def blob_at(self, revision: Revision, path: str) -> str | None:
        """The object of one file of a revision, by its path from the top of the repository."""
        return self._object(f"{revision.commit}:{path}")

    def revision_that_brought(self, text: str) -> Revision | None:
        """The first revision, of those before the present one, whose ledgers hold a text that was not there before."""
        found = _run(
            self.folder,
            "log",
            "--reverse",
            "--format=%H",
            "--no-textconv",
            "--no-ext-diff",
            "--no-show-signature",
            f"-S{text}",
            "HEAD",
        )
        commits = found.stdout.decode("ascii", "replace").split()
        return self.revision(commits[0]) if commits else None


class Objects:
    """Reads objects of a repository through one process; a context manager."""

    def __init__(self, repository: Repository):
        self._process = subprocess.Popen(
            _command(repository.folder, "cat-file", "--batch"),
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=_environment(),
        )  # fmt: skip

    def __enter__(self) -> "Objects":
        return self

    def __exit__(self, *_) -> None:
        self._process.stdin.close()
        self._process.stdout.close()
        self._process.wait()

    def read(self, object_id: str) -> bytes:
        """The bytes of an object. Raises CannotDo where the repository lacks it."""
        asked, answers = self._process.stdin, self._process.stdout
        asked.write(object_id.encode("ascii") + b"\n")
        asked.flush()
        head = answers.readline().split()
        if len(head) != 3:
            cure = "the clone is not whole: `git fsck` tells more, `git fetch` may bring it"
            raise CannotDo(f"git has no object {object_id[:10]}; {cure}")
        size = int(head[2])
        data = answers.read(size + 1)
        return data[:size]


def _is_ledger(path: str, under: str) -> bool:
    # What was asked for by its own name counts whatever its ending.
    if path == under:
        return True
    parts = path[len(under) :].split("/")
    return path.lower().endswith(_ENDING) and not any(part.startswith(".") for part in parts)


def _command(folder: str, *arguments: str) -> list[str]:
    return ["git", "--no-replace-objects", "--literal-pathspecs", "-C", folder, *arguments]


def _environment() -> dict[str, str]:
    environment = {**os.environ, **_SETTINGS}
    if "GIT_WORK_TREE" not in environment:
        # A hook is told where its repository is as seen from its top; seen from a folder below, that is elsewhere.
        for name in _OF_HOOKS:
            environment.pop(name, None)
    return environment


def _run(folder: str, *arguments: str) -> subprocess.CompletedProcess:
    try:
        return subprocess.run(_command(folder, *arguments), capture_output=True, env=_environment(), check=False)
    except FileNotFoundError:
        raise CannotDo("git is not on this machine, or not on its PATH; install it, or name two folders") from None


def _why_none(folder: str, complaint: bytes) -> str:
    said = _first_line(complaint)
    if "dubious ownership" in said:
        return f"git refuses the repository of `{folder}`, which belongs to somebody else; see safe.directory in `git help config`"
    if "not a git repository" in said:
        return f"`{folder}` is in no git repository; name two folders, or run this where git keeps the record"
    return f"git cannot work in `{folder}`: {said or 'it gives no reason'}"


def _first_line(complaint: bytes) -> str:
    return complaint.decode("utf-8", "replace").strip().partition("\n")[0].removeprefix("fatal: ")
