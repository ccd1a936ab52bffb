"""What a calculation does beside its answer: calls of the clock, chance, files, sockets; traces in global state."""

import contextlib
import gc
import os
import sys
from collections.abc import Callable, Iterator
from types import FrameType, FunctionType, ModuleType
from typing import Any

FORBIDDEN = {
    "time": {"time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns", "localtime", "gmtime"}
    | {"process_time", "process_time_ns", "sleep"},
    "posix": {"urandom", "system", "open", "unlink", "mkdir", "rename", "putenv", "getpid", "getcwd", "listdir"},
    "_random": {"random", "getrandbits", "seed"},
    "datetime": {"now", "utcnow", "today"},
    "_socket": {"connect", "bind", "getaddrinfo", "gethostname"},
    "io": {"open"},
    "_io": {"open"},
    "_posixsubprocess": {"fork_exec"},
    "_thread": {"start_new_thread"},
}
"""Built-in functions that have no place in a calculation, by the module of the function or of its owner's classes."""

_ENVIRONMENT = type(os.environ).__getitem__.__code__


class watching(contextlib.AbstractContextManager[None]):  # noqa: N801 - reads as a statement
    """Notes forbidden calls while it is open."""

    def __init__(self, called: set[str]) -> None:
        self._called = called
        self._before: Callable[..., Any] | None = None
        self._collecting = True

    def __enter__(self) -> None:
        self._before = sys.getprofile()
        self._collecting = gc.isenabled()
        gc.disable()  # whoever hears of collections (test tools do) would be taken for the calculator
        sys.setprofile(self._event)

    def __exit__(self, *_error: object) -> None:
        sys.setprofile(self._before)
        if self._collecting:
            gc.enable()

    def _event(self, frame: FrameType, event: str, argument: Any) -> None:
        if event == "call" and frame.f_code is _ENVIRONMENT and not _imports(frame):
            self._called.add("os.environ")
        if event != "c_call":
            return
        name = getattr(argument, "__name__", "")
        for module in _modules(argument):
            if name in FORBIDDEN.get(module, ()) and not _imports(frame):
                self._called.add(f"{module.lstrip('_')}.{name}")


def _modules(function: Any) -> set[str]:
    """Modules of a built-in function: its own, or those of the classes that it is a method of."""
    owner = getattr(function, "__self__", None)
    if owner is None or isinstance(owner, ModuleType):
        return {getattr(function, "__module__", None) or ""}
    classes = owner.__mro__ if isinstance(owner, type) else type(owner).__mro__
    return {c.__module__ for c in classes}


def _imports(frame: FrameType | None) -> bool:
    """Whether this is inside an import: first use of a library reads its files, and may."""
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return True
        frame = frame.f_back
    return False


def global_state(package: str) -> dict[str, str]:
    """Everything in the modules of a package that could remember something, by name, as text.

    Caches of pure functions (`functools.cache`) remember too, and may: they give back what would be computed again.
    """
    modules = [m for n, m in list(sys.modules.items()) if n == package or n.startswith(f"{package}.")]
    return {
        f"{module.__name__}.{name}": text
        for module in modules
        for name, value in list(vars(module).items())
        if not name.startswith("__")
        for text in _memory(value, module.__name__)
    }


def _memory(value: Any, module: str) -> Iterator[str]:
    if isinstance(value, FunctionType):
        if value.__module__ == module:
            yield repr((value.__defaults__, value.__kwdefaults__, value.__dict__))
    elif isinstance(value, type):
        if value.__module__ == module:
            yield repr({k: v for k, v in vars(value).items() if isinstance(v, list | dict | set | int | float)})
    elif (
        isinstance(value, int | float | str | bytes | list | dict | set | tuple | bytearray)
        or value is None
        or type(value).__module__ in ("collections", "itertools")
    ):
        yield repr(value)
    elif type(value).__module__ == module and hasattr(value, "__dict__"):
        yield repr(vars(value))
