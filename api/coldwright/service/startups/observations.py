"""Observations of a start-up: taken one by one, kept for good, listed in pages."""

from collections.abc import Sequence
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Given, Refused, about
from coldwright.contract.reading import convert
from coldwright.contract.refusal import FieldError
from coldwright.service.http.body import read_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.paging import page_number, page_size, token_after
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.documents import MOST_IN_A_BATCH, Types
from coldwright.service.startups.events import notify
from coldwright.service.startups.verdict import find_startup, refusals
from coldwright.store.observations import TooManyObservations, add_observations, list_observations
from coldwright.store.startups import NoSuchStartup, Startup


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


async def post(asked: Asked, types: Types) -> Response[bytes]:
    """Take a batch."""
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
    notify(asked)
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


async def list_kept(asked: Asked) -> Response[bytes]:
    """Every observation, in pages."""
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
