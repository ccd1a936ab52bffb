"""The process from which all workers are forked: it imports once what each of them needs.

Never a fork of the service itself: a child would hold its listening socket.
"""

import multiprocessing
from multiprocessing.forkserver import ensure_running

context = multiprocessing.get_context("forkserver")
PRELOADED = "coldwright.engine.preloaded"


def prepare() -> None:
    """Say what it is to load when it starts, which it does for the first worker."""
    context.set_forkserver_preload([PRELOADED])


def start() -> None:
    """Start it before there is a worker to fork; more than once does no harm."""
    prepare()
    ensure_running()
