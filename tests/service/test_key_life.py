"""Keys end by themselves, give way to new ones, and are administered over HTTP by their own tenant."""

import re
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from keyed import Keyed, keyed_app
from running import running
from startup_histories import CONFIGURATION

from coldwright.cli import main
from coldwright.registry import Registry
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key, get_key, list_keys, revoke_key

ADDRESS = "/v1/keys"


@pytest.fixture
def keyed(tmp_path: Path, registry: Registry, monkeypatch: pytest.MonkeyPatch) -> Iterator[Keyed]:
    monkeypatch.setattr("coldwright.service.http.authentication.REMEMBER_SECONDS", 0.0)
    with keyed_app(tmp_path, registry) as made:
        yield made


def bearer(secret: str) -> dict[str, str]:
    return {"authorization": f"Bearer {secret}"}


def test_a_key_ends_by_itself(keyed: Keyed) -> None:
    soon = datetime.now(UTC) + timedelta(seconds=0.7)
    key, secret = create_key(keyed.database, "acme", ("calculate",), expires_at=soon)
    assert keyed.client.get("/v1/calculators", headers=bearer(secret)).status_code == 200
    time.sleep(0.9)
    assert keyed.client.get("/v1/calculators", headers=bearer(secret)).status_code == 401
    again = get_key(keyed.database, key.id)
    assert again is not None
    assert again.state == "expired"


def test_the_use_of_a_key_is_kept_when_the_service_stops(tmp_path: Path, registry: Registry) -> None:
    with keyed_app(tmp_path, registry) as keyed:
        assert keyed.client.get("/v1/calculators", headers=keyed.key("acme")).status_code == 200
    database = Database(f"sqlite:///{tmp_path}/store.sqlite3")
    [key] = list_keys(database)
    database.close()
    assert key.last_used_at is not None
    assert datetime.now(UTC) - key.last_used_at < timedelta(minutes=5)


def test_an_administrator_makes_rotates_and_revokes_the_keys_of_its_tenant(keyed: Keyed) -> None:
    admin, client = keyed.key("acme", "admin"), keyed.client
    wanted: dict[str, Any] = {"scopes": ["book", "calculate"], "name": "office", "lasts": {"value": 90, "unit": "d"}}
    made = client.post(ADDRESS, json=wanted, headers=admin)
    assert made.status_code == 201
    assert made.headers["cache-control"] == "no-store"
    key, secret = made.json()["key"], made.json()["secret"]
    assert made.headers["location"] == f"{ADDRESS}/{key['id']}"
    assert client.get("/v1/calculators", headers=bearer(secret)).status_code == 200
    assert client.get(ADDRESS, headers=bearer(secret)).status_code == 403
    assert client.get(f"{ADDRESS}/{key['id']}", headers=admin).json()["state"] == "in_force"
    rotated = client.post(f"{ADDRESS}/{key['id']}/rotate", json={"grace": {"value": 0, "unit": "s"}}, headers=admin)
    assert rotated.status_code == 201
    assert rotated.json()["replaces"]["id"] == key["id"]
    assert client.get("/v1/calculators", headers=bearer(secret)).status_code == 401
    newer = rotated.json()["secret"]
    assert client.get("/v1/calculators", headers=bearer(newer)).status_code == 200
    again = client.post(f"{ADDRESS}/{key['id']}/rotate", json={}, headers=admin)
    assert again.status_code == 409
    address = f"{ADDRESS}/{rotated.json()['key']['id']}"
    for _ in range(2):
        assert client.delete(address, headers=admin).json()["state"] == "revoked"
    assert client.get("/v1/calculators", headers=bearer(newer)).status_code == 401
    listed = client.get(f"{ADDRESS}?page_size=2", headers=admin).json()
    assert len(listed["keys"]) == 2
    assert listed["next_page_token"]
    everything = client.get(ADDRESS, headers=admin).text
    assert secret not in everything
    assert newer not in everything


