"""Processor time of `refrigeration.selection` by size of the fleet: `python tests/benchmarks/bench_selection.py`.

Invented fleets, every objective and rule of redundancy, with limits of power and ground that bind; and fleets whose hire
makes many combinations cost the same, which is the hardest there is: those are to be proved, or answered with a bound, far
within the time limit of an evaluation (10 s). Aims on a quiet machine: under 10 ms up to 20 types, under 300 ms for 200
types. `cut` marks a list that was ended, `?` a best that is not proved.
"""

import random
import time
from collections.abc import Callable
from functools import cache
from typing import Any

from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright.registry import Registry

SIZES = ((6, 3000), (12, 5000), (20, 8000), (40, 15000), (200, 36000))


def q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def fleet(types: int) -> list[dict[str, Any]]:
    """Types whose price, power and hauls do not go with their capacity alone."""
    rng = random.Random(7)
    made = []
    for i in range(types):
        size = round(rng.uniform(70, 1400), 1)
        made.append(
            {
                "type": f"type {i:03}",
                "count_available": rng.randrange(6),
                "capacity": q(size, "kW"),
                "power": q(round(size * rng.uniform(0.27, 0.35), 1), "kW"),
                "circuits": rng.choice([1, 2, 4]),
                "footprint": q(size * 0.07, "m2"),
                "haul_fraction": rng.choice([0.25, 0.5, 1.0]),
                "hire_cost": {"value": round(size * rng.uniform(5, 9)), "currency": "EUR"},
            }
        )
    return made


TIES: dict[str, Callable[[float], float]] = {
    "hire by kW": lambda size: 5 * size,
    "one hire": lambda _size: 1000,
    "hire by class": lambda size: 1000 * (1 + size // 300),
}


def tied_fleet(types: int, hire: Callable[[float], float]) -> list[dict[str, Any]]:
    """Sizes in steps of 50 kW, at hires that make whole families of combinations cost the same."""
    rng = random.Random(1)
    made = fleet(types)
    for row in made:
        size = 50.0 * rng.randrange(2, 28)
        row |= {"capacity": q(size, "kW"), "power": q(round(size * rng.uniform(0.27, 0.35), 1), "kW")}
        row |= {"footprint": q(size * 0.07, "m2"), "hire_cost": {"value": hire(size), "currency": "EUR"}}
    return made


def main() -> None:
    """One line for each size, objective and rule."""
    for types, load in SIZES:
        for objective in ("hire_cost", "units", "power", "hauls"):
            for rule in ("none", "one_circuit", "one_unit"):
                measure(types, load, objective, rule, objective, fleet(types))
    for types, load in ((20, 8000), (40, 15000), (120, 36000), (200, 36000)):
        for name, hire in TIES.items():
            for rule in ("none", "one_unit"):
                measure(types, load, "hire_cost", rule, name, tied_fleet(types, hire))


def measure(types: int, load: float, objective: str, rule: str, name: str, machines: list[dict[str, Any]]) -> None:
    """One line: the second of two runs."""
    registry = _registry()
    calculator = registry.lookup("refrigeration.selection")
    asked = {
        "design": {"load": q(load, "kW")},
        "redundancy": {"rule": rule},
        "fleet": machines,
        "objective": objective,
        "haul_cost": {"value": 600, "currency": "EUR"},
        "limits": {"power_available": q(load * 0.34, "kW"), "footprint_available": q(load * 0.1, "m2")},
    }
    given = convert(calculator.given, asked)
    run(calculator, given, registry.lookup)
    began = time.process_time()
    results, notes = run(calculator, given, registry.lookup)
    took = (time.process_time() - began) * 1e3
    marks = "?" if results.status == "not_proved" else ""
    marks += " cut" if any(f.code == "list_cut_short" for f in notes.findings) else ""
    print(f"{types:4} types {name:14} {rule:12} {took:8.1f} ms {marks}")


@cache
def _registry() -> Registry:
    return Registry()


if __name__ == "__main__":
    main()
