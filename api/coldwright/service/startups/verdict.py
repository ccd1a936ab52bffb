"""The verdict on a start-up: the stored set of observations, asked of `readiness.startup` at an instant."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import msgspec
import structlog
from msgspec import Raw, Struct

from coldwright.contract import FieldError, Refused, Role, refuse
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.registry import Served
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.asking import ask
from coldwright.service.startups.carrying import carried
from coldwright.service.startups.changes import CHANGES, changed_fields, takes_changes
from coldwright.service.startups.clocks import instant_not_before
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
    noted_of,
    start_before,
    starts_before,
)

log = structlog.get_logger("coldwright.startups")


class Verdict(Struct, frozen=True):
    """The answer of `readiness.startup` with what is needed to compare it."""

    observation_count: int
    evaluated_at: str
    configuration: str
    """Digest of the configuration that it was judged by."""
    status: str
    meaning: str
    """Hash of what it says: two verdicts of one meaning differ by the clock alone."""
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
    newest = await services.stored(start_before, services.database, tenant, startup)
    if newest is None or newest.state_of != NEVER:
        return msgspec.json.decode(newest.carries, type=list[Raw]) if newest is not None else []
    along: list[Raw] = []
    for one in await services.stored(starts_before, services.database, tenant, startup):
        if one.state_of == NEVER:
            along = (await _now(services, tenant, one, "metric", along)).carries
        else:
            along = msgspec.json.decode(one.carries, type=list[Raw])
    return along


async def _now(services: Services, tenant: str, startup: Startup, units: Units, along: list[Raw]) -> Verdict:
    verdict = await _judged(services, tenant, startup, _Question(instant_text(services.now()), units, along))
    stops, compressors = _stops(verdict)
    noted = Noted(
        verdict.status,
        verdict.observation_count,
        verdict.valid_until,
        msgspec.json.encode(verdict.carries),
        stops,
    )
    if noted != noted_of(startup):
        noted = msgspec.structs.replace(noted, compressors=compressors)
        try:
            await services.stored(note_state, services.database, tenant, startup, noted)
        except StoreFull as error:  # a full disk must not take the verdict from the person at the machine
            log.warning("state_not_noted", startup=startup.id, detail=str(error)[:500])
    return verdict


def _stops(verdict: Verdict) -> tuple[str, tuple[str, ...]]:
    """What is stopped and for which causes, as one text to compare; and which compressors."""
    stop = verdict.part("stop_now")
    if not stop:
        return "", ()
    compressors = tuple(sorted(map(str, stop["compressors"])))
    causes = sorted({(str(cause["code"]), bool(cause.get("latched"))) for cause in stop["causes"]})
    return msgspec.json.encode([compressors, causes]).decode(), compressors


class _Question(Struct, frozen=True):
    """When, in which units, and on what beside the start-up's own observations."""

    at: str
    units: Units
    along: list[Raw]
    configuration: bytes = b""
    known_at: datetime | None = None


class _Evidence(Struct, frozen=True):
    """What a verdict rests on."""

    configuration: bytes
    bodies: list[bytes]
    own: int
    """How many of them, the first, are of this start-up itself."""
    changes: bytes = b""
    """JSON of what was made easier or other since it was opened; empty where nothing was."""


async def _evidence(services: Services, tenant: str, startup: Startup, question: _Question) -> _Evidence:
    kept = await services.stored(list_counted, services.database, tenant, startup.id)
    if question.known_at is not None:
        kept = [(body, received) for body, received in kept if received <= question.known_at]
    bodies = [stamped(body, received) for body, received in kept] + list(map(bytes, question.along))
    changes = await changed_fields(services, tenant, startup.id, question.known_at)
    return _Evidence(question.configuration or configuration_of(startup.document), bodies, len(kept), changes)


