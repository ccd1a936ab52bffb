"""Questions inside a larger request: each answered or refused as it would have been alone."""

import asyncio
import time
from collections.abc import Awaitable, Iterable, Sequence
from typing import Any, TypeVar

import msgspec
import structlog

from coldwright.contract import Refused, field_error
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.registry import Served
from coldwright.service.exploration.pointers import replaced
from coldwright.service.http.intake import LONG
from coldwright.service.http.problems import ProblemRaised, as_problem
from coldwright.service.state import Services

log = structlog.get_logger("coldwright.exploration")

Answer = dict[str, Any]
T = TypeVar("T")


def find_calculator(services: Services, calculator_id: str) -> Served:
    """The calculator called `family.name`, or `family.name@2`; raises a 404."""
    served = services.registry.find(calculator_id)
    if served is None:
        raise ProblemRaised("not-found", f"There is no calculator {calculator_id[:120]}: see GET /v1/calculators.")
    return served


class Room:
    """How many bytes the answers of one request may still have."""

    def __init__(self, most: int, text: str) -> None:
        self._left, self._text = most, text

    def take(self, size: int) -> None:
        """Raises a problem where an answer finds no room, and for every one after it."""
        self._left -= size
        if self._left < 0:
            raise ProblemRaised("too-large", self._text)


def varied(given: Any, changes: Sequence[tuple[str, Any]]) -> bytes:
    """An input with values put in at their pointers, as JSON."""
    for pointer, value in changes:
        given = replaced(given, pointer, value)
    return msgspec.json.encode(given)


async def answer_or_problem(
    services: Services, calculator_id: str, given: bytes, units: Units
) -> Answer | ProblemRaised:
    """The answer as plain data, or the problem that the question would have had alone."""
    evaluated = await evaluated_or_problem(services, calculator_id, given, units)
    if isinstance(evaluated, ProblemRaised):
        return evaluated
    return await decoded(services, evaluated.body)


async def decoded(services: Services, body: bytes) -> Answer:
    """An answer as plain data."""
    if len(body) <= LONG:
        answer: Answer = msgspec.json.decode(body)
        return answer
    return await services.apart(msgspec.json.decode, body)


async def evaluated_or_problem(
    services: Services, calculator_id: str, body: bytes, units: Units
) -> Evaluated | ProblemRaised:
    """What comes of one question of many, where no problem of one may spoil the others."""
    try:
        served = find_calculator(services, calculator_id)
        began = time.perf_counter()
        evaluated = await services.engine.evaluate(served, body, units)
        services.metrics.count_answer(served.calculator.id, evaluated.outcome, time.perf_counter() - began)
        await asyncio.sleep(0)  # whoever else waits for the loop goes first
    except Exception as error:
        problem = as_problem(error)
        if problem is None:
            log.exception("question_failed", calculator=calculator_id)
            problem = ProblemRaised("internal-error")
        return problem.with_traceback(None)  # which would hold all that asked until the collector of cycles comes by
    return evaluated


async def few_at_once(work: Iterable[Awaitable[T]], most: int = 4) -> list[T]:
    """The results in order, `most` of them under way at a time."""
    gate = asyncio.Semaphore(most)

    async def one(awaitable: Awaitable[T]) -> T:
        async with gate:
            return await awaitable

    return await asyncio.gather(*map(one, work))


def refuse_repeated_ids(ids: Iterable[str]) -> None:
    """Raise a refusal that names every item whose id another item has already."""
    seen: set[str] = set()
    errors = []
    for number, id_ in enumerate(ids):
        if id_ in seen:
            text = "Another item has this id already."
            errors.append(field_error(f"/items/{number}/id", text, code="repeated", value=id_))
        seen.add(id_)
    if errors:
        raise Refused(errors[:50])
