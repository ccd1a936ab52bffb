"""A start that was kept under other rules: what those concluded is never passed on as what the rules of today say.

What an earlier release noted is written into the store by hand, with what a newer rule would not say. All machines are invented.
"""

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from book_start import by_the_book
from keyed import Keyed, keyed_app
from sqlalchemy import update
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry
from coldwright.store.schema import shared_starts, startups

Json = dict[str, Any]
LOCKED = {n: v for n, v in seen("lock", "09:05", lock_id="L9", state="applied").items() if n != "by"}
LOOP = CONFIGURATION | {"loop": "the hall's loop"}
OPENED = seen("loop_opened", "09:05", where="strainer")
FOR_EVER: Json = {"state_until": None, "stops": ""}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


@pytest.fixture
def keyed(folder: Path, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(folder, registry) as made:
        yield made


def person(keyed: Keyed) -> dict[str, str]:
    return keyed.key("acme", "field", "book", person="Ann Hill", roles=("technician",))


def opened(keyed: Keyed, name: str, headers: Json, *more: Json, status: str = "blocked", **document: Any) -> None:
    address = f"/v1/startups/{name}"
    asked = {"configuration": CONFIGURATION} | document
    assert keyed.client.put(address, json=asked, headers=headers).status_code == 201
    sent = keyed.client.post(
        f"{address}/observations", json={"observations": [*by_the_book(""), *more]}, headers=headers
    )
    assert sent.json()["refused"] == 0, sent.text
    assert results(keyed, name, headers)["status"] == status


def noted_by_other_rules(keyed: Keyed, name: str, **noted: Any) -> None:
    """As an earlier release left it: nothing has arrived since."""
    values = FOR_EVER | {"rests_on": "an earlier release"} | noted
    with keyed.database.writing() as connection:
        connection.execute(update(startups).where(startups.c.id == name).values(**values))


def results(keyed: Keyed, name: str, headers: Json) -> Json:
    reply = keyed.client.get(f"/v1/startups/{name}", headers=headers)
    assert reply.status_code == 200, reply.text
    found: Json = reply.json()["verdict"]["results"]
    return found


def listed(keyed: Keyed, headers: Json, query: str = "") -> list[tuple[str, str]]:
    reply = keyed.client.get(f"/v1/startups{query}", headers=headers).json()
    return [(one["id"], one["state"]) for one in reply["startups"]]


def test_the_list_asks_the_rules_of_today(keyed: Keyed) -> None:
    headers = person(keyed)
    opened(keyed, "north", headers, LOCKED)
    noted_by_other_rules(keyed, "north", state="ready")
    assert listed(keyed, headers, "?state=ready") == []
    assert listed(keyed, headers) == [("north", "blocked")]


def test_the_next_start_takes_along_what_the_rules_of_today_carry(keyed: Keyed) -> None:
    """A lock is on; the release before left it behind."""
    headers = person(keyed)
    over = [
        seen("supply", "09:06", "off", state="off", cause="switched"),
        seen("closed", "09:07", "over", reason="off_hire"),
        LOCKED | {"at": "2026-05-04T09:08:00Z"},
    ]
    opened(keyed, "first", headers, *over, machine="north", status="ended")
    document = {"configuration": CONFIGURATION, "machine": "north"}
    assert keyed.client.put("/v1/startups/second", json=document, headers=headers).status_code == 201
    noted_by_other_rules(keyed, "first", state="ended", carries=b"[]")
    (locks,) = [b["statement"] for b in results(keyed, "second", headers)["blocks"] if b["rule"] == "R01"]
    assert "lock L9 of Ann Hill is still on" in locks


def test_the_other_starts_of_a_loop_hear_what_the_rules_of_today_share(keyed: Keyed) -> None:
    """The loop was opened; the release before kept that from the others."""
    headers = person(keyed)
    opened(keyed, "a", headers, OPENED, configuration=LOOP)
    opened(keyed, "b", headers, configuration=LOOP)
    said = {b["rule"] for b in results(keyed, "b", headers)["blocks"]}
    assert "R12" in said
    noted_by_other_rules(keyed, "a", state="blocked")
    with keyed.database.writing() as connection:
        connection.execute(update(shared_starts).values(bodies=b"[]"))
    assert {b["rule"] for b in results(keyed, "b", headers)["blocks"]} == said


def test_the_events_report_what_the_rules_of_today_say_though_nobody_asks(folder: Path, registry: Registry) -> None:
    """After a release whose rules say something else, the service is started on the store of before."""
    with keyed_app(folder, registry) as before:
        headers = person(before)
        opened(before, "north", headers, LOCKED)
        noted_by_other_rules(before, "north", state="ready")
    with keyed_app(folder, registry) as now:
        reader = now.key("acme")
        deadline = time.monotonic() + 60
        found: list[Any] = []
        while not found and time.monotonic() < deadline:
            events = now.client.get("/v1/events?subject=north", headers=reader).json()["events"]
            found = [e["data"] for e in events if e["data"].get("was") == "ready"]
            time.sleep(0.05)
        assert [(one["was"], one["status"]) for one in found] == [("ready", "blocked")]


def test_what_was_sent_names_the_rules_that_it_was_sent_by(keyed: Keyed, registry: Registry) -> None:
    headers = person(keyed)
    opened(keyed, "north", headers, LOCKED)
    (sent,) = keyed.client.get("/v1/startups/north/verdicts", headers=headers).json()["verdicts"]
    assert sent["calculator"] == f"readiness.startup {registry.needed('start').calculator.version}"
