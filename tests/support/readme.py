"""The README's commands, run in order against a service, and the outputs that it shows.

A block of `sh` is run; a block of `text` or `json` right after it is what it prints, with `...` for lines left out.
`python tests/support/readme.py` writes the shown outputs anew, after the numbers changed for a good reason.
"""

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from running import running

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
ADDRESS = "http://127.0.0.1:8080"
ELLIPSIS = "..."
_BLOCK = re.compile(r"```sh\n(?P<code>.*?)\n```(?:\n\n```(?:text|json)\n(?P<shown>.*?)\n```)?", re.DOTALL)
_FIRST = "sh deploy/try.sh\nsh deploy/test.sh"
"""Run by tests of their own."""


class Block(NamedTuple):
    """A block of commands and what the README says that it prints; `start`, `end`: where that stands."""

    code: str
    shown: str | None
    start: int
    end: int


def blocks(text: str) -> list[Block]:
    """Every block that is run, in order."""
    found = [Block(m["code"], m["shown"], m.start("shown"), m.end("shown")) for m in _BLOCK.finditer(text)]
    return [b for b in found if b.code != _FIRST]


def outputs(commands: list[Block], folder: Path) -> Iterator[str]:
    """Run them one after the other, in a folder beside which only `deploy` stands; raises on a command that fails."""
    work, own = folder / "work", folder / "service"
    work.mkdir()
    own.mkdir()
    (work / "deploy").symlink_to(ROOT / "deploy")
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    with running(own, {"evaluation_seconds": "60"}) as service:
        for block in commands:
            done = subprocess.run(
                ["sh", "-e", "-c", block.code.replace(ADDRESS, service.url)],
                cwd=work,
                env=os.environ | {"PATH": path, "no_proxy": "127.0.0.1"},
                capture_output=True,
                text=True,
                check=False,
            )
            if done.returncode or done.stderr:
                raise AssertionError(f"{block.code}\nended with {done.returncode}: {done.stderr}")
            yield done.stdout


def missing(shown: str, printed: str) -> str:
    """The first part of what is shown that is not printed, in its order; empty when all of it is."""
    rest = [line.rstrip() for line in printed.splitlines()]
    for chunk in chunks(shown):
        place = next((i for i in range(len(rest)) if rest[i : i + len(chunk)] == chunk), None)
        if place is None:
            return "\n".join(chunk)
        rest = rest[place + len(chunk) :]
    return ""


def chunks(shown: str) -> list[list[str]]:
    """Lines between the ellipses."""
    found: list[list[str]] = [[]]
    for line in shown.splitlines():
        if line.strip() == ELLIPSIS:
            found.append([])
        else:
            found[-1].append(line.rstrip())
    return [chunk for chunk in found if chunk]


def renewed(shown: str, printed: str) -> str:
    """What is shown with each part as it is printed now: from its first line on, or from the same place, as long as before."""
    rest = [line.rstrip() for line in printed.splitlines()]
    lines: list[str] = []
    for chunk in chunks(shown):
        place = next((i for i, line in enumerate(rest) if line == chunk[0]), 0)
        if lines or place:
            lines.append(ELLIPSIS)
        lines += rest[place : place + len(chunk)]
        rest = rest[place + len(chunk) :]
    return "\n".join([*lines, ELLIPSIS] if any(rest) else lines)


def main() -> None:
    """Write the shown outputs anew."""
    text = README.read_text()
    found = blocks(text)
    with tempfile.TemporaryDirectory() as folder:
        printed = list(outputs(found, Path(folder)))
    for block, now in reversed(list(zip(found, printed, strict=True))):
        if block.shown is not None:
            text = text[: block.start] + renewed(block.shown, now) + text[block.end :]
    README.write_text(text)


if __name__ == "__main__":
    main()
