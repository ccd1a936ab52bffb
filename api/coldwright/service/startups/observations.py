"""Observations of a start-up: taken one by one, kept for good, listed in pages."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Raw, Struct, UnsetType

from coldwright.contract import Given, Refused, about
from coldwright.contract.quantities import Duration
from coldwright.contract.reading import convert
from coldwright.contract.refusal import FieldError, field_error
from coldwright.service.http.body import is_long, read_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import page_number, page_size, token_after
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.clocks import instant_in, stamp_error
from coldwright.service.startups.documents import MOST_IN_A_BATCH, SENT_AT, Types
from coldwright.service.startups.events import notify
from coldwright.service.startups.kinds import Kinds
from coldwright.service.startups.refusing import refusals
from coldwright.service.startups.senders import STAMPED, sender_of
from coldwright.service.startups.verdict import carried_into, find_startup, shared_into, verdict_now
from coldwright.store.keys import persons_of
from coldwright.store.observations import (
    Arriving,
    Observation,
    TooManyObservations,
    add_observations,
    list_observations,
)
from coldwright.store.startups import NoSuchStartup, Startup

MOST_ERRORS = 5_000
"""Of all observations of a batch together; of those after it one each, or the answer would be longer than the batch."""
MOST_OF_ONE = 5_000
"""Observations that one start-up can hold; what earlier starts of the machine leave comes beside them."""


class ObservationReply(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What became of one observation of the batch."""

    id: Annotated[str, Meta(description="Its id, where it had a readable one.")] = ""
    status: Annotated[int, Meta(ge=200, le=599, description="201 kept, 200 kept before, 422 refused.")]
    errors: Annotated[
        tuple[FieldError, ...],
        Meta(max_length=50, description="Why it was refused; after 5,000 reasons in a batch, one each."),
    ] = ()


class ObservationReplies(Struct, frozen=True, kw_only=True):
    """Every observation of the batch, in its order."""

    observations: Annotated[
        tuple[ObservationReply, ...], Meta(max_length=MOST_IN_A_BATCH, description="In the order of the batch.")
    ]
    received_at: Annotated[str, instant("When the batch arrived, RFC 3339: nothing in it was seen later.")]
    clock_difference: (
        Annotated[Duration, Meta(description="How far the device's clock is behind the service's, by its `sent_at`.")]
        | UnsetType
    ) = UNSET
    kept: Annotated[int, Meta(ge=0, le=MOST_IN_A_BATCH, description="How many are new.")]
    refused: Annotated[
        int, Meta(ge=0, le=MOST_IN_A_BATCH, description="How many were refused; nothing of them is kept.")
    ]


class LooseBatch(Given, frozen=True, kw_only=True):
    """A batch before its items are looked at one by one."""

    observations: Annotated[tuple[Any, ...], about("Observations.", min_length=1, max_length=MOST_IN_A_BATCH)]
    sent_at: SENT_AT = UNSET


