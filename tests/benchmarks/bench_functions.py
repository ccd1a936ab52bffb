"""Time of single calculators as functions, notes and answer included: `python tests/benchmarks/bench_functions.py`.

Every example of every calculator, and the worst cases. Aims: `refrigeration.circuit_check` 100 us with four causes;
`readiness.startup` 60 ms for 5,000 observations; `site.placement` 3 ms; `refrigeration.capacity` from the plate 1 ms;
`hydronic.loop` with 12 paths of 16 elements 4 ms. Processor time, which a busy machine spoils least.
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
from loops import base, branches, device, fittings, line, valve
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
    paths = [
        [
            e
            for n in range(4)
            for e in (
                line(f"a{p}-{n}", length=10 + 3 * p),
                fittings(f"b{p}-{n}", k=2 + 0.1 * p),
                device(f"c{p}-{n}", 4 + 0.2 * n, flow=1.5),
                valve(f"d{p}-{n}", 60 + 5 * p),
            )
        ]
        for p in range(12)
    ]
    yield "hydronic.loop", "12 paths of 16 elements", base(elements=[line("supply"), branches("paths", *paths)])
    check = "refrigeration.circuit_check"
    first = dict(registry.served[check].calculator.examples[0].given)
    low = {"suction_pressure": q(88, "psi"), "suction_line_temperature": q(56, "degF"), "refrigerant": "R-454B"}
    yield check, "four causes", first | low


def _measure(registry: Registry, calculator: Calculator[Any, Any], name: str, example: dict[str, Any]) -> None:
    given = convert(calculator.given, example)
    run(calculator, given, registry.lookup)
    times: list[float] = []
    began = time.process_time()
    while time.process_time() - began < 0.3 and len(times) < 500:
        start = time.process_time()
        run(calculator, given, registry.lookup)
        times.append((time.process_time() - start) * 1e6)
    times.sort()
    late = times[min(len(times) - 1, round(len(times) * 0.95))]
    print(f"{calculator.id:36} {name[:36]:36} {statistics.median(times):10.0f} us  95 %: {late:10.0f} us")


if __name__ == "__main__":
    main()
