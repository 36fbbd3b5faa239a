"""
What the editor shows while a large record is read: how much of it is, and that it is judged.
"""

import gc
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from time import monotonic
from uuid import uuid4

from lsprotocol import types
from pygls.lsp.server import LanguageServer

# Characters from which on a record takes long enough to be asked about.
LARGE = 1_000_000
# The share of the time that reading takes before all is judged, in hundredths.
_READING = 40
# How many seconds an editor has to answer.
_PATIENCE = 3.0


class ReadingShown:
    """Shows in one editor that a record is read, where the editor can show such a thing."""

    def __init__(self, server: LanguageServer):
        self._server = server
        # What the editor has agreed to show the next record by, whether it has yet to answer, and until when that is waited for.
        self._token: str | None = None
        self._is_asked = False
        self._patience: float | None = None

    def prepare(self) -> None:
        """Ask the editor for a place to show the next record in, so that it is there when one is read."""
        window = self._server.client_capabilities.window
        if window is None or not window.work_done_progress:
            return
        token, self._is_asked, self._patience = f"cylfile-{uuid4()}", True, None

        def answered(answer: Future) -> None:
            self._is_asked = False
            if not answer.cancelled() and answer.exception() is None:
                self._token = token

        asked = types.WorkDoneProgressCreateParams(token)
        self._server.protocol.send_request(types.WINDOW_WORK_DONE_PROGRESS_CREATE, asked).add_done_callback(answered)

    def is_awaited(self, characters: int) -> bool:
        """Whether a record of so many characters had better be read when the editor has answered."""
        if characters < LARGE or not self._is_asked:
            return False
        if self._patience is None:
            self._patience = monotonic() + _PATIENCE
        return monotonic() < self._patience

    @contextmanager
    def of(self, folder: str, characters: int) -> Iterator[Callable[[int], None]]:
        """
        While a record is read for the first time; given is what to tell how many of its characters are read.

        What is read stays, so looking for garbage among it, now or later, would be time wasted; it would be
        felt at a keystroke.
        """
        token = self._token if characters >= LARGE else None
        shown, done = self._server.work_done_progress, 0

        def tell(more: int) -> None:
            nonlocal done
            done += more
            if token is not None:
                share = min(_READING * done // characters, _READING)
                said = "judging it" if done >= characters else f"{done:,} of {characters:,} characters"
                shown.report(token, types.WorkDoneProgressReport(message=said, percentage=share))

        if token is not None:
            self._token = None
            shown.begin(token, types.WorkDoneProgressBegin(f"Reading the record in {folder}", percentage=0))
        gc.disable()
        try:
            yield tell
        finally:
            gc.freeze()
            gc.enable()
            if token is not None:
                shown.end(token, types.WorkDoneProgressEnd())
                self.prepare()
