"""
A git repository, asked through git's own plumbing. Nothing here writes, runs a hook or goes to the network.

Objects are read as they are: replacements and grafts, with which somebody could show another history
on this machine only, are not followed, and a name that could mean two things is refused.
"""

import os
import re
import subprocess
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.compare.commit import Commit

# The part of the name of a revision that is the name of a tag, a branch or the like.
_BASE = re.compile(r"[^~^@:]*")
# What git tells a hook, as seen from the top of the repository.
_OF_HOOKS = ("GIT_DIR", "GIT_INDEX_FILE", "GIT_PREFIX")
# Nothing that git says is translated, nothing is asked of the person at the keyboard, no lock is
# taken, and objects that a partial clone lacks are not fetched, by whatever way.
_SETTINGS = {
    "LC_ALL": "C",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_GRAFT_FILE": os.devnull,
}


class Revision(NamedTuple):
    """A revision as somebody named it, the commit that it is, and the day of that commit."""

    name: str
    commit: str
    day: str

    @property
    def label(self) -> str:
        return f"{self.name} ({self.commit}, {self.day})" if self.commit else self.name


# What the next commit would hold, as git's index has it: no commit yet.
STAGED = Revision("what is staged", "", "")


class Blob(NamedTuple):
    """What a revision holds at a path from the top of the repository: git's mode for it, and its object."""

    path: str
    mode: str
    id: str


