"""What bulk work costs, and what it costs others: `python tests/benchmarks/bench_bulk.py [LIGHT BOOKINGS [STEP ...]]`.

Five minutes on two quiet cores. Processor time of all processes, the database's among them, against that of the same
evaluations in one plain loop of the same run, so that what else the machine does disturbs it little; wall time stands beside
it, and says something on a quiet machine only. `deploy/SCALE.md` reckons with what it prints. Nothing is asserted, but that
every item is answered once.
"""

import json
import os
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import httpx
import msgspec

from coldwright.contract.reading import read
from coldwright.engine import evaluate_here
from coldwright.registry import Registry

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from orders import order
from postgres import Postgres
from running import RunningService, running

TICK = os.sysconf("SC_CLK_TCK")
LIGHT, LINES = "electrical.service", {"content-type": "application/x-ndjson"}
SHORT = ["/outcome"]
Given = Mapping[str, Any]


class Plain:
    """Processor time of an item in one plain loop."""

    def __init__(self, registry: Registry) -> None:
        self._registry = registry
        self.booking = registry.needed("booking").calculator.id

    def seconds(self, calculator: str, givens: Sequence[Given]) -> float:
        """Of one of these; fifty are enough."""
        served = self._registry.served[calculator]
        bodies = [msgspec.json.encode(g) for g in givens[:: max(1, len(givens) // 50)]]
        bodies *= max(1, 2000 // len(bodies)) if calculator == LIGHT else 1
        for body in bodies[:5]:
            evaluate_here(self._registry, served, read(served.local.given, body), "metric")
        began = time.process_time()
        for body in bodies:
            evaluate_here(self._registry, served, read(served.local.given, body), "metric")
        return (time.process_time() - began) / len(bodies)


class Job:
    """A job that was sent as lines."""

    def __init__(
        self, service: RunningService, calculator: str, givens: Sequence[Given], keep: Any, **headers: str
    ) -> None:
        def lines() -> Iterator[bytes]:
            yield msgspec.json.encode({"calculator": calculator, "keep": keep}) + b"\n"
            piece: list[bytes] = []
            for number, given in enumerate(givens):
                piece.append(msgspec.json.encode({"id": f"{number}", "given": given}))
                if len(piece) == 200:
                    yield b"\n".join([*piece, b""])
                    piece = []
            yield b"\n".join(piece)

        self._client = httpx.Client(base_url=service.url, timeout=120, headers=headers)
        reply = self._client.post("/v1/jobs", content=lines(), headers=LINES)
        reply.raise_for_status()
        self.address, self.count = reply.headers["location"], len(givens)

    def done(self) -> int:
        """Items that are done."""
        return int(self._client.get(self.address).json()["done"])

    def ended(self) -> "Job":
        """Wait for its end, and see that every item is answered once."""
        while "finished_at" not in (status := self._client.get(self.address).json()):
            time.sleep(0.25)
        if (status["state"], status["answered"]) != ("succeeded", self.count):
            raise SystemExit(f"not as it should be: {status}")
        return self

    def checked(self) -> "Job":
        """See that results hold each item once."""
        found = self._client.get(f"{self.address}/results", headers={"accept": "application/x-ndjson"}).text
        ids = [json.loads(line)["id"] for line in found.splitlines()]
        if ids != [str(n) for n in range(self.count)]:
            raise SystemExit("items are lost or doubled")
        return self


class Spent:
    """Processor time of services, and of a database server, since it was made."""

    def __init__(self, *services: RunningService, server: Postgres | None = None) -> None:
        self._services, self._server = services, server
        self._before, self._of_server = self._now()
        self._began = time.perf_counter()

    def _now(self) -> tuple[float, float]:
        ours = sum(_seconds(p) for service in self._services for p in service.processes())
        return ours, sum(map(_seconds, _tree(_postmaster(self._server)))) if self._server else 0.0

    def since(self) -> tuple[float, float, float]:
        """Of the services, of the server, and wall time."""
        ours, server = self._now()
        return ours - self._before, server - self._of_server, time.perf_counter() - self._began


def _seconds(process: int) -> float:
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return sum(int(fields[n]) for n in (11, 12, 13, 14)) / TICK  # with children that ended


def _tree(root: int) -> list[int]:
    parents = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            parents[int(stat.parent.name)] = int(stat.read_text().rpartition(")")[2].split()[1])
        except OSError:
            continue
    found = [root]
    for process in found:
        found += [child for child, parent in parents.items() if parent == process]
    return found


def _postmaster(server: Postgres) -> int:
    return int((server.folder / "postmaster.pid").read_text().split()[0])


def _orders(count: int) -> list[Given]:
    found: list[Given] = []
    for number in range(count):
        document = order()
        document["reference"] = f"B-{number}"
        document["duty"]["load"] = {"value": 40 + number % 60, "unit": "kW"}
        found.append(document)
    return found


@contextmanager
def _alone(**settings: str) -> Iterator[RunningService]:
    """A service on SQLite that drives its jobs itself, with its workers started."""
    with (
        tempfile.TemporaryDirectory() as folder,
        running(Path(folder), {"log_level": "warning", **settings}) as service,
    ):
        yield service


@contextmanager
def _cluster(server: Postgres, trees: int, workers: str = "1", cores: Sequence[int] = ()) -> Iterator[tuple[Any, ...]]:
    """One service that works on no job, and so many `coldwright work`; each pinned to a core where cores are named."""
    settings = {"log_level": "warning", "database_url": server.new_database(), "workers": workers}
    with ExitStack() as stack:
        folders = [Path(stack.enter_context(tempfile.TemporaryDirectory())) for _ in range(trees + 1)]
        service = stack.enter_context(running(folders[0], settings | {"job_workers": "0"}))
        made = []
        for number, folder in enumerate(folders[1:]):
            made.append(RunningService(folder, settings, command=("work",)))
            stack.callback(made[-1].stop)
            if cores:
                os.sched_setaffinity(made[-1].process.pid, {cores[number % len(cores)]})
        yield service, *made


def _cost(name: str, plain: float, spent: Spent, count: int) -> None:
    ours, server, wall = spent.since()
    item = (ours + server) / count
    beside = f" (of it the database {server / count * 1e6:.0f} us)" if server else ""
    print(
        f"{name}: plain {plain * 1e6:.0f} us, item {item * 1e6:.0f} us{beside}: {plain / item:.2f} of plain, "
        f"{(item - plain) * 1e6:.0f} us more; {count} in {wall:.1f} s of wall time, {count / wall:.0f} a second",
        flush=True,
    )


def embedded(plain: Plain, light: list[Given], bookings: Sequence[Given]) -> None:
    """One service on SQLite: light items end to end, then bookings."""
    for name, calculator, givens, keep in (
        (f"embedded, {len(light)} light items end to end", LIGHT, light, SHORT),
        ("embedded, light items, whole answers", LIGHT, light[: len(light) // 10], "answers"),
        ("embedded, bookings", plain.booking, bookings, SHORT),
        ("embedded, bookings, whole answers", plain.booking, bookings, "answers"),
    ):
        with _alone() as service:
            _warm(service, plain)
            store = Path(service.folder) / "coldwright.sqlite3"
            size, cost, spent = _bytes(store), plain.seconds(calculator, givens), Spent(service)
            job = Job(service, calculator, givens, keep).ended()
            _cost(name, cost, spent, len(givens))
            job.checked()
            most = max(_peak(p) for p in service.processes())
            print(
                f"  {(_bytes(store) - size) / len(givens):.0f} bytes kept an item; largest process {most} MiB",
                flush=True,
            )


def _warm(service: RunningService, plain: Plain, **headers: str) -> None:
    """Let every worker process start: enough chunks for each to have one."""
    Job(service, plain.booking, _orders(100), SHORT, **headers).ended()


def _bytes(store: Path) -> int:
    return sum(p.stat().st_size for p in store.parent.glob(f"{store.name}*"))


def _peak(process: int) -> int:
    try:
        text = Path(f"/proc/{process}/status").read_text()
    except OSError:
        return 0
    return int(text.partition("VmHWM:")[2].split()[0]) // 1024 if "VmHWM:" in text else 0


def queued(plain: Plain, server: Postgres, light: list[Given], bookings: Sequence[Given]) -> None:
    """The same through the queue, with two trees of `coldwright work`; then with one, pinned to a core."""
    with _cluster(server, 2) as (service, *workers):
        for name, calculator, givens in (
            ("queue, two trees, bookings", plain.booking, bookings),
            ("queue, two trees, light items", LIGHT, light[: len(light) // 5]),
        ):
            _warm(service, plain)
            cost, spent = plain.seconds(calculator, givens), Spent(service, *workers, server=server)
            Job(service, calculator, givens, SHORT).ended().checked()
            _cost(name, cost, spent, len(givens))
    cores = sorted(os.sched_getaffinity(0))
    rates = []
    for trees in (1, 2):
        with _cluster(server, trees, cores=cores) as (service, *workers):
            _warm(service, plain)
            spent = Spent(*workers)
            Job(service, plain.booking, bookings, SHORT).ended()
            ours, _, wall = spent.since()
            rates.append((len(bookings) / wall, len(bookings) / ours))
            print(
                f"{trees} tree(s), pinned: {rates[-1][0]:.0f} a second of wall time, {rates[-1][1]:.0f} a second of theirs"
            )
    (one, each), (two, each_of_two) = rates
    wall, work = two / one - 1, 2 * each_of_two / each - 1
    print(f"a second machine adds {wall:.2f} of itself by the wall, {work:.2f} by its work", flush=True)


def killed(plain: Plain, server: Postgres, bookings: Sequence[Given]) -> None:
    """One of three workers ends in the middle: how much later all is done than with what is left."""
    with _cluster(server, 3) as (service, first, *_others):
        _warm(service, plain)
        job, began = Job(service, plain.booking, bookings, SHORT), time.perf_counter()
        while (done := job.done()) < len(bookings) // 3:
            time.sleep(0.05)
        rate = done / (time.perf_counter() - began)
        first.process.kill()
        at = time.perf_counter()
        job.ended().checked()
        took, cores = time.perf_counter() - at, len(os.sched_getaffinity(0))
        ideal = (len(bookings) - done) / rate * max(1.0, min(3, cores) / min(2, cores))
        print(
            f"kill -9 of one of three: the rest took {took:.1f} s, ideal {ideal:.1f} s: {took - ideal:.1f} s later",
            flush=True,
        )


def live(plain: Plain, light: list[Given], bookings: Sequence[Given]) -> None:
    """What a caller waits for, before a batch and beside it; embedded, the batch of bookings and of light items."""
    with _alone() as service:
        example, booking = dict(light[0]), dict(bookings[0])
        asked: list[tuple[str, str, Given, int]] = [
            ("light request", "/v1/calculators/electrical/service", example, 300),
            ("booking", "/v1/calculators/booking/assessment", booking, 25),
        ]
        for _, address, given, count in asked:
            _latency(service, address, given, count // 4)
        before = {what: _latency(service, address, given, count) for what, address, given, count in asked}
        for name, calculator, givens in (("bookings", plain.booking, [*bookings] * 3), ("light items", LIGHT, light)):
            job = Job(service, calculator, givens, SHORT)
            while not job.done():
                time.sleep(0.02)
            for what, address, given, count in asked:
                beside, was = _latency(service, address, given, count), before[what]
                print(
                    f"{what} beside a batch of {name}: median {beside[0] * 1000:.1f} ms, before it {was[0] * 1000:.1f} ms: "
                    f"{beside[0] / was[0]:.2f}; 95 of 100 {beside[1] * 1000:.1f} ms, before it {was[1] * 1000:.1f} ms"
                    + ("" if job.done() < job.count else " (the batch had ended)"),
                    flush=True,
                )
            httpx.delete(f"{service.url}{job.address}", timeout=30)


def _latency(service: RunningService, address: str, given: Given, count: int) -> tuple[float, float]:
    found = []
    with httpx.Client(base_url=service.url, timeout=60) as client:
        for _ in range(count):
            began = time.perf_counter()
            client.post(address, json=given).raise_for_status()
            found.append(time.perf_counter() - began)
            time.sleep(0.005)
    found.sort()
    return statistics.median(found), found[int(len(found) * 0.95)]


def turns(plain: Plain, light: list[Given], bookings: Sequence[Given]) -> None:
    """How long one light item of a tenant waits behind a book of another, ten thousand times its size."""
    with _alone() as service:
        from coldwright.store import Database
        from coldwright.store.keys import create_key

        database = Database(f"sqlite:///{service.folder}/coldwright.sqlite3")
        keys = [create_key(database, tenant, ("book",), "bench", "metric")[1] for tenant in ("large", "small")]
        database.close()
        large, small = ({"authorization": f"Bearer {key}"} for key in keys)
        _warm(service, plain, **large)
        book = Job(service, plain.booking, [*bookings] * 2, SHORT, **large)
        while not book.done():
            time.sleep(0.02)
        waits = []
        for _ in range(3):
            began = time.perf_counter()
            Job(service, LIGHT, light[:1], SHORT, **small).ended()
            waits.append(time.perf_counter() - began)
        print(f"one light item behind {book.count} bookings of another tenant: {max(waits):.1f} s at most", flush=True)


def main(light: int = 100_000, bookings: int = 600, *only: str) -> None:
    """Everything, in about five minutes; or only the steps that are named."""
    registry = Registry.of_ours()
    plain = Plain(registry)
    few: list[Given] = [dict(registry.served[LIGHT].calculator.examples[0].given)] * light
    orders = _orders(bookings)
    began = time.perf_counter()
    steps: list[tuple[str, Callable[[], None]]] = [
        ("embedded", lambda: embedded(plain, few, orders)),
        ("turns", lambda: turns(plain, few, orders)),
        ("live", lambda: live(plain, few, orders)),
    ]
    server = Postgres()
    try:
        steps += [
            ("queue", lambda: queued(plain, server, few, orders)),
            ("kill", lambda: killed(plain, server, orders)),
        ]
        for name, step in steps:
            if only and name not in only:
                continue
            print(f"-- {name}, after {time.perf_counter() - began:.0f} s", flush=True)
            step()
    finally:
        server.remove()
    print(f"-- done after {time.perf_counter() - began:.0f} s; {threading.active_count()} thread(s) left")


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:3]]
    main(*(numbers or (100_000, 600)), *sys.argv[3:])
