"""Processor time against another checkout, in one run: `python tests/benchmarks/compare.py OTHER_CHECKOUT`.

Each case is measured in a process of this checkout and in one of the other, by turns, several times; the least of each
counts, in processor time, so that a busy machine spoils little. Prints JSON: for each case both times in milliseconds,
and the ratio of ours to theirs. Ends with status 1 where a ratio is above `--limit`, or above its own in `more.toml`, which
says of what has more to do than in an older version how much slower that may be, and why. A case that the other checkout
does not know, or refuses, has no ratio.

`git worktree add --detach /somewhere v1.2.0` makes a checkout; it needs no environment of its own as long as it runs
with the libraries that are installed here.
"""

import argparse
import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

CASES = Path(__file__).with_name("cases.py")
MORE = Path(__file__).with_name("more.toml")
HERE = Path(__file__).parents[2]


def measured(checkout: Path, other: Path) -> dict[str, Any]:
    """Milliseconds by case, or why one has none; and versions. The cases are this checkout's, the code is the other's."""
    paths = os.pathsep.join(str(checkout / folder) for folder in ("api", "plugins"))
    done = subprocess.run(
        [sys.executable, str(CASES), str(checkout), str(other)],
        env=os.environ | {"PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def least(rounds: list[dict[str, Any]], name: str) -> float | str | None:
    """The least of a case, or why it has no time."""
    values = [r["milliseconds"].get(name) for r in rounds]
    times = [v for v in values if isinstance(v, float)]
    return min(times) if times else values[0]


def allowed(name: str, versions: dict[str, str], usual: float) -> tuple[float, str]:
    """The greatest ratio of a case to a checkout with these versions, and why it is more than the usual one."""
    calculator = name.removeprefix("example: ")
    more = tomllib.loads(MORE.read_text("utf-8")).get(calculator)
    if more is None or calculator not in versions or _numbers(versions[calculator]) >= _numbers(more["since"]):
        return usual, ""
    return max(more["limit"], usual), more["why"]


def _numbers(version: str) -> list[int]:
    return [int(part) for part in version.split(".")]


def main() -> int:
    """Measure by turns, print, compare with the limit."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("other", type=Path, help="folder of the other checkout")
    parser.add_argument("--rounds", type=int, default=3, help="processes of each (default: 3)")
    parser.add_argument("--limit", type=float, default=1.3, help="a ratio above it is a failure (default: 1.3)")
    parser.add_argument("--keep", type=Path, help="a file for the JSON, beside printing it")
    given = parser.parse_args()
    other = given.other.resolve()
    ours, theirs = [], []
    for _ in range(given.rounds):
        theirs.append(measured(other, other))
        ours.append(measured(HERE, other))
    table: dict[str, Any] = {}
    for name in ours[0]["milliseconds"]:
        here, there = least(ours, name), least(theirs, name)
        ratio = here / there if isinstance(here, float) and isinstance(there, float) else None
        limit, why = allowed(name, theirs[0]["versions"], given.limit)
        table[name] = {"here_ms": here, "there_ms": there, "ratio": ratio and round(ratio, 3)}
        if why:
            table[name] |= {"limit": limit, "why": why}
    slower = [name for name, row in table.items() if (row["ratio"] or 0.0) > row.get("limit", given.limit)]
    broken = [name for name, row in table.items() if not isinstance(row["here_ms"], float)]
    text = json.dumps({"limit": given.limit, "slower": slower, "broken": broken, "cases": table}, indent=2)
    print(text)
    if given.keep:
        given.keep.write_text(f"{text}\n", "utf-8")
    return 1 if slower or broken else 0


if __name__ == "__main__":
    sys.exit(main())
