"""Rules of importing a plugin, checked in a process of its own: light, quick, without traces."""

import json
import subprocess
import sys
from collections.abc import Iterator

from coldwright.conformance.faults import Fault

SLOWEST_IMPORT = 0.5
HEAVY = ("numpy", "scipy", "CoolProp", "fluids", "pint", "pandas", "shapely")

_PROBE = r"""
import importlib, json, os, sys, threading, time
import coldwright.contract
wrote, opened = [], []
def hook(event, args):
    if event == "open" and isinstance(args[1], str) and set(args[1]) & set("wax+") and not str(args[0]).endswith((".pyc",)) \
            and ".pyc." not in str(args[0]):
        wrote.append(str(args[0]))
    elif event.startswith(("socket.connect", "socket.bind", "subprocess", "os.system", "os.remove", "os.mkdir", "shutil")):
        opened.append(event)
sys.addaudithook(hook)
environment, threads, path = dict(os.environ), threading.active_count(), list(sys.path)
real = os.dup(1); r, w = os.pipe(); os.dup2(w, 1)
began = time.perf_counter(); module = importlib.import_module(sys.argv[1]); seconds = time.perf_counter() - began
sys.stdout.flush(); os.dup2(real, 1); os.close(w); printed = os.read(r, 1000).decode("utf-8", "replace")
print(json.dumps({"seconds": seconds, "wrote": wrote, "opened": opened, "printed": printed,
    "environment": sorted(k for k in set(environment) | set(os.environ) if environment.get(k) != os.environ.get(k)),
    "threads": threading.active_count() - threads, "path": path != sys.path,
    "heavy": [m for m in sys.argv[2].split(",") if m in sys.modules]}))
"""


def check_import(module: str) -> Iterator[Fault]:
    """Import the module that the entry point names and look at what it left behind."""
    done = subprocess.run(  # noqa: S603 - our own interpreter and probe
        [sys.executable, "-c", _PROBE, module, ",".join(HEAVY)], capture_output=True, text=True, timeout=60, check=False
    )
    if done.returncode:
        yield Fault("import", "", f"import {module} fails: {done.stderr.strip().splitlines()[-1:]}")
        return
    seen = json.loads(done.stdout.strip().splitlines()[-1])
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
        yield Fault(
            "slow_import", "", f"importing {module} takes {seen['seconds']:.2f} s; {SLOWEST_IMPORT} s are the most"
        )
