"""Distributions that are installed for one test: their metadata in a folder that is put on the path of a process."""

import os
from pathlib import Path


def install(folder: Path, name: str, sources: Path, entry_points: dict[str, str]) -> dict[str, str]:
    """Write the metadata of a distribution into `folder`; returns the environment in which it is installed."""
    info = folder / f"{name.replace('-', '_')}-1.0.0.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0.0\n")
    lines = "".join(f"{point} = {target}\n" for point, target in entry_points.items())
    (info / "entry_points.txt").write_text(f"[coldwright.calculators]\n{lines}")
    before = os.environ.get("PYTHONPATH", "")
    return {"PYTHONPATH": os.pathsep.join(p for p in (str(folder), str(sources), before) if p)}
