"""The verdict on a start-up: the stored set of observations, asked of `readiness.startup` at an instant."""

import hashlib
from datetime import UTC, datetime
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract import refuse
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.service.problems import ProblemRaised
from coldwright.service.state import Services
from coldwright.store.startups import Startup, get_startup, list_observations

STARTUP = "readiness.startup"
SAID = (
    "status",
    "blocks",
    "waits",
    "next_action",
    "may_connect",
    "may_energise",
    "contradictory",
    "impossible",
    "stale",
    "missing",
)
"""What a verdict says, without the instants that move with the clock: two that agree in these are the same verdict."""


class Verdict(Struct, frozen=True):
    """The answer of `readiness.startup` with what is needed to compare it."""

    observation_count: int
    evaluated_at: str
    status: str
    meaning: str
    body: bytes
    """The whole answer, as JSON."""
    results: dict[str, Any]


def now_text() -> str:
    """This instant, to the second."""
    return datetime.now(UTC).replace(microsecond=0).isoformat().replace("+00:00", "Z")


def instant_of(text: str, name: str) -> datetime:
    """An instant of the query; raises `Refused` for one without an offset."""
    try:
        instant = datetime.fromisoformat(text.replace(" ", "+"))
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        why = "An instant without an offset is another instant in every time zone."
        raise refuse(f"/query/{name}", "This is not an RFC 3339 instant with its offset.", value=text[:100], why=why)
    return instant


async def find_startup(services: Services, tenant: str, startup_id: str) -> Startup:
    """The start-up, of this tenant; raises a 404."""
    startup = await services.stored(get_startup, services.database, tenant, startup_id)
    if startup is None:
        raise ProblemRaised("not-found", "There is no start-up of that id.")
    return startup


async def verdict_on(
    services: Services, tenant: str, startup: Startup, at: str, units: Units, known_at: datetime | None = None
) -> Verdict:
    """The verdict at `at` (RFC 3339), from what had been received by `known_at`."""
    kept = await services.stored(list_observations, services.database, tenant, startup.id)
    if known_at is not None:
        kept = [o for o in kept if _aware(o.received_at) <= known_at]
    configuration = msgspec.Raw(_configuration(startup.document))
    body = msgspec.json.encode(
        {"configuration": configuration, "evaluated_at": at, "observations": [msgspec.Raw(o.body) for o in kept]}
    )
    served = services.registry.served[STARTUP]
    given = read(served.calculator.given, body)
    evaluated = await services.engine.evaluate(served, given, body, units)
    results = msgspec.json.decode(evaluated.body)["results"]
    return Verdict(len(kept), at, results["status"], meaning_of(results), evaluated.body, results)


def meaning_of(results: dict[str, Any]) -> str:
    """Hash of what the verdict says."""
    said = {name: results[name] for name in SAID if name in results}
    return hashlib.sha256(msgspec.json.encode(said, order="sorted")).hexdigest()[:32]


def _configuration(document: bytes) -> bytes:
    return bytes(msgspec.json.decode(document, type=dict[str, msgspec.Raw])["configuration"])


def _aware(instant: datetime) -> datetime:
    return instant if instant.tzinfo else instant.replace(tzinfo=UTC)
