"""What the machinery of plugins costs: one call against the bare function, and a start with fifty plugins installed.

Run it on demand; it prints figures and ratios and asserts nothing: `python tests/benchmarks/bench_plugins.py`.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from distributions import install, sound

from coldwright.contract import Calculator, Notes
from coldwright.contract.answer import to_json
from coldwright.contract.evaluation import digest, evaluate, list_defaults
from coldwright.contract.reading import read
from coldwright.engine import Engine
from coldwright.engine.evaluate import evaluate_here
from coldwright.registry import Registry, Served


def microseconds(work: Callable[[], object], clock: Callable[[], float] = time.process_time) -> float:
    """Time of one call: the least of several rounds. CPU time, so that other work on the machine does not count."""
    work()
    began, count = clock(), 0
    while clock() - began < 0.02:
        work()
        count += 1
    times = []
    for _ in range(15):
        began = clock()
        for _ in range(count):
            work()
        times.append((clock() - began) / count)
    return min(times) * 1e6


def bench_call(registry: Registry, served: Served) -> None:
    """Layer by layer, from the bare function to what a request costs in process."""
    calculator: Calculator[msgspec.Struct, msgspec.Struct] = served.local
    body = msgspec.json.encode(dict(calculator.examples[0].given))
    given = read(calculator.given, body)
    answer = evaluate(calculator, given, lookup=registry.lookup)
    bare = microseconds(lambda: calculator.function(given, Notes(calculator.findings)))
    whole = microseconds(lambda: evaluate(calculator, given, lookup=registry.lookup))
    notes = microseconds(lambda: list_defaults(given, Notes(calculator.findings)))
    identity = microseconds(lambda: digest(calculator, given))
    built = microseconds(lambda: msgspec.structs.replace(answer))
    stranger = in_a_worker(registry, served, body)
    rows = (
        ("the function itself", bare),
        ("evaluated: with notes and answer", whole),
        ("  of that the defaults listed", notes),
        ("  of that the digest", identity),
        ("  of that the answer put together", built),
        ("  of that the machinery", max(0.0, whole - bare - notes - identity - built)),
        ("found by its id", microseconds(lambda: registry.find(calculator.id))),
        ("the input read and checked", microseconds(lambda: read(calculator.given, body))),
        ("evaluated and encoded", microseconds(lambda: evaluate_here(registry, served, given, "metric"))),
        ("the same as a third party's, in a worker", stranger),
    )
    print(f"\n{calculator.id} ({len(body)} bytes in, {len(to_json(answer))} out), microseconds a call")
    for what, time_ in rows:
        print(f"  {what:<42}{time_:9.2f}   x {time_ / bare:.2f}")


def in_a_worker(registry: Registry, served: Served, body: bytes) -> float:
    """Time of one call that goes to a process of its own and back, results held to their schema."""
    stranger = Served(served.calculator, "stranger", "1.0")
    registry.served[served.calculator.id] = stranger
    engine = Engine(registry)
    try:
        return microseconds(lambda: engine.evaluate_now(stranger, body, "metric"), time.perf_counter)
    finally:
        engine.stop()
        registry.served[served.calculator.id] = served


_STARTED = """
import resource, sys, time
sys.path.insert(0, sys.argv[1])
import coldwright.registry
def spent():
    mine, childrens = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return mine.ru_utime + mine.ru_stime, childrens.ru_utime + childrens.ru_stime
before, began = spent(), time.perf_counter()
registry = coldwright.registry.Registry()
took, (own, child) = time.perf_counter() - began, (a - b for a, b in zip(spent(), before))
print(took, own, child, len(registry.found), sum(f.state == "loaded" for f in registry.found))
"""
_IMPORTED = """
import sys, time, importlib
sys.path.insert(0, sys.argv[1])
import coldwright.registry
began = time.process_time()
for number in range(int(sys.argv[2])): importlib.import_module(f"many_{number}")
print(time.process_time() - began)
"""


def least_of(rounds: int, *command: str) -> list[float]:
    """The least of each figure that a process prints, over several processes: what the machine can do undisturbed."""
    lines = [
        [float(word) for word in subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()]
        for _ in range(rounds)
    ]
    return [min(column) for column in zip(*lines, strict=True)]


def bench_start(count: int) -> None:
    """Discovery without and with plugins, and what their own imports take of it."""
    with tempfile.TemporaryDirectory() as few, tempfile.TemporaryDirectory() as many:
        for number in range(count):
            package = f"many_{number}"
            source = sound(f"family{number}", struct=f"Power{number}")
            install(Path(many), f"coldwright-many-{number}", {package: source}, {f"n{number}": f"{package}:plugin"})
        least_of(1, sys.executable, "-c", _STARTED, many)  # compiles them
        alone, *_ = least_of(9, sys.executable, "-c", _STARTED, few)
        together, own, child, found, loaded = least_of(9, sys.executable, "-c", _STARTED, many)
        (imports,) = least_of(9, sys.executable, "-c", _IMPORTED, many, str(count))
    print(f"\nstart with {count} plugins more ({found:.0f} found, {loaded:.0f} loaded), milliseconds")
    print(f"  discovery without them              {alone * 1e3:9.1f}")
    print(f"  discovery with them                 {together * 1e3:9.1f}   x {together / alone:.2f}")
    print(f"  of which their own imports          {imports * 1e3:9.1f}")
    print(f"  processor time of the service       {own * 1e3:9.1f}")
    print(f"  processor time of its children      {child * 1e3:9.1f}   x {child / imports:.2f} of the imports")
    print(f"  discovery beyond our own plugins    {(together - alone) * 1e3:9.1f}   (aim: under 500)")


def main() -> None:
    """Both benches."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calculators", nargs="*", default=["hydronic.exchanger_flow", "electrical.service"])
    parser.add_argument("--plugins", type=int, default=50)
    given = parser.parse_args()
    registry = Registry()
    for id_ in given.calculators:
        if served := registry.find(id_):
            bench_call(registry, served)
    bench_start(given.plugins)


if __name__ == "__main__":
    main()
