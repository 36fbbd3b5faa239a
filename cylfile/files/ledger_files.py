"""
Folders and files on a disk: what stands in them, read safely, and the paths by which people know them.
"""

import os
import re
import stat
import sys

from cylfile.cannot import CannotDo
from cylfile.files.tree import FILE, FOLDER, LINK, STANDARD_INPUT, OddThing, Tree
from cylfile.text.source import Fault, Source, decode

_GIT = ".git"
# The folder of a repository within another, as the file `.gitmodules` of that one has it.
_SUBMODULE = re.compile(rb"^[ \t]*path[ \t]*=[ \t]*(.*?)[ \t]*\r?$", re.MULTILINE)
# How often a file is read that somebody writes to meanwhile.
_MOST_LOOKS = 3
# Neither a link nor a pipe that has taken the place of a file meanwhile is followed or waited for.
_NO_LINK, _AT_ONCE = getattr(os, "O_NOFOLLOW", 0), getattr(os, "O_NONBLOCK", 0)
_AS_IT_IS = getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
_ODD = {
    stat.S_IFIFO: "a pipe",
    stat.S_IFSOCK: "a socket",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
    stat.S_IFDIR: "a folder",
    stat.S_IFLNK: "a link",
}


def shown_path(path: str) -> str:
    """A path as people see it: relative to the current folder, with forward slashes."""
    if path == STANDARD_INPUT:
        return path
    try:
        path = os.path.relpath(path)
    except ValueError:
        # On Windows there is no way from one drive to another.
        path = os.path.abspath(path)
    return path.replace(os.sep, "/")


def reason(trouble: OSError) -> str:
    """Why the system refuses, in its own words, within a sentence."""
    return (trouble.strerror or "the system gives no reason").lower()


def file_bytes(path: str, through_link: bool = True) -> bytes:
    """
    What is in a file that somebody names. Raises OSError where that cannot be had.

    That is no pipe and no device, which may never end, and where asked for no link either.
    """
    if path == STANDARD_INPUT:
        if sys.stdin.isatty():
            print("cylfile: reading the record from the keyboard; Ctrl-D ends it", file=sys.stderr)
        return sys.stdin.buffer.read()
    refuse_odd(os.stat(path, follow_symlinks=through_link))
    flags = os.O_RDONLY | (0 if through_link else _NO_LINK) | _AT_ONCE | _AS_IT_IS
    with open(os.open(path, flags), "rb") as opened:
        refuse_odd(os.fstat(opened.fileno()))
        return opened.read()


def file_source(path: str) -> tuple[Source, list[Fault]]:
    """The text of a file that somebody names, by itself. Raises CannotDo where it cannot be read."""
    try:
        return decode(shown_path(path), file_bytes(path, through_link=False))
    except OSError as trouble:
        raise CannotDo(
            f"`{shown_path(path)}` cannot be read ({reason(trouble)}); see that it is a file you may read"
        ) from None


def refuse_odd(status: os.stat_result) -> None:
    """Raise OddThing for what is no file."""
    if not stat.S_ISREG(status.st_mode):
        raise OddThing(_odd(status.st_mode))


class Disk(Tree):
    """
    The disks of this machine. Paths are real ones, without a link in them, with forward slashes.

    A path that somebody gives may lead through links; what is found from there is shown by the way it was given.
    """

    def __init__(self) -> None:
        self.here = real_path(".")
        # Real folder -> the way to it that somebody gave, where that is another.
        self._given: dict[str, str] = {}
        # Real path of a file -> what is the same for the same file under another name.
        self.identities: dict[str, tuple[int, int]] = {}

    def __getstate__(self) -> dict:
        """What is sent to another process, which has read nothing yet."""
        return {**self.__dict__, "identities": {}}

    def place(self, given: str) -> tuple[str, str]:
        """
        The path and the kind of what somebody names; of a link to a file, those of the link.

        Raises CannotDo where there is nothing of that name.
        """
        if given == STANDARD_INPUT:
            return given, FILE
        whole = os.path.abspath(given)
        try:
            if stat.S_ISDIR(os.stat(whole).st_mode):
                real = real_path(whole)
                self._given[real] = whole
                return real, FOLDER
        except FileNotFoundError:
            if not os.path.lexists(whole):
                raise CannotDo(
                    f"there is no file or folder `{given}`; check the name and the folder you are in"
                ) from None
        except OSError as trouble:
            raise CannotDo(f"`{given}` cannot be looked into ({reason(trouble)}); see to its rights and name") from None
        folder, name = os.path.split(whole)
        self._given[real_path(folder)] = folder
        return self.join(real_path(folder), name), FILE

    def shown(self, path: str) -> str:
        folder = path
        while folder not in self._given:
            folder, below = os.path.dirname(folder), folder
            if folder == below:
                return shown_path(path)
        return shown_path(self._given[folder] + path[len(folder) :])

    def listing(self, folder: str) -> list[tuple[str, str]]:
        with os.scandir(folder) as entries:
            return sorted((entry.name, _kind(entry)) for entry in entries)

    def target(self, link: str) -> tuple[str, str]:
        real = real_path(link, strict=True)
        mode = os.stat(real).st_mode
        kind = FOLDER if stat.S_ISDIR(mode) else FILE if stat.S_ISREG(mode) else _odd(mode)
        return real, kind

    def data(self, path: str) -> bytes:
        if path == STANDARD_INPUT:
            return file_bytes(path)
        refuse_odd(os.lstat(path))
        for _ in range(_MOST_LOOKS):
            opened = os.open(path, os.O_RDONLY | _NO_LINK | _AT_ONCE | _AS_IT_IS)
            with open(opened, "rb") as file:
                before = os.fstat(opened)
                refuse_odd(before)
                data = file.read()
                after = os.fstat(opened)
            if (before.st_size, before.st_mtime_ns) == (after.st_size, after.st_mtime_ns):
                if before.st_ino:
                    self.identities[path] = (before.st_dev, before.st_ino)
                return data
        raise OSError(None, "it changed while it was read")

    def work_tree(self, folder: str) -> str | None:
        while not os.path.lexists(self.join(folder, _GIT)):
            above = os.path.dirname(folder)
            if above == folder:
                return None
            folder = above
        return folder

    def is_left_out(self, folder: str) -> bool:
        top = self.work_tree(folder)
        if top is None or folder == top:
            return False
        try:
            declared = _SUBMODULE.findall(file_bytes(self.join(top, ".gitmodules")))
        except OSError:
            return False
        return os.fsencode(folder[len(top) :].strip("/")) in declared

    def above(self, folder: str) -> str | None:
        above = os.path.dirname(folder)
        return None if above == folder or os.path.lexists(self.join(folder, _GIT)) else above


def real_path(path: str, strict: bool = False) -> str:
    """A path without links in it, with forward slashes."""
    return os.path.realpath(path, strict=strict).replace(os.sep, "/")


def _kind(entry: os.DirEntry) -> str:
    if entry.is_symlink():
        return LINK
    if entry.is_dir(follow_symlinks=False):
        return FOLDER
    if entry.is_file(follow_symlinks=False):
        return FILE
    return _odd(entry.stat(follow_symlinks=False).st_mode)


def _odd(mode: int) -> str:
    return _ODD.get(stat.S_IFMT(mode), "neither file nor folder")
