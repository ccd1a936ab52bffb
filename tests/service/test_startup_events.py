"""The stream of verdict changes, from the running service."""

import contextlib
import json
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from keyed import Keyed, keyed_app
from orders import fleet, machine, order
from running import RunningService, running
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningService]:
    with running(tmp_path_factory.mktemp("events"), {"engine": "inline"}) as ready:
        yield ready


@pytest.fixture
def address(service: RunningService, request: pytest.FixtureRequest) -> str:
    made = f"{service.url}/v1/startups/{request.node.name[:90]}"
    assert httpx.put(made, json={"configuration": CONFIGURATION}, timeout=20).status_code == 201
    return made


class Listener(threading.Thread):
    """Listens until told to stop; keeps every event with the moment it came."""

    def __init__(self, address: str, last_id: str = "") -> None:
        super().__init__(daemon=True)
        self.address, self.last_id = address, last_id
        self.events: list[dict[str, Any]] = []
        self.status = 0
        self.content_type = ""
        self._stop = threading.Event()
        self.start()

    def run(self) -> None:
        headers = {"last-event-id": self.last_id} if self.last_id else {}
        with (
            contextlib.suppress(httpx.TransportError),  # the power cut
            httpx.stream("GET", f"{self.address}/events", headers=headers, timeout=30) as stream,
        ):
            self.status, self.content_type = stream.status_code, stream.headers["content-type"]
            event: dict[str, Any] = {}
            for line in stream.iter_lines():
                if self._stop.is_set():
                    return
                name, _, value = line.partition(": ")
                if name in ("event", "id"):
                    event[name] = value
                elif name == "data":
                    self.events.append(event | {"data": json.loads(value), "came": time.monotonic()})
                    event = {}

    def stop(self) -> None:
        self._stop.set()


def within(seconds: float, reached: Callable[[], bool]) -> bool:
    deadline = time.monotonic() + seconds
    while not reached() and time.monotonic() < deadline:
        time.sleep(0.02)
    return reached()


def observe(address: str, *observations: dict[str, Any]) -> float:
    reply = httpx.post(f"{address}/observations", json={"observations": list(observations)}, timeout=20)
    assert reply.json()["kept"] == len(observations)
    return time.monotonic()


def test_each_change_is_sent_once_and_soon(address: str) -> None:
    listener = Listener(address)
    assert within(10, lambda: len(listener.events) == 1)
    assert listener.status == 200
    assert listener.content_type.startswith("text/event-stream")
    first = listener.events[0]
    assert first["event"] == "verdict"
    assert first["data"]["observation_count"] == 0
    sent = observe(address, seen("unit_level", "07:00", ok=True))
    assert within(10, lambda: len(listener.events) == 2)
    assert listener.events[1]["came"] - sent < 2, "a phone at the machine need not wait"
    assert listener.events[1]["data"]["observation_count"] == 1
    assert listener.events[1]["id"] != first["id"]
    again = httpx.post(
        f"{address}/observations", json={"observations": [seen("unit_level", "07:00", ok=True)]}, timeout=20
    )
    assert again.json()["kept"] == 0
    time.sleep(1)
    assert len(listener.events) == 2
    listener.stop()


def test_a_changed_configuration_is_told_too(address: str) -> None:
    listener = Listener(address)
    assert within(10, lambda: len(listener.events) == 1)
    tag = httpx.put(address, json={"configuration": CONFIGURATION}, timeout=20).headers["etag"]
    changed = {
        "configuration": CONFIGURATION | {"pump_mode": "site_pump", "require_connection_evidence": True},
        "by": "Ann",
        "reason": "the site's own pump is used",
    }
    assert httpx.put(address, json=changed, headers={"if-match": tag}, timeout=20).status_code == 200
    assert within(10, lambda: len(listener.events) == 2)
    listener.stop()


def test_who_comes_back_is_not_told_again_what_is_known(address: str) -> None:
    listener = Listener(address)
    assert within(10, lambda: len(listener.events) == 1)
    listener.stop()
    back = Listener(address, last_id=listener.events[0]["id"])
    assert within(10, lambda: back.status == 200)
    time.sleep(0.5)
    assert back.events == []
    observe(address, seen("unit_level", "07:00", ok=True))
    assert within(10, lambda: len(back.events) == 1)
    back.stop()


