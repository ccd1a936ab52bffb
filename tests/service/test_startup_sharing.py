"""Starts of one source or loop, and machines whose earlier starts left much or in old words. All machines are invented."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import msgspec
import pytest
from book_start import READY_AT, by_the_book, running
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry
from coldwright.store.observations import Arriving, add_observations

Headers = dict[str, str]
HERE = {"source": "Panel 3, breaker 12", "loop": "North loop"}


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("sharing"), registry) as made:
        yield made


@pytest.fixture(scope="module")
def ann(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field", person="Ann Hill", roles=("technician",))


@pytest.fixture(scope="module")
def bo(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field", person="Bo Reed", roles=("electrician",))


def opened(keyed: Keyed, headers: Headers, name: str, **configuration: Any) -> str:
    body = {"configuration": CONFIGURATION | configuration, "machine": name}
    assert keyed.client.put(f"/v1/startups/{name}", json=body, headers=headers).status_code == 201
    return f"/v1/startups/{name}"


def send(keyed: Keyed, headers: Headers, address: str, *observations: dict[str, Any]) -> None:
    reply = keyed.client.post(f"{address}/observations", json={"observations": list(observations)}, headers=headers)
    assert reply.status_code == 200, reply.text
    assert reply.json()["refused"] == 0, reply.text


def verdict(keyed: Keyed, headers: Headers, address: str, at: str = READY_AT) -> dict[str, Any]:
    reply = keyed.client.get(f"{address}?at={at}", headers=headers)
    assert reply.status_code == 200, reply.text
    results: dict[str, Any] = reply.json()["verdict"]["results"]
    return results


def clear_of(name: str) -> dict[str, Any]:
    return {k: f"{v} of {name}" for k, v in HERE.items()}


AGAINST = {
    "supply off": (seen("supply", "09:05", "n", state="off"), "R05"),
    "lock": (seen("lock", "09:05", "n", lock_id="L9", state="applied"), "R01"),
    "people at the panel": (seen("area_clear", "09:05", "n", clear=False, where="leads"), "R19"),
    "loop drained": (seen("drain", "09:05", "n"), "R10"),
    "loop opened": (seen("loop_opened", "09:05", "n", where="header"), "R12"),
    "topped up": (seen("fill", "09:05", "n", medium="water", purpose="top_up"), "R10"),
    "drain open": (seen("valve_position", "09:05", "n", valve="drain", position="open"), "R09"),
    "header shut": (
        seen("valve_position", "09:05", "n", valve="other", label="header", in_flow_path=True, position="closed"),
        "R09",
    ),
}


@pytest.mark.parametrize("what", AGAINST)
def test_what_speaks_against_a_start_counts_in_every_start_of_its_source_or_loop(
    keyed: Keyed, ann: Headers, bo: Headers, what: str
) -> None:
    name = what.replace(" ", "-")
    here = clear_of(name)
    first = opened(keyed, ann, f"first-{name}", **here)
    second = opened(keyed, bo, f"second-{name}", **{k: v.upper() for k, v in here.items()})
    apart = opened(keyed, bo, f"apart-{name}", source="Panel 9", loop="South loop")
    send(keyed, bo, second, *by_the_book(""))
    send(keyed, bo, apart, *by_the_book(""))
    assert verdict(keyed, bo, second)["status"] == "ready"
    record, rule = AGAINST[what]
    send(keyed, ann, first, record)
    results = verdict(keyed, bo, second)
    assert results["status"] == "blocked"
    assert rule in {b["rule"] for b in results["blocks"]}
    named = {i for b in results["blocks"] for i in b["because"]} | {i["by"] for i in results["invalidated"]}
    assert f"first-{name}/n" in named, "it says whose record it is"
    assert verdict(keyed, bo, apart)["status"] == "ready"
    page = keyed.client.get(f"{second}/observations", headers=bo).json()
    assert [o["id"] for o in page["shared"]] == [f"first-{name}/n"]


def test_what_is_good_in_one_start_proves_nothing_in_another(keyed: Keyed, ann: Headers, bo: Headers) -> None:
    first, second = (opened(keyed, h, n, **clear_of("good")) for h, n in ((ann, "good-1"), (bo, "good-2")))
    send(keyed, ann, first, *by_the_book(""))
    assert verdict(keyed, ann, first)["status"] == "ready"
    assert not verdict(keyed, bo, second)["facts"]["energised"]["by"]


def test_a_supply_that_goes_off_stops_every_machine_that_hangs_on_it(keyed: Keyed, ann: Headers, bo: Headers) -> None:
    first, second = (opened(keyed, h, n, **clear_of("stop")) for h, n in ((ann, "stop-1"), (bo, "stop-2")))
    send(keyed, bo, second, *running(""))
    assert verdict(keyed, bo, second, "2026-05-04T09:07:00Z")["status"] == "running"
    send(keyed, ann, first, seen("supply", "09:07:30", "off", state="off"))
    for at in ("2026-05-04T09:08:00Z", "2026-05-04T20:08:00Z"):
        results = verdict(keyed, bo, second, at)
        assert results["status"] == "stop_now"
        assert results["next_action"]["do"].startswith("Stop compressor 1")


OF_ITS_BREAKER = {
    "supply off": seen("supply", "09:05", "n", state="off", cause="switched", whole_source=False),
    "lock": seen("lock", "09:05", "n", lock_id="L9", state="applied", whole_source=False),
    "lock seen": seen("lock_check", "09:05", "n", none_seen=False, whole_source=False),
    "people at the leads": seen("area_clear", "09:05", "n", clear=False, where="leads", whole_source=False),
}


@pytest.mark.parametrize("what", OF_ITS_BREAKER)
def test_machines_behind_breakers_of_their_own_share_what_concerns_the_source_alone(
    keyed: Keyed, ann: Headers, bo: Headers, what: str
) -> None:
    name = f"own-{what.replace(' ', '-')}"
    office = keyed.key("acme", "admin", "field", person="Cy Lake", roles=("supervisor",))
    here = {"source": f"Panel of {name}", "own_breaker": True}
    for n in (1, 2):
        body = {"configuration": CONFIGURATION | here, "machine": f"{name}-{n}", "reason": "a breaker each"}
        reply = keyed.client.put(f"/v1/startups/{name}-{n}", json=body, headers=office)
        assert reply.status_code == 201, reply.text
    first, second = (f"/v1/startups/{name}-{n}" for n in (1, 2))
    send(keyed, bo, second, *by_the_book(""))
    record = OF_ITS_BREAKER[what]
    send(keyed, ann, first, record)
    assert verdict(keyed, bo, second)["status"] == "ready"
    of_all = {**record, "id": "all", "data": {k: v for k, v in record["data"].items() if k != "whole_source"}}
    send(keyed, ann, first, of_all)
    results = verdict(keyed, bo, second)
    assert results["status"] == "blocked", "what does not say so is taken for the whole source"
    send(keyed, ann, first, {**record, "id": "corrected", "supersedes": "all"})
    assert verdict(keyed, bo, second)["status"] == "ready"


def test_a_breaker_of_ones_own_is_for_the_office_to_say(keyed: Keyed, ann: Headers) -> None:
    body = {"configuration": CONFIGURATION | HERE | {"own_breaker": True}, "machine": "alone"}
    refused = keyed.client.put("/v1/startups/alone", json=body, headers=ann)
    assert refused.status_code == 403, refused.text
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/configuration/own_breaker"]


def test_a_lock_that_its_owner_took_off_frees_all(keyed: Keyed, ann: Headers, bo: Headers) -> None:
    first, second = (opened(keyed, h, n, **clear_of("owner")) for h, n in ((ann, "lock-1"), (bo, "lock-2")))
    send(keyed, bo, second, *by_the_book(""))
    send(keyed, ann, first, seen("lock", "08:30", "on", lock_id="L7", state="applied"))
    assert verdict(keyed, bo, second)["facts"]["locks_clear"]["by"] == ["lock-1/on"]
    send(keyed, ann, first, seen("lock", "08:40", "off", lock_id="L7", state="removed"))
    assert verdict(keyed, bo, second)["status"] == "ready"


def test_another_tenant_hears_nothing(keyed: Keyed, ann: Headers) -> None:
    theirs = keyed.key("acme2", "field", person="Ann Hill", roles=("technician",))
    first, second = opened(keyed, ann, "mine", **HERE), opened(keyed, theirs, "theirs", **HERE)
    send(keyed, theirs, second, *by_the_book(""))
    send(keyed, ann, first, seen("supply", "09:05", "off", state="off"))
    assert verdict(keyed, theirs, second)["status"] == "ready"


def test_to_leave_a_source_is_for_the_office(keyed: Keyed, ann: Headers) -> None:
    address = opened(keyed, ann, "leaver", **HERE)
    tag = keyed.client.put(
        address, json={"configuration": CONFIGURATION | HERE, "machine": "leaver"}, headers=ann
    ).headers["etag"]
    left = {"configuration": CONFIGURATION, "machine": "leaver"}
    refused = keyed.client.put(address, json=left, headers=ann | {"if-match": tag})
    assert refused.status_code == 403, refused.text


# --- what earlier starts left ------------------------------------------------------------------------------------


def test_five_thousand_of_its_own_and_thousands_from_before_are_judged(keyed: Keyed, ann: Headers) -> None:
    first = opened(keyed, ann, "much-1")
    keyed.client.put("/v1/startups/much-1", json={"configuration": CONFIGURATION, "machine": "much"}, headers=ann)
    locks = [seen("lock", "06:00", f"l{n}", lock_id=f"L{n}", state="applied") for n in range(1500)]
    alarms = [seen("alarm", "06:00", f"a{n}", code=f"A{n}", state="active") for n in range(1500)]
    send(keyed, ann, first, *locks, *alarms)
    body = {"configuration": CONFIGURATION, "machine": "much-1"}
    assert keyed.client.put("/v1/startups/much-2", json=body, headers=ann).status_code == 201
    day = by_the_book("")
    send(keyed, ann, "/v1/startups/much-2", *(day[n % len(day)] | {"id": f"o{n:05d}"} for n in range(5000)))
    results = verdict(keyed, ann, "/v1/startups/much-2")
    assert results["status"] == "blocked"
    assert {"R01", "R18"} <= {b["rule"] for b in results["blocks"]}


def test_records_in_the_words_of_earlier_versions_are_judged_and_said_to_be_other(
    keyed: Keyed, ann: Headers, registry: Registry
) -> None:
    """A valve by a name of its own was kept once; the start must not answer 409 for it."""
    address = opened(keyed, ann, "old-words")
    send(keyed, ann, address, *by_the_book(""))
    old = [
        seen("valve_position", "08:20", "riser", valve="Riser cock", position="closed"),
        seen("compressor", "08:00", "c", id="C1", state="off"),
        {k: v for k, v in seen("lock", "06:00", "nobodys", lock_id="L3", state="applied").items() if k != "by"},
    ]
    services = keyed.client.app.state.services
    arriving = [
        Arriving(o["id"], msgspec.json.encode(o), received_at=datetime(2026, 5, 4, 9, 5, tzinfo=UTC)) for o in old
    ]
    add_observations(services.database, "acme", "old-words", arriving, 5000)
    reply = keyed.client.get(f"{address}?at={READY_AT}", headers=ann)
    assert reply.status_code == 200, reply.text
    answer = reply.json()["verdict"]
    blocks = {b["rule"]: b["statement"] for b in answer["results"]["blocks"]}
    assert "Riser cock valve is closed" in blocks["R09"]
    assert "lock L3 of nobody in particular" in blocks["R01"]
    note = next(f for f in answer["findings"] if f["code"] == "read_in_other_words")
    assert "riser" in note["statement"]
    fresh = keyed.client.post(f"{address}/observations", json={"observations": [old[0] | {"id": "new"}]}, headers=ann)
    assert fresh.json()["observations"][0]["status"] == 422, "who sends today uses the words of today"


def test_the_officer_on_duty_is_named_where_a_supervisor_is_needed(keyed: Keyed, ann: Headers) -> None:
    address = opened(keyed, ann, "duty", officer_on_duty="Cy Lake, +1 555 0100")
    send(keyed, ann, address, *by_the_book(""), seen("lock", "09:05", "on", lock_id="L9", state="applied"))
    results = verdict(keyed, ann, address)
    assert results["officer_on_duty"] == "Cy Lake, +1 555 0100"
    assert "Cy Lake, +1 555 0100" in results["next_action"]["do"]