def test_nothing_of_another_tenants_keys_is_seen_or_changed(keyed: Keyed) -> None:
    other, _ = create_key(keyed.database, "other", ("book",))
    admin = keyed.key("acme", "admin")
    for reply in (
        keyed.client.get(f"{ADDRESS}/{other.id}", headers=admin),
        keyed.client.delete(f"{ADDRESS}/{other.id}", headers=admin),
        keyed.client.post(f"{ADDRESS}/{other.id}/rotate", json={}, headers=admin),
    ):
        assert reply.status_code == 404
    assert other.id not in keyed.client.get(ADDRESS, headers=admin).text
    kept = get_key(keyed.database, other.id)
    assert kept is not None
    assert kept.state == "in_force"


@pytest.mark.parametrize(
    ("wanted", "pointers"),
    [
        ({"scopes": []}, {"#/scopes"}),
        ({"scopes": ["steal"]}, {"#/scopes/0"}),
        ({"scopes": ["book"], "roles": ["electrician"]}, {"#/roles"}),
        ({"scopes": ["book"], "person": "ann", "roles": ["Two words"]}, {"#/roles/0"}),
        ({"scopes": ["book"], "lasts": {"value": 0, "unit": "d"}}, {"#/lasts"}),
        (
            {"scopes": ["book"], "lasts": {"value": 11, "unit": "furlong"}, "tenant": "other"},
            {"#/lasts/unit", "#/tenant"},
        ),
    ],
)
def test_what_cannot_be_a_key_is_refused(keyed: Keyed, wanted: dict[str, Any], pointers: set[str]) -> None:
    reply = keyed.client.post(ADDRESS, json=wanted, headers=keyed.key("acme", "admin"))
    assert reply.status_code == 422, reply.text
    assert {e["pointer"] for e in reply.json()["errors"]} == pointers


def test_the_command_rotates_and_tells_the_life_of_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{tmp_path}/keys.sqlite3"
    monkeypatch.setenv("COLDWRIGHT_DATABASE_URL", url)
    assert main(["keys", "create", "--tenant", "acme", "--scopes", "book", "--days", "30"]) == 0
    told = capsys.readouterr().out
    assert re.search(r"^ends +20\d\d-\d\d-\d\d \d\d:\d\d UTC$", told, re.MULTILINE)
    database = Database(url)
    [key] = list_keys(database)
    assert main(["keys", "rotate", key.id, "--grace-hours", "0"]) == 0
    assert re.search(r"^secret +cwk_\S+$", capsys.readouterr().out, re.MULTILINE)
    assert main(["keys", "list"]) == 0
    listed = capsys.readouterr().out
    assert "expired 20" in listed
    assert "in force until 20" in listed
    assert "never used" in listed
    assert main(["keys", "rotate", key.id]) == 2
    assert f"there is no key {key.id} in force" in capsys.readouterr().err
    assert main(["keys", "create", "--tenant", "acme", "--scopes", "book", "--days", "1e9"]) == 2
    assert "3650 days" in capsys.readouterr().err
    database.close()


def test_a_stream_ends_with_its_key(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    database = Database(url)
    upgrade(database)
    key, secret = create_key(database, "acme", ("field", "book"))
    headers = bearer(secret)
    with running(tmp_path, {"database_url": url, "engine": "inline", "require_keys": "1"}) as service:
        address = f"{service.url}/v1/startups/north"
        put = httpx.put(address, json={"configuration": CONFIGURATION}, headers=headers, timeout=60)
        assert put.status_code == 201, put.text
        revoked = 0.0
        with httpx.stream("GET", f"{address}/events", headers=headers, timeout=30) as stream:
            assert stream.status_code == 200
            for line in stream.iter_lines():
                if line.startswith("data:") and not revoked:
                    assert revoke_key(database, key.id)
                    revoked = time.monotonic()
        assert revoked
        assert time.monotonic() - revoked < 7, "five seconds, and two for a busy machine"
        assert httpx.get(address, headers=headers, timeout=20).status_code == 401
    database.close()
