"""What one tenant hears beside a crowd of another's requests, against what it hears alone: aim, within three times.

Run it on demand on a quiet machine; it prints figures and asserts nothing: `python tests/benchmarks/bench_fair.py`.
"""

import asyncio
import sys
import tempfile
from pathlib import Path

import httpx

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from crowd import beside, two_tenants
from running import running


def main() -> None:
    """A plan. Beside the smallest calculator these clients, on the same cores, would be what is measured."""
    for address, size in (("booking/assessment", 16), ("booking/assessment", 48)):
        with tempfile.TemporaryDirectory() as name:
            url, crowd, alone = two_tenants(Path(name))
            settings = {"database_url": url, "log_level": "error", "require_keys": "1"}
            with running(Path(name), settings) as service:
                path = f"/v1/calculators/{address}"
                given = httpx.get(f"{service.url}{path}", headers=alone, timeout=20).json()["examples"][0]["given"]
                quiet, loud, many = asyncio.run(beside(service.url, path, given, crowd, alone, size, 60))
        print(f"\n{address}, beside a crowd of {size}: 95 % of the answers within, milliseconds")
        print(f"  alone                      {quiet.within(0.95) * 1e3:9.1f}")
        print(
            f"  beside the crowd           {loud.within(0.95) * 1e3:9.1f}   x {loud.within(0.95) / quiet.within(0.95):.1f}"
        )
        print(f"  the crowd itself           {many.within(0.95) * 1e3:9.1f}")
        for status in sorted(set(many.seconds) - {200}):
            print(f"  the crowd's refusals, {status}  {many.within(0.95, status) * 1e3:9.1f}")


if __name__ == "__main__":
    main()
