"""Fleets that are kept: versions, preconditions, both forms, tenants. All fleets are invented."""

import re
from pathlib import Path
from typing import Any

import pytest
from databases import migrated
from litestar import Litestar
from litestar.testing import TestClient
from orders import fleet, machine

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings

Client = TestClient[Litestar]
SMALL = fleet(machine("small", 60, 4))
LARGE = fleet(machine("small", 60, 5), machine("large", 330, 2))


@pytest.fixture
def address(request: pytest.FixtureRequest) -> str:
    """The address of a fleet of its own."""
    return "/v1/fleets/" + re.sub("[^a-z0-9]+", "-", request.node.name.lower())[:90]


def test_a_fleet_is_kept_and_read(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404
    put = client.put(address, json=SMALL)
    assert put.status_code == 201
    got = client.get(address)
    assert got.status_code == 200
    assert got.json() == put.json()
    assert (got.json()["id"], got.json()["version"]) == (address.rpartition("/")[2], 1)
    assert got.json()["fleet"]["machines"][0]["type"] == "small"
    assert got.headers["etag"] == put.headers["etag"]
    assert client.put(f"{address}-again", json=got.json()["fleet"]).status_code == 201


def test_the_same_again_changes_nothing(client: Client, address: str) -> None:
    first = client.put(address, json=SMALL)
    again = client.put(address, json=dict(reversed(SMALL.items())))
    assert (again.status_code, again.json(), again.headers["etag"]) == (200, first.json(), first.headers["etag"])
    stale = client.put(address, json=SMALL, headers={"if-match": '"stale"'})
    assert (stale.status_code, stale.json()) == (200, first.json())


def test_a_change_needs_the_state_that_was_read(client: Client, address: str) -> None:
    first = client.put(address, json=SMALL)
    assert client.put(address, json=LARGE).status_code == 428
    refused = client.put(address, json=LARGE, headers={"if-match": '"stale"'})
    assert (refused.status_code, refused.json()["type"]) == (412, "/problems/changed-meanwhile")
    assert client.put(address, json=LARGE, headers={"if-none-match": "*"}).status_code == 412
    changed = client.put(address, json=LARGE, headers={"if-match": first.headers["etag"]})
    assert (changed.status_code, changed.json()["version"]) == (200, 2)
    assert changed.headers["etag"] != first.headers["etag"]
    assert client.put(address, json=SMALL, headers={"if-match": first.headers["etag"]}).status_code == 412
    assert client.put(address, json=SMALL, headers={"if-match": "*"}).json()["version"] == 3


def test_only_if_nothing_is_there(client: Client, address: str) -> None:
    assert client.put(address, json=SMALL, headers={"if-match": "*"}).status_code == 412
    assert client.put(address, json=SMALL, headers={"if-none-match": "*"}).status_code == 201
    assert client.put(address, json=SMALL, headers={"if-none-match": "*"}).status_code == 412


def test_earlier_versions_stay(client: Client, address: str) -> None:
    first = client.put(address, json=SMALL)
    client.put(address, json=LARGE, headers={"if-match": first.headers["etag"]})
    assert client.get(f"{address}?version=1").json() == first.json()
    assert client.get(f"{address}?version=2").json() == client.get(address).json()
    listed = client.get(f"{address}/versions?page_size=1").json()
    assert [(v["version"], v["href"]) for v in listed["versions"]] == [(2, f"{address}?version=2")]
    rest = client.get(f"{address}/versions?page_size=1&page_token={listed['next_page_token']}").json()
    assert [v["created_at"] for v in rest["versions"]] == [first.json()["created_at"]]
    assert "next_page_token" not in rest
    assert client.get("/v1/fleets/none/versions").status_code == 404
    assert client.get(f"{address}?version=3").status_code == 404
    assert client.get(f"{address}?version=0").status_code == 422


def test_who_has_it_already_is_told_so(client: Client, address: str) -> None:
    etag = client.put(address, json=SMALL).headers["etag"]
    unchanged = client.get(address, headers={"if-none-match": f'"other", {etag}'})
    assert (unchanged.status_code, unchanged.content, unchanged.headers["etag"]) == (304, b"", etag)
    assert "Accept" in unchanged.headers["vary"].split(", ")
    assert client.get(address, headers={"if-none-match": etag[:-3]}).status_code == 200
    table = {"accept": "text/csv", "if-none-match": etag}
    assert client.get(address, headers=table).status_code == 200, "the tag of the one form is not that of the other"


def test_both_forms_are_one_fleet(client: Client, address: str) -> None:
    first = client.put(address, json=SMALL)
    table = client.get(address, headers={"accept": "text/csv"})
    assert table.headers["content-type"].startswith("text/csv")
    again = client.put(address, content=table.content, headers={"content-type": "Text/CSV; charset=utf-8"})
    assert (again.status_code, again.json()) == (200, first.json())
    more = table.content.replace(b",small,4,", b",small,9,")
    assert more != table.content
    changed = client.put(address, content=more, headers={"content-type": "text/csv", "if-match": table.headers["etag"]})
    assert (changed.status_code, changed.json()["version"]) == (200, 2)
    assert changed.json()["fleet"]["machines"][0]["count"] == 9
    assert client.get(address, headers={"accept": "image/png"}).status_code == 406
    assert client.put(address, content=b"<fleet/>", headers={"content-type": "text/xml"}).status_code == 415


def test_contradictions_are_named_row_by_row(client: Client, address: str) -> None:
    wrong: dict[str, Any] = fleet(machine("a", 60, 4), machine("a", 100, 4), machine("c", 100, 4))
    wrong["machines"][1]["evaporator"]["flow_minimum"]["value"] = 1500
    wrong["machines"][2]["rating"]["capacity"]["value"] *= 1.2
    wrong["accessories"][1]["item"] = wrong["accessories"][0]["item"]
    reply = client.put(address, json=wrong)
    assert reply.status_code == 422
    pointers = [e["pointer"] for e in reply.json()["errors"]]
    for start in ("#/machines/1/type", "#/machines/1/evaporator", "#/machines/2/", "#/accessories/1/item"):
        assert any(p.startswith(start) for p in pointers), (start, pointers)
    for pointer in pointers:
        place: Any = wrong
        for token in pointer.removeprefix("#/").split("/"):
            place = place[int(token)] if isinstance(place, list) else place[token]
    assert client.get(address).status_code == 404


def test_every_wrong_field_is_named(client: Client, address: str) -> None:
    wrong: dict[str, Any] = fleet(machine("a", 60, -1))
    wrong["machines"][0]["colour"] = "red"
    del wrong["accessories"][0]["inner_diameter"]
    pointers = {e["pointer"] for e in client.put(address, json=wrong).json()["errors"]}
    assert {"#/machines/0/count", "#/machines/0/colour"} <= pointers
    assert any(p.startswith("#/accessories/0") for p in pointers)


def test_names_hold_no_control_characters(client: Client, address: str) -> None:
    """They are kept as text when an order takes the machine, and not every database keeps a zero in text."""
    wrong: dict[str, Any] = fleet(machine("small\x00", 60, 1))
    wrong["accessories"][0]["item"] = "hose\x1b"
    pointers = [e["pointer"] for e in client.put(address, json=wrong).json()["errors"]]
    assert pointers == ["#/machines/0/type", "#/accessories/0/item"]


@pytest.mark.parametrize("name", ["-x", "a b", "a" * 101, "x%00", "é"])
def test_a_name_that_is_none_is_refused(client: Client, name: str) -> None:
    assert client.put(f"/v1/fleets/{name}", json=SMALL).status_code == 422
    assert client.get(f"/v1/fleets/{name}").status_code == 404


def test_the_list_comes_in_pages(tmp_path: Path, registry: Registry) -> None:
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as client:
        for number in (3, 1, 2, 5):
            client.put(f"/v1/fleets/f{number}", json=SMALL)
        etag = client.get("/v1/fleets/f2").headers["etag"]
        client.put("/v1/fleets/f2", json=LARGE, headers={"if-match": etag})
        page = client.get("/v1/fleets?page_size=2").json()
        assert page["fleets"] == [
            {"id": "f1", "version": 1, "href": "/v1/fleets/f1"},
            {"id": "f2", "version": 2, "href": "/v1/fleets/f2"},
        ]
        client.put("/v1/fleets/f4", json=SMALL)
        client.put("/v1/fleets/f0", json=SMALL)
        rest = client.get(f"/v1/fleets?page_size=2&page_token={page['next_page_token']}").json()
        assert [f["id"] for f in rest["fleets"]] == ["f3", "f4"]
        last = client.get(f"/v1/fleets?page_size=2&page_token={rest['next_page_token']}").json()
        assert ([f["id"] for f in last["fleets"]], "next_page_token" in last) == (["f5"], False)
        assert client.get("/v1/fleets?page_token=%25").status_code == 422
