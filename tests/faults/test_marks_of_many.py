"""A fleet that shrinks under two hundred bookings: each that it breaks is marked, with an event, within a minute."""

import time
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import httpx
import msgspec
import pytest
from orders import fleet, machine, order
from quantity import q
from running import running

COUNT, AT_A_TIME, WITHIN = 200, 2, 60.0


def lines() -> bytes:
    """Orders of one machine each, two at a time."""
    wanted: dict[str, Any] = {"duty__load": q(100, "kW"), "fleet": None, "fleet_id": "yard"}
    return b"\n".join(
        msgspec.json.encode(order(**wanted, reference=f"M-{n:03}", period=_days(n // AT_A_TIME))) for n in range(COUNT)
    )


def _days(number: int) -> dict[str, str]:
    first = date(2030, 1, 1) + timedelta(days=10 * number)
    return {"from": first.isoformat(), "to": (first + timedelta(days=7)).isoformat()}


def all_events(client: httpx.Client) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    while page := client.get(f"/v1/events?after={len(found)}&page_size=1000").json()["events"]:
        found += page
    return found


@pytest.mark.nightly
def test_two_hundred_bookings_are_marked_within_a_minute(tmp_path: Path, empty_url: str) -> None:
    settings = {"database_url": empty_url, "evaluation_seconds": "60", "log_level": "warning"}
    with (
        running(tmp_path, settings) as service,
        httpx.Client(base_url=service.url, timeout=600) as client,
    ):
        etag = client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, AT_A_TIME))).headers["etag"]
        taken = client.post(
            "/v1/bookings/import", content=lines(), headers={"content-type": "application/x-ndjson"}
        ).text.splitlines()
        assert [msgspec.json.decode(line)["standing"] for line in taken] == [True] * COUNT
        began = time.monotonic()
        less = client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 0)), headers={"if-match": etag})
        assert less.status_code == 200, less.text
        marked = 0
        while marked < COUNT and time.monotonic() < began + WITHIN:
            time.sleep(0.25)
            marked = len(client.get("/v1/bookings?holds=false&page_size=1000").json()["bookings"])
        print(f"{marked} of {COUNT} marked after {time.monotonic() - began:.1f} s")
        assert marked == COUNT
        told = [e["subject"] for e in all_events(client) if e["kind"] == "booking.no_longer_holds"]
        assert sorted(told) == [f"M-{n:03}" for n in range(COUNT)]
