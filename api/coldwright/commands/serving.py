"""What `coldwright serve` runs, once its workers have begun to load."""

import contextlib
import gc
import math
import os
import resource
import signal
import sys
from types import FrameType

import structlog
import uvicorn
from litestar import Litestar

from coldwright.commands.errors import CommandError
from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.http.connections import watched
from coldwright.service.http.hosts import is_loopback
from coldwright.service.ids import settled_registry
from coldwright.service.jobs.driving import by_queue
from coldwright.service.logs import configure
from coldwright.service.settings import Settings, misspelt
from coldwright.store import Database, StoreFull, StoreUnavailable, upgrade
from coldwright.store.keys import any_key

log = structlog.get_logger("coldwright.serve")


def refuse_open_address(settings: Settings, host: str, database: Database) -> None:
    """Without keys anybody who reaches the address is trusted: so nobody but this machine may reach it."""
    if is_loopback(host):
        return
    if not settings.allowed_hosts.strip():
        raise CommandError(
            f"will not listen on {host} without knowing under which names it is called there: set "
            "COLDWRIGHT_ALLOWED_HOSTS to them, as in COLDWRIGHT_ALLOWED_HOSTS=plans.example.com. Every request must give "
            "one of them in `Host`, except to /health/live and /health/ready."
        )
    if settings.require_keys or settings.oidc_jwks_url or any_key(database):
        return
    raise CommandError(
        f"will not listen on {host} without keys, because everyone who reaches it would be trusted. "
        "Make one with `coldwright keys create --tenant NAME --scopes calculate,book` or set COLDWRIGHT_REQUIRE_KEYS=1."
    )


class Server(uvicorn.Server):
    """Uvicorn that passes a stop signal to the application at once: readiness fails and event streams end."""

    def __init__(self, config: uvicorn.Config, app: Litestar) -> None:
        super().__init__(config)
        self._services = app.state.services

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """On a stop signal."""
        self._services.stopping = True
        super().handle_exit(sig, frame)


def _end(_signal: int, _frame: FrameType | None) -> None:
    """A stop that was asked for is no failure. While it serves, uvicorn has the signal; afterwards, this has."""
    raise SystemExit(0)


def _end_at_once(_signal: int, _frame: FrameType | None) -> None:
    """A stop while it loads. Nothing is under way, and an exception would be taken for a fault of what is being loaded."""
    os._exit(0)


COLLECTED_AFTER = (5_000, 10, 100)
"""Objects, and rounds, after which the collector of cycles runs: often and each time briefly, since nobody is answered
meanwhile. With ten times the objects it takes a tenth of a second beside a job of wrong inputs; with Python's own 700 and ten
rounds, which go through everything that lives every so often, three times as long as the reading of half a million values."""
SWITCHED_AFTER = 0.0005
"""Seconds for which one thread may have the interpreter while another wants it. The event loop needs it anew at each of the ten
steps or so of a request; with Python's own 5 ms, two busy threads make that a tenth of a second. It costs such threads a tenth
of their time here."""
OTHER_FILES = 400
"""Files that the service needs beside its connections: the store, the workers' pipes, the log."""


def _open_files() -> int:
    """Files that the process may open, raised to what the system lets it raise by itself."""
    _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))
    soft, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    return 1_000_000 if soft == resource.RLIM_INFINITY else max(soft, OTHER_FILES + 50)


def _settled(settings: Settings, host: str) -> Registry:
    """The plugins that are served, with the ids that the store holds for each; refuses an open address first."""
    database = Database(settings.database_url)
    try:
        upgrade(database)
        refuse_open_address(settings, host, database)
        by_queue(settings, database)
        return settled_registry(settings, database)
    except (StoreUnavailable, StoreFull) as error:
        raise CommandError(f"the store does not answer: {error}") from error
    finally:
        database.close()


def serve(settings: Settings, host: str, port: int) -> int:
    """Serve until a stop signal; requests in flight are finished."""
    signal.signal(signal.SIGTERM, _end_at_once)
    configure(settings.log_format, settings.log_level)
    for name in misspelt():
        log.warning("no_such_setting", variable=name)
    app = create_app(settings, _settled(settings, host), bound=host)
    gc.freeze()  # modules and schemas live as long as the process: the collector need not walk them, now or ever
    gc.set_threshold(*COLLECTED_AFTER)
    sys.setswitchinterval(SWITCHED_AFTER)
    config = uvicorn.Config(
        app,
        host=host,
        port=port,
        http="h11",
        access_log=False,
        log_config=None,
        server_header=False,
        proxy_headers=False,
        ws="none",
        timeout_graceful_shutdown=int(settings.shutdown_seconds),
        timeout_keep_alive=math.ceil(settings.idle_seconds),
    )
    connections = app.state.services.connections
    connections.most = min(connections.most, _open_files() - OTHER_FILES)
    config.load()
    config.http_protocol_class = watched(config.http_protocol_class, connections)
    server = Server(config, app)
    signal.signal(signal.SIGTERM, _end)
    with contextlib.suppress(KeyboardInterrupt):
        server.run()
    return 0 if server.started else 1
