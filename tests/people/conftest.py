"""An application for whoever comes with a browser."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
Client = TestClient[Litestar]


@pytest.fixture(scope="session")
def booked(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Client]:
    """The demo orders booked and held, with a start, where no keys are needed."""
    path = tmp_path_factory.mktemp("people") / "store.sqlite3"
    app = create_app(Settings(database_url=f"sqlite:///{path}", engine="inline"), registry)
    with TestClient(app, raise_server_exceptions=False) as client:
        assert client.put("/v1/fleets/demo", json=json.loads((DEMO / "fleet.json").read_text())).status_code == 201
        for name in ("process", "comfort", "indoor"):
            order = json.loads((DEMO / f"order-{name}.json").read_text())
            assert client.put(f"/v1/bookings/{order['reference']}", json=order).status_code == 201
        assert client.post("/v1/bookings/DEMO-PROCESS/hold", json={}).status_code == 200
        body = {"booking": "DEMO-PROCESS", "machine": "60-ton, no. 2", "from_booking": {"reference": "DEMO-PROCESS"}}
        assert client.put("/v1/startups/process-2", json=body).status_code == 201
        yield client
