"""A stranger's part joins a start: it adds facts and blocks, takes none away, and costs its own block where it fails."""

import re
from collections.abc import Iterator
from importlib.metadata import entry_points
from typing import Any

import pytest
from book_start import READY_AT, by_the_book
from databases import migrated
from distributions import entry_points_in, install
from litestar.testing import TestClient
from permit_plugin import SOURCE
from startup_histories import CONFIGURATION

from coldwright.conformance import check_plugin
from coldwright.conformance.suite import lookup_with
from coldwright.contract import ENTRY_POINT_GROUP
from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings

NAME = "permit.to_operate"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient[Any]]:
    site, store = tmp_path_factory.mktemp("site"), tmp_path_factory.mktemp("store")
    install(site, "coldwright-permit", {"permit": SOURCE}, {"permit": "permit:plugin"})
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(site))
        registry = Registry([*entry_points(group=ENTRY_POINT_GROUP), *entry_points_in(site)])
        assert registry.why("permit") == ""
        settings = Settings(database_url=migrated(store / "s.sqlite3"), engine="inline", required_plugins="")
        with TestClient(create_app(settings, registry)) as client:
            yield client


@pytest.fixture
def opened(client: TestClient[Any], request: pytest.FixtureRequest) -> str:
    """A start by the book."""
    name = re.sub("[^a-z0-9]+", "-", request.node.name.lower())[:90]
    address = f"/v1/startups/{name}"
    assert client.put(address, json={"configuration": CONFIGURATION, "machine": name}).status_code == 201
    send(client, address, *by_the_book())
    return address


def fact(id_: str, at: str = "09:00", *, holds: bool = True, **data: Any) -> dict[str, Any]:
    return {
        "id": id_,
        "kind": "own_fact",
        "at": f"{READY_AT[:10]}T{at}:00Z",
        "by": "sam",
        "data": {"name": NAME, "holds": holds, **data},
    }


def send(client: TestClient[Any], address: str, *observations: dict[str, Any]) -> None:
    reply = client.post(f"{address}/observations", json={"observations": list(observations)})
    assert {o["status"] for o in reply.json()["observations"]} <= {200, 201}, reply.text


def verdict(client: TestClient[Any], address: str, below: str = "", **query: Any) -> dict[str, Any]:
    reply = client.get(f"{address}{below}", params={"at": READY_AT} | query)
    assert reply.status_code == 200, reply.text
    answer: dict[str, Any] = reply.json()["verdict"]
    return answer


def test_it_forbids_what_ours_would_allow_until_the_permit_is_recorded(client: TestClient[Any], opened: str) -> None:
    answer = verdict(client, opened)
    results = answer["results"]
    assert results["status"] == "blocked"
    (block,) = results["blocks"]
    assert (block["rule"], block["fact"]) == ("permit.start/no_permit", "permit")
    assert block["cleared_by"] == "the site's permit office"
    assert results["facts"]["permit.start/permit"]["status"] == "missing"
    assert "permit.start/permit" in results["missing"]
    action = results["next_action"]
    assert (action["short"], action["subject"]) == ("Get the site's permit, record it", "Permit of the site")
    assert action["record"] == [{"kind": "own_fact", "data": {"name": NAME, "holds": True}}]
    assert results["lines"][:2] == ["Get the site's permit, record it", "1 open"]
    (stop,) = [f for f in answer["findings"] if f["severity"] == "stop"]
    assert (stop["code"], answer["outcome"]) == ("joined_block", "unacceptable")
    assert results["parts"][0]["block"] == {"permitted": False}
    assert "permit_care" in {c["code"] for c in answer["cautions"]}
    send(client, opened, fact("p1"))
    after = verdict(client, opened)
    assert after["results"]["status"] == "ready"
    assert after["results"]["blocks"] == []
    assert after["results"]["facts"]["permit.start/permit"] == {"status": "established", "by": ["p1"]}
    assert after["results"]["own_facts"][NAME]["status"] == "established"
    assert after["digest"] != answer["digest"]
    assert after["results"]["meaning"] != answer["results"]["meaning"]


def test_it_takes_no_block_of_ours_away(client: TestClient[Any], opened: str) -> None:
    send(client, opened, fact("p1"), {
        "id": "alarm", "kind": "alarm", "at": f"{READY_AT[:10]}T09:05:30Z", "by": "lee", "data": {"code": "x", "state": "active"},
    })  # fmt: skip
    results = verdict(client, opened)["results"]
    assert results["status"] == "blocked"
    assert [b["rule"] for b in results["blocks"]] == ["R18"]


