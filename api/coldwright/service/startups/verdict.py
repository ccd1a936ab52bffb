"""The verdict on a start-up: the stored set of observations, asked of `readiness.startup` at an instant."""

import hashlib
from datetime import UTC, datetime
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract import FieldError, Refused, refuse
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.engine import Evaluated
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.state import Services
from coldwright.store.observations import list_observations
from coldwright.store.startups import Startup, get_startup

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
    try:
        # sorted, so that the digest too depends on the set alone and not on the order of arrival
        evaluated = await _evaluated(services, startup.document, at, sorted(o.body for o in kept), units)
    except Refused as refused:
        raise _told_apart(refused) from refused
    results = msgspec.json.decode(evaluated.body)["results"]
    return Verdict(len(kept), at, results["status"], meaning_of(results), evaluated.body, results)


async def refuse_configuration(services: Services, document: bytes) -> None:
    """Raise `Refused` for a configuration that no verdict could be given on."""
    await _evaluated(services, document, now_text(), [], "metric")


async def refusals(services: Services, document: bytes, bodies: list[bytes]) -> dict[int, list[FieldError]]:
    """Errors of observations that fit their types and that the calculator refuses all the same, by their number.

    They must not be kept: one of them would stand in the way of every verdict to come.
    """
    found: dict[int, list[FieldError]] = {}
    everything = list(range(len(bodies)))
    if not await _refused(services, document, bodies, everything):
        return found
    for start in range(0, len(bodies), CHUNK):
        wanted = everything[start : start + CHUNK]
        while errors := await _refused(services, document, bodies, wanted):
            found |= errors
            wanted = [n for n in wanted if n not in errors]
    return found


CHUNK = 50
"""A refusal names so many errors at most: of larger batches it would not tell them all at once."""


async def _refused(
    services: Services, document: bytes, bodies: list[bytes], wanted: list[int]
) -> dict[int, list[FieldError]]:
    found: dict[int, list[FieldError]] = {}
    try:
        await _evaluated(services, document, now_text(), [bodies[n] for n in wanted], "metric")
    except Refused as refused:
        for error in refused.errors:
            root, _, rest = error.pointer.removeprefix("#/").partition("/")
            if root != "observations":
                raise
            place, _, inside = rest.partition("/")
            own = msgspec.structs.replace(error, pointer=f"#/{inside}")
            found.setdefault(wanted[int(place)], []).append(own)
    return found


async def _evaluated(services: Services, document: bytes, at: str, bodies: list[bytes], units: Units) -> Evaluated:
    body = msgspec.json.encode(
        {
            "configuration": msgspec.Raw(_configuration(document)),
            "evaluated_at": at,
            "observations": [msgspec.Raw(b) for b in bodies],
        }
    )
    served = services.registry.served[STARTUP]
    return await services.engine.evaluate(served, read(served.calculator.given, body), body, units)


def _told_apart(refused: Refused) -> Exception:
    """The instant comes from the query; the rest was taken once, by an earlier version of the calculator."""
    asked = [msgspec.structs.replace(e, pointer="#/query/at") for e in refused.errors if e.pointer == "#/evaluated_at"]
    if asked:
        return Refused(asked)
    text = f"The calculator that is installed now refuses what was kept: {refused}"
    return ProblemRaised("conflict", text, errors=refused.errors[:50])


def meaning_of(results: dict[str, Any]) -> str:
    """Hash of what the verdict says."""
    said = {name: results[name] for name in SAID if name in results}
    return hashlib.sha256(msgspec.json.encode(said, order="sorted")).hexdigest()[:32]


def _configuration(document: bytes) -> bytes:
    return bytes(msgspec.json.decode(document, type=dict[str, msgspec.Raw])["configuration"])


def _aware(instant: datetime) -> datetime:
    return instant if instant.tzinfo else instant.replace(tzinfo=UTC)
