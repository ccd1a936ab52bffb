"""What others notice of bodies made to be slow, three at once: `python tests/benchmarks/bench_freezing.py [bytes [words]]`.

With words, addresses alone that have one of them. Aims on a quiet machine, at the largest size of each address: health and
a light calculation beside it at a median of 50 ms and a worst of 0.3 s. Loopback only, bounded in number and time.
"""

import asyncio
import sys
import tempfile
from pathlib import Path

import httpx
import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from freezing import ADDRESSES, BODIES, attacked, kinds_for, request
from running import running
from startup_histories import CONFIGURATION

from coldwright.registry import Registry

LIGHT = "/v1/calculators/electrical/service"


def main() -> None:
    """Attack every address with every body and print what was noticed."""
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 16_000_000
    words = sys.argv[2:] or [""]
    light = request(
        f"POST {LIGHT}", msgspec.json.encode(dict(Registry().lookup("electrical.service").examples[0].given))
    )
    medians, worsts = [], []
    with tempfile.TemporaryDirectory() as name, running(Path(name), {"log_level": "error"}) as service:
        httpx.put(f"{service.url}/v1/startups/frozen", json={"configuration": CONFIGURATION}, timeout=60)
        wanted = [address for address in ADDRESSES if any(word in address for word in words)]
        for address, kind in ((one, kind) for one in wanted for kind in kinds_for(one)):
            sent = BODIES[kind][1](min(size, ADDRESSES[address][1]) - 2_000)
            statuses, noticed = asyncio.run(attacked(service.port, light, address, [sent] * 3))
            medians.append(noticed.median)
            worsts.append(noticed.worst)
            print(
                f"{address:44} {kind:21} {len(sent) / 1e6:5.1f} MB  {statuses}  "
                f"median {noticed.median * 1e3:6.1f} ms, worst {noticed.worst * 1e3:6.0f} ms"
            )
    print(f"worst median {max(medians) * 1e3:.0f} ms (aim 50), worst of all {max(worsts):.2f} s (aim 0.3)")


if __name__ == "__main__":
    main()
