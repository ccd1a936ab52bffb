"""Asks the calculators behind the start-ups, by the role that they take."""

from coldwright.contract import Role
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.registry import Served
from coldwright.service.state import Services


async def ask(services: Services, whom: Role | Served, body: bytes, units: Units) -> Evaluated:
    """Evaluate the calculator of a role, or an older major version of one; raises `Refused` or a `Failure`."""
    served = services.registry.needed(whom) if isinstance(whom, str) else whom
    return await services.engine.evaluate(served, body, units)