@pytest.mark.parametrize(
    ("records", "status"),
    [
        ([fact("a"), fact("b", "09:01", holds=False)], "failed"),
        ([fact("b", "08:01", holds=False), fact("a")], "established"),
        ([fact("a"), fact("b", holds=False)], "failed"),
        ([fact("a", until=f"{READY_AT[:10]}T09:03:00Z")], "stale"),
        ([fact("a", until=f"{READY_AT[:10]}T19:03:00Z")], "established"),
        ([fact("a", until=f"{READY_AT[:10]}T09:03:00Z"), fact("b", "09:04")], "established"),
        ([fact("b", "09:01"), fact("a", "09:02", until=f"{READY_AT[:10]}T09:03:00Z")], "stale"),
        ([fact("a") | {"time_uncertainty": {"value": 10, "unit": "min"}}, fact("b", "08:55", holds=False)], "failed"),
    ],
)
def test_uncertainty_never_makes_it_milder(
    client: TestClient[Any], opened: str, records: list[dict[str, Any]], status: str
) -> None:
    """Reference engine: by hand, from the rule that equal or overlapping instants count against the start."""
    send(client, opened, *records)
    results = verdict(client, opened)["results"]
    assert results["own_facts"][NAME]["status"] == status
    assert results["status"] == ("ready" if status == "established" else "blocked")
    mixed = f"{opened}-mixed"
    client.put(mixed, json={"configuration": CONFIGURATION})
    send(client, mixed, *by_the_book()[::-1], *records[::-1])
    assert verdict(client, mixed)["results"]["own_facts"] == results["own_facts"]


def test_the_verdict_holds_until_the_permit_ends(client: TestClient[Any], opened: str) -> None:
    send(client, opened, fact("p1", until=f"{READY_AT[:10]}T09:07:00.5Z"))
    assert verdict(client, opened)["results"]["valid_until"] <= f"{READY_AT[:10]}T09:07:01Z"


def test_an_older_major_forbids_it_too(client: TestClient[Any], opened: str) -> None:
    answer = client.get(f"{opened}/majors/1", params={"at": READY_AT})
    if answer.status_code == 422:
        answer = client.get(f"{opened}/majors/1")
    results = answer.json()["verdict"]["results"]
    assert results["status"] == "blocked"
    assert "permit.start/no_permit" in {b["rule"] for b in results["blocks"]}
    assert "parts" not in results


def test_one_that_fails_costs_its_own_block_and_says_so(client: TestClient[Any], opened: str) -> None:
    send(client, opened, fact("crash", holds=False))
    answer = verdict(client, opened)
    assert answer["results"]["status"] == "ready"
    (failed,) = [f for f in answer["findings"] if f["code"] == "part_failed"]
    assert (failed["severity"], failed["calculator"]) == ("check", "permit.start")
    assert (
        "is not part of this start: permit.start: RuntimeError" in failed["statement"]
        or "no rule" in failed["statement"]
    )
    assert answer["results"]["parts"] == []
    assert answer["outcome"] == "conditional"


def test_pages_and_the_brief_show_it(client: TestClient[Any], opened: str) -> None:
    page = client.get(opened, params={"at": READY_AT}, headers={"Accept": "text/plain"}).text
    assert "Get the site's permit, record it" in page
    assert "The site's permit to operate is not on record" in " ".join(page.split())
    assert "PERMIT OF THE SITE" in page
    brief = client.get(f"{opened}/brief")
    assert "no_permit" in brief.text or "permit" in brief.text


def test_a_hostile_record_is_refused(client: TestClient[Any], opened: str) -> None:
    wrong = [
        fact("x1") | {"data": {"name": "", "holds": True}},
        fact("x2", until="2026-02-30T00:00:00Z"),
        fact("x3", until="2026-02-20T00:00:00Z\n"),
        fact("x4") | {"data": {"name": NAME}},
    ]
    reply = client.post(f"{opened}/observations", json={"observations": wrong}).json()["observations"]
    assert [o["status"] for o in reply] == [422] * 4


def test_the_plugin_keeps_the_contract(client: TestClient[Any]) -> None:
    import permit

    faults = check_plugin(permit.plugin, distribution="coldwright-permit", lookup=lookup_with(permit.plugin))
    assert [str(f) for f in faults] == []