class Correction(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A correction or withdrawal that the verdict follows."""

    id: Annotated[str, Meta(description="Id of the observation that corrects or withdraws.")]
    how: Annotated[str, Meta(description="`supersedes` or `withdrawn`.")]
    person: Annotated[str, Meta(description="Who said so; empty for nobody.")] = ""
    of_person: Annotated[str, Meta(description="Who had recorded it; empty for nobody.")] = ""


class KeptObservation(Struct, frozen=True, kw_only=True):
    """An observation as it was kept."""

    sequence: Annotated[int, Meta(ge=1, le=2**53 - 1, description="Order of arrival; no verdict rests on it.")]
    received_at: Annotated[str, instant("When it arrived first, RFC 3339.")]
    sent_at: (
        Annotated[str, instant("The device's clock when it sent it, RFC 3339; absent if not given.")] | UnsetType
    ) = UNSET
    clock_difference: (
        Annotated[Duration, Meta(description="How far the device's clock was behind the service's.")] | UnsetType
    ) = UNSET
    by: Annotated[str, Meta(description="Who recorded it, as it counts; absent: nobody.")] | UnsetType = UNSET
    role: Annotated[str, Meta(description="In what role, as it counts; absent: none.")] | UnsetType = UNSET
    superseded: Annotated[
        bool, Meta(description="Whether the verdict leaves it out for a correction or withdrawal; it stays visible.")
    ]
    superseded_by: (
        Annotated[Correction, Meta(description="What the verdict takes in its place, and who said so.")] | UnsetType
    ) = UNSET
    observation: Annotated[Any, Meta(description="As it was sent.")]


class KeptObservations(Struct, frozen=True, kw_only=True):
    """A page of the observations of a start-up."""

    observations: Annotated[tuple[KeptObservation, ...], Meta(description="In the order of arrival.")]
    carried: Annotated[
        tuple[Any, ...],
        Meta(
            description="Of earlier starts of the machine, as they count here: `id` begins with the start's. First page only."
        ),
    ] = ()
    shared: Annotated[
        tuple[Any, ...],
        Meta(
            description="Of other starts of the same source or loop, against this one; `id` as above. First page only."
        ),
    ] = ()
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class Taken(Struct, frozen=True):
    """One that can be kept: as it was sent, and as the verdict takes it."""

    id: str
    body: bytes
    counted: bytes


async def post(asked: Asked, types: Types) -> Response[bytes]:
    """Take a batch."""
    replies = await take(asked, types, await read_body(asked, LooseBatch))
    long = await is_long(asked)
    return json_reply(await asked.services.apart(encode, replies, long=True) if long else encode(replies))


async def take(asked: Asked, types: Types, batch: LooseBatch, *, once: bool = False) -> ObservationReplies:
    """Keep what can be kept, and say what became of each. `once`: of forms, whose ids are those of what was drawn."""
    received = asked.services.now()
    sent = _sent(batch)
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    good, refused = await _judged(asked, types.kinds, startup, batch)
    if refused and asked.query("all_or_nothing") == "true":
        raise Refused([e for number in sorted(refused) for e in refused[number].errors][:50])
    arriving = [
        Arriving(one.id, one.body, one.counted, asked.caller.id, sent, received_at=received, once=once)
        for one in good.values()
    ]
    new = await _keep(asked, arriving)
    replies = refused | {
        number: ObservationReply(id=one.id, status=201 if is_new else 200)
        for (number, one), is_new in zip(good.items(), new, strict=True)
    }
    notify(asked)
    return ObservationReplies(
        observations=tuple(replies[number] for number in range(len(batch.observations))),
        received_at=instant_text(received),
        clock_difference=UNSET if sent is None else _difference(received, sent),
        kept=sum(new),
        refused=len(refused),
    )


def _sent(batch: LooseBatch) -> datetime | None:
    if batch.sent_at is UNSET:
        return None
    if error := stamp_error("/sent_at", batch.sent_at):
        raise Refused([error])
    return instant_in(batch.sent_at)


def _difference(received: datetime, sent: datetime) -> Duration:
    return Duration((received - sent).total_seconds(), "s")


async def _judged(
    asked: Asked, kinds: Kinds, startup: Startup, batch: LooseBatch
) -> tuple[dict[int, Taken], dict[int, ObservationReply]]:
    """Those that can be kept, and replies for the others; both by their number in the batch."""
    good: dict[int, Taken] = {}
    refused: dict[int, ObservationReply] = {}
    named = 0
    services, tenant = asked.services, asked.caller.tenant
    persons = () if asked.caller.person else await services.stored(persons_of, services.database, tenant)
    sender = sender_of(asked.caller, kinds.roles, persons)

    def look() -> None:
        nonlocal named
        for number, item in enumerate(batch.observations):
            try:
                observation = _read(kinds, item)
            except Refused as error:
                name = item.get("id") if isinstance(item, dict) else None
                errors = error.errors if named < MOST_ERRORS else error.errors[:1]
                named += len(errors)
                refused[number] = _refusal(number, name if isinstance(name, str) else "", errors)
            else:
                counted = msgspec.structs.replace(observation, **sender.of(observation), sent_at=batch.sent_at)
                good[number] = Taken(observation.id, _encode(observation), _encode(counted))

    await services.apart(look, long=await is_long(asked))
    numbers = list(good)
    against_rules = await refusals(asked.services, startup.document, [one.counted for one in good.values()])
    for error in (e for errors in against_rules.values() for e in errors if e.pointer == "#/sent_at"):
        raise Refused([error])  # it stands beside the observations, once for all of them
    for place, errors in against_rules.items():
        number = numbers[place]
        refused[number] = _refusal(number, good.pop(number).id, errors)
    return good, refused


def _read(kinds: Kinds, item: Any) -> Any:
    own = [name for name in STAMPED if isinstance(item, dict) and name in item]
    if own:
        raise Refused(
            [
                field_error(
                    f"/{name}",
                    f"The service writes `{name}` itself.",
                    code="not_allowed",
                    value=item[name],
                    why="A record must not say itself when it arrived. Send `sent_at` once, beside `observations`.",
                )
                for name in own
            ]
        )
    return convert(kinds.observation, item)


_encode = msgspec.json.Encoder(order="deterministic").encode


def _refusal(number: int, id_: str, errors: Sequence[FieldError]) -> ObservationReply:
    under = (
        msgspec.structs.replace(e, pointer=f"#/observations/{number}{e.pointer.removeprefix('#')}") for e in errors
    )
    return ObservationReply(id=id_[:200], status=422, errors=tuple(under))


async def _keep(asked: Asked, arriving: list[Arriving]) -> list[bool]:
    try:
        return await asked.services.stored(
            add_observations, asked.services.database, asked.caller.tenant, asked.path("id"), arriving, MOST_OF_ONE
        )
    except NoSuchStartup:
        raise ProblemRaised("not-found", "There is no start-up of that id: PUT it first.") from None
    except TooManyObservations as error:
        text = (
            f"{error}. Nothing of this batch was kept. Open a new start of the machine: what stands goes along into it."
        )
        raise ProblemRaised("too-large", text) from None


async def list_kept(asked: Asked) -> Response[bytes]:
    """Every observation, in pages. What is superseded is what the verdict of now leaves out."""
    services, tenant = asked.services, asked.caller.tenant
    startup = await find_startup(services, tenant, asked.path("id"))
    size, first = page_size(asked), page_number(asked)
    rows = await services.stored(list_observations, services.database, tenant, startup.id, first, size + 1)
    verdict = await verdict_now(services, tenant, startup, "metric")
    left_out = {
        entry["id"]: Correction(
            id=entry["by_record"],
            how=entry["kind"],
            person=entry.get("then_by", ""),
            of_person=entry.get("first_by", ""),
        )
        for entry in verdict.part("superseded")
    }
    kept = tuple(_kept(o, left_out) for o in rows[:size])
    token = token_after(str(kept[-1].sequence)) if len(rows) > size else UNSET
    along = tuple(await carried_into(services, tenant, startup)) if not first else ()
    shared = tuple(await shared_into(services, tenant, startup)) if not first else ()
    return json_reply(KeptObservations(observations=kept, carried=along, shared=shared, next_page_token=token))


def _kept(o: Observation, left_out: Mapping[str, Correction]) -> KeptObservation:
    counted = msgspec.json.decode(o.counted, type=_Sender)
    return KeptObservation(
        sequence=o.sequence,
        received_at=instant_text(o.received_at),
        sent_at=UNSET if o.sent_at is None else instant_text(o.sent_at),
        clock_difference=UNSET if o.sent_at is None else _difference(o.received_at, o.sent_at),
        by=counted.by,
        role=counted.role,
        superseded=o.id in left_out,
        superseded_by=left_out.get(o.id, UNSET),
        observation=Raw(o.body),
    )


class _Sender(Struct):
    by: str | UnsetType = UNSET
    role: str | UnsetType = UNSET
