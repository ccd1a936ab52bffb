"""The verdict on a start-up: the stored set of observations, asked of `readiness.startup` at an instant."""

import hashlib
from collections.abc import Sequence
from datetime import datetime
from typing import Any

import msgspec
import structlog
from msgspec import Raw, Struct

from coldwright.contract import FieldError, Refused, refuse
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.asking import ask
from coldwright.service.startups.carrying import carried
from coldwright.service.startups.clocks import instant_in
from coldwright.service.startups.kinds import kinds_of
from coldwright.service.state import Services
from coldwright.store import StoreFull
from coldwright.store.observations import list_counted
from coldwright.store.startups import (
    NEVER,
    Noted,
    Startup,
    configuration_at,
    digest_of,
    get_startup,
    note_state,
    starts_before,
)

log = structlog.get_logger("coldwright.startups")

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
    configuration: str
    """Digest of the configuration that it was judged by."""
    status: str
    meaning: str
    """Hash of what it says: two verdicts of one meaning are told apart by the clock alone."""
    valid_until: datetime | None
    """Until when it says so though nothing arrives; nothing where that is for ever."""
    carries: list[Raw]
    """Records that go along into the next start of the machine."""
    body: bytes
    """The whole answer, as JSON."""
    results: dict[str, Raw]

    def part(self, name: str, default: Any = None) -> Any:
        """One of the results."""
        return msgspec.json.decode(self.results[name]) if name in self.results else default


class _Answer(Struct):
    """As much of an answer as every verdict needs: a timeline of thousands is not read to see the status."""

    results: dict[str, Raw]


async def find_startup(services: Services, tenant: str, startup_id: str) -> Startup:
    """The start-up, of this tenant; raises a 404."""
    startup = await services.stored(get_startup, services.database, tenant, startup_id)
    if startup is None:
        raise ProblemRaised("not-found", "There is no start-up of that id.")
    return startup


async def verdict_on(
    services: Services, tenant: str, startup: Startup, at: str, units: Units, known_at: datetime | None = None
) -> Verdict:
    """The verdict at `at` (RFC 3339), from what had been received by `known_at` and by the configuration of then."""
    along = await carried_into(services, tenant, startup)
    if known_at is None:
        return await _judged(services, tenant, startup, _Question(at, units, along))
    then = await services.stored(configuration_at, services.database, tenant, startup.id, known_at)
    if then is None:
        raise ProblemRaised("not-found", "This start-up was not yet open at that time.")
    known = [b for b in along if _received(b) <= known_at]
    return await _judged(services, tenant, startup, _Question(at, units, known, then.document, known_at))


async def verdict_now(services: Services, tenant: str, startup: Startup, units: Units) -> Verdict:
    """The verdict at this moment; what it says is noted beside the start-up, for whoever lists them."""
    return await _now(services, tenant, startup, units, await carried_into(services, tenant, startup))


async def carried_into(services: Services, tenant: str, startup: Startup) -> list[Raw]:
    """Records of the machine's earlier starts that still speak of it, as noted with the newest verdict on each."""
    along: list[Raw] = []
    for one in await services.stored(starts_before, services.database, tenant, startup):
        if one.state_of == NEVER:
            along = (await _now(services, tenant, one, "metric", along)).carries
        else:
            along = msgspec.json.decode(one.carries, type=list[Raw])
    return along


async def _now(services: Services, tenant: str, startup: Startup, units: Units, along: list[Raw]) -> Verdict:
    given: Any = services.registry.needed("start").local.given
    now = services.now() if kinds_of(given).stamped else services.now().replace(microsecond=0)
    verdict = await _judged(services, tenant, startup, _Question(instant_text(now), units, along))
    noted = Noted(verdict.status, verdict.observation_count, verdict.valid_until, msgspec.json.encode(verdict.carries))
    if noted != Noted(startup.state, startup.state_of, startup.state_until, startup.carries):
        try:
            await services.stored(note_state, services.database, tenant, startup, noted)
        except StoreFull as error:  # a full disk must not take the verdict from the person at the machine
            log.warning("state_not_noted", startup=startup.id, detail=str(error)[:500])
    return verdict


class _Question(Struct, frozen=True):
    """When, in which units, and on what beside the start-up's own observations."""

    at: str
    units: Units
    along: list[Raw]
    configuration: bytes = b""
    known_at: datetime | None = None


