"""Bookings in every change of state, by many clients at once and through kills: never more out than there is.

All data are invented.
"""

import random
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import httpx
from orders import fleet, machine, order
from quantity import q
from running import RunningService, running

Body = dict[str, Any]
COUNT, CLIENTS = 3, 12
PERIOD = {"from": "2027-06-01", "to": "2027-06-14"}
STEPS = ("hold", "confirm", "deliver", "return")


def booking(reference: str, **changes: Any) -> Body:
    wanted = {"reference": reference, "duty__load": q(100, "kW"), "fleet": None, "fleet_id": "yard", "period": PERIOD}
    return order(**(wanted | changes))


def at_once(url: str, asks: Sequence[Callable[[httpx.Client], httpx.Response]]) -> list[httpx.Response]:
    """Each asked by a client of its own, all at the same moment."""
    replies: dict[int, httpx.Response] = {}
    barrier = threading.Barrier(len(asks))

    def send(number: int) -> None:
        with httpx.Client(base_url=url, timeout=90) as client:
            barrier.wait(30)
            replies[number] = asks[number](client)

    threads = [threading.Thread(target=send, args=(n,)) for n in range(len(asks))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
    return [replies[n] for n in range(len(asks))]


def step(reference: str, door: str, **options: Any) -> Callable[[httpx.Client], httpx.Response]:
    if door == "cancel":
        options["json"] = {"reason": "The customer changed plans."}
    return lambda client: client.post(f"/v1/bookings/{reference}/{door}?view=summary", **options)


def put(body: Body) -> Callable[[httpx.Client], httpx.Response]:
    return lambda client: client.put(f"/v1/bookings/{body['reference']}?view=summary", json=body)


def days(client: httpx.Client) -> set[tuple[int, int]]:
    """Free and held of each day."""
    reply = client.get("/v1/availability?fleet=yard&from=2027-06-01&to=2027-06-14").json()
    return {(day["free"], day["held"]) for day in reply["machines"][0]["days"]}


def events(client: httpx.Client) -> list[Body]:
    found: list[Body] = []
    while page := client.get(f"/v1/events?after={len(found)}&page_size=1000").json()["events"]:
        found += page
    assert [e["number"] for e in found] == list(range(1, len(found) + 1))
    return found


def name_machines(client: httpx.Client) -> None:
    assert client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, COUNT))).status_code == 201
    for number in range(COUNT):
        sent = {"type": "middle", "state": "in_service"}
        assert client.put(f"/v1/fleets/yard/machines/S-{number}", json=sent).status_code == 201


def test_as_many_as_there_are_get_through_every_door(tmp_path: Path, empty_url: str) -> None:
    with (
        running(tmp_path, {"database_url": empty_url, "engine": "inline", "log_level": "warning"}) as service,
        httpx.Client(base_url=service.url, timeout=90) as client,
    ):
        name_machines(client)
        held = at_once(service.url, [put(booking(f"H-{n}")) for n in range(CLIENTS)])
        assert [r.status_code for r in held] == [201] * CLIENTS
        assert sum(r.json()["standing"] for r in held) == COUNT
        assert days(client) == {(0, COUNT)}
        winners = [r.json()["reference"] for r in held if r.json()["standing"]]
        gone = at_once(service.url, [step(reference, "cancel") for reference in winners])
        assert [r.status_code for r in gone] == [200] * COUNT

        quotes = at_once(service.url, [put(booking(f"Q-{n}", state="quote")) for n in range(CLIENTS)])
        assert [r.json()["state"] for r in quotes] == ["quote"] * CLIENTS
        through = {f"Q-{n}" for n in range(CLIENTS)}
        for door in STEPS:
            replies = at_once(service.url, [step(f"Q-{n}", door) for n in range(CLIENTS)])
            assert Counter(r.status_code for r in replies) == {200: COUNT, 409: CLIENTS - COUNT}, door
            passed = {f"Q-{n}" for n, r in enumerate(replies) if r.status_code == 200}
            assert len(passed) == COUNT
            assert passed <= through
            through = passed
            if door == "confirm":
                serials = [m["serial"] for r in replies if r.status_code == 200 for m in r.json()["machines"]]
                assert sorted(serials) == [f"S-{n}" for n in range(COUNT)]


