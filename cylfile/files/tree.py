"""
What folders and files can be looked into, whatever keeps them: a disk, a revision of git, an editor over a disk.
"""

import posixpath
from abc import ABC, abstractmethod

STANDARD_INPUT = "-"
LEDGER_ENDING, PACK_ENDING = ".cyl", ".cylpack"
# What can stand in a folder; what is none of these is said in words, such as `a pipe`.
FILE, FOLDER, LINK, SUBMODULE = "file", "folder", "link", "another repository within this one"


class OddThing(OSError):
    """What stands at a path is no file, but what the words say; it was not opened."""

    def __init__(self, what: str):
        super().__init__(None, f"it is {what}, and no file")


class Tree(ABC):
    """
    Folders and files. Paths have forward slashes and no link in them; every method raises OSError where the answer
    cannot be had, but for `shown`, `named`, `above` and `work_tree`. `here` is the current folder.
    """

    here: str = ""

    @abstractmethod
    def listing(self, folder: str) -> list[tuple[str, str]]:
        """Name and kind of everything in a folder, by name."""

    @abstractmethod
    def target(self, link: str) -> tuple[str, str]:
        """The path and the kind of what a link leads to in the end."""

    @abstractmethod
    def data(self, path: str) -> bytes:
        """What is in a file."""

    @abstractmethod
    def shown(self, path: str) -> str:
        """A path as people see it."""

    def named(self, folder: str) -> str:
        """A folder as it is named in a sentence."""
        shown = self.shown(folder)
        return "this folder" if shown == "." else f"`{shown}`"

    @abstractmethod
    def above(self, folder: str) -> str | None:
        """The folder above; None at the root of the git work tree and at that of the file system."""

    @abstractmethod
    def work_tree(self, folder: str) -> str | None:
        """The root of the git work tree that a folder lies in, None where it lies in none."""

    def is_left_out(self, folder: str) -> bool:
        """Whether an empty folder is another repository within this one, which is not checked out."""
        return False

    @staticmethod
    def join(folder: str, name: str) -> str:
        return posixpath.join(folder, name)


def is_within(path: str, folder: str) -> bool:
    """Whether a path is that of a folder or of something below it."""
    if not folder:
        return path != ".."
    return path == folder or path.startswith(folder if folder.endswith("/") else f"{folder}/")
