"""`hydronic.loop` against EPANET through wntr on one loop, in one run: `python tests/benchmarks/bench_loop.py`.

Ours is timed twice: the whole answer, with checks of the input, findings, working and suction head; and its hydraulics
alone, which is what EPANET does: the loop built, solved, the pressure at every element read. EPANET is timed twice too:
with its model built and its results read, which is what a caller of it waits for, and the solver alone on a file that is
written already. Aims: 30 times faster than a caller of EPANET waits, and the flow within 0.1 %.
"""

import statistics
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from epanet import Builder, flows
from loops import base

from coldwright.contract.evaluation import run
from coldwright.contract.reading import read
from coldwright.registry import Registry
from coldwright_basis.liquids import properties as liquid
from coldwright_hydronic.loop.case import work_out


def milliseconds(work: Callable[[], object], times: int) -> float:
    """Median processor time of so many times, after one that does not count."""
    work()
    found = []
    for _ in range(times):
        began = time.process_time()
        work()
        found.append((time.process_time() - began) * 1e3)
    return statistics.median(found)


def water_at(celsius: float) -> tuple[float, float]:
    """Density and viscosity (IAPWS-95) at 3 bar, SI."""
    from CoolProp.CoolProp import PropsSI

    at = ("T", celsius + 273.15, "P", 3e5, "Water")
    return PropsSI("D", *at), PropsSI("V", *at)


def main() -> None:
    """Time both, compare the flow, print the ratios."""
    warnings.simplefilter("ignore")
    registry = Registry()
    loop, document = registry.lookup("hydronic.loop"), base()
    given = read(loop.given, msgspec.json.encode(document))
    water, rated = water_at(7), water_at(10)
    properties = (*water, rated[0])
    results, _ = run(loop, given, registry.lookup)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        reference = flows(document, *properties, folder)["total"]
        ours = milliseconds(lambda: run(loop, given, registry.lookup), 300)
        state = liquid(given.fluid)
        hydraulics = milliseconds(lambda: work_out(given, state), 300)
        whole = milliseconds(lambda: flows(document, *properties, folder), 30)
        solver = milliseconds(solver_alone(document, properties, folder), 30)
    flow = results.duty_flow.si
    print(f"hydronic.loop           {ours:8.3f} ms")
    print(f"its hydraulics alone    {hydraulics:8.3f} ms")
    print(
        f"EPANET, built and read  {whole:8.3f} ms, ratio {whole / ours:.1f} to the answer, {whole / hydraulics:.1f} to its "
        "hydraulics (aim 30)"
    )
    print(f"EPANET, solver alone    {solver:8.3f} ms, ratio {solver / ours:.1f} and {solver / hydraulics:.1f}")
    print(
        f"flow {flow * 1e3:.4f} L/s, EPANET {reference * 1e3:.4f} L/s, off by {abs(flow / reference - 1):.4%} (aim 0.1 %)"
    )


def solver_alone(
    document: dict[str, object], properties: tuple[float, float, float], folder: Path
) -> Callable[[], object]:
    """Opening, solving and closing a file that is written already, with no result read."""
    import wntr

    network, result = str(folder / "alone.inp"), str(folder / "alone.bin")
    wntr.network.io.write_inpfile(Builder(document, *properties).wn, network)

    def solve() -> None:
        engine = wntr.epanet.toolkit.ENepanet()
        engine.ENopen(network, str(folder / "alone.rpt"), result)
        engine.ENsolveH()
        engine.ENclose()

    return solve


if __name__ == "__main__":
    main()
