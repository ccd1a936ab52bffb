"""The calculators behind the start-ups: named here and nowhere else in the service."""

from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.service.state import Services

STARTUP = "readiness.startup"
"""Judges a start."""
CHANGE = "readiness.start_change"
"""Says what a change of its configuration makes easier."""


async def ask(services: Services, name: str, body: bytes, units: Units) -> Evaluated:
    """Evaluate a calculator; raises `Refused` or a `Failure`."""
    return await services.engine.evaluate(services.registry.served[name], body, units)
