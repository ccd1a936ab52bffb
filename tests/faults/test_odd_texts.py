"""Texts at the edge of what they may be, in both databases: edited page tokens, names that grow when folded, NUL."""

from base64 import urlsafe_b64encode
from collections.abc import Iterator
from typing import Any

import pytest
from databases import migrated
from litestar import Litestar
from litestar.testing import TestClient
from orders import fleet, machine, order
from postgres import new_database
from quantity import q
from startup_histories import CONFIGURATION

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings

Client = TestClient[Litestar]
KEYS = [
    *(f"updated\n{at}\nB-1" for at in ("soon", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00")),
    *(f"worst\n{severity}\n2027-06-01\nB-1" for severity in ("bad", "9" * 20, "9" * 300)),
    "period\nB-1",
    *(f"{at}\nx" for at in ("soon", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00")),
    *("0", "2147483648", "999999999999999", "4\n999999999999"),
    "",
]
"""What a token might say, some of it of one list and some of none."""
NEVER_ENDS = {"site": "ΐ" * 200, "hours": [{"at": "2027-06-02T12:00:00Z", "temperature": q(40, "degC")}]}
"""A name of two hundred letters, six hundred when folded."""


@pytest.fixture(scope="module", params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def client(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, registry: Registry
) -> Iterator[Client]:
    on_file = request.param == "sqlite"
    url = migrated(tmp_path_factory.mktemp("odd") / "store.sqlite3") if on_file else new_database()
    settings = Settings(database_url=url, engine="inline", job_engine="embedded")
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as made:
        assert made.put("/v1/fleets/yard", json=fleet(machine("middle", 150))).status_code == 201
        assert made.put("/v1/startups/one", json={"configuration": CONFIGURATION}).status_code == 201
        yield made


def test_no_edited_token_is_a_fault(client: Client) -> None:
    items = {"calculator": "booking.assessment", "items": [{"id": "1", "given": {}}]}
    job = client.post("/v1/jobs", json=items).headers["location"]
    lists = (
        "jobs",
        "fleets",
        "fleets/yard/machines",
        "fleets/yard/versions",
        "startups",
        "keys",
        "forecasts",
        "schedules",
    )
    below = ("observations", "configurations", "verdicts")
    addresses = [f"/v1/{name}" for name in lists] + [f"/v1/startups/one/{name}" for name in below] + [f"{job}/results"]
    addresses += [f"/v1/bookings?sort={sort}" for sort in ("period", "updated", "reference", "worst")]
    for address in addresses:
        assert client.get(address).status_code == 200, address
        for key in KEYS:
            token = urlsafe_b64encode(key.encode()).decode()
            reply = client.get(f"{address}{'&' if '?' in address else '?'}page_token={token}")
            assert reply.status_code in (200, 422), (address, key, reply.text)


def test_what_is_as_long_as_it_may_be_is_kept(client: Client) -> None:
    assert client.put("/v1/forecasts/north", json={"places": [NEVER_ENDS]}).status_code == 201
    booked = order(reference="B-1", fleet=None, fleet_id="yard", site__name=NEVER_ENDS["site"], customer="ß" * 200)
    assert client.put("/v1/bookings/B-1", json=booked).status_code == 201
    assert client.post("/v1/bookings/B-1/recheck?view=summary").json()["changed"] is True, "it is forecast there"
    asked = {"calculator": "booking.assessment", "items": [{"id": "1", "given": {}}]}
    made = [client.post("/v1/jobs", json=asked, headers={"idempotency-key": "k" * 200}) for _ in range(2)]
    assert [reply.status_code for reply in made] == [202, 202]
    assert made[0].json()["id"] == made[1].json()["id"]


@pytest.mark.parametrize(
    ("address", "body", "pointer"),
    [
        ("bookings/B-9", order(reference="B-9", fleet=None, fleet_id="yard\0"), "#/fleet_id"),
        ("bookings/B-9?dry_run=true", order(reference="B-9", fleet=None, fleet_id="\0"), "#/fleet_id"),
        ("webhooks/one", {"url": "https://orders.example.com/\0"}, "#/url"),
        ("schedules/one", {"forecast": "x" * 101}, "#/forecast"),
    ],
)
def test_what_can_be_no_name_is_refused(client: Client, address: str, body: dict[str, Any], pointer: str) -> None:
    reply = client.put(f"/v1/{address}", json=body)
    assert (reply.status_code, reply.json()["errors"][0]["pointer"]) == (422, pointer), reply.text
    assert client.get("/v1/keys/%00").status_code == 404
