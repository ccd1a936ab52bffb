"""Heavy libraries are imported by first use, so that discovery of plugins stays light.

A process from which others are forked takes them beforehand, once for all of them: `take_ahead`.
"""

import importlib
from collections.abc import Callable
from types import ModuleType
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[[], object])
_loads: dict[object, Callable[[], object]] = {}


class lazy(ModuleType):  # noqa: N801 - reads as the import that it stands for
    """`np = lazy("numpy")`: the module is imported when an attribute is first taken."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        _loads[name] = lambda: importlib.import_module(name)

    def __getattr__(self, attribute: str) -> Any:
        value = getattr(importlib.import_module(self.__name__), attribute)
        setattr(self, attribute, value)  # found by Python itself from now on
        return value


def loads(function: F) -> F:
    """Mark a function that loads something at its first call: it must only import, and start no thread."""
    _loads[function] = function
    return function


def take_ahead() -> None:
    """Load all that was put off. What can't be loaded is left to whoever needs it, who finds out and says so."""
    for load in list(_loads.values()):
        try:
            load()
        except Exception:  # noqa: S112 - a library that does not load raises whatever it likes
            continue
