"""Memory of the service and of its workers, and what a plan takes in the store: `python tests/benchmarks/bench_memory.py`.

Proportional set sizes (what a process shares is shared out among those that share it) after 4, 44, 84 and 244 plans that
are asked and kept, then after the one worker has been warmed that `COLDWRIGHT_WARM=auto` warms. Aims: the service does not grow
with plans; a worker under 180 MB; a plan's answer kept in 35 kB. Linux alone tells these sizes.
"""

import sqlite3
import sys
import tempfile
import time
from pathlib import Path

import httpx
import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from running import RunningService

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
WARMED_WITHIN = 15.0
"""Seconds after which the worker is warmed, on a machine that does nothing else."""


def proportional(process: int) -> float:
    """MB of a process."""
    lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    return next(int(line.split()[1]) / 1000 for line in lines if line.startswith("Pss:"))


def sizes(service: RunningService) -> str:
    """Of the service, then of all other processes of it, the largest first."""
    others = sorted((proportional(p) for p in service.processes() if p != service.process.pid), reverse=True)
    return (
        f"service {proportional(service.process.pid):6.1f} MB; its processes {', '.join(f'{o:.1f}' for o in others)} MB"
    )


def keep(client: httpx.Client, order: dict[str, object], begin: int, count: int) -> None:
    """Ask and keep so many plans."""
    for number in range(begin, begin + count):
        client.put(f"/v1/bookings/M-{number}", json=order | {"reference": f"M-{number}"}).raise_for_status()


def main() -> None:
    """One line for each number of plans."""
    order = msgspec.json.decode((DEMO / "order-comfort.json").read_bytes())
    with tempfile.TemporaryDirectory() as name:
        service = RunningService(Path(name), {"warm": "auto"}).wait_ready()
        with httpx.Client(base_url=service.url, timeout=60) as client:
            fleet = msgspec.json.decode((DEMO / "fleet.json").read_bytes())
            client.put(f"/v1/fleets/{order['fleet_id']}", json=fleet).raise_for_status()
            for begin, count in ((0, 4), (4, 40), (44, 40), (84, 160)):
                keep(client, order, begin, count)
                print(f"after {begin + count:3} plans: {sizes(service)}", flush=True)
            time.sleep(WARMED_WITHIN)
            print(f"one warmed:      {sizes(service)}")
            example = client.get("/v1/calculators/refrigeration/cycle").json()["examples"][0]["given"]
            for _ in range(3):
                began = time.perf_counter()
                client.post("/v1/calculators/refrigeration/cycle", json=example).raise_for_status()
                print(f"a cycle: {(time.perf_counter() - began) * 1e3:.0f} ms")
        service.stop()
        service.wait_gone(10)
        with sqlite3.connect(next(Path(name).glob("*.sqlite3"))) as store:
            kept(store)


def kept(store: sqlite3.Connection) -> None:
    """Mean size of the largest column of each table that holds more than 1 kB a row."""
    for (table,) in store.execute("select name from sqlite_master where type = 'table'").fetchall():
        columns = [row[1] for row in store.execute(f'pragma table_info("{table}")')]
        for column in columns:
            rows, mean = store.execute(f'select count(*), avg(length("{column}")) from "{table}"').fetchone()
            if mean and mean > 1000:
                print(f"kept: {table}.{column} {mean / 1000:.1f} kB in {rows} rows")


if __name__ == "__main__":
    main()
