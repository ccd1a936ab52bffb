"""Time of single calculators as functions, notes and answer included: `python tests/benchmarks/bench_functions.py`.

Every example of every calculator, and the worst cases. Aims: `refrigeration.circuit_check` 100 us with four causes;
`readiness.startup` well under a second for 5,000 observations.
"""

import random
import statistics
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from coldwright.contract.calculator import Calculator
from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright.registry import Registry

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from quantity import q
from startup_histories import ask, generated, seen


def main() -> None:
    """Median and 95th percentile of each, after warm-up."""
    registry = Registry()
    for id_, name, given in _cases(registry):
        _measure(registry, registry.lookup(id_), name, given)


def _cases(registry: Registry) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for id_, served in sorted(registry.served.items()):
        for example in served.calculator.examples:
            yield id_, example.name, dict(example.given)
    many = [o for seed in range(400) for o in generated(seed)["observations"]]
    many = [{**o, "id": f"n{i}"} for i, o in enumerate(random.Random(5).sample(many, k=5000))]
    yield "readiness.startup", "5,000 observations", ask(many)
    chain = [
        seen("set_point", "08:59", f"c{i}", value=q(44, "degF"), extra={"supersedes": f"c{i + 1}"}) for i in range(4999)
    ]
    yield "readiness.startup", "4,999 corrections", ask(chain)
    check = "refrigeration.circuit_check"
    first = dict(registry.served[check].calculator.examples[0].given)
    low = {"suction_pressure": q(88, "psi"), "suction_line_temperature": q(56, "degF"), "refrigerant": "R-454B"}
    yield check, "four causes", first | low


def _measure(registry: Registry, calculator: Calculator[Any, Any], name: str, example: dict[str, Any]) -> None:
    given = convert(calculator.given, example)
    run(calculator, given, registry.lookup)
    times: list[float] = []
    began = time.perf_counter()
    while time.perf_counter() - began < 0.3 and len(times) < 500:
        start = time.perf_counter()
        run(calculator, given, registry.lookup)
        times.append((time.perf_counter() - start) * 1e6)
    times.sort()
    late = times[min(len(times) - 1, round(len(times) * 0.95))]
    print(f"{calculator.id:36} {name[:36]:36} {statistics.median(times):10.0f} us  95 %: {late:10.0f} us")


if __name__ == "__main__":
    main()
