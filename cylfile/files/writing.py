"""
Writing files of a record so that nothing is ever lost: one writer at a time, and each file whole.

A file is written beside itself under another name, forced to the disk, and then put in its
place in one step. Whatever happens in between, a reader finds the old file or the new one.
"""

import errno
import os
import random
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import shown_path

LOCK_NAME = ".cylfile.lock"
# Longer than fifty people at once need, each with a large record.
WAIT = 60.0
_BUSY = (errno.EAGAIN, errno.EACCES, errno.EDEADLK)
_held: set[str] = set()


class Change(NamedTuple):
    """A file to write: what was read from it, None where it was not there, and what it is to hold, None for gone."""

    path: str
    before: bytes | None
    after: bytes | None


class ChangedMeanwhile(CannotDo):
    """A file is no longer what was read; nothing was written."""


@contextmanager
def locked(folder: str, wait: float = WAIT) -> Iterator[None]:
    """
    Be the only writer of a folder. Raises CannotDo where another one does not end within `wait` seconds.

    The lock is the system's own on a file in the folder: it ends with the process, however that ends.
    """
    folder = os.path.realpath(folder)
    if folder in _held:
        yield
        return
    path = os.path.join(folder, LOCK_NAME)
    lock = _acquire(path, folder, time.monotonic() + wait)
    _held.add(folder)
    try:
        yield
    finally:
        _held.discard(folder)
        # Who waits for the lock of a file that is gone looks again. Not every system lets an open
        # file be removed; there it stays.
        with suppress(OSError):
            os.unlink(path)
        os.close(lock)


def _acquire(path: str, folder: str, until: float) -> int:
    while True:
        try:
            lock = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        except OSError as trouble:
            raise CannotDo(f"nothing can be written in `{shown_path(folder)}` ({_reason(trouble)})") from None
        try:
            _lock_now(lock)
            if _is_still(lock, path):
                return lock
        except OSError as trouble:
            if trouble.errno not in _BUSY:
                os.close(lock)
                raise CannotDo(f"`{shown_path(folder)}` cannot be locked ({_reason(trouble)})") from None
        os.close(lock)
        if time.monotonic() > until:
            raise CannotDo(
                f"somebody else is writing to `{shown_path(folder)}` and does not end; nothing was written, try again"
            )
        time.sleep(random.uniform(0.005, 0.03))


def _is_still(lock: int, path: str) -> bool:
    """Whether the file that is locked is the one that others will lock."""
    try:
        return os.path.samestat(os.fstat(lock), os.stat(path))
    except FileNotFoundError:
        return False


if sys.platform == "win32":

    def _lock_now(lock: int) -> None:
        import msvcrt

        msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)

else:

    def _lock_now(lock: int) -> None:
        import fcntl

        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)


def write_files(changes: list[Change]) -> None:
    """
    Make all changes or none, as far as a file system allows.

    Everything new is on the disk before the first file is put in place. Where one cannot be put
    in place, those before it are put back. Raises ChangedMeanwhile where a file is no longer
    what was read, and CannotDo where something cannot be written.
    """
    changes = [change._replace(path=os.path.realpath(change.path)) for change in changes]
    folders = sorted({os.path.dirname(change.path) for change in changes})
    made = [folder for folder in folders if _make_folder(folder)]
    try:
        with ExitStack() as locks:
            for folder in folders:
                locks.enter_context(locked(folder))
            _write_locked(changes)
    except BaseException:
        for folder in reversed(made):
            with suppress(OSError):
                os.rmdir(folder)
        raise


def _write_locked(changes: list[Change]) -> None:
    try:
        for change in changes:
            if _present(change.path) != change.before:
                name = shown_path(change.path)
                raise ChangedMeanwhile(f"`{name}` was changed meanwhile; nothing was written, run it again")
        for change in changes:
            if change.after is not None:
                _write_beside(change)
        _put_in_place(changes)
    except BaseException:
        for change in changes:
            with suppress(OSError):
                os.unlink(_beside(change.path))
        raise


def _put_in_place(changes: list[Change]) -> None:
    done = []
    try:
        for change in changes:
            if change.after is None:
                os.unlink(change.path)
            else:
                os.replace(_beside(change.path), change.path)
            done.append(change)
    except OSError as trouble:
        for change in reversed(done):
            _put_back(change)
        raise CannotDo(
            f"`{shown_path(change.path)}` cannot be replaced ({_reason(trouble)}); nothing was written"
        ) from None
    for folder in {os.path.dirname(change.path) for change in changes}:
        _force_folder(folder)


def _put_back(change: Change) -> None:
    if change.before is None:
        os.unlink(change.path)
    else:
        _write_beside(Change(change.path, change.after, change.before))
        os.replace(_beside(change.path), change.path)


def _write_beside(change: Change) -> None:
    path = _beside(change.path)
    if os.path.exists(change.path) and not os.access(change.path, os.W_OK):
        # It could be replaced, but somebody meant it to stay.
        raise CannotDo(f"`{shown_path(change.path)}` may not be written to; see to its rights, or leave it")
    with suppress(FileNotFoundError):
        # Left over from a process that was killed; only one at a time writes here.
        os.unlink(path)
    try:
        opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        with os.fdopen(opened, "wb") as beside:
            _keep_mode(beside.fileno(), change.path)
            beside.write(change.after)
            beside.flush()
            os.fsync(beside.fileno())
    except OSError as trouble:
        raise CannotDo(f"`{shown_path(change.path)}` cannot be written ({_reason(trouble)}); it is as it was") from None


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


def _beside(path: str) -> str:
    """The name a file is written under at first: one that is never taken for a ledger."""
    folder, name = os.path.split(path)
    return os.path.join(folder, f".{name}.writing")


def _present(path: str) -> bytes | None:
    try:
        with open(path, "rb") as opened:
            return opened.read()
    except FileNotFoundError:
        return None


def _make_folder(folder: str) -> bool:
    if os.path.isdir(folder):
        return False
    try:
        os.makedirs(folder)
    except OSError as trouble:
        raise CannotDo(f"the folder `{shown_path(folder)}` cannot be made ({_reason(trouble)})") from None
    return True


def _force_folder(folder: str) -> None:
    """Force to the disk that files have changed places. Not every system can, and it is no loss where it cannot."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _reason(trouble: OSError) -> str:
    return (trouble.strerror or "the system gives no reason").lower()