async def _judged(services: Services, tenant: str, startup: Startup, question: _Question) -> Verdict:
    kept = await services.stored(list_counted, services.database, tenant, startup.id)
    if question.known_at is not None:
        kept = [(body, received) for body, received in kept if received <= question.known_at]
    configuration = question.configuration or configuration_of(startup.document)
    given: Any = services.registry.needed("start").local.given
    stamps = kinds_of(given).stamped
    bodies = [stamped(body, received) if stamps else body for body, received in kept]
    bodies += map(bytes, question.along)
    try:
        # sorted, so that the digest too depends on the set alone and not on the order of arrival
        evaluated = await _evaluated(services, configuration, question.at, sorted(bodies), question.units)
    except Refused as refused:
        raise _told_apart(refused) from refused
    results = msgspec.json.decode(evaluated.body, type=_Answer).results
    # absent: for ever; from a calculator that gives no meaning of its own: not a moment
    until = results.get("valid_until") or (None if "meaning" in results else Raw(msgspec.json.encode(question.at)))
    wanted = msgspec.json.decode(results["carries"]) if "carries" in results else ()
    return Verdict(
        observation_count=len(kept),
        evaluated_at=question.at,
        configuration=digest_of(configuration),
        status=msgspec.json.decode(results["status"]),
        meaning=meaning_of(results),
        valid_until=None if until is None else instant_in(msgspec.json.decode(until)),
        carries=carried(bodies, startup.id, wanted, len(kept)),
        body=evaluated.body,
        results=results,
    )


class _Received(Struct):
    received_at: str


def _received(body: Raw) -> datetime:
    return datetime.fromisoformat(msgspec.json.decode(body, type=_Received).received_at)


def stamped(body: bytes, received_at: datetime) -> bytes:
    """An observation with when it was received, as its last member."""
    return body[:-1] + b',"received_at":"' + instant_text(received_at).encode() + b'"}'


async def refuse_configuration(services: Services, tenant: str, document: bytes, present: Startup | None) -> None:
    """Raise `Refused` for a configuration that no verdict could be given on, be it for the records that are kept."""
    now, configuration = instant_text(services.now()), configuration_of(document)
    await _evaluated(services, configuration, now, [], "metric")
    if present is None:
        return
    kept = await services.stored(list_counted, services.database, tenant, present.id)
    try:
        await _evaluated(services, configuration, now, [body for body, _ in kept], "metric")
    except Refused as refused:
        detail = f"What is recorded of this start does not fit it: {refused.errors[0].detail}"
        raise refuse("/configuration", detail[:500], why="Records are kept for good.") from None


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
        now = instant_text(services.now())
        await _evaluated(services, configuration_of(document), now, [bodies[n] for n in wanted], "metric")
    except Refused as refused:
        for error in refused.errors:
            root, _, rest = error.pointer.removeprefix("#/").partition("/")
            if root != "observations":
                raise
            place, _, inside = rest.partition("/")
            own = msgspec.structs.replace(error, pointer=f"#/{inside}")
            found.setdefault(wanted[int(place)], []).append(own)
    return found


async def _evaluated(
    services: Services, configuration: bytes, at: str, bodies: Sequence[bytes], units: Units
) -> Evaluated:
    """Put together from what is JSON already."""
    start = b'{"configuration":' + configuration + b',"evaluated_at":' + msgspec.json.encode(at)
    body = start + b',"observations":[' + b",".join(bodies) + b"]}"
    return await ask(services, "start", body, units)


def _told_apart(refused: Refused) -> Exception:
    """The instant comes from the query; the rest was taken once, by an earlier version of the calculator."""
    asked = [msgspec.structs.replace(e, pointer="#/query/at") for e in refused.errors if e.pointer == "#/evaluated_at"]
    if asked:
        return Refused(asked)
    text = f"The calculator that is installed now refuses what was kept: {refused}"
    return ProblemRaised("conflict", text, errors=refused.errors[:50])


def meaning_of(results: dict[str, Raw]) -> str:
    """Hash of what the verdict says: the calculator's own, where it gives one."""
    if "meaning" in results:
        return str(msgspec.json.decode(results["meaning"]))
    said = {name: results[name] for name in SAID if name in results}
    return hashlib.sha256(msgspec.json.encode(said, order="sorted")).hexdigest()[:32]


def configuration_of(document: bytes) -> bytes:
    """The configuration inside a document."""
    return bytes(msgspec.json.decode(document, type=dict[str, Raw])["configuration"])
