"""
The lock of a folder: the system's own, which ends with the process, and which those who wait get in their order.
"""

import os
import sys
import threading

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import reason, shown_path

# Only where a folder itself cannot be locked.
LOCK_NAME = ".cylfile.lock"
# Longer than fifty people at once need, each with a large record; and how long nobody needs to be told of it.
WAIT, UNSAID = 60.0, 1.0


class Busy(CannotDo):
    """Somebody else is writing and does not end; nothing was written."""


def acquire(folder: str, wait: float) -> int:
    """
    The lock of a folder, a file descriptor to be closed, once it is our turn.

    Raises Busy where that does not come within `wait` seconds, and CannotDo where the folder cannot be locked.
    """
    try:
        turn = _Turn(folder)
    except OSError as trouble:
        raise CannotDo(f"nothing can be written in `{shown_path(folder)}` ({reason(trouble)})") from None
    try:
        if turn.comes(min(wait, UNSAID)):
            return turn.lock
        print(f"cylfile: somebody else is writing to `{shown_path(folder)}`; waiting", file=sys.stderr, flush=True)
        if turn.comes(wait - UNSAID):
            return turn.lock
    except BaseException:
        turn.give_up()
        raise
    turn.give_up()
    raise Busy(f"somebody else is writing to `{shown_path(folder)}` and does not end; nothing was written, try again")


class _Turn:
    """Waits for a lock in a thread of its own, since the system lets nobody wait both in order and not for ever."""

    def __init__(self, folder: str):
        self._has_come = threading.Event()
        self._deciding = threading.Lock()
        self._is_given_up = False
        self._trouble: OSError | None = None
        self.lock = _lockable(folder)
        try:
            is_ours = _lock_now(self.lock)
        except OSError:
            # On some network disks a folder cannot be locked.
            os.close(self.lock)
            self.lock = _lock_file(folder)
            is_ours = _lock_now(self.lock)
        if is_ours:
            self._has_come.set()
        else:
            threading.Thread(target=self._wait, daemon=True).start()

    def _wait(self) -> None:
        try:
            _lock_in_turn(self.lock)
        except OSError as trouble:
            self._trouble = trouble
        with self._deciding:
            if self._is_given_up:
                os.close(self.lock)
            self._has_come.set()

    def comes(self, within: float) -> bool:
        """Whether it is our turn within so many seconds."""
        if not self._has_come.wait(max(within, 0)):
            return False
        if self._trouble is not None:
            raise CannotDo(f"the folder cannot be locked ({reason(self._trouble)}); nothing was written")
        return True

    def give_up(self) -> None:
        with self._deciding:
            self._is_given_up = True
            if self._has_come.is_set():
                os.close(self.lock)


def _lock_file(folder: str) -> int:
    """A file to lock in a folder. It stays there; a link of its name is not followed."""
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
    return os.open(os.path.join(folder, LOCK_NAME), flags, 0o666)


if sys.platform == "win32":
    import msvcrt
    import time

    _lockable = _lock_file

    def _lock_now(lock: int) -> bool:
        try:
            msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _lock_in_turn(lock: int) -> None:
        while not _lock_now(lock):
            time.sleep(0.01)

else:
    import fcntl

    def _lockable(folder: str) -> int:
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)

    def _lock_now(lock: int) -> bool:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _lock_in_turn(lock: int) -> None:
        fcntl.flock(lock, fcntl.LOCK_EX)
