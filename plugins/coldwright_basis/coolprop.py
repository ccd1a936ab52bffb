"""The one place that loads CoolProp: its compiled core, never the package around it.

`import CoolProp` takes seconds, because its package asks for the list of fluids and so reads every fluid's file. The
compiled core alone loads in milliseconds, and so do its incompressible liquids and its IAPWS-IF97 water; only the
multi-parameter equations (`HEOS`) read the files, at their first use.
"""

import importlib.util
import sys
import threading
from importlib.machinery import PathFinder
from typing import Any

from coldwright.contract.lazy import loads

_CORE = "CoolProp.CoolProp"
_loading = threading.Lock()
_states = threading.local()


@loads
def core() -> Any:
    """The compiled module `CoolProp.CoolProp`, without running the package around it.

    It is registered under its own name: whoever imports CoolProp in the usual way later gets the same module.
    """
    with _loading:
        if _CORE not in sys.modules:
            package = importlib.util.find_spec("CoolProp")
            spec = package and PathFinder.find_spec(_CORE, package.submodule_search_locations)
            if spec is None or spec.loader is None:
                raise ModuleNotFoundError(f"{_CORE} is not installed")
            module = importlib.util.module_from_spec(spec)
            spec.loader.exec_module(module)
            sys.modules[_CORE] = module
        return sys.modules[_CORE]


def state(backend: str, fluid: str) -> Any:
    """An `AbstractState` of this thread, kept for its next call: making one is slow, and none may be shared.

    `state("HEOS", "Water")`, `state("IF97", "Water")`, `state("INCOMP", "MEG")`. Set fractions before the state.
    """
    kept: dict[tuple[str, str], Any] = _states.__dict__.setdefault("kept", {})
    if (backend, fluid) not in kept:
        kept[backend, fluid] = core().AbstractState(backend, fluid)
    return kept[backend, fluid]
