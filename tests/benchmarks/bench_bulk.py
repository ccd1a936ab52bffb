"""What an item of a job costs beside the plain function: `python tests/benchmarks/bench_bulk.py [LIGHT [BOOKINGS]]`.

Processor time of the service and everything that it started, against that of the same evaluations in one plain loop of the
same run, so that what else the machine does disturbs it little. Wall time stands beside it. Prints statements for a chunk
and bytes for an item too: `deploy/SCALE.md` reckons with them. Not a test: nothing is asserted.
"""

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import msgspec
from sqlalchemy import event

from coldwright.bulk.chunk import ChunkWorker
from coldwright.bulk.cutting import sizes
from coldwright.bulk.needs import needs_of
from coldwright.contract.reading import read
from coldwright.engine import Engine, evaluate_here
from coldwright.registry import Registry, Served
from coldwright.store import Database, upgrade
from coldwright.store.jobs import New, NewItem, create_job

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from orders import order
from running import RunningService, running

TICK = os.sysconf("SC_CLK_TCK")
LIGHT = "electrical.service"


def main(light: int = 20_000, bookings: int = 200) -> None:
    """A light calculator, then bookings; answers whole, then only what changed."""
    registry = Registry.of_ours()
    example = dict(registry.served[LIGHT].calculator.examples[0].given)
    _compare(registry, LIGHT, [example] * light, ["/outcome"])
    _compare(registry, LIGHT, [example] * (light // 4), "answers")
    judge = registry.needed("booking").calculator.id
    orders = list(_orders(bookings))
    _compare(registry, judge, orders, "answers")
    _compare(registry, judge, orders, ["/outcome"])


def _orders(count: int) -> Iterator[dict[str, Any]]:
    for number in range(count):
        document = order()
        document["reference"] = f"B-{number}"
        document["duty"]["load"] = {"value": 40 + number % 60, "unit": "kW"}
        yield document


def _compare(registry: Registry, calculator: str, givens: list[dict[str, Any]], keep: Any) -> None:
    served = registry.served[calculator]
    sample = [msgspec.json.encode(g) for g in givens[: max(20, len(givens) // 10)]]
    plain = _plain(registry, served, sample)
    print(f"{calculator}, {len(givens)} items, keep {keep}: plain {plain * 1e6:.0f} us of processor an item")
    statements, chunks = _statements(registry, served, sample, keep)
    print(f"  {statements / chunks:.1f} statements a chunk, {statements / len(sample):.3f} an item")
    with tempfile.TemporaryDirectory() as folder, running(Path(folder), {"log_level": "warning"}) as service:
        _job(service, calculator, givens[:50], keep)  # starts the workers of the batch
        store = Path(folder) / "coldwright.sqlite3"
        before, size, began = _processor(service), _bytes(store), time.perf_counter()
        _job(service, calculator, givens, keep)
        wall, spent = time.perf_counter() - began, (_processor(service) - before) / len(givens)
        kept = (_bytes(store) - size) / len(givens)
    print(
        f"  batch {spent * 1e6:.0f} us of processor an item: {spent / plain:.2f} of plain, {(spent - plain) * 1e6:.0f} us more; "
        f"{len(givens) / wall:.0f} items a second of wall time; {kept:.0f} bytes kept an item"
    )


def _plain(registry: Registry, served: Served, bodies: list[bytes]) -> float:
    for body in bodies[:5]:
        evaluate_here(registry, served, read(served.local.given, body), "metric")
    began = time.process_time()
    for body in bodies:
        evaluate_here(registry, served, read(served.local.given, body), "metric")
    return (time.process_time() - began) / len(bodies)


def _statements(registry: Registry, served: Served, bodies: list[bytes], keep: Any) -> tuple[int, int]:
    counted = 0

    def count(*_: object) -> None:
        nonlocal counted
        counted += 1

    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{folder}/store.sqlite3")
        upgrade(database)
        cut = sizes(map(len, bodies), served.calculator.load)
        items = [NewItem(str(n), body) for n, body in enumerate(bodies)]
        new = New("j", served.name, "metric", items, None, "f", needs_of(served), msgspec.json.encode(keep), cut)
        create_job(database, "t", new)
        worker = ChunkWorker(database, registry, Engine(registry, "inline"))
        event.listen(database.engine, "before_cursor_execute", count)
        left, chunks = [(sum(cut[:n]), size) for n, size in enumerate(cut)], 0
        while left:
            first, size = left.pop()
            left += [(one.first, one.size) for one in worker.work_chunk("t", "j", first, size)]
            chunks += 1
        database.close()
    return counted, chunks


def _job(service: RunningService, calculator: str, givens: list[dict[str, Any]], keep: Any) -> None:
    """Of as many requests as it takes, and until all of them have ended."""
    addresses = []
    for first in range(0, len(givens), 400):
        items = [{"id": f"{first + n}", "given": g} for n, g in enumerate(givens[first : first + 400])]
        body = {"calculator": calculator, "items": items, "keep": keep}
        reply = httpx.post(f"{service.url}/v1/jobs", json=body, timeout=120)
        reply.raise_for_status()
        addresses.append(f"{service.url}{reply.headers['location']}")
    for address in addresses:
        while "finished_at" not in (status := httpx.get(address, timeout=30).json()):
            time.sleep(0.2)
        if status["state"] != "succeeded":
            raise SystemExit(f"not as it should be: {status}")


def _processor(service: RunningService) -> float:
    """Seconds of processor that the service and all that it started have taken."""
    total = 0.0
    for process in service.processes():
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
        total += (int(fields[11]) + int(fields[12])) / TICK
    return total


def _bytes(store: Path) -> int:
    return sum(p.stat().st_size for p in store.parent.glob(f"{store.name}*"))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
