"""Asks the calculators behind the start-ups, by the role that they take."""

from coldwright.contract import Role
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.service.state import Services


async def ask(services: Services, role: Role, body: bytes, units: Units) -> Evaluated:
    """Evaluate a calculator; raises `Refused` or a `Failure`."""
    return await services.engine.evaluate(services.registry.needed(role), body, units)
