"""Lists of many bookings, and events on their way: `python tests/benchmarks/bench_orders.py [FEW [MANY]]`.

Fills a store with FEW bookings of one tenant, then with MANY, and prints for every filter the time within which 95 of 100
lists of 50 came, and the ratio of the two; on SQLite, and on PostgreSQL. Then how long after a
change its event is polled, and is with the receiver of a webhook, through a service of its own. Nothing is asserted.
"""

import contextlib
import http.server
import json
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import insert

from coldwright.store import Database, upgrade
from coldwright.store.bookings import STATES, Filter, Head, Period, list_bookings
from coldwright.store.bookings.keep import row_of
from coldwright.store.schema import allocations, assignments, booking_heads, booking_labels

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from orders import fleet, machine, order
from postgres import new_database
from running import running

TENANT, ROUNDS, PAGE, AT_ONCE = "bench", 60, 51, 2000
FILTERS: dict[str, dict[str, Any]] = {
    "none": {},
    "period": {"first": "2027-03-01", "last": "2027-03-14"},
    "state": {"state": "confirmed"},
    "outcome": {"outcome": "unacceptable"},
    "holds": {"holds": False, "sort": "worst"},
    "standing": {"standing": False},
    "site": {"site": "hall 77"},
    "site, none there": {"site": "no such site"},
    "customer": {"customer": "SÖHNE 12"},
    "customer, none there": {"customer": "nobody"},
    "fleet": {"fleet": "yard-2"},
    "machine_type": {"machine_type": "type-3"},
    "serial": {"serial": "S-1234"},
    "metadata": {"label": ("po", "4711")},
    "updated_since": {"updated_since": datetime(2026, 11, 1, tzinfo=UTC), "sort": "updated"},
}


def main(few: int = 5_000, many: int = 100_000) -> None:
    """SQLite, then PostgreSQL, then events."""
    with tempfile.TemporaryDirectory() as folder:
        _lists(f"sqlite:///{folder}/store.sqlite3", few, many)
        _lists(new_database(), few, many)
    with tempfile.TemporaryDirectory() as folder:
        _events(Path(folder))


def _lists(url: str, few: int, many: int) -> None:
    database = Database(url)
    upgrade(database)
    _fill(database, 0, few)
    first = {name: _p95(database, filter_) for name, filter_ in FILTERS.items()}
    _fill(database, few, many)
    print(f"\n{database.url.get_backend_name()}: ms within which 95 of 100 came, of {few:,} and of {many:,} bookings")
    for name, filter_ in FILTERS.items():
        then = _p95(database, filter_)
        print(f"  {name:22} {first[name]:8.2f} {then:8.2f}   x {then / first[name]:.2f}")
    database.close()


def _p95(database: Database, told: dict[str, Any]) -> float:
    wanted, times = Filter(**told), []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        list_bookings(database, TENANT, wanted, (), PAGE)
        times.append(time.perf_counter() - began)
    return sorted(times)[int(0.95 * ROUNDS)] * 1000


def _fill(database: Database, start: int, end: int) -> None:
    for first in range(start, end, AT_ONCE):
        numbers = range(first, min(end, first + AT_ONCE))
        with database.writing(60) as connection:
            connection.execute(insert(booking_heads), [_head(n) for n in numbers])
            connection.execute(insert(booking_labels), [_label(n) for n in numbers])
            connection.execute(insert(allocations), [_allocation(n) for n in numbers])
            connection.execute(insert(assignments), [_assignment(n) for n in numbers])

    with database.writing(60) as connection:
        connection.exec_driver_sql("ANALYZE")  # as the databases do by themselves after a while


def _period(number: int) -> Period:
    first = date(2027, 1, 1) + timedelta(days=number % 700)
    return Period(first.isoformat(), (first + timedelta(days=7 + number % 14)).isoformat())


def _head(number: int) -> dict[str, Any]:
    at = datetime(2026, 10, 1, tzinfo=UTC) + timedelta(seconds=37 * number)
    head = Head(
        reference=f"B-{number:06}",
        stored_state=STATES[number % 6],
        wished="held",
        held_until=None,
        revision=2,
        standing=1 + (number % 20 > 0),
        changes=2,
        etag="0" * 32,
        outcome=("acceptable", "conditional", "unacceptable")[number % 3],
        period=_period(number),
        site=f"Hall {number % 500}",
        customer=f"Söhne {number % 900}",
        fleet=f"yard-{number % 4}",
        fleet_version=1,
        severity=3 * (number % 50 == 0),
        why="",
        created_at=at,
        updated_at=at,
    )
    return {"tenant": TENANT, "calculator_version": "", "check_wanted": None} | row_of(head)


def _label(number: int) -> dict[str, Any]:
    return {"tenant": TENANT, "reference": f"B-{number:06}", "name": "po", "value": str(number % 5000)}


def _allocation(number: int) -> dict[str, Any]:
    period = _period(number)
    return {
        "tenant": TENANT,
        "reference": f"B-{number:06}",
        "fleet": f"yard-{number % 4}",
        "item": f"machine:type-{number % 12}",
        "count": 1,
        "period_from": period.first,
        "period_to": period.last,
        "blocked_to": period.last,
        "out": 0,
        "precedence": "",
        "until": None,
    }


def _assignment(number: int) -> dict[str, Any]:
    period = _period(number)
    return {
        "tenant": TENANT,
        "reference": f"B-{number:06}",
        "fleet": f"yard-{number % 4}",
        "serial": f"S-{number % 5000}",
        "type": f"type-{number % 12}",
        "period_from": period.first,
        "blocked_to": period.last,
    }


@contextlib.contextmanager
def _receiver(got: dict[int, float]) -> Iterator[str]:
    class Receives(http.server.BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = json.loads(self.rfile.read(int(self.headers["content-length"])))
            got.setdefault(body["data"]["number"], time.time())
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Nothing."""

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receives)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/events"
    server.shutdown()


def _events(folder: Path, count: int = 40) -> None:
    got: dict[int, float] = {}
    settings = {"webhooks_private": "true", "evaluation_seconds": "60"}
    with (
        _receiver(got) as address,
        running(folder, settings) as service,
        httpx.Client(base_url=service.url, timeout=60) as client,
    ):
        client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 2))).raise_for_status()
        client.put("/v1/webhooks/bench", json={"url": address}).raise_for_status()
        wanted = {"fleet": None, "fleet_id": "yard", "state": "quote"}
        polled, kept = [], {}
        for number in range(count):
            body = order(reference=f"E-{number}", **wanted)
            client.put(f"/v1/bookings/E-{number}?view=summary", json=body).raise_for_status()
            answered = time.time()
            found = client.get(f"/v1/events?subject=E-{number}").json()["events"]
            polled.append((time.time() - answered) * 1000)
            kept[found[-1]["number"]] = answered
        end = time.monotonic() + 30
        while len(kept.keys() & got.keys()) < len(kept) and time.monotonic() < end:
            time.sleep(0.05)
    sent = sorted(max(0.0, got[number] - answered) for number, answered in kept.items() if number in got)
    print(f"\nevents of {count} changes, after the answer to the change")
    print(f"  polled: median {statistics.median(polled):.1f} ms, worst {max(polled):.1f} ms")
    print(
        f"  with a receiver: median {statistics.median(sent):.2f} s, worst {sent[-1]:.2f} s, {len(sent)} of {len(kept)}"
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
