"""A quantity as a caller writes it, for requests of tests."""

from typing import Any


def q(value: float, unit: str) -> dict[str, Any]:
    """A value with its unit."""
    return {"value": value, "unit": unit}
