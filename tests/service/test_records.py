"""Kept answers and their replay."""

import dataclasses
from pathlib import Path
from typing import Any

from databases import migrated
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.contract import Calculator
from coldwright.registry import Registry, Served
from coldwright.service.app import create_app
from coldwright.service.resources.records import differing
from coldwright.service.settings import Settings

SERVICE = "/v1/calculators/electrical/service"


def example(client: TestClient[Litestar]) -> dict[str, Any]:
    given: dict[str, Any] = client.get(SERVICE).json()["examples"][0]["given"]
    return given


def test_an_answer_is_kept_when_asked_and_replayed_without_a_difference(client: TestClient[Litestar]) -> None:
    answer = client.post(f"{SERVICE}?record=true&units=us", json=example(client)).json()
    kept = client.get(f"/v1/records/{answer['digest']}")
    assert kept.status_code == 200
    assert kept.json()["answer"]["digest"] == answer["digest"]
    replay = client.post(f"/v1/records/{answer['digest']}/replay").json()
    assert replay["same"] is True
    assert replay["differences"] == []


def test_nothing_is_kept_unasked(client: TestClient[Litestar]) -> None:
    body = example(client) | {"power_factor": 0.777}
    answer = client.post(SERVICE, json=body).json()
    assert client.get(f"/v1/records/{answer['digest']}").status_code == 404


def test_a_changed_calculator_is_told_with_every_changed_number(tmp_path: Path) -> None:
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, Registry()), raise_server_exceptions=False) as before:
        answer = before.post(f"{SERVICE}?record=true", json=example(before)).json()
    changed = Registry()
    old = changed.served["electrical.service"]

    assert isinstance(old.calculator, Calculator)
    function = old.calculator.function

    def other(given: Any, notes: Any) -> Any:
        results = function(given, notes)
        notes.findings.clear()
        return results

    newer = dataclasses.replace(old.calculator, version="9.0.0", function=other)
    changed.served["electrical.service"] = Served(newer, old.distribution, old.distribution_version)
    with TestClient(create_app(settings, changed), raise_server_exceptions=False) as after:
        replay = after.post(f"/v1/records/{answer['digest']}/replay").json()
    assert (replay["version_kept"], replay["version_now"]) == (old.calculator.version, "9.0.0")
    assert replay["digest_now"] != replay["digest"]
    assert replay["same"] is False
    assert all(d["pointer"].startswith(("/findings", "/outcome")) for d in replay["differences"])


def test_an_answer_that_differs_from_the_kept_one_is_not_given_as_kept(tmp_path: Path) -> None:
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    address = f"{SERVICE}?record=true"
    with TestClient(create_app(settings, Registry()), raise_server_exceptions=False) as before:
        body = example(before)
        first = before.post(address, json=body).json()
        assert before.post(address, json=body).status_code == 200
    changed = Registry()
    old = changed.served["electrical.service"]

    assert isinstance(old.calculator, Calculator)
    function = old.calculator.function

    def other(given: Any, notes: Any) -> Any:
        results = function(given, notes)
        notes.assumptions.clear()
        return results

    defective = dataclasses.replace(old.calculator, function=other)  # and no other version, as it should have
    changed.served["electrical.service"] = Served(defective, old.distribution, old.distribution_version)
    with TestClient(create_app(settings, changed), raise_server_exceptions=False) as after:
        plain = after.post(SERVICE, json=body).json()
        assert plain["digest"] == first["digest"]
        reply = after.post(address, json=body)
        assert (reply.status_code, reply.headers["content-type"]) == (409, "application/problem+json")
        assert reply.json()["kept"] == first
        assert reply.json()["now"] == plain != first
        assert after.get(f"/v1/records/{first['digest']}").json()["answer"] == first


def test_differences_are_found_where_they_are() -> None:
    kept = {"results": {"a": 1, "b": [1, 2], "c": {"value": 1, "unit": "m"}}, "outcome": "acceptable"}
    now = {"results": {"a": 1, "b": [1, 3, 4], "c": {"value": 2, "unit": "m"}, "d": 5}, "outcome": "acceptable"}
    assert [(d.pointer, d.kept, d.now) for d in differing(kept, now)][:2] == [
        ("/results/b/1", 2, 3),
        ("/results/b/2", differing(kept, now)[1].kept, 4),
    ]
    assert {d.pointer for d in differing(kept, now)} == {
        "/results/b/1",
        "/results/b/2",
        "/results/c/value",
        "/results/d",
    }
