"""One question inside a larger request."""

import asyncio
import time
from typing import Any

import msgspec

from coldwright.contract.answer import Units
from coldwright.contract.reading import convert
from coldwright.service.problems import ProblemRaised
from coldwright.service.state import Services

Answer = dict[str, Any]


async def answer_to(services: Services, calculator_id: str, given: Any, units: Units) -> Answer:
    """The answer as plain data. Raises `Refused`, a `Failure`, or a problem for an unknown calculator."""
    served = services.registry.find(calculator_id)
    if served is None:
        raise ProblemRaised("not-found", f"There is no calculator {calculator_id[:120]}: see GET /v1/calculators.")
    struct = convert(served.calculator.given, given)
    began = time.perf_counter()
    evaluated = await services.engine.evaluate(served, struct, msgspec.json.encode(given), units)
    services.metrics.count_answer(served.calculator.id, evaluated.outcome, time.perf_counter() - began)
    await asyncio.sleep(0)  # whoever else waits for the loop goes first
    answer: Answer = msgspec.json.decode(evaluated.body)
    return answer
