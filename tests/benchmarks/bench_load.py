"""Four times the load that the service can carry: what is accepted is answered in time, the rest is refused quickly.

Loopback only, bounded in number and time. Run it alone on the machine: `python tests/benchmarks/bench_load.py`.
"""

import asyncio
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from load import overload, refused_milliseconds
from running import running


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name, running(Path(name), {"log_level": "info"}) as service:
        for times in (1.0, 2.0, 4.0):
            print(f"--- {times:g} times what it carries")
            print("\n".join(asyncio.run(overload(service.url, 10.0, times)).lines()))
        if refused := refused_milliseconds(service.log):
            within = [refused[int(share * (len(refused) - 1))] for share in (0.5, 0.95, 1.0)]
            print(
                f"refusals in the service itself: median {within[0]:.1f} ms, 95 % within {within[1]:.1f} ms (aim 50), "
                f"slowest {within[2]:.1f} ms"
            )


if __name__ == "__main__":
    main()