def test_streams_are_bounded_and_given_back(address: str) -> None:
    with contextlib.ExitStack() as streams:
        lines = []  # an iterator that is let go closes its stream
        for _ in range(21):  # listeners of other tests may still be there
            reply = streams.enter_context(httpx.stream("GET", f"{address}/events", timeout=20))
            if reply.status_code != 200:
                break
            lines.append(reply.iter_lines())
            assert next(lines[-1]).startswith("retry")
        assert reply.status_code == 503
        assert int(reply.headers["retry-after"]) >= 1
        assert 10 <= len(lines) <= 20

    def one_more() -> bool:
        with httpx.stream("GET", f"{address}/events", timeout=20) as stream:
            return stream.status_code == 200

    assert within(20, one_more), "who hangs up makes room for another"


def test_what_was_told_in_a_stream_is_in_the_audit(address: str) -> None:
    listener = Listener(address)
    assert within(10, lambda: len(listener.events) == 1)
    observe(address, seen("unit_level", "07:00", ok=True))
    assert within(10, lambda: len(listener.events) == 2)
    told = httpx.get(f"{address}/verdicts", timeout=20).json()["verdicts"]
    assert [t["observation_count"] for t in told] == [0, 1]
    assert [t["results"] for t in told] == [e["data"]["results"] for e in listener.events]
    listener.stop()


def test_who_comes_back_after_a_power_cut_goes_on_where_it_was(tmp_path: Path) -> None:
    settings = {"engine": "inline"}
    service = RunningService(tmp_path, settings).wait_ready()
    try:
        made = f"{service.url}/v1/startups/after-a-cut"
        assert httpx.put(made, json={"configuration": CONFIGURATION}, timeout=20).status_code == 201
        observe(made, seen("unit_level", "07:00", "acknowledged", ok=True))
        listener = Listener(made)
        assert within(10, lambda: len(listener.events) == 1)
        service.kill()
        service = RunningService(tmp_path, settings, port=service.port).wait_ready()
        back = Listener(made, last_id=listener.events[0]["id"])
        assert within(10, lambda: back.status == 200)
        time.sleep(0.5)
        assert back.events == []
        kept = httpx.get(f"{made}/observations", timeout=20).json()["observations"]
        assert [o["observation"]["id"] for o in kept] == ["acknowledged"]
        observe(made, seen("ground", "07:10", connected=True))
        assert within(10, lambda: len(back.events) == 1)
        back.stop()
    finally:
        service.stop()


# --- what the feed and the webhooks are told of starts ----------------------------------------------------------------


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("outbox"), registry) as made:
        yield made


@pytest.fixture(scope="module")
def acme(keyed: Keyed) -> dict[str, str]:
    return keyed.key("acme", person="Ann Hill")


def told(keyed: Keyed, key: dict[str, str], name: str) -> list[tuple[str, dict[str, Any]]]:
    found = keyed.client.get(f"/v1/events?subject={name}", headers=key).json()["events"]
    return [(event["kind"], event["data"]) for event in found]


def told_in_time(keyed: Keyed, key: dict[str, str], name: str, count: int) -> list[tuple[str, dict[str, Any]]]:
    deadline = time.monotonic() + 30
    while len(found := told(keyed, key, name)) < count and time.monotonic() < deadline:
        time.sleep(0.1)
    return found


def post(keyed: Keyed, key: dict[str, str], name: str, *records: dict[str, Any]) -> None:
    reply = keyed.client.post(f"/v1/startups/{name}/observations", json={"observations": list(records)}, headers=key)
    assert reply.json()["kept"] == len(records), reply.text