async def _judged(services: Services, tenant: str, startup: Startup, question: _Question) -> Verdict:
    rests_on = await _evidence(services, tenant, startup, question)
    evaluated = await _answered(services, "start", question, rests_on)
    results = msgspec.json.decode(evaluated.body, type=_Answer).results
    until = results.get("valid_until")
    wanted = msgspec.json.decode(results["carries"]) if startup.machine else ()
    return Verdict(
        observation_count=rests_on.own,
        evaluated_at=question.at,
        configuration=digest_of(rests_on.configuration),
        status=msgspec.json.decode(results["status"]),
        meaning=msgspec.json.decode(results["meaning"]),
        valid_until=None if until is None else instant_not_before(msgspec.json.decode(until)),
        carries=carried(rests_on.bodies, startup.id, wanted, rests_on.own),
        body=evaluated.body,
        results=results,
    )


async def _answered(services: Services, whom: Role | Served, question: _Question, rests_on: _Evidence) -> Evaluated:
    try:
        # sorted, so that the digest too depends on the set alone and not on the order of arrival
        bodies = sorted(rests_on.bodies)
        takes = rests_on.changes and takes_changes(services, whom)
        configuration = rests_on.configuration + (CHANGES + rests_on.changes if takes else b"")
        return await _evaluated(services, configuration, question.at, bodies, question.units, whom)
    except Refused as refused:
        raise _told_apart(refused) from refused


async def answer_of_major(
    services: Services, tenant: str, startup: Startup, older: Served, at: str, units: Units
) -> bytes:
    """The answer of an older major version of the calculator to the same question, for those who still ask it."""
    question = _Question(at, units, await carried_into(services, tenant, startup))
    return (await _answered(services, older, question, await _evidence(services, tenant, startup, question))).body


class _Received(Struct):
    received_at: str


def _received(body: Raw) -> datetime:
    return datetime.fromisoformat(msgspec.json.decode(body, type=_Received).received_at)


def stamped(body: bytes, received_at: datetime) -> bytes:
    """An observation with when it was received, as its last member."""
    return body[:-1] + b',"received_at":"' + instant_text(received_at).encode() + b'"}'


async def refuse_configuration(services: Services, tenant: str, startup: Startup) -> None:
    """Raise `Refused` for a configuration that no verdict could be given on, be it for the records that are there."""
    now, configuration = instant_text(services.now()), configuration_of(startup.document)
    await _evaluated(services, configuration, now, [], "metric", alone=True)
    kept = await services.stored(list_counted, services.database, tenant, startup.id)
    along = await carried_into(services, tenant, startup)
    try:
        bodies = [body for body, _ in kept] + list(map(bytes, along))
        await _evaluated(services, configuration, now, bodies, "metric", alone=True)
    except Refused as refused:
        detail = f"What is recorded of this machine does not fit it: {refused.errors[0].detail}"
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
"""A refusal names so many errors at most: of larger batches it would not list them all at once."""


async def _refused(
    services: Services, document: bytes, bodies: list[bytes], wanted: list[int]
) -> dict[int, list[FieldError]]:
    found: dict[int, list[FieldError]] = {}
    try:
        now = instant_text(services.now())
        some = [bodies[n] for n in wanted]
        await _evaluated(services, configuration_of(document), now, some, "metric", alone=True)
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
    services: Services,
    configuration: bytes,
    at: str,
    bodies: Sequence[bytes],
    units: Units,
    whom: Role | Served = "start",
    *,
    alone: bool = False,
) -> Evaluated:
    """Put together from what is JSON already."""
    start = b'{"configuration":' + configuration + b',"evaluated_at":' + msgspec.json.encode(at)
    body = start + b',"observations":[' + b",".join(bodies) + b"]}"
    return await ask(services, whom, body, units, alone=alone)


def _told_apart(refused: Refused) -> Exception:
    """The instant comes from the query; the rest was taken once, by an earlier version of the calculator."""
    asked = [msgspec.structs.replace(e, pointer="#/query/at") for e in refused.errors if e.pointer == "#/evaluated_at"]
    if asked:
        return Refused(asked)
    text = f"The calculator that is installed now refuses what was kept: {refused}"
    return ProblemRaised("conflict", text, errors=refused.errors[:50])


def configuration_of(document: bytes) -> bytes:
    """The configuration inside a document."""
    return bytes(msgspec.json.decode(document, type=dict[str, Raw])["configuration"])
