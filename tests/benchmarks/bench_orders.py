"""Lists of many bookings, and events on their way: `python tests/benchmarks/bench_orders.py [FEW [MANY]]`.

Fills a store with FEW bookings of one tenant, then with those of the years before, MANY in all, and prints for every filter
the time within which 95 of 100 lists of 50 came, and the ratio of the two; on SQLite, and on PostgreSQL. Then how long after
a change its event is polled, and is with the receiver of a webhook, through a service of its own. Nothing is asserted.
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
from coldwright.store.bookings.names import keep_names
from coldwright.store.schema import allocations, assignments, booking_heads, booking_labels
from coldwright.store.statistics import look_at_sizes

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from orders import fleet, machine, order
from postgres import new_database
from running import running

TENANT, ROUNDS, PAGE, AT_ONCE = "bench", 60, 51, 2000
FILTERS: dict[str, dict[str, Any]] = {
    "none": {},
    "period": {"first": "2027-03-01", "last": "2027-03-14"},
    "period, the last": {"first": "2028-11-20", "last": "2028-12-03"},
    "from": {"first": "2028-06-01"},
    "to": {"last": "2027-01-05"},
    "state, few": {"state": "on_hire"},
    "state, most": {"state": "returned"},
    "state, updated": {"state": "returned", "sort": "updated"},
    "held": {"state": "held"},
    "outcome": {"outcome": "unacceptable"},
    "outcome, most": {"outcome": "acceptable"},
    "holds": {"holds": False, "sort": "worst"},
    "holds, all": {"holds": True},
    "standing": {"standing": False},
    "standing, most": {"standing": True},
    "site": {"site": "hall 77"},
    "site, most": {"site": "hall"},
    "site, a letter": {"site": "7"},
    "site, none there": {"site": "no such site"},
    "customer": {"customer": "SÖHNE 12"},
    "customer, none there": {"customer": "nobody"},
    "fleet": {"fleet": "yard-2"},
    "fleet, few": {"fleet": "new yard"},
    "machine_type": {"machine_type": "type-3"},
    "serial": {"serial": "S-1234"},
    "metadata": {"label": ("po", "4711")},
    "metadata, most": {"label": ("by", "web")},
    "updated_since": {"updated_since": datetime(2026, 11, 1, tzinfo=UTC), "sort": "updated"},
    "updated_since, period": {"updated_since": datetime(2026, 11, 1, tzinfo=UTC)},
    "two": {"state": "on_hire", "site": "hall 7"},
    "three": {"first": "2028-01-01", "state": "confirmed", "holds": False},
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
    _fill(database, 0, few, few)
    first = {name: _p95(database, filter_) for name, filter_ in FILTERS.items()}
    _fill(database, few, many, few)
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


def _fill(database: Database, start: int, end: int, present: int) -> None:
    for first in range(start, end, AT_ONCE):
        numbers = range(first, min(end, first + AT_ONCE))
        with database.writing(60) as connection:
            rows = [_head(n, past=n >= present) for n in numbers]
            connection.execute(insert(booking_heads), rows)
            for row in rows:
                keep_names(connection, TENANT, row["site_folded"], row["customer_folded"])
            connection.execute(insert(booking_labels), [label for n in numbers for label in _labels(n)])
            if start < present:  # what has ended holds nothing any more
                held = list(zip(numbers, rows, strict=True))
                connection.execute(insert(allocations), [_allocation(row, n) for n, row in held])
                connection.execute(insert(assignments), [_assignment(row, n) for n, row in held])

    look_at_sizes(database)
    if not database.is_sqlite:
        with database.writing(60) as connection:
            connection.exec_driver_sql("ANALYZE")  # as it does by itself after a while
    database.engine.dispose()


def _head(number: int, *, past: bool) -> dict[str, Any]:
    """Bookings of two years to come, or of the six before: those ended, went well and stand as they were."""
    first = date(2021, 1, 1) + timedelta(days=number % 2100) if past else date(2027, 1, 1) + timedelta(number % 700)
    at = datetime(2026, 10, 1, tzinfo=UTC) + timedelta(seconds=600 * number)
    head = Head(
        reference=f"B-{number:06}",
        stored_state=STATES[4 + (number % 9 == 0) if past else number % 6],
        wished="held",
        held_until=None,
        revision=2,
        standing=2 if past or number % 20 else 1,
        changes=2,
        etag="0" * 32,
        outcome=("acceptable", "conditional", "acceptable" if past else "unacceptable")[number % 3],
        period=Period(first.isoformat(), (first + timedelta(days=7 + number % 14)).isoformat()),
        site=f"Hall {number % 500}",
        customer=f"Söhne {number % 900}",
        fleet="new yard" if not past and number % 100 == 0 else f"yard-{number % 4}",
        fleet_version=1,
        severity=0 if past or number % 50 else 3,
        why="",
        created_at=at,
        updated_at=at - timedelta(days=2000) if past else at,
    )
    return {"tenant": TENANT, "calculator_version": "", "check_wanted": None} | row_of(head)


def _labels(number: int) -> list[dict[str, Any]]:
    own = {"tenant": TENANT, "reference": f"B-{number:06}"}
    return [own | {"name": "po", "value": str(number % 5000)}, own | {"name": "by", "value": "web"}]


def _allocation(head: dict[str, Any], number: int) -> dict[str, Any]:
    return {
        "tenant": TENANT,
        "reference": head["reference"],
        "fleet": head["fleet"],
        "item": f"machine:type-{number % 12}",
        "count": 1,
        "period_from": head["period_from"],
        "period_to": head["period_to"],
        "blocked_to": head["period_to"],
        "out": 0,
        "precedence": "",
        "until": None,
    }


def _assignment(head: dict[str, Any], number: int) -> dict[str, Any]:
    return {
        "tenant": TENANT,
        "reference": head["reference"],
        "fleet": head["fleet"],
        "serial": f"S-{number % 5000}",
        "type": f"type-{number % 12}",
        "period_from": head["period_from"],
        "blocked_to": head["period_to"],
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