def test_a_start_tells_the_feed_only_what_is_new_and_without_being_asked(keyed: Keyed, acme: dict[str, str]) -> None:
    assert keyed.client.put("/v1/startups/fed", json={"configuration": CONFIGURATION}, headers=acme).status_code == 201
    first = {"startup": "fed", "status": "blocked"}
    assert told_in_time(keyed, acme, "fed", 1) == [("startup.status", first)]
    post(keyed, acme, "fed", seen("unit_level", "08:00", ok=True))
    for _ in range(3):
        keyed.client.get("/v1/startups/fed", headers=acme)
    assert told(keyed, acme, "fed") == [("startup.status", first)]
    post(keyed, acme, "fed", seen("compressor", "09:00", id="1", state="on"))
    stop = {"startup": "fed", "status": "stop_now", "compressors": ["1"]}
    found = told_in_time(keyed, acme, "fed", 3)
    assert found[1:] == [("startup.status", stop | {"was": "blocked"}), ("startup.stop_now", stop)]
    post(keyed, acme, "fed", seen("unit_level", "09:01", ok=True))
    keyed.client.get("/v1/startups/fed", headers=acme)
    assert len(told(keyed, acme, "fed")) == 3
    post(keyed, acme, "fed", seen("alarm", "09:02", code="A7", state="active"))
    assert [kind for kind, _ in told_in_time(keyed, acme, "fed", 4)[3:]] == ["startup.stop_now"]
    off = seen("compressor", "09:05", id="1", state="off")
    post(keyed, acme, "fed", off, seen("unit_stop", "09:06", state="stopped"))
    found = told_in_time(keyed, acme, "fed", 5)
    assert found[4:] == [("startup.status", {"startup": "fed", "status": "blocked", "was": "stop_now"})]
    assert told(keyed, keyed.key("other"), "fed") == []


def test_the_starts_of_a_booking_name_its_machines_and_are_listed_with_it(keyed: Keyed, acme: dict[str, str]) -> None:
    client = keyed.client
    assert client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 2)), headers=acme).status_code == 201
    for serial in ("SN-1", "SN-2"):
        client.put(f"/v1/fleets/yard/machines/{serial}", json={"type": "middle"}, headers=acme)
    wanted = order(
        reference="B-1",
        duty__load={"value": 100, "unit": "kW"},
        fleet=None,
        fleet_id="yard",
        period={"from": "2027-06-01", "to": "2027-06-14"},
    )
    assert client.put("/v1/bookings/B-1", json=wanted, headers=acme).status_code == 201
    body = {"configuration": CONFIGURATION, "booking": "B-1", "serial": "SN-1", "reason": "another machine came"}

    def opened(name: str, sent: dict[str, Any]) -> httpx.Response:
        return client.put(f"/v1/startups/{name}", json=sent, headers=acme)

    early = opened("of-b-1", body)
    assert early.status_code == 422
    assert [(e["pointer"], e.get("allowed")) for e in early.json()["errors"]] == [("#/serial", None)]
    for door in ("hold", "confirm"):
        assert client.post(f"/v1/bookings/B-1/{door}", headers=acme).status_code == 200
    booked = client.get("/v1/bookings/B-1", headers=acme)
    held = [m["serial"] for m in booked.json()["machines"]]
    assert len(held) == 1
    assert booked.json()["starts"] == []
    [other] = {"SN-1", "SN-2"} - set(held)
    refused = opened("of-b-1", body | {"serial": other})
    assert refused.status_code == 422
    [error] = refused.json()["errors"]
    assert (error["pointer"], error["value"], error["allowed"]) == ("#/serial", other, {"one_of": held})
    alone = opened("of-b-1", {"configuration": CONFIGURATION, "serial": held[0]})
    assert [e["pointer"] for e in alone.json()["errors"]] == ["#/serial"]
    made = opened("of-b-1", body | {"serial": held[0], "machine": "the blue one"})
    assert made.status_code == 201, made.text
    assert opened("of-b-1", body | {"serial": held[0], "machine": "the blue one"}).status_code == 200
    [(_, event)] = told_in_time(keyed, acme, "of-b-1", 1)
    assert event == {"startup": "of-b-1", "reference": "B-1", "status": "blocked"}
    listed = client.get("/v1/bookings/B-1", headers=acme)
    start = {"id": "of-b-1", "machine": "the blue one", "serial": held[0], "state": "blocked"}
    assert listed.json()["starts"] == [start | {"href": "/v1/startups/of-b-1"}]
    assert listed.headers["etag"] != booked.headers["etag"]
    again = client.get("/v1/bookings/B-1", headers=acme | {"if-none-match": listed.headers["etag"]})
    assert again.status_code == 304
    short = client.get("/v1/bookings/B-1?view=summary", headers=acme)
    assert short.json()["starts"] == listed.json()["starts"]
    edited = client.put(
        "/v1/bookings/B-1", json=wanted | {"customer": "Invented"}, headers=acme | {"if-match": listed.headers["etag"]}
    )
    assert edited.status_code in (200, 422), edited.text
