"""The short form for a phone, the list, and what changes with the clock alone: nothing. All machines are invented."""

from collections.abc import Iterator
from typing import Any

import pytest
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION, base, seen

from coldwright.registry import Registry

Headers = dict[str, str]


@pytest.fixture
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("brief"), registry) as made:
        yield made


@pytest.fixture
def phone(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field")


def opened(keyed: Keyed, headers: Headers, name: str, **document: Any) -> str:
    address = f"/v1/startups/{name}"
    body = {"configuration": CONFIGURATION, **document}
    assert keyed.client.put(address, json=body, headers=headers).status_code == 201
    return address


def send(keyed: Keyed, headers: Headers, address: str, observations: list[dict[str, Any]]) -> Any:
    reply = keyed.client.post(f"{address}/observations", json={"observations": observations}, headers=headers)
    assert reply.status_code == 200, reply.text
    return reply.json()


def test_the_brief_is_short_and_says_the_same_as_the_verdict(keyed: Keyed, phone: Headers) -> None:
    address = opened(keyed, phone, "short", machine="north")
    other = keyed.key("acme", "field")
    send(keyed, other, address, base()[:3])
    for count in (0, 5, len(base())):
        send(keyed, phone, address, base()[:count] or base()[:1])
        reply = keyed.client.get(f"{address}/brief", headers=phone)
        whole = keyed.client.get(address, headers=phone)
        assert reply.status_code == 200, reply.text
        assert len(reply.content) < 2000
        brief, results = reply.json(), whole.json()["verdict"]["results"]
        assert reply.headers["etag"] == whole.headers["etag"]
        assert brief["status"] == results["status"]
        assert brief["next"][0]["step_id"] == results["next_action"]["step_id"]
        assert len(brief["lines"]) == 3
        assert brief["open_count"] >= len(results["blocks"])
        assert [h["since"] for h in brief["unheard"]], "the other phone may have seen something since"
    tag = {"if-none-match": reply.headers["etag"]}
    assert keyed.client.get(f"{address}/brief", headers=phone | tag).status_code == 304


def test_the_brief_stays_short_whatever_people_call_things(keyed: Keyed, phone: Headers) -> None:
    long = "Ü" * 200
    address = opened(keyed, phone, "x" * 100, machine=long)
    locks = [
        seen("lock", "07:06", f"{n}{long[:190]}", extra={"by": long}, lock_id=f"{n}{long[:190]}", state="applied")
        for n in range(40)
    ]
    send(keyed, phone, address, locks)
    reply = keyed.client.get(f"{address}/brief", headers=phone)
    assert reply.status_code == 200
    assert len(reply.content) < 2000
    assert reply.json()["open_count"] >= len(reply.json()["open"]) > 0


def test_the_list_is_of_what_is_asked_for(keyed: Keyed, phone: Headers) -> None:
    for number in range(3):
        opened(keyed, phone, f"n{number}", machine=f"machine {number}")
    opened(keyed, phone, "n3", machine="Machine 0")

    def ids(query: str) -> list[str]:
        found: list[str] = []
        address = f"/v1/startups{query}"
        while address:
            page = keyed.client.get(address, headers=phone)
            assert page.status_code == 200, page.text
            found += [s["id"] for s in page.json()["startups"]]
            token = page.json().get("next_page_token")
            address = f"/v1/startups{query}&page_token={token}" if token else ""
        return found

    assert ids("?page_size=2") == ["n0", "n1", "n2", "n3"]
    assert ids("?machine=machine%200") == ["n0", "n3"]
    assert ids("?at_site=true") == ["n1", "n2", "n3"]
    assert ids("?at_site=false") == ["n0"]
    assert ids("?state=blocked") == ["n0", "n1", "n2", "n3"]
    assert ids("?state=ready") == []
    assert ids("?booking=NO-SUCH") == []
    assert keyed.client.get("/v1/startups?state=mood", headers=phone).status_code == 422
    others = keyed.key("other", "field")
    assert keyed.client.get("/v1/startups", headers=others).json() == {"startups": []}


def test_the_forms_are_those_of_the_start(keyed: Keyed, phone: Headers) -> None:
    address = "/v1/calculators/readiness/startup/forms"
    reply = keyed.client.get(address, headers=phone)
    assert reply.status_code == 200, reply.text
    assert all("needed" not in k for k in reply.json()["kinds"])
    tag = {"if-none-match": reply.headers["etag"]}
    assert keyed.client.get(address, headers=phone | tag).status_code == 304
    opened(keyed, phone, "formed")
    of_it = keyed.client.get(f"{address}?startup=formed", headers=phone).json()["kinds"]
    assert {"supply", "lock_check", "water_temperature"} <= {k["kind"] for k in of_it if k["needed"]}
    others = keyed.key("other", "field")
    assert keyed.client.get(f"{address}?startup=formed", headers=others).status_code == 404