class Repository:
    """
    The repository that a folder lies in; `folder` is where questions are asked from.

    `top` is the root of its work tree, None where it has none; `prefix` the way from there to the folder, with a
    slash at its end, empty at the top. Every method raises CannotDo where git cannot answer.
    """

    def __init__(self, folder: str):
        self.folder = folder or "."
        asked = _run(self.folder, "rev-parse", "--show-prefix")
        if asked.returncode:
            raise CannotDo(_why_none(self.folder, asked.stderr))
        self.prefix = os.fsdecode(asked.stdout.removesuffix(b"\n"))
        asked = _run(self.folder, "rev-parse", "--show-toplevel")
        # A bare repository has no work tree, and paths in it are those of its revisions.
        self.top = os.fsdecode(asked.stdout.removesuffix(b"\n")) if asked.returncode == 0 else None

    def revision(self, name: str) -> Revision:
        """The commit that a name means: `HEAD~20`, a branch, a tag, the beginning of a commit's number."""
        commit = self._commit(name)
        if commit is None:
            raise CannotDo(f"git knows no revision `{name}`; {self._cure_for_unknown()}")
        shown = _run(self.folder, "show", "--no-patch", "--no-show-signature", "--format=%cs", commit)
        return Revision(name, commit, shown.stdout.decode("ascii", "replace").strip())

    def head(self) -> Revision:
        """The commit that is checked out, whose name can mean nothing else; its day is not looked up."""
        asked = _run(self.folder, "rev-parse", "--verify", "HEAD^{commit}")
        if asked.returncode:
            raise CannotDo("there is no revision yet; `git commit` makes one")
        return Revision("HEAD", asked.stdout.decode("ascii").strip(), "")

    def knows(self, name: str) -> bool:
        return self._commit(name) is not None

    def full_name(self, name: str) -> str:
        """A name of a revision that can be nothing else."""
        asked = _run(self.folder, "rev-parse", "--verify", "--symbolic-full-name", "--end-of-options", name)
        full = asked.stdout.decode("utf-8", "replace").strip()
        return full if full.startswith("refs/") and name != "HEAD" else f"{name}^0"

    def _commit(self, name: str) -> str | None:
        if not name or name.startswith("-") or "\0" in name:
            return None
        # In two steps, since in `:/words of a message` all that follows is words.
        found = self._object(name)
        if found is not None:
            self._refuse_file(_base_of(name))
        return found and self._object(f"{found}^{{commit}}")

    def _refuse_file(self, name: str) -> None:
        """Raise CannotDo where a name is that of a file in git's own folder, which anybody can put there."""
        asked = _run(self.folder, "rev-parse", "--verify", "--symbolic-full-name", "--end-of-options", name)
        full = asked.stdout.strip()
        if full and not full.startswith(b"refs/") and not full.isupper():
            raise CannotDo(f"`{name}` is no tag and no branch but a file in git's own folder; see who put it there")

    def _object(self, name: str) -> str | None:
        asked = _run(
            self.folder, "-c", "core.warnAmbiguousRefs=true", "rev-parse", "--verify", "--end-of-options", name
        )
        if asked.returncode:
            return None
        base = _base_of(name)
        if b"is ambiguous" in asked.stderr:
            raise CannotDo(
                f"`{base}` is the name of more than one thing in git; write refs/tags/{base} or refs/heads/{base}"
            )
        return asked.stdout.decode("ascii").strip()

    def notes(self) -> list[str]:
        """What makes the history on this machine another than it is elsewhere, in words."""
        found = []
        own = _run(self.folder, "rev-parse", "--git-common-dir").stdout.removesuffix(b"\n")
        if os.path.exists(os.path.join(os.fsencode(self.folder), own, b"info", b"grafts")):
            found.append("this clone has grafts (.git/info/grafts), which show another history; they are not followed")
        if _run(self.folder, "for-each-ref", "--count=1", "refs/replace/").stdout:
            found.append(
                "this clone has replacements (`git replace -l`), which show other files; they are not followed"
            )
        if self._is_shallow():
            found.append(
                "this clone holds only the newest part of the history: `git fetch --unshallow` brings the rest"
            )
        return found

    def _is_shallow(self) -> bool:
        return _run(self.folder, "rev-parse", "--is-shallow-repository").stdout.strip() == b"true"

    def common_ancestor(self, one: Revision, other: Revision) -> Revision:
        """The newest revision that both have come from."""
        asked = _run(self.folder, "merge-base", one.commit, other.commit)
        if asked.returncode:
            raise CannotDo(f"`{one.name}` and `{other.name}` have no revision in common; compare them as two arguments")
        return self.revision(asked.stdout.decode("ascii").split()[0])._replace(name=f"{one.name}...{other.name}")

    def is_ancestor(self, one: Revision, other: Revision) -> bool:
        return _run(self.folder, "merge-base", "--is-ancestor", one.commit, other.commit).returncode == 0

    def common_ancestors(self, one: str, other: str) -> list[str]:
        """The newest commits that both have come from: none where their histories are apart, and more where they cross."""
        return _run(self.folder, "merge-base", "--all", one, other).stdout.decode("ascii").split()

    def commits(self, old: Revision, new: Revision) -> list[Commit]:
        """Every commit that the new revision has come from and the old has not, each after its parents."""
        asked = _run(
            self.folder, "rev-list", "--topo-order", "--reverse", "--parents", "--encoding=UTF-8",
            "--format=%T%x00%an%x00%ae%x00%as%x00%cn%x00%cs%x00%s", new.commit, f"^{old.commit}",
        )  # fmt: skip
        if asked.returncode:
            raise CannotDo(
                f"git cannot list what lies before `{new.name}`: {_first_line(asked.stderr)}; try `git fsck`"
            )
        lines = asked.stdout.decode("utf-8", "replace").split("\n")[:-1]
        found = []
        for names, about in zip(lines[::2], lines[1::2]):
            _, commit, *parents = names.split(" ")
            found.append(Commit(commit, tuple(parents), *about.split("\0")))
        return found

    def _cure_for_unknown(self) -> str:
        if self._is_shallow():
            return "this clone holds only the newest part of the history: run `git fetch --unshallow` first"
        return "`git log --oneline` lists those there are"

    def files(self, revision: Revision) -> list[Blob]:
        """Everything that a revision holds, or what is staged, but for the folders, which are told by the paths."""
        if revision == STAGED:
            return self._staged()
        listed = _run(self.folder, "ls-tree", "-r", "-z", "--full-tree", revision.commit)
        if listed.returncode:
            raise CannotDo(f"git cannot list `{revision.name}`: {_first_line(listed.stderr)}; try `git fsck`")
        found = []
        for line in listed.stdout.split(b"\0")[:-1]:
            about, _, path = line.partition(b"\t")
            mode, _, id_ = about.split(b" ")
            found.append(Blob(os.fsdecode(path), mode.decode("ascii"), id_.decode("ascii")))
        return found

    def _staged(self) -> list[Blob]:
        if self.top is None:
            raise CannotDo("nothing is staged in a bare repository; name two revisions, as in HEAD~1..HEAD")
        # A commit of some files only has an index of its own, which a hook is told of.
        index = os.environ.get("GIT_INDEX_FILE")
        own = {"GIT_INDEX_FILE": os.path.abspath(index)} if index else {}
        listed = _run(self.top, "ls-files", "--stage", "-z", **own)
        if listed.returncode:
            raise CannotDo(f"git cannot list what is staged: {_first_line(listed.stderr)}; try `git status`")
        found = {}
        for line in listed.stdout.split(b"\0")[:-1]:
            about, _, path = line.partition(b"\t")
            mode, id_, stage = about.decode("ascii").split(" ")
            if stage != "0":
                raise CannotDo(f"`{os.fsdecode(path)}` is in conflict; resolve it and `git add` it first")
            found[path] = Blob(os.fsdecode(path), mode, id_)
        return list(found.values())

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
        assert self._process.stdin is not None and self._process.stdout is not None
        self._asked, self._answers = self._process.stdin, self._process.stdout

    def __enter__(self) -> "Objects":
        return self

    def __exit__(self, *_) -> None:
        self._asked.close()
        self._answers.close()
        self._process.wait()

    def read(self, object_id: str) -> bytes:
        """The bytes of an object. Raises CannotDo where the repository lacks it."""
        self._asked.write(object_id.encode("ascii") + b"\n")
        self._asked.flush()
        head = self._answers.readline().split()
        if len(head) != 3:
            cure = "the clone is not whole: `git fsck` tells more, `git fetch` may bring it"
            raise CannotDo(f"git has no object {object_id[:10]}; {cure}")
        size = int(head[2])
        data = self._answers.read(size + 1)
        return data[:size]


def _base_of(name: str) -> str:
    """The name of a branch, a tag and so on in the name of a revision."""
    found = _BASE.match(name)
    return found[0] if found else ""


def _command(folder: str, *arguments: str) -> list[str]:
    return ["git", "--no-replace-objects", "--literal-pathspecs", "-C", folder, *arguments]


def _environment() -> dict[str, str]:
    environment = {**os.environ, **_SETTINGS}
    if "GIT_WORK_TREE" not in environment:
        # A hook is told where its repository is as seen from its top; seen from a folder below, that is elsewhere.
        for name in _OF_HOOKS:
            environment.pop(name, None)
    return environment


def _run(folder: str, *arguments: str, **environment: str) -> subprocess.CompletedProcess:
    try:
        asked = _command(folder, *arguments)
        return subprocess.run(asked, capture_output=True, env=_environment() | environment, check=False)
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
