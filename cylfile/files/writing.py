"""
Writing so that nothing is ever lost: one writer at a time, each file whole, and never two files of a record in one step.

A file is written beside itself under another name, forced to the disk, and then put in its place in one step; a new
folder likewise. Whatever happens in between, a reader finds the old one or the new one. What a run that was broken off
has left beside it is cleared away by the next one.
"""

import os
import stat
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import reason, shown_path
from cylfile.files.locking import WAIT, acquire

# How long a file is tried again that an editor saves all the time, seconds.
TRIED_AGAIN = 20.0
_UNFINISHED = ".writing"
# The folders whose lock this process has.
_held: set[str] = set()


class ChangedMeanwhile(CannotDo):
    """A file is no longer what was read; nothing was written."""


# One writer at a time.


@contextmanager
def locked(folder: str, wait: float = WAIT) -> Iterator[None]:
    """
    Be the only writer of a folder. Raises CannotDo where the turn does not come within `wait` seconds.

    Who asks first has its turn first, and it ends with the process, however that ends. What a writer that was broken off
    has left in the folder is cleared away.
    """
    folder = os.path.realpath(folder)
    if folder in _held:
        yield
        return
    lock = acquire(folder, wait)
    _held.add(folder)
    try:
        with suppress(OSError):
            _clear_away(folder)
        yield
    finally:
        _held.discard(folder)
        os.close(lock)


# One file, or one new folder.


def write_file(path: str, before: bytes | None, after: bytes) -> None:
    """
    Write a file of which `before` was read, None where it was not there.

    Raises ChangedMeanwhile where it is no longer what was read, and CannotDo where it cannot be written.
    """
    folder = os.path.realpath(os.path.dirname(path))
    path = os.path.join(folder, os.path.basename(path))
    with _putting_into(folder, lambda why: f"`{shown_path(path)}` cannot be written ({why}); it is as it was"):
        _refuse_changed(path, before)
        beside = _written_beside(path, after)
        try:
            # An editor, which knows of no lock, may have saved while the disk was written to.
            _refuse_changed(path, before)
            _put_in_place(beside, path, before)
        except BaseException:
            with suppress(OSError):
                os.unlink(beside)
            raise


@contextmanager
def _putting_into(folder: str, refusal: Callable[[str], str]) -> Iterator[None]:
    """
    Hold the lock of a folder while something is put into it. The folder is made where it is not there, and is gone
    again where that fails. Raises CannotDo, with what `refusal` says of the reason, where the system refuses.
    """
    made = _make_folder(folder)
    try:
        with locked(folder):
            yield
            _force_folder(folder)
    except BaseException as trouble:
        _remove_folders(made)
        if isinstance(trouble, OSError):
            raise CannotDo(refusal(reason(trouble))) from None
        raise


def _put_in_place(beside: str, path: str, before: bytes | None) -> None:
    """
    Put a finished file in its place.

    An editor may save between the last look and this step. Where the system lets two files change places in one step,
    what was replaced is looked at after it, and comes back where it is not what was read.
    """
    if before is None or not _exchanged(beside, path):
        os.replace(beside, path)
        return
    try:
        _refuse_changed(beside, before, path)
    except BaseException:
        _exchanged(beside, path)
        raise
    with suppress(OSError):
        os.unlink(beside)


def write_folder(
    folder: str,
    files: dict[str, bytes],
    prove: Callable[[str], None] = lambda unfinished: None,
    kept: Mapping[str, str] | None = None,
) -> None:
    """
    Make a new folder with files, by their paths in it. `prove` may look at it before it goes to its place, and refuse.

    Where `kept` is given the folder takes the place of one that is there, in one step where the system can: these
    are the files that it has from elsewhere, by their paths in it. Raises CannotDo where it is in use or cannot be made.
    """
    if os.path.join(os.path.realpath(os.curdir), "").startswith(os.path.join(os.path.realpath(folder), "")):
        raise CannotDo(f"`{folder}` is where you are; name a new folder")
    unfinished = unfinished_beside(os.path.abspath(folder))
    with _putting_into(
        os.path.dirname(unfinished), lambda why: f"the folder `{shown_path(folder)}` cannot be made ({why})"
    ):
        if (
            kept is None
            and os.path.lexists(folder)
            and (os.path.islink(folder) or not os.path.isdir(folder) or os.listdir(folder))
        ):
            raise CannotDo(f"`{folder}` is in use; name a folder that is empty or not there yet")
        if os.path.lexists(unfinished):
            _remove_tree(unfinished)
            _tell_cleared(unfinished)
        try:
            os.mkdir(unfinished)
            for path, data in files.items():
                whole = os.path.join(unfinished, *path.split("/"))
                os.makedirs(os.path.dirname(whole), exist_ok=True)
                _write(whole, data)
            for path, there in (kept or {}).items():
                _keep(there, os.path.join(unfinished, *path.split("/")))
            for place, _, _ in os.walk(unfinished):
                _force_folder(place)
            prove(unfinished)
            if kept is not None and os.path.isdir(folder):
                _exchange(unfinished, folder)
            else:
                if sys.platform == "win32" and os.path.isdir(folder):
                    os.rmdir(folder)
                os.rename(unfinished, folder)
        except BaseException:
            _remove_tree(unfinished, ignore_errors=True)
            raise


