"""An application whose every caller has a key, and ready-made requests for each of its addresses."""

import contextlib
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.app import all_endpoints, create_app
from coldwright.service.http.callers import ALL_SCOPES
from coldwright.service.http.endpoint import Endpoint
from coldwright.service.settings import Settings
from coldwright.store.keys import create_key

Client = TestClient[Litestar]
NAMES = {
    "id": "nothing-there",
    "reference": "nothing-there",
    "digest": "0" * 64,
    "family": "none",
    "name": "none",
    "slug": "none",
}


class Keyed:
    """The application with its keys."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.database = client.app.state.services.database

    def let_go_of_the_store(self) -> None:
        """Close every connection, so that the next use opens the file anew."""
        services = self.client.app.state.services
        for database in (services.database, services.keys_database, services.health_database):
            database.engine.dispose()

    def key(
        self, tenant: str, *scopes: str, units: str = "metric", person: str = "", roles: tuple[str, ...] = ()
    ) -> dict[str, str]:
        """Headers of a new key; without scopes it has them all."""
        _, secret = create_key(
            self.database, tenant, scopes or tuple(ALL_SCOPES), "for a test", units, person=person, roles=roles
        )
        return {"authorization": f"Bearer {secret}"}


@contextlib.contextmanager
def keyed_app(folder: Path, registry: Registry, **settings: Any) -> Iterator[Keyed]:
    """An application of its own that takes no request without a key."""
    defaults: dict[str, Any] = {
        "database_url": f"sqlite:///{folder}/store.sqlite3",
        "engine": "inline",
        "require_keys": True,
    }
    app = create_app(Settings(**(defaults | settings)), registry)
    with TestClient(app, raise_server_exceptions=False) as client:
        yield Keyed(client)


def guarded_endpoints(registry: Registry) -> list[Endpoint]:
    """Every address that needs a caller."""
    return [e for e in all_endpoints(registry) if e.scope != "public"]


def send(client: Client, endpoint: Endpoint, headers: dict[str, str] | None = None, **names: str) -> Any:
    """A request to the address, with a body where it takes one; `names` fill its path."""
    path = endpoint.path.format_map(defaultdict(lambda: "1", NAMES | names))
    body = b"{}" if endpoint.body is not None else None
    sent = dict(headers or {})
    if body is not None:
        sent["content-type"] = endpoint.body_media_types[0]
    return client.request(endpoint.method, path, content=body, headers=sent)
