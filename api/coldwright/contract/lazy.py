"""Heavy libraries are imported by first use, so that discovery of plugins stays light."""

import importlib
from types import ModuleType
from typing import Any


class lazy(ModuleType):  # noqa: N801 - reads as the import that it stands for
    """`np = lazy("numpy")`: the module is imported when an attribute is first taken."""

    def __init__(self, name: str) -> None:
        super().__init__(name)

    def __getattr__(self, attribute: str) -> Any:
        value = getattr(importlib.import_module(self.__name__), attribute)
        setattr(self, attribute, value)  # found by Python itself from now on
        return value
