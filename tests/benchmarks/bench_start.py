"""From process start to ready, and the first bookings: `python tests/benchmarks/bench_start.py`.

Aims on a quiet machine: ready in under 1.5 s; the first booking in at most twice the median of the next ten. Beside the
clock stands the processor time of the service and of its fork server, which work side by side: the longer of the two is
the least that the start can take.
"""

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import httpx
import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from running import RunningService

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
BOOKING = "/v1/calculators/booking/assessment"


def demo_order() -> bytes:
    """The first demo order, with the demo fleet in it."""
    order = msgspec.json.decode((DEMO / "order-comfort.json").read_bytes())
    del order["fleet_id"]
    return msgspec.json.encode(order | {"fleet": msgspec.json.decode((DEMO / "fleet.json").read_bytes())})


def processor_seconds(process: int) -> float:
    """Of a process and of its children that have ended."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(") ")[2].split()
    return sum(int(field) for field in fields[11:15]) / os.sysconf("SC_CLK_TCK")


def start(folder: Path) -> dict[str, Any]:
    """One start in a folder, whose store may be there already."""
    began = time.perf_counter()
    service = RunningService(folder).wait_ready()
    ready = time.perf_counter() - began
    spent = sorted(processor_seconds(process) for process in service.processes())[::-1]
    taken = []
    with httpx.Client(base_url=service.url, timeout=60) as client:
        for _ in range(11):
            began = time.perf_counter()
            answer = client.post(BOOKING, content=demo_order(), headers={"content-type": "application/json"})
            answer.raise_for_status()
            taken.append(time.perf_counter() - began)
    service.stop()
    service.wait_gone(10)
    return {
        "ready_s": ready,
        "longest_processor_s": spent[0],
        "all_processor_s": sum(spent),
        "first_booking_to_next": taken[0] / statistics.median(taken[1:]),
    }


def main() -> None:
    """A few starts: the first with a new store, the rest with one that is there."""
    with tempfile.TemporaryDirectory() as name:
        for number in range(5):
            print(f"start {number + 1}: ", {what: round(value, 2) for what, value in start(Path(name)).items()})


if __name__ == "__main__":
    main()