def test_one_machine_that_comes_free_goes_to_one_that_waits(tmp_path: Path, empty_url: str) -> None:
    with (
        running(tmp_path, {"database_url": empty_url, "engine": "inline", "log_level": "warning"}) as service,
        httpx.Client(base_url=service.url, timeout=90) as client,
    ):
        name_machines(client)
        replies = at_once(service.url, [put(booking(f"W-{n}")) for n in range(6)])
        stands = {r.json()["reference"] for r in replies if r.json()["standing"]}
        wait = [f"W-{n}" for n in range(6) if f"W-{n}" not in stands]
        assert client.post(f"/v1/bookings/{min(stands)}/cancel", json={"reason": "Not needed."}).status_code == 200
        again = at_once(service.url, [put(booking(reference)) for reference in wait])
        assert all(r.status_code == 200 for r in again), [r.text[:300] for r in again]
        assert sum(r.json()["standing"] for r in again) == 1
        assert days(client) == {(0, COUNT)}


def test_one_of_many_edits_of_one_state_is_taken(tmp_path: Path, empty_url: str) -> None:
    with (
        running(tmp_path, {"database_url": empty_url, "engine": "inline", "log_level": "warning"}) as service,
        httpx.Client(base_url=service.url, timeout=90) as client,
    ):
        name_machines(client)
        etag = client.put("/v1/bookings/E-1", json=booking("E-1")).headers["etag"]

        def edit(load: float) -> Callable[[httpx.Client], httpx.Response]:
            body = booking("E-1", duty__load=q(load, "kW"))
            return lambda one: one.put("/v1/bookings/E-1?view=summary", json=body, headers={"if-match": etag})

        doors = [step("E-1", door, headers={"if-match": etag}) for door in ("confirm", "cancel")]
        replies = at_once(service.url, [*(edit(60 + n) for n in range(6)), *doors])
        assert Counter(r.status_code for r in replies) == {200: 1, 412: 7}, [r.text[:200] for r in replies]


def test_a_kill_leaves_every_step_with_its_event_and_no_event_without_its_step(tmp_path: Path, empty_url: str) -> None:
    rng = random.Random(20)
    settings = {"database_url": empty_url, "engine": "inline", "log_level": "warning"}
    acknowledged: dict[str, int] = {}
    service = RunningService(tmp_path, settings).wait_ready()
    try:
        with httpx.Client(base_url=service.url, timeout=90) as client:
            name_machines(client)
        for round_ in range(3):
            killed = threading.Event()

            def life(name: str, url: str = service.url, killed: threading.Event = killed) -> None:
                number = 0
                with httpx.Client(base_url=url, timeout=90) as client:
                    while not killed.is_set():
                        number += 1
                        reference = f"{name}-{number}"
                        month = {"from": f"20{30 + number % 60}-01-01", "to": f"20{30 + number % 60}-01-02"}
                        asks = [put(booking(reference, state="quote", period=month))]
                        asks += [step(reference, door) for door in STEPS]
                        for done, ask in enumerate(asks, 1):
                            try:
                                if ask(client).status_code > 201:
                                    break
                            except httpx.TransportError:
                                return
                            acknowledged[reference] = done

            threads = [threading.Thread(target=life, args=(f"K{round_}-{n}",)) for n in range(COUNT)]
            for thread in threads:
                thread.start()
            before, deadline = len(acknowledged), time.monotonic() + 60
            while len(acknowledged) < before + COUNT and time.monotonic() < deadline:
                time.sleep(0.02)
            time.sleep(rng.uniform(0.1, 0.6))
            service.kill()
            killed.set()
            for thread in threads:
                thread.join(60)
            service = RunningService(tmp_path, settings).wait_ready()
        states = ("quote", "held", "confirmed", "on_hire", "returned")
        with httpx.Client(base_url=service.url, timeout=90) as client:
            told: dict[str, list[str]] = {}
            for event in events(client):
                if event["kind"] in ("booking.created", "booking.state"):
                    told.setdefault(event["subject"], []).append(event["data"]["state"])
            listed = client.get("/v1/bookings?page_size=1000").json()["bookings"]
            assert {b["reference"] for b in listed} == set(told)
            assert set(acknowledged) <= set(told)
            for entry in listed:
                reached = states.index(entry["state"]) + 1
                assert reached >= acknowledged.get(entry["reference"], 0), entry
                assert told[entry["reference"]] == list(states[:reached]), entry
        assert sum(acknowledged.values()) > 3 * COUNT
    finally:
        service.kill()
