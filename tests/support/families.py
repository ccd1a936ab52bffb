"""What a plugin of a stranger may import of our families, as plain data. `python tests/support/families.py` writes it anew."""

import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import msgspec

from coldwright.contract import Calculator
from coldwright.contract.walk import fields_of
from coldwright.registry import Registry

KEPT = Path(__file__).parents[1] / "fixtures" / "families.json"


def importable() -> dict[str, dict[str, Any]]:
    """By id and major: where calculator, input and results are imported from, and their fields."""
    registry = Registry.of_ours()
    found = [s.local for s in (*registry.served.values(), *registry.older.values())]
    return {c.pinned: _of(c) for c in sorted(found, key=lambda c: (c.id, c.major))}


def _of(calculator: Calculator[Any, Any]) -> dict[str, Any]:
    given: Any = calculator.given
    results: Any = calculator.results
    module = calculator.function.__module__
    name = calculator.function.__name__
    assert getattr(import_module(module), name) is calculator, f"{module}.{name} is not {calculator.id}"
    return {
        "calculator": f"{module}:{name}",
        "given": f"{given.__module__}:{given.__name__}",
        "results": f"{results.__module__}:{results.__name__}",
        "given_fields": {f.wire_name: f.required for f in fields_of(given)},
        "results_fields": [f.wire_name for f in fields_of(results)],
    }


if __name__ == "__main__":
    encoded = msgspec.json.format(msgspec.json.encode(importable()), indent=1)
    KEPT.write_bytes(encoded + b"\n")
    sys.stdout.write(f"wrote {KEPT}\n")
