"""`coldwright plugins new NAME`: a distribution with one calculator, its table, checks, types and guide, that passes."""

import re
from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from jinja2 import Environment, StrictUndefined
from packaging.version import Version

from coldwright import __version__
from coldwright.commands.errors import CommandError
from coldwright.contract import CONTRACT_VERSION
from coldwright.registry import RESERVED_FAMILIES, RESERVED_WORDS

_NAME = re.compile(r"[a-z][a-z0-9]*([-_][a-z0-9]+)*")
_RENAMED = {"gitignore": ".gitignore"}
"""Files whose own names would have a meaning already where the template lies."""


def new_plugin(name: str, into: Path) -> Path:
    """Write the distribution `coldwright-NAME` into a new folder of `into`; the folder."""
    family = name.replace("-", "_")
    if not _NAME.fullmatch(name) or not 2 <= len(family) <= 40:
        raise CommandError(f"{name!r} is no name: 2 to 40 small letters and digits, with single dashes or underscores")
    if family in RESERVED_FAMILIES | RESERVED_WORDS:
        raise CommandError(f"the family {family} is reserved: choose another name")
    distribution = f"coldwright-{family.replace('_', '-')}"
    folder = into / distribution
    if folder.exists():
        raise CommandError(f"{folder} is there already")
    words = {
        "family": family,
        "title": family.replace("_", " ").capitalize(),
        "distribution": distribution,
        "package": f"coldwright_{family}",
        "coldwright": f"{Version(__version__).major}.{Version(__version__).minor}",
        "next_coldwright": str(Version(__version__).major + 1),
        "contract": CONTRACT_VERSION,
        "next_contract": str(Version(CONTRACT_VERSION).major + 1),
    }
    renderer = Environment(  # noqa: S701 - writes source code, not HTML
        variable_start_string="@{",
        variable_end_string="}@",
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    for path, source in _templates(files("coldwright.commands") / "template", ""):
        target = folder / path.replace("package/", f"{words['package']}/")
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(renderer.from_string(source).render(words), "utf-8")
    return folder


def _templates(folder: Traversable, prefix: str) -> Iterator[tuple[str, str]]:
    """Path in the new distribution, and text, of every file of the template."""
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if entry.is_dir():
            yield from _templates(entry, f"{prefix}{entry.name}/")
        elif entry.name.endswith(".j2"):
            name = entry.name.removesuffix(".j2")
            yield prefix + _RENAMED.get(name, name), entry.read_text("utf-8")
