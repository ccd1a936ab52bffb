"""Asks the calculators behind the start-ups, by the role that they take."""

from coldwright.contract import Role
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.registry import Served
from coldwright.service.state import Services


async def ask(services: Services, whom: Role | Served, body: bytes, units: Units, *, alone: bool = False) -> Evaluated:
    """Evaluate the calculator of a role, or an older major version of one; raises `Refused` or a `Failure`.

    `alone`: without the parts of other plugins, where only what is refused is wanted.
    """
    served = services.registry.needed(whom) if isinstance(whom, str) else whom
    evaluate = services.engine.evaluate_alone if alone else services.engine.evaluate
    return await evaluate(served, body, units)
