"""`/v1/startups`: a start-up kept on the server, for phones that go offline."""

import asyncio
import contextlib
import time
from collections.abc import AsyncIterator, Sequence
from typing import Annotated, Any

import msgspec
import structlog
from litestar import Response
from litestar.response import Stream
from msgspec import UNSET, Meta, Struct, UnsetType, defstruct

from coldwright.contract import Example, Given, Refused, Text, about
from coldwright.contract.reading import convert
from coldwright.contract.refusal import FieldError
from coldwright.contract.walk import fields_of, metas, parts, plain
from coldwright.engine import Failure
from coldwright.registry import Registry
from coldwright.service.body import read_body
from coldwright.service.endpoint import UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.negotiation import represent, wanted_form
from coldwright.service.preconditions import (
    PRECONDITION_PROBLEMS,
    PRECONDITIONS,
    condition_of,
    preconditions_told,
    status_of,
)
from coldwright.service.problems import ProblemRaised
from coldwright.service.replies import encode, json_reply, wanted_units
from coldwright.service.resources.answers import answer_type
from coldwright.service.resources.fleets import NAME
from coldwright.service.resources.paging import PAGE_PARAMETERS, page_number, page_size, token_after
from coldwright.service.resources.records import instant_text
from coldwright.service.startup_verdict import (
    STARTUP,
    Verdict,
    find_startup,
    instant_of,
    now_text,
    refusals,
    refuse_configuration,
    verdict_on,
)
from coldwright.service.state import Services
from coldwright.sheets import MEDIA_TYPES, Sheet, Sources, startup_sheet
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.startups import (
    NoSuchStartup,
    Startup,
    Told,
    TooManyObservations,
    add_observations,
    last_sequence,
    list_observations,
    list_verdicts,
    put_startup,
    tell_verdict,
)

log = structlog.get_logger("coldwright.startups")

MOST_IN_A_BATCH = 5_000
STREAM_SECONDS = 3_600
LOOK_EVERY = 2.0
HEARTBEAT = 15.0
MOST_STREAMS = 20


