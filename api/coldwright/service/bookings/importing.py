"""`POST /v1/bookings/import`: many orders, a line each, each kept or refused by itself."""

import io
import re
from codecs import BOM_UTF8
from collections.abc import AsyncIterator
from itertools import islice
from typing import Any

import msgspec
from litestar import Response
from litestar.response import Stream
from msgspec import Struct

from coldwright.contract import refuse
from coldwright.contract.reading import read
from coldwright.registry import Served
from coldwright.service.bookings.edit import keep_order, state_problems
from coldwright.service.bookings.order import order_of
from coldwright.service.bookings.replies import state_of
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.body import is_long, raw_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.intake import LONG
from coldwright.service.http.preconditions import precondition_problems, status_of
from coldwright.service.http.problems import ProblemRaised, as_problem
from coldwright.service.http.replies import encode
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.bookings import present
from coldwright.store.conditions import Condition

NDJSON = "application/x-ndjson"
MOST_ORDERS = 1000


async def take_in(asked: Asked, served: Served, expected: type[Struct]) -> Response[Any]:
    """Answer a line for each order, in their order, as they are kept."""
    await asked.services.kept.refuse_more(asked.caller.tenant)
    lines = await asked.services.apart(_lines, await raw_body(asked), long=await is_long(asked))
    if len(lines) > MOST_ORDERS:
        raise ProblemRaised("too-large", f"There are more than {MOST_ORDERS} orders; so many are taken at once.")
    return Stream(_answers(asked, served, expected, lines), status_code=200, media_type=NDJSON)


def _lines(body: bytes) -> list[bytes]:
    """The lines that hold something, up to one more than are taken."""
    return list(islice((line for line in io.BytesIO(body.removeprefix(BOM_UTF8)) if line.strip()), MOST_ORDERS + 1))


async def _answers(asked: Asked, served: Served, expected: type[Struct], lines: list[bytes]) -> AsyncIterator[bytes]:
    for number, line in enumerate(lines, 1):
        try:
            answer = await _one(asked, served, expected, line)
        except (StoreUnavailable, StoreFull):
            answer = _problem(asked, ProblemRaised("store-unavailable"))
        except Exception as error:  # of one order; the others must not fall with it
            raised = as_problem(error)
            if raised is None:
                raise
            answer = _problem(asked, raised)
        yield encode({"line": number} | answer) + b"\n"


async def _one(asked: Asked, served: Served, expected: type[Struct], line: bytes) -> dict[str, Any]:
    sent, document = await asked.services.apart(_read, expected, line, long=len(line) > LONG)
    reference = str(getattr(sent, "reference", ""))
    if not re.fullmatch(NAME["pattern"].strip("^$"), reference):
        text = f"A reference that is kept is of the form {NAME['pattern']}, since it stands in an address."
        raise refuse("/reference", text, value=reference[:100])
    services = asked.services
    order = await services.apart(order_of, sent, reference, long=len(line) > LONG)
    there = await services.stored(present, services.database, asked.caller.tenant, reference)
    condition = Condition(("*",)) if there and asked.query("replace") == "true" else Condition()
    with precondition_problems(), state_problems():
        head, done = await keep_order(asked, served, order, document, condition)
    return {
        "reference": reference,
        "status": status_of(done),
        "revision": head.revision,
        "state": state_of(head),
        "standing": head.standing == head.revision,
        "outcome": head.outcome,
    }


def _read(expected: type[Struct], line: bytes) -> tuple[Any, bytes]:
    return read(expected, line), msgspec.json.encode(msgspec.json.decode(line))


def _problem(asked: Asked, raised: ProblemRaised) -> dict[str, Any]:
    problem = raised.problem(public_url=asked.services.settings.public_url)
    return {"status": raised.kind.status, "problem": problem}
