"""A quantity as a caller writes it, for requests of tests."""

from typing import Any


def q(value: Any, unit: str) -> dict[str, Any]:
    """A value with its unit; in an expectation the value may be an approximation."""
    return {"value": value, "unit": unit}
