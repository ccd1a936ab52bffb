"""Rules of importing a plugin, checked in a process of its own: light, quick, without traces."""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

from coldwright.conformance.faults import Fault

SLOWEST_IMPORT = 0.5
"""Seconds; the least of three tries, so that a busy machine or a first compilation does not count."""
LONGEST_WAIT = 60.0
HEAVY = ("numpy", "scipy", "CoolProp", "fluids", "pint", "pandas", "shapely")


def check_import(module: str) -> Iterator[Fault]:
    """Import the module that the entry point names and look at what it left behind."""
    try:
        with tempfile.TemporaryDirectory(prefix="__pycache__") as compiled:
            seen = _probe(module, compiled)
            for _ in range(2):
                if seen["seconds"] > SLOWEST_IMPORT:
                    seen["seconds"] = min(seen["seconds"], _probe(module, compiled)["seconds"])
    except subprocess.TimeoutExpired:
        yield Fault("slow_import", "", f"importing {module} takes more than {LONGEST_WAIT:g} s")
        return
    except _ImportFailedError as failed:
        yield Fault("import", "", f"import {module} fails: {failed}")
        return
    traces = {
        "writes files": seen["wrote"],
        "reaches out": seen["opened"],
        "prints": seen["printed"],
        "changes the environment": seen["environment"],
        "starts threads": seen["threads"],
        "changes sys.path": seen["path"],
    }
    for what, trace in traces.items():
        if trace:
            yield Fault("import_side_effect", "", f"importing {module} {what}: {trace}")
    if seen["heavy"]:
        yield Fault("heavy_import", "", f"importing {module} imports {', '.join(seen['heavy'])}: use `lazy`")
    if seen["seconds"] > SLOWEST_IMPORT:
        text = f"importing {module} takes {seen['seconds']:.2f} s; {SLOWEST_IMPORT} s are the most"
        yield Fault("slow_import", "", text)


class _ImportFailedError(Exception):
    pass


def _probe(module: str, compiled: str) -> Any:
    """What `import_probe.py` saw, with the same search path as here: the plugin need not be installed.

    What is compiled goes to the folder `compiled`, also where an environment forbids to keep it beside the source: else
    every try would compile anew, which nobody does who installs the plugin.
    """
    probe = files("coldwright.conformance").joinpath("import_probe.py")
    done = subprocess.run(  # noqa: S603 - our own interpreter and probe
        [sys.executable, str(probe), module, ",".join(HEAVY)],
        capture_output=True,
        text=True,
        timeout=LONGEST_WAIT,
        check=False,
        env={k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p), "PYTHONPYCACHEPREFIX": compiled},
    )
    if done.returncode:
        raise _ImportFailedError(" ".join(done.stderr.strip().splitlines()[-1:]) or f"exit status {done.returncode}")
    return json.loads(done.stdout.strip().splitlines()[-1])
