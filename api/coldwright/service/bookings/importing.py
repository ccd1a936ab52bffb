"""`POST /v1/bookings/import`: many orders, a line each, each kept or refused by itself."""

import re
from collections.abc import AsyncIterator
from typing import Any

import msgspec
from litestar import Response
from litestar.response import Stream
from msgspec import Struct

from coldwright.contract import refuse
from coldwright.contract.reading import read
from coldwright.registry import Served
from coldwright.service.bookings.edit import keep_order, states_told
from coldwright.service.bookings.order import order_of
from coldwright.service.bookings.replies import state_of
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.body import raw_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.preconditions import preconditions_told, status_of
from coldwright.service.http.problems import ProblemRaised, as_problem
from coldwright.service.http.replies import encode
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.bookings import present
from coldwright.store.conditions import Condition

NDJSON = "application/x-ndjson"
MOST_ORDERS = 1000


async def take_in(asked: Asked, served: Served, expected: type[Struct]) -> Response[Any]:
    """Answer a line for each order, in their order, as they are kept."""
    lines = [line for line in (await raw_body(asked)).split(b"\n") if line.strip()]
    if len(lines) > MOST_ORDERS:
        raise ProblemRaised("too-large", f"There are {len(lines)} orders; {MOST_ORDERS} are taken at once.")
    return Stream(_answers(asked, served, expected, lines), status_code=200, media_type=NDJSON)


async def _answers(asked: Asked, served: Served, expected: type[Struct], lines: list[bytes]) -> AsyncIterator[bytes]:
    for number, line in enumerate(lines, 1):
        try:
            answer = await _one(asked, served, expected, line)
        except (StoreUnavailable, StoreFull):
            answer = _problem(ProblemRaised("store-unavailable"))
        except Exception as error:  # of one order; the others must not fall with it
            raised = as_problem(error)
            if raised is None:
                raise
            answer = _problem(raised)
        yield encode({"line": number} | answer) + b"\n"


async def _one(asked: Asked, served: Served, expected: type[Struct], line: bytes) -> dict[str, Any]:
    sent = read(expected, line)
    reference = str(getattr(sent, "reference", ""))
    if not re.fullmatch(NAME["pattern"].strip("^$"), reference):
        text = f"A reference that is kept is of the form {NAME['pattern']}, since it stands in an address."
        raise refuse("/reference", text, value=reference[:100])
    order = order_of(sent, reference)
    services = asked.services
    there = await services.stored(present, services.database, asked.caller.tenant, reference)
    condition = Condition(("*",)) if there and asked.query("replace") == "true" else Condition()
    with preconditions_told(), states_told():
        head, done = await keep_order(asked, served, order, msgspec.json.encode(msgspec.json.decode(line)), condition)
    return {
        "reference": reference,
        "status": status_of(done),
        "revision": head.revision,
        "state": state_of(head),
        "standing": head.standing == head.revision,
        "outcome": head.outcome,
    }


def _problem(raised: ProblemRaised) -> dict[str, Any]:
    return {"status": raised.kind.status, "problem": raised.problem()}
