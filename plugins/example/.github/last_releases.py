"""Prints the newest patch of each of the last three minor releases of coldwright, as JSON, for the matrix of the tests.

It reads what `pip index versions coldwright` prints; where no index answers, only what is installed is tested.
"""

import json
import re
import subprocess
import sys
from importlib.metadata import version

COUNT = 3


def last(text: str, count: int = COUNT) -> list[str]:
    """From `Available versions: 1.4.1, 1.4.0, 1.3.2, ...`: `["1.4.1", "1.3.2", ...]`."""
    found = re.search(r"Available versions: (.*)", text)
    newest: dict[tuple[int, int], tuple[int, str]] = {}
    for release in found[1].split(", ") if found else ():
        parts = re.fullmatch(r"(\d+)\.(\d+)\.(\d+)", release.strip())
        if parts:
            minor, patch = (int(parts[1]), int(parts[2])), int(parts[3])
            newest[minor] = max(newest.get(minor, (-1, "")), (patch, release.strip()))
    return [newest[minor][1] for minor in sorted(newest, reverse=True)[:count]]


if __name__ == "__main__":
    asked = subprocess.run(
        [sys.executable, "-m", "pip", "index", "versions", "coldwright"], capture_output=True, text=True, check=False
    )
    print(json.dumps(last(asked.stdout) or [version("coldwright")]))
