"""What `compare.py` measures, with whatever code stands on the path: prints JSON, milliseconds by name of the case, and
the versions of the calculators.

It uses nothing of this project but what every release has: the registry, `read` and `evaluate`. An input that a release
does not take is said to be refused, and has no time.
"""

import json
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from bench_selection import fleet, q
from msgspec.json import decode, encode

import coldwright
from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright.registry import Registry

DEMO = Path("deploy") / "demo"
HERE = Path(__file__).parents[2]
RECORDS = (40, 50, 500, 5000)
LEAST_SECONDS, MOST_TIMES = 0.3, 40


def plans(checkout: Path, name: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """The demo orders of a checkout with its demo fleet."""
    machines = decode((checkout / DEMO / "fleet.json").read_bytes())
    for path in sorted((checkout / DEMO).glob("order-*.json")):
        order = decode(path.read_bytes())
        del order["fleet_id"]
        yield f"{name}: {path.stem}", "booking.assessment", order | {"fleet": machines}


def inputs(registry: Registry, other: Path) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Name of the case, calculator, input. The other checkout may know only orders of its own."""
    yield from plans(HERE, "plan")
    yield from plans(other, "plan of the other's")
    for types, load in ((6, 3000), (20, 8000)):
        yield f"selection: {types} types", "refrigeration.selection", selection(types, load)
    for id_ in sorted(registry.served):
        yield f"example: {id_}", id_, dict(registry.lookup(id_).examples[0].given)
    for count in RECORDS:
        yield f"start: {count} records", "readiness.startup", start(registry, count)
        yield f"start: {count} records of many kinds", "readiness.startup", run_log(registry, count)
        yield f"start: {count} records while it runs", "readiness.startup", run_log(registry, count, runs=True)


def selection(types: int, load: float) -> dict[str, Any]:
    """An invented fleet with limits of power and ground that bind."""
    return {
        "design": {"load": q(load, "kW")},
        "redundancy": {"rule": "one_unit"},
        "fleet": fleet(types),
        "objective": "hire_cost",
        "limits": {"power_available": q(load * 0.34, "kW"), "footprint_available": q(load * 0.1, "m2")},
    }


def start(registry: Registry, count: int) -> dict[str, Any]:
    """The example of a start, and behind its own records readings of the line voltage, one every 10 s."""
    given = dict(registry.lookup("readiness.startup").examples[0].given)
    volts = {f"v_{pair}": q(470, "V") for pair in ("ab", "bc", "ca")}
    more = [
        {
            "id": f"more-{n}",
            "at": f"2026-05-05T{n // 360:02}:{n // 6 % 60:02}:{n % 6 * 10:02}Z",
            "kind": "line_voltage",
            "data": volts,
            "by": "Jo (invented)",
        }
        for n in range(count - len(given["observations"]))
    ]
    return given | {"observations": [*given["observations"], *more], "evaluated_at": "2026-05-05T23:00:00Z"}


READ: tuple[tuple[str, dict[str, Any]], ...] = (
    ("line_voltage", {f"v_{pair}": q(470, "V") for pair in ("ab", "bc", "ca")}),
    ("flow_switch", {"state": "made"}),
    ("evaporator_pressure_drop", {"value": q(35, "kPa")}),
    ("water_temperature", {"entering": q(54, "degF"), "leaving": q(53, "degF")}),
    ("loop_pressure", {"pump": "on", "value": q(45, "psi")}),
    ("area_clear", {"clear": True}),
    ("pump_state", {"pump": "machine", "state": "on"}),
    ("flow", {"value": q(12, "L/s")}),
)


def run_log(registry: Registry, count: int, *, runs: bool = False) -> dict[str, Any]:
    """The example of a start, and behind it readings of eight kinds by turns, one every 10 s."""
    given = dict(registry.lookup("readiness.startup").examples[0].given)
    on = [{"id": "on", "at": "2026-05-04T09:07:00Z", "kind": "compressor", "data": {"id": "1", "state": "on"}}]
    more = [
        {
            "id": f"more-{n}",
            "at": f"2026-05-05T{n // 360:02}:{n // 6 % 60:02}:{n % 6 * 10:02}Z",
            "kind": READ[n % len(READ)][0],
            "data": READ[n % len(READ)][1],
        }
        for n in range(count - len(given["observations"]) - runs)
    ]
    observations = [*given["observations"], *(on if runs else ()), *more]
    return given | {"observations": observations, "evaluated_at": "2026-05-05T23:00:00Z"}


def milliseconds(work: Callable[[], object]) -> float:
    """The least processor time of one call, after one that does not count."""
    work()
    taken: list[float] = []
    while len(taken) < MOST_TIMES and sum(taken) < LEAST_SECONDS:
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken) * 1e3


def main() -> None:
    """Every case that this code knows."""
    checkout, other = map(Path, sys.argv[1:])
    if not Path(coldwright.__file__).is_relative_to(checkout):
        raise SystemExit(f"{coldwright.__file__} is not of {checkout}")
    registry = Registry()
    table: dict[str, float | str] = {}
    for name, id_, document in inputs(registry, other):
        calculator = registry.lookup(id_)
        try:
            given = read(calculator.given, encode(document))
            table[name] = milliseconds(partial(evaluate, calculator, given, lookup=registry.lookup))
        except Refused as refused:
            table[name] = f"refused: {refused.errors[0].detail}"
    versions = {id_: registry.lookup(id_).version for id_ in registry.served}
    json.dump({"milliseconds": table, "versions": versions}, sys.stdout)


if __name__ == "__main__":
    main()
