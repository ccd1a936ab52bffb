"""The verdict on a start-up: the stored set of observations, asked of `readiness.startup` at an instant."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

import msgspec
import structlog
from msgspec import Raw, Struct

from coldwright.contract import Refused, Role
from coldwright.contract.answer import Units
from coldwright.engine import Evaluated
from coldwright.registry import Served
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.asking import ask, rules_of
from coldwright.service.startups.carrying import carried
from coldwright.service.startups.changes import changed_fields
from coldwright.service.startups.clocks import instant_not_before
from coldwright.service.startups.kinds import shared_names, takes
from coldwright.service.state import Services
from coldwright.store import StoreFull
from coldwright.store.observations import list_counted
from coldwright.store.shared_starts import said_by_others, unjudged_others
from coldwright.store.startups import (
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
MOST_BESIDE = 10_000
"""Records of other starts that a verdict takes at most."""


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
    said: dict[str, bytes]
    """Shared name -> JSON of the records that speak against the other starts of it."""
    body: bytes
    """The whole answer, as JSON."""
    results: dict[str, Raw]

    def part(self, name: str, default: Any = None) -> Any:
        """One of the results."""
        return msgspec.json.decode(self.results[name]) if name in self.results else default


class _Shares(Struct):
    field: str
    ids: tuple[str, ...]


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
    shared = await shared_into(services, tenant, startup)
    if known_at is None:
        return await _judged(services, tenant, startup, _Question(at, units, along, shared))
    then = await services.stored(configuration_at, services.database, tenant, startup.id, known_at)
    if then is None:
        raise ProblemRaised("not-found", "This start-up was not yet open at that time.")
    known, heard = ([b for b in bodies if _received(b) <= known_at] for bodies in (along, shared))
    return await _judged(services, tenant, startup, _Question(at, units, known, heard, then.document, known_at))


async def verdict_now(services: Services, tenant: str, startup: Startup, units: Units) -> Verdict:
    """The verdict at this moment; what it says is noted beside the start-up, for whoever lists them."""
    shared = await shared_into(services, tenant, startup)
    return await _now(services, tenant, startup, units, await carried_into(services, tenant, startup), shared)


async def carried_into(services: Services, tenant: str, startup: Startup) -> list[Raw]:
    """Records of the machine's earlier starts that still speak of it, as noted with the newest verdict on each.

    What was noted by other rules than those of today is concluded anew: they may leave something out.
    """
    rules = rules_of(services.registry)
    newest = await services.stored(start_before, services.database, tenant, startup)
    if newest is None or newest.concluded_by(rules):
        return msgspec.json.decode(newest.carries, type=list[Raw]) if newest is not None else []
    along: list[Raw] = []
    for one in await services.stored(starts_before, services.database, tenant, startup):
        if not one.concluded_by(rules):
            heard = await _heard(services, tenant, one)
            along = (await _now(services, tenant, one, "metric", along, heard)).carries
        else:
            along = msgspec.json.decode(one.carries, type=list[Raw])
    return along


async def shared_into(services: Services, tenant: str, startup: Startup) -> list[Raw]:
    """What the other starts of the same source or loop say against this one.

    One on which something arrived, or which other rules judged, is judged first, by what was heard of others before: nobody
    waits in a ring.
    """
    rules = rules_of(services.registry)
    for id_ in await services.stored(unjudged_others, services.database, tenant, startup.id, rules):
        other = await services.stored(get_startup, services.database, tenant, id_)
        if other is not None:
            heard = await _heard(services, tenant, other)
            await _now(services, tenant, other, "metric", await carried_into(services, tenant, other), heard)
    return await _heard(services, tenant, startup)


async def _heard(services: Services, tenant: str, startup: Startup) -> list[Raw]:
    said = await services.stored(said_by_others, services.database, tenant, startup.id)
    bodies = {bytes(body): body for one in said for body in msgspec.json.decode(one.bodies, type=list[Raw])}
    return [bodies[text] for text in sorted(bodies)][:MOST_BESIDE]


async def _now(
    services: Services, tenant: str, startup: Startup, units: Units, along: list[Raw], shared: list[Raw]
) -> Verdict:
    question = _Question(instant_text(services.now()), units, along, shared)
    verdict = await _judged(services, tenant, startup, question)
    stops, compressors = _stops(verdict)
    noted = Noted(
        verdict.status,
        verdict.observation_count,
        verdict.valid_until,
        msgspec.json.encode(verdict.carries),
        rules_of(services.registry),
        stops,
    )
    if noted != noted_of(startup):
        noted = msgspec.structs.replace(noted, compressors=compressors, said=verdict.said)
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
    shared: list[Raw]
    """Records of other starts of the same source or loop."""
    configuration: bytes = b""
    known_at: datetime | None = None


class _Evidence(Struct, frozen=True):
    """What a verdict rests on."""

    configuration: bytes
    own: list[bytes]
    along: list[bytes]
    shared: list[bytes]
    changes: bytes = b""
    """JSON of what was loosened or made other since it was opened; empty where nothing was."""


async def _evidence(services: Services, tenant: str, startup: Startup, question: _Question) -> _Evidence:
    kept = await services.stored(list_counted, services.database, tenant, startup.id)
    if question.known_at is not None:
        kept = [(body, received) for body, received in kept if received <= question.known_at]
    return _Evidence(
        question.configuration or configuration_of(startup.document),
        own=[stamped(body, received) for body, received in kept],
        along=list(map(bytes, question.along)),
        shared=list(map(bytes, question.shared)),
        changes=await changed_fields(services, tenant, startup.id, question.known_at),
    )


async def _judged(services: Services, tenant: str, startup: Startup, question: _Question) -> Verdict:
    rests_on = await _evidence(services, tenant, startup, question)
    answered = await _answered(services, "start", question, rests_on)
    results = msgspec.json.decode(answered.body, type=_Answer).results
    until = results.get("valid_until")
    wanted = msgspec.json.decode(results["carries"]) if startup.machine else ()
    own, bodies = len(rests_on.own), rests_on.own + rests_on.along
    return Verdict(
        observation_count=own,
        evaluated_at=question.at,
        configuration=digest_of(rests_on.configuration),
        status=msgspec.json.decode(results["status"]),
        meaning=msgspec.json.decode(results["meaning"]),
        valid_until=None if until is None else instant_not_before(msgspec.json.decode(until)),
        carries=carried(bodies, startup.id, wanted, own),
        said=_said(results, rests_on.configuration, lambda ids: carried(bodies, startup.id, ids, own)),
        body=answered.body,
        results=results,
    )


def _said(
    results: dict[str, Raw], configuration: bytes, bodies_of: Callable[[tuple[str, ...]], list[Raw]]
) -> dict[str, bytes]:
    """What goes to the other starts, by the names that they have in common with this one."""
    shares = msgspec.json.decode(results["shares"], type=tuple[_Shares, ...]) if "shares" in results else ()
    found = {}
    for one in shares:
        for name in shared_names(configuration, (one.field,)):
            found[name] = msgspec.json.encode(bodies_of(one.ids))
    return found


def _listed(bodies: list[bytes]) -> bytes:
    return b"[" + b",".join(sorted(bodies)) + b"]"


async def _answered(services: Services, whom: Role | Served, question: _Question, rests_on: _Evidence) -> Evaluated:
    try:
        # sorted, so that the digest too depends on the set alone and not on the order of arrival
        served = services.registry.needed(whom) if isinstance(whom, str) else whom
        own, beside = sorted(rests_on.own), b""
        if not takes(served.local.given, "carried"):
            own = sorted(rests_on.own + rests_on.along)
        elif rests_on.along:
            beside += b',"carried":' + _listed(rests_on.along)
        if rests_on.shared and takes(served.local.given, "shared"):
            beside += b',"shared":' + _listed(rests_on.shared)
        if rests_on.changes and takes(served.local.given, "configuration_changes"):
            beside += b',"configuration_changes":' + rests_on.changes
        return await evaluated(services, rests_on.configuration + beside, question.at, own, question.units, whom)
    except Refused as refused:
        raise _whose_fault(refused) from refused


async def answer_of_major(
    services: Services, tenant: str, startup: Startup, older: Served, at: str, units: Units
) -> bytes:
    """The answer of an older major version of the calculator to the same question, for those who still ask it."""
    along, shared = await carried_into(services, tenant, startup), await shared_into(services, tenant, startup)
    question = _Question(at, units, along, shared)
    return (await _answered(services, older, question, await _evidence(services, tenant, startup, question))).body


class _Received(Struct):
    received_at: str


def _received(body: Raw) -> datetime:
    return datetime.fromisoformat(msgspec.json.decode(body, type=_Received).received_at)


def stamped(body: bytes, received_at: datetime) -> bytes:
    """An observation with when it was received, as its last member."""
    return body[:-1] + b',"received_at":"' + instant_text(received_at).encode() + b'"}'


async def evaluated(
    services: Services,
    configuration: bytes,
    at: str,
    bodies: Sequence[bytes],
    units: Units,
    whom: Role | Served = "start",
    *,
    alone: bool = False,
) -> Evaluated:
    """The answer to a question that is put together from what is JSON already."""
    start = b'{"configuration":' + configuration + b',"evaluated_at":' + msgspec.json.encode(at)
    body = start + b',"observations":[' + b",".join(bodies) + b"]}"
    return await ask(services, whom, body, units, alone=alone)


def _whose_fault(refused: Refused) -> Exception:
    """The instant comes from the query; the rest was taken once, by an earlier version of the calculator."""
    asked = [msgspec.structs.replace(e, pointer="#/query/at") for e in refused.errors if e.pointer == "#/evaluated_at"]
    if asked:
        return Refused(asked)
    text = f"The calculator that is installed now refuses what was kept: {refused}"
    return ProblemRaised("conflict", text, errors=refused.errors[:50])


def configuration_of(document: bytes) -> bytes:
    """The configuration inside a document."""
    return bytes(msgspec.json.decode(document, type=dict[str, Raw])["configuration"])
