"""
Doing a work for many things on a cluster of dask.distributed that somebody has started: all that is to be distributed is
distributed by it, and what breaks off there is tried again by it.
"""

import logging
from collections.abc import Callable, Iterator
from typing import Any

from cylfile.cannot import CannotDo, extra_missing

# Seconds within which a scheduler answers and has a worker.
_LONGEST_WAIT = 10
_TRIED_AGAIN = 2


def on_cluster(address: str, work: Callable[[Any], Any], things: list) -> Iterator[Any]:
    """
    What `work` gives for each thing, in their order; where it fails again and again, the exception in its place.

    Raises CannotDo where the library is not installed, where no scheduler answers, and where it has no worker.
    """
    try:
        from distributed import Client
        from distributed.comm import get_address_host
    except ImportError:
        raise CannotDo(extra_missing("--cluster", "cluster")) from None
    # What goes wrong is told by us, once.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    try:
        get_address_host(address)
        client = Client(address, timeout=_LONGEST_WAIT, set_as_default=False)
    except (OSError, ValueError):
        raise CannotDo(
            f"no scheduler of dask.distributed answers at `{address}`; start one, or correct the address, such as "
            "tcp://127.0.0.1:8786"
        ) from None
    with client:
        try:
            client.wait_for_workers(1, timeout=_LONGEST_WAIT)
        except OSError:
            raise CannotDo(f"the scheduler at `{address}` has no worker; start one: dask worker {address}") from None
        futures = client.map(work, things, retries=_TRIED_AGAIN, pure=False)[::-1]
        while futures:
            try:
                done = futures.pop().result()
            except Exception as failure:
                done = failure
            yield done