def _keep(path: str, whole: str) -> None:
    """Have a file in a new folder as it is elsewhere: the very same one where the system can, else a copy."""
    os.makedirs(os.path.dirname(whole), exist_ok=True)
    try:
        os.link(path, whole, follow_symlinks=False)
    except (OSError, NotImplementedError):
        import shutil

        shutil.copy2(path, whole, follow_symlinks=False)


def end_exchange(folder: str) -> None:
    """Put right what an exchange of a folder has left that was broken off. Only one at a time may write there."""
    unfinished, aside = unfinished_beside(folder), _aside(folder)
    if os.path.lexists(aside) and not os.path.lexists(folder):
        os.rename(aside, folder)
    for left in (aside, unfinished):
        if os.path.lexists(left):
            _remove_tree(left)
            _tell_cleared(left)


def _aside(folder: str) -> str:
    """Where an old folder is while the new one comes to its place, if that takes two steps."""
    return unfinished_beside(f"{folder}.old")


def _exchange(new: str, old: str) -> None:
    """Put a new folder in the place of an old one, which is removed then."""
    if not _exchanged(new, old):
        # Nobody finds a folder there for the time of a rename.
        aside = _aside(old)
        os.rename(old, aside)
        try:
            os.rename(new, old)
        except BaseException:
            os.rename(aside, old)
            raise
        new = aside
    _remove_tree(new, ignore_errors=True)


# Of renameat2 on Linux: paths count from where one is, and the two change places.
_AT_CURRENT, _CHANGE_PLACES = -100, 2


def _exchanged(one: str, other: str) -> bool:
    """Whether two files or folders have changed places in one step, which not every system can."""
    if sys.platform != "linux":
        return False
    import ctypes

    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    return rename(_AT_CURRENT, os.fsencode(one), _AT_CURRENT, os.fsencode(other), ctypes.c_uint(_CHANGE_PLACES)) == 0


def unfinished_beside(path: str) -> str:
    """The name a file or a folder is written under at first: one that is never taken for a ledger or a record."""
    folder, name = os.path.split(path)
    return os.path.join(folder, f".{name}{_UNFINISHED}")


def _refuse_changed(path: str, before: bytes | None, shown: str = "") -> None:
    if _present(path) != before:
        raise ChangedMeanwhile(
            f"`{shown_path(shown or path)}` was changed meanwhile; nothing was written, run it again"
        )


def _present(path: str) -> bytes | None:
    try:
        opened = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        return None
    with open(opened, "rb") as file:
        return file.read()


def _written_beside(path: str, data: bytes) -> str:
    if os.path.exists(path) and not os.access(path, os.W_OK):
        # It could be replaced, but somebody meant it to stay.
        raise CannotDo(f"`{shown_path(path)}` may not be written to; see to its rights, or leave it")
    beside = unfinished_beside(path)
    try:
        _write(beside, data, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(beside)
        raise
    return beside


def _write(path: str, data: bytes, like: str | None = None) -> None:
    """Write a file that is not there yet, with the rights of another one where there is one."""
    opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(opened, "wb") as file:
        if like is not None:
            _keep_mode(file.fileno(), like)
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _clear_away(folder: str) -> None:
    """Remove what writers have left in a folder that were broken off; only one at a time writes here."""
    with os.scandir(folder) as listing:
        left = [each.path for each in listing if each.name.startswith(".") and each.name.endswith(_UNFINISHED)]
    for path in left:
        if not stat.S_ISDIR(os.lstat(path).st_mode):
            os.unlink(path)
            _tell_cleared(path)


def _tell_cleared(path: str) -> None:
    print(f"cylfile: cleared away `{shown_path(path)}`, which a run that was broken off had left", file=sys.stderr)


def _keep_mode(opened: int, path: str) -> None:
    """Give the new file the rights, and where that is allowed the owner, of the one it replaces."""
    if not hasattr(os, "fchmod"):
        return
    with suppress(FileNotFoundError):
        status = os.stat(path)
        if (status.st_uid, status.st_gid) != (os.geteuid(), os.getegid()):
            with suppress(OSError):
                os.fchown(opened, status.st_uid, status.st_gid)
        os.fchmod(opened, status.st_mode & 0o7777)


def _make_folder(folder: str) -> list[str]:
    """Make a folder with those above it where they are not there; those that were made, the deepest first."""
    made: list[str] = []
    missing: list[str] = []
    while not os.path.isdir(folder):
        missing.append(folder)
        folder = os.path.dirname(folder)
    try:
        for each in reversed(missing):
            os.mkdir(each)
            made.insert(0, each)
    except OSError as trouble:
        _remove_folders(made)
        raise CannotDo(f"the folder `{shown_path(each)}` cannot be made ({reason(trouble)})") from None
    return made


def _remove_tree(folder: str, ignore_errors: bool = False) -> None:
    # Who writes a file needs none of this.
    import shutil

    shutil.rmtree(folder, ignore_errors=ignore_errors)


def _remove_folders(folders: list[str]) -> None:
    for folder in folders:
        with suppress(OSError):
            os.rmdir(folder)


def _force_folder(folder: str) -> None:
    """Force to the disk that files have changed places. Not every system can, and it is no loss where it cannot."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
