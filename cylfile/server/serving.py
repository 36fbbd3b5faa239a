"""
Running the server on standard input and output, where nothing but the protocol may be written.
"""

import logging
import re
import sys
from collections.abc import Callable
from typing import Any, BinaryIO, cast

from lsprotocol.types import INITIALIZE
from pygls.exceptions import JsonRpcException, JsonRpcServerNotInitialized

from cylfile.cannot import CannotDo
from cylfile.server.requests import HANDLERS
from cylfile.server.service import Service

# In bytes: more than any text that somebody edits, and than any line of a message's head.
_LONGEST_MESSAGE, _LONGEST_LINE = 2**28, 2**12
_LENGTH = re.compile(rb"content-length[ \t]*:[ \t]*([0-9]+)", re.IGNORECASE)
_HEAD = re.compile(rb"[A-Za-z-]+[ \t]*:")


def serve() -> int:
    """
    Speak with an editor until it ends; the exit status.

    That is 1, as the protocol has it, where the editor went away without a word. Raises CannotDo where it cannot be
    told any more where a message begins.
    """
    # The library tells the log what it does, and its troubles. Nobody reads that here.
    for name in ("pygls", "asyncio"):
        logging.getLogger(name).addHandler(logging.NullHandler())
        logging.getLogger(name).propagate = False
    # Whatever is printed by mistake goes where it does no harm.
    output, sys.stdout = sys.stdout.buffer, sys.stderr
    service = make_service()
    service.start_io(cast(BinaryIO, _Messages(sys.stdin.buffer)), output)
    return 0 if service.is_ending else 1


class _Messages:
    """What the editor sends, as the library reads it: the lines of a head, then so many bytes as it tells."""

    def __init__(self, sent: BinaryIO):
        self.sent, self.length = sent, 0
        self.read = sent.read

    def readline(self) -> bytes:
        """A line of a head. Raises CannotDo where that is none, or tells no length that a message can have."""
        line = self.sent.readline(_LONGEST_LINE)
        words = line.strip()
        found = _LENGTH.fullmatch(words)
        if found:
            if len(found[1]) > 9 or int(found[1]) > _LONGEST_MESSAGE:
                length = found[1][:20].decode("ascii")
                raise CannotDo(
                    f"the editor sends a message of {length} bytes, and the longest has {_LONGEST_MESSAGE:,}; "
                    "close the file that is so large, and start the server again"
                )
            self.length = int(found[1])
            return b"Content-Length: %d\r\n" % self.length
        if words and not _HEAD.match(words):
            raise CannotDo(f"the editor sends {words[:20]!r} where a message begins; start the server again")
        if line and not words:
            if not self.length:
                raise CannotDo("the editor sends a message without its Content-Length; start the server again")
            self.length = 0
        return line


def make_service() -> Service:
    """A server with all that it can do."""
    service = Service()
    for method, handler, *options in HANDLERS:
        service.feature(method, *options)(_guarded(service, handler, method))
    return service


def _guarded(service: Service, handler: Callable, method: str) -> Callable:
    """A handler that answers with nothing, and says so in one line, where there is a fault of ours."""

    def answer(params: Any) -> Any:
        service.heard()
        if not service.is_begun and method != INITIALIZE:
            raise JsonRpcServerNotInitialized
        try:
            return handler(service, params)
        except JsonRpcException:
            raise
        except Exception as trouble:
            service.report_server_error(trouble, type(trouble))
            return None

    return answer
