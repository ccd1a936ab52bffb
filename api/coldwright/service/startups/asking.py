"""Asks the calculators behind the start-ups, by the role that they take."""

from functools import lru_cache

from coldwright.contract import Role
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.registry import Registry, Served, rests_on
from coldwright.service.state import Services


async def ask(services: Services, whom: Role | Served, body: bytes, units: Units, *, alone: bool = False) -> Evaluated:
    """Evaluate the calculator of a role, or an older major version of one; raises `Refused` or a `Failure`.

    `alone`: without the parts of other plugins, where only what is refused is wanted.
    """
    served = services.registry.needed(whom) if isinstance(whom, str) else whom
    evaluate = services.engine.evaluate_alone if alone else services.engine.evaluate
    return await evaluate(served, body, units)


@lru_cache(maxsize=4)
def rules_of(registry: Registry) -> str:
    """What stands for all that a verdict rests on beside the records: who judges a start, parts of plugins, tables."""
    return rests_on(registry, [registry.needed("start"), *registry.parts("start")])


@lru_cache(maxsize=4)
def judge_of(registry: Registry) -> str:
    """Id and version of who judges a start, to read."""
    calculator = registry.needed("start").calculator
    return f"{calculator.id} {calculator.version}"
