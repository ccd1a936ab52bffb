"""A program: imports the module of its first argument and writes what that left behind, as JSON.

The second argument lists the modules that must not come with it.
"""

import importlib
import json
import os
import sys
import threading
import time

import coldwright.contract  # noqa: F401 - what every plugin may take for granted

WRITING = frozenset("wax+")
CREATING = os.O_WRONLY | os.O_RDWR | os.O_CREAT
REACHING_OUT = (
    "socket.connect",
    "socket.bind",
    "subprocess",
    "os.system",
    "os.remove",
    "os.mkdir",
    "os.rename",
    "shutil",
)

wrote: list[str] = []
opened: list[str] = []


def heed(event: str, arguments: tuple[object, ...]) -> None:
    """Notes what the import does to the world; compiled bytecode is the interpreter's own business."""
    if event == "open":
        path, mode, flags = arguments
        if isinstance(path, int) or ".pyc" in str(path):  # a number was opened by its name before
            return
        writing = WRITING & set(mode) if isinstance(mode, str) else isinstance(flags, int) and flags & CREATING
        if writing:
            wrote.append(str(path))
    elif event.startswith(REACHING_OUT) and "__pycache__" not in str(arguments):
        opened.append(event)


BUSY = 8
"""A busy machine makes an import wait for the processor: only a wait much longer than the work counts as a wait."""


def main() -> None:
    """Import with everything watched."""
    environment, threads, path = dict(os.environ), threading.active_count(), list(sys.path)
    real = os.dup(1)
    reading, writing = os.pipe()
    os.dup2(writing, 1)
    began, spent = time.perf_counter(), time.process_time()
    importlib.import_module(sys.argv[1])
    seconds, spent = time.perf_counter() - began, time.process_time() - spent
    sys.stdout.flush()
    os.dup2(real, 1)
    os.close(writing)
    os.set_blocking(reading, False)
    try:
        printed = os.read(reading, 1000).decode("utf-8", "replace")
    except BlockingIOError:
        printed = ""
    names = set(environment) | set(os.environ)
    seen = {
        "seconds": spent if seconds < BUSY * spent else seconds,
        "wrote": wrote,
        "opened": opened,
        "printed": printed,
        "environment": sorted(n for n in names if environment.get(n) != os.environ.get(n)),
        "threads": threading.active_count() - threads,
        "path": path != sys.path,
        "heavy": [m for m in sys.argv[2].split(",") if m in sys.modules],
    }
    sys.stdout.write(json.dumps(seen) + "\n")


if __name__ == "__main__":
    sys.path.pop(0)  # this file's folder is no place to import from
    sys.addaudithook(heed)
    main()
