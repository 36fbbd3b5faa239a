"""
Running the server on standard input and output, where nothing but the protocol may be written.
"""

import logging
import sys
from collections.abc import Callable

from pygls.exceptions import JsonRpcException

from cylfile.server.requests import HANDLERS
from cylfile.server.service import Service


def serve() -> int:
    """
    Speak with an editor until it ends; the exit status.

    That is 1, as the protocol has it, where the editor went away without a word.
    """
    # The library tells the log what it does, and its troubles. Nobody reads that here.
    for name in ("pygls", "asyncio"):
        logging.getLogger(name).addHandler(logging.NullHandler())
        logging.getLogger(name).propagate = False
    # Whatever is printed by mistake goes where it does no harm.
    output, sys.stdout = sys.stdout.buffer, sys.stderr
    service = make_service()
    service.start_io(sys.stdin.buffer, output)
    return 0 if service.is_ending else 1


def make_service() -> Service:
    """A server with all that it can do."""
    service = Service()
    for method, handler, *options in HANDLERS:
        service.feature(method, *options)(_guarded(service, handler))
    return service


def _guarded(service: Service, handler: Callable) -> Callable:
    """A handler that answers with nothing, and says so in one line, where there is a fault of ours."""

    def answer(params):
        try:
            return handler(service, params)
        except JsonRpcException:
            raise
        except Exception as trouble:
            service.report_server_error(trouble, type(trouble))
            return None

    return answer
