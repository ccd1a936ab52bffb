"""`coldwright serve`: run the service."""

import argparse
import gc
from typing import Any

from coldwright.commands.errors import CommandError
from coldwright.processes import forkserver
from coldwright.service.settings import from_environment


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("serve", help="run the service")
    command.add_argument("--host", default="127.0.0.1", help="address to listen on (default: loopback only)")
    command.add_argument("--port", type=int, default=8080, help="port to listen on (default: 8080)")
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Serve until a stop signal; requests in flight are finished.

    What the workers need loads in another process while this one loads the service: together they take half as long.
    """
    if not 0 <= given.port < 2**16:
        raise CommandError(f"{given.port} is no port: they go from 0 to {2**16 - 1}")
    settings = from_environment()
    if settings.engine == "workers":
        forkserver.start()
    # The collector is not to walk all modules while they load, nor the million values of a long body while nobody is
    # answered.
    gc.set_threshold(100_000, 20, 100)
    from coldwright.commands.serving import serve

    return serve(settings, given.host, given.port)
