"""Time of single calculators as functions, notes and answer included: `python tests/benchmarks/bench_functions.py`."""

import statistics
import time

import msgspec

from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright.registry import Registry


def main() -> None:
    """Every example of every calculator: median and 95th percentile after warm-up."""
    registry = Registry()
    for id_, served in sorted(registry.served.items()):
        for example in served.calculator.examples:
            given = convert(served.calculator.given, msgspec.to_builtins(dict(example.given)))
            run(served.calculator, given, registry.lookup)
            times = []
            began = time.perf_counter()
            while time.perf_counter() - began < 0.3 and len(times) < 500:
                start = time.perf_counter()
                run(served.calculator, given, registry.lookup)
                times.append((time.perf_counter() - start) * 1e6)
            times.sort()
            late = times[min(len(times) - 1, round(len(times) * 0.95))]
            print(f"{id_:36} {example.name[:36]:36} {statistics.median(times):10.0f} us  95 %: {late:10.0f} us")


if __name__ == "__main__":
    main()