class ObservationReply(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What became of one observation of the batch."""

    id: Annotated[str, Meta(description="Its id, where it had a readable one.")] = ""
    status: Annotated[int, Meta(ge=200, le=599, description="201 kept, 200 kept before, 422 refused.")]
    errors: Annotated[tuple[FieldError, ...], Meta(max_length=50, description="Why it was refused.")] = ()


class ObservationReplies(Struct, frozen=True, kw_only=True):
    """Every observation of the batch, in its order."""

    observations: Annotated[
        tuple[ObservationReply, ...], Meta(max_length=MOST_IN_A_BATCH, description="In the order of the batch.")
    ]
    kept: Annotated[int, Meta(ge=0, le=MOST_IN_A_BATCH, description="How many are new.")]
    refused: Annotated[
        int, Meta(ge=0, le=MOST_IN_A_BATCH, description="How many were refused; nothing of them is kept.")
    ]


class LooseBatch(Given, frozen=True, kw_only=True):
    """A batch before its items are looked at one by one."""

    observations: Annotated[tuple[Any, ...], about("Observations.", min_length=1, max_length=MOST_IN_A_BATCH)]


class KeptObservation(Struct, frozen=True, kw_only=True):
    """An observation as it was kept."""

    sequence: Annotated[int, Meta(ge=1, le=2**53 - 1, description="Order of arrival; no verdict rests on it.")]
    received_at: Annotated[str, Meta(description="When it arrived, RFC 3339.")]
    superseded: Annotated[bool, Meta(description="Whether a later observation corrects it; it stays visible.")]
    observation: Annotated[Any, Meta(description="As it was sent.")]


class KeptObservations(Struct, frozen=True, kw_only=True):
    """A page of the observations of a start-up."""

    observations: Annotated[tuple[KeptObservation, ...], Meta(description="In the order of arrival.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class ToldVerdict(Struct, frozen=True, kw_only=True):
    """A verdict as it was told."""

    told_at: Annotated[str, Meta(description="When it was told, RFC 3339.")]
    told_to: Annotated[str, Meta(description="Id of the key or person it was told to.")]
    status: Annotated[str, Meta(description="Its status.")]
    observation_count: Annotated[int, Meta(ge=0, le=10**6, description="On how many observations it rested.")]
    results: Annotated[Any, Meta(description="The results as told.")]


class ToldVerdicts(Struct, frozen=True, kw_only=True):
    """A page of what was told of a start-up: each change, to each caller."""

    verdicts: Annotated[tuple[ToldVerdict, ...], Meta(description="In the order in which they were told.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class Types:
    """Structs of this resource, made from those of `readiness.startup`: the service names no plugin."""

    def __init__(self, registry: Registry) -> None:
        given: Any = registry.served[STARTUP].calculator.given
        by_name = {f.name: f.annotation for f in fields_of(given)}
        observation: Any = next(iter(parts(by_name["observations"])))
        configuration: Any = Annotated[plain(by_name["configuration"]), about("As `readiness.startup` takes it.")]
        booking = Annotated[Text, about("Reference of the order it belongs to.")] | UnsetType
        machine = Annotated[Text, about("The machine: your own name or number of it.")] | UnsetType
        self.document = _given(
            "StartupDocument",
            "A start-up of one machine on one site.",
            [("configuration", configuration), ("booking", booking, UNSET), ("machine", machine, UNSET)],
        )
        several = about("Observations, in any order.", min_length=1, max_length=MOST_IN_A_BATCH)
        self.batch = _given(
            "ObservationBatch",
            "Observations; each is kept or refused alone unless `?all_or_nothing=true`.",
            [("observations", Annotated[tuple[observation, ...], several])],
        )
        self.observation = observation
        self.most: int = min(m.max_length for m in metas(by_name["observations"]) if m.max_length is not None)
        """What the calculator takes at once is what one start-up can hold."""


def _given(name: str, description: str, fields: list[Any]) -> type[Struct]:
    struct = defstruct(name, fields, bases=(Given,), frozen=True, kw_only=True, module="coldwright.service.answers")
    struct.__doc__ = description
    return struct


def kept_startup_type(document: type[Struct]) -> type[Struct]:
    """The reply to a PUT."""
    fields: list[Any] = [
        ("id", Annotated[str, Meta(description="Your id of it.")]),
        ("created_at", Annotated[str, Meta(description="When it was made, RFC 3339.")]),
        ("startup", Annotated[document, Meta(description="As it is kept.")]),
    ]
    struct = defstruct("KeptStartup", fields, frozen=True, module="coldwright.service.answers")
    struct.__doc__ = "A start-up as it is kept."
    return struct


def startup_verdict_type(answer: type[Struct]) -> type[Struct]:
    """The reply to a GET."""
    fields: list[Any] = [
        ("id", Annotated[str, Meta(description="Your id of it.")]),
        (
            "observation_count",
            Annotated[int, Meta(ge=0, le=10**6, description="Observations that the verdict rests on.")],
        ),
        ("verdict", Annotated[answer, Meta(description="Answer of `readiness.startup`.")]),
    ]
    struct = defstruct("StartupVerdict", fields, frozen=True, module="coldwright.service.answers")
    struct.__doc__ = "The verdict on a start-up. A ready verdict is not an order to start: the person on site decides."
    return struct


async def _put(asked: Asked, types: Types) -> Response[bytes]:
    document = await read_body(asked, types.document)
    await refuse_configuration(asked.services, encode(document))
    with preconditions_told():
        startup, done = await asked.services.stored(
            put_startup,
            asked.services.database,
            asked.caller.tenant,
            asked.path("id"),
            encode(document),
            condition_of(asked),
        )
    _notify(asked)
    content = {
        "id": startup.id,
        "created_at": instant_text(startup.created_at),
        "startup": msgspec.Raw(startup.document),
    }
    return json_reply(encode(content), status_of(done), {"ETag": f'"{startup.etag}"'})


async def _post_observations(asked: Asked, types: Types) -> Response[bytes]:
    batch = await read_body(asked, LooseBatch)
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    good, refused = await _judged(asked, types, startup, batch.observations)
    if refused and asked.query("all_or_nothing") == "true":
        raise Refused([e for number in sorted(refused) for e in refused[number].errors][:50])
    new = await _keep(asked, types, list(good.values()))
    replies = refused | {
        number: ObservationReply(id=id_, status=201 if is_new else 200)
        for (number, (id_, _)), is_new in zip(good.items(), new, strict=True)
    }
    _notify(asked)
    return json_reply(
        ObservationReplies(
            observations=tuple(replies[number] for number in range(len(batch.observations))),
            kept=sum(new),
            refused=len(refused),
        )
    )


async def _judged(
    asked: Asked, types: Types, startup: Startup, observations: tuple[Any, ...]
) -> tuple[dict[int, tuple[str, bytes]], dict[int, ObservationReply]]:
    """Those that can be kept, as (id, canonical body), and replies for the others; both by their number in the batch."""
    good: dict[int, tuple[str, bytes]] = {}
    refused: dict[int, ObservationReply] = {}
    for number, item in enumerate(observations):
        try:
            observation = convert(types.observation, item)
        except Refused as error:
            name = item.get("id") if isinstance(item, dict) else None
            refused[number] = _refusal(number, name if isinstance(name, str) else "", error.errors)
        else:
            good[number] = (observation.id, msgspec.json.encode(observation, order="deterministic"))
    numbers = list(good)
    against_rules = await refusals(asked.services, startup.document, [body for _, body in good.values()])
    for place, errors in against_rules.items():
        number = numbers[place]
        refused[number] = _refusal(number, good.pop(number)[0], errors)
    return good, refused


def _refusal(number: int, id_: str, errors: Sequence[FieldError]) -> ObservationReply:
    under = (
        msgspec.structs.replace(e, pointer=f"#/observations/{number}{e.pointer.removeprefix('#')}") for e in errors
    )
    return ObservationReply(id=id_[:200], status=422, errors=tuple(under))


async def _keep(asked: Asked, types: Types, good: list[tuple[str, bytes]]) -> list[bool]:
    try:
        return await asked.services.stored(
            add_observations, asked.services.database, asked.caller.tenant, asked.path("id"), good, types.most
        )
    except NoSuchStartup:
        raise ProblemRaised("not-found", "There is no start-up of that id: PUT it first.") from None
    except TooManyObservations as error:
        raise ProblemRaised("too-large", f"{error}. Nothing of this batch was kept.") from None


async def _get(asked: Asked) -> Response[bytes]:
    form = wanted_form(asked)
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    at = asked.query("at")
    if at is not None:
        instant_of(at, "at")
    known = asked.query("known_at")
    units = wanted_units(asked)
    verdict = await verdict_on(
        asked.services,
        asked.caller.tenant,
        startup,
        at.replace(" ", "+") if at else now_text(),
        units,
        instant_of(known, "known_at") if known else None,
    )
    if at is None and known is None:
        await _tell(asked, startup, verdict)
    etag = f'W/"{startup.etag}-{verdict.observation_count}-{verdict.meaning}-{units}"'
    content = {"id": startup.id, "observation_count": verdict.observation_count, "verdict": msgspec.Raw(verdict.body)}
    return await represent(
        asked,
        form,
        etag,
        body=lambda: encode(content),
        sheet=lambda sources: _sheet(startup, verdict, sources),
        name=f"start-up-{startup.id}",
    )


def _sheet(startup: Startup, verdict: Verdict, sources: Sources) -> Sheet:
    """The page for the person at the machine."""
    document = msgspec.json.decode(startup.document)
    return startup_sheet(
        msgspec.json.decode(verdict.body),
        sources,
        id_=startup.id,
        machine=document.get("machine", ""),
        booking=document.get("booking", ""),
        observations=verdict.observation_count,
    )


async def _tell(asked: Asked, startup: Startup, verdict: Verdict) -> None:
    """Keep for the audit what is told. A full disk must not take the verdict from the person at the machine."""
    told = Told(verdict.observation_count, verdict.status, verdict.meaning, encode(verdict.results))
    try:
        await asked.services.stored(
            tell_verdict, asked.services.database, asked.caller.tenant, startup.id, told, asked.caller.id
        )
    except StoreFull as error:
        asked.services.metrics.store_errors.labels("full").inc()
        text = str(error)[:500]
        log.error("verdict_told_but_not_kept", startup=startup.id, detail=text, trace_id=asked.trace_id)  # noqa: TRY400


async def _list_observations(asked: Asked) -> Response[bytes]:
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    size, first = page_size(asked), page_number(asked)
    everything = await asked.services.stored(
        list_observations, asked.services.database, asked.caller.tenant, startup.id
    )
    decoded = [(o, msgspec.json.decode(o.body)) for o in everything]
    corrected = {d.get("supersedes") for _, d in decoded}
    page = [(o, d) for o, d in decoded if o.sequence > first]
    kept = tuple(
        KeptObservation(
            sequence=o.sequence, received_at=instant_text(o.received_at), superseded=o.id in corrected, observation=d
        )
        for o, d in page[:size]
    )
    token = token_after(str(kept[-1].sequence)) if len(page) > size else UNSET
    return json_reply(KeptObservations(observations=kept, next_page_token=token))


async def _list_verdicts(asked: Asked) -> Response[bytes]:
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    size, after = page_size(asked), page_number(asked)
    rows = await asked.services.stored(
        list_verdicts,
        asked.services.database,
        asked.caller.tenant,
        startup.id,
        after,
        size + 1,
    )
    told = tuple(
        ToldVerdict(
            told_at=instant_text(r.told_at),
            told_to=r.caller,
            status=r.status,
            observation_count=r.observation_count,
            results=msgspec.Raw(r.body),
        )
        for r in rows[:size]
    )
    token = token_after(str(rows[size - 1].sequence)) if len(rows) > size else UNSET
    return json_reply(encode(ToldVerdicts(verdicts=told, next_page_token=token)))


_wakers: dict[tuple[str, str], set[asyncio.Event]] = {}


def _notify(asked: Asked) -> None:
    """Wake the streams of this start-up in this process; those of others look every two seconds anyway."""
    for event in _wakers.get((asked.caller.tenant, asked.path("id")), ()):
        event.set()


async def _events(asked: Asked) -> Response[Any]:
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    open_streams = asked.services.streams
    if open_streams.get(asked.caller.id, 0) >= MOST_STREAMS:
        raise ProblemRaised("overloaded", f"This key has {MOST_STREAMS} streams open.", retry_after=5)
    return Stream(
        _changes(asked, startup),
        status_code=200,
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )


async def _changes(asked: Asked, startup: Startup) -> AsyncIterator[bytes]:
    """Events `verdict`, one for each change; the id of an event is what the verdict says, so that none comes twice."""
    services, tenant = asked.services, asked.caller.tenant
    waker = asyncio.Event()
    _wakers.setdefault((tenant, startup.id), set()).add(waker)
    services.streams[asked.caller.id] = services.streams.get(asked.caller.id, 0) + 1
    last, spoke, began = asked.header("last-event-id") or "", time.monotonic(), time.monotonic()
    try:
        yield b"retry: 3000\n\n"
        while time.monotonic() - began < STREAM_SECONDS and not services.stopping:
            try:
                startup = await find_startup(services, tenant, startup.id)  # its configuration may have been changed
                verdict = await verdict_on(services, tenant, startup, now_text(), wanted_units(asked))
                if verdict.meaning != last:
                    await _tell(asked, startup, verdict)
                seen = await services.stored(last_sequence, services.database, tenant, startup.id)
            except (StoreUnavailable, Failure, ProblemRaised) as error:
                log.warning("stream_ended", startup=startup.id, reason=str(error)[:500], trace_id=asked.trace_id)
                return  # the listener comes back by itself, and is told then why it can't be served
            if verdict.meaning != last:
                last, spoke = verdict.meaning, time.monotonic()
                yield _event(startup, verdict)
            elif time.monotonic() - spoke > HEARTBEAT:
                spoke = time.monotonic()
                yield b": still here\n\n"
            await _wait(services, tenant, startup.id, seen, waker)
    finally:
        _wakers[tenant, startup.id].discard(waker)
        if not _wakers[tenant, startup.id]:
            del _wakers[tenant, startup.id]
        services.streams[asked.caller.id] -= 1
        if not services.streams[asked.caller.id]:
            del services.streams[asked.caller.id]


async def _wait(services: Services, tenant: str, startup_id: str, seen: int, waker: asyncio.Event) -> None:
    """Until something new is there, or for a few looks: a verdict changes with the clock too."""
    for _ in range(3):
        try:
            await asyncio.wait_for(waker.wait(), LOOK_EVERY)
        except TimeoutError:
            if services.stopping:
                return
            with contextlib.suppress(StoreUnavailable):
                if await services.stored(last_sequence, services.database, tenant, startup_id) != seen:
                    return
        else:
            waker.clear()
            return


def _event(startup: Startup, verdict: Verdict) -> bytes:
    data = {
        "id": startup.id,
        "evaluated_at": verdict.evaluated_at,
        "observation_count": verdict.observation_count,
        "results": verdict.results,
    }
    return b"event: verdict\nid: " + verdict.meaning.encode() + b"\ndata: " + encode(data) + b"\n\n"


_FAILURES = ("calculator-defect", "calculator-died", "calculator-resting", "calculator-too-slow")
ID = Parameter("id", "path", "Your own id of the start-up.", NAME, example="hall-3-north")
INSTANT = {"type": "string", "format": "date-time", "maxLength": 40}


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource; none where nobody answers whether a machine may start."""
    if STARTUP not in registry.served:
        return []
    types = Types(registry)
    kept = kept_startup_type(types.document)
    verdict = startup_verdict_type(answer_type(registry.served[STARTUP].calculator))
    example = registry.served[STARTUP].calculator.examples[0].given

    opened = {"configuration": example["configuration"], "machine": "north"}

    async def put(asked: Asked) -> Response[bytes]:
        return await _put(asked, types)

    async def post(asked: Asked) -> Response[bytes]:
        return await _post_observations(asked, types)

    return [
        Endpoint(
            method="PUT",
            path="/v1/startups/{id}",
            operation_id="putStartup",
            summary="Open a start-up, or change its configuration",
            description="Make the id yourself, so that a phone without a network can open one. Sending it again changes nothing.",
            tag="startups",
            scope="field",
            handler=put,
            replies={
                200: Reply("Kept before, or changed.", kept),
                201: Reply("Opened.", kept),
            },
            parameters=(ID, *PRECONDITIONS),
            body=types.document,
            examples=(Example("invented", "An invented machine.", opened),),
            problems=(*PRECONDITION_PROBLEMS, *_FAILURES),
        ),
        Endpoint(
            method="POST",
            path="/v1/startups/{id}/observations",
            operation_id="addObservations",
            summary="Add observations",
            description=(
                "Idempotent by the id of each observation: send a batch again after a lost reply, from two phones if need "
                "be. Each item is kept or refused alone, because a phone that was offline must not lose a morning's work "
                "to one bad entry; `all_or_nothing=true` asks for the other rule. A correction names what it `supersedes`."
            ),
            tag="startups",
            scope="field",
            handler=post,
            replies={200: Reply("What became of each, in the order of the batch.", ObservationReplies)},
            parameters=(
                ID,
                Parameter(
                    "all_or_nothing",
                    "query",
                    "`true`: one refused observation refuses the batch. Default `false`.",
                    {"type": "string", "enum": ["true", "false"]},
                ),
            ),
            body=types.batch,
            examples=(
                Example("invented", "Invented observations.", {"observations": list(example["observations"][:3])}),
            ),
            problems=("not-found", "store-unavailable", "store-full", *_FAILURES),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}",
            operation_id="getStartup",
            summary="May it start, and if not, what next?",
            description=(
                "The verdict now, or at `at`. It rests on the set of observations alone: order of arrival, repeats and late "
                "uploads change nothing. The ETag changes when the verdict says something else."
            ),
            tag="startups",
            scope="field",
            handler=_get,
            replies={
                200: Reply("The verdict.", verdict, other_media_types=MEDIA_TYPES),
                304: Reply("It says the same as before."),
            },
            parameters=(
                ID,
                Parameter("at", "query", "Instant to judge; now if not given. RFC 3339 with offset.", INSTANT),
                Parameter("known_at", "query", "Only what had arrived by then: what could we know?", INSTANT),
                UNITS,
            ),
            problems=(
                "not-found",
                "not-acceptable",
                "refused-input",
                "store-unavailable",
                "conflict",
                *_FAILURES,
            ),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/observations",
            operation_id="listObservations",
            summary="Every observation, superseded ones too",
            tag="startups",
            scope="field",
            handler=_list_observations,
            replies={200: Reply("A page of them.", KeptObservations)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/verdicts",
            operation_id="listVerdicts",
            summary="What was told, to whom, and when",
            tag="startups",
            scope="field",
            handler=_list_verdicts,
            replies={200: Reply("A page of them.", ToldVerdicts)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/events",
            operation_id="streamVerdicts",
            summary="A stream of verdict changes",
            description="Server-sent events named `verdict`. Reconnect with `Last-Event-ID`, as browsers do. Ends after an hour.",
            tag="startups",
            scope="field",
            handler=_events,
            replies={200: Reply("The stream.", str, "text/event-stream")},
            parameters=(ID, UNITS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
    ]
