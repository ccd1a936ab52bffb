"""`/v1/webhooks`: addresses that events are sent to."""

import re
from functools import partial
from typing import Annotated, Any, Literal

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import refuse
from coldwright.service.events.feed import check_kind
from coldwright.service.events.sending import wrong_address
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.body import read_body
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.preconditions import (
    PRECONDITION_PROBLEMS,
    PRECONDITIONS,
    condition_of,
    precondition_problems,
    status_of,
)
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.webhooks import (
    TooMany,
    Webhook,
    delete_webhook,
    get_webhook,
    list_deliveries,
    list_webhooks,
    put_webhook,
    rotate_secret,
    send_again,
)

ID = Parameter("id", "path", "Your own id of the webhook.", NAME, example="order-system")
ADDRESS = r"https?://[^\s/?#@]+(/\S*)?(\?\S*)?"
Kind = Annotated[str, Meta(max_length=60)]


class WebhookSent(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An address, and what is sent to it."""

    url: Annotated[str, Meta(max_length=2000, description="Where events are sent by POST: an https address.")]
    kinds: Annotated[
        tuple[Kind, ...], Meta(max_length=50, description="Kinds of event that are sent; none given: all.")
    ] = ()


class KeptWebhook(Struct, frozen=True, kw_only=True):
    """A webhook."""

    id: Annotated[str, Meta(description="Your id of it.")]
    url: Annotated[str, Meta(description="Where events are sent.")]
    kinds: Annotated[tuple[str, ...], Meta(description="Kinds that are sent; none: all.")]
    state: Annotated[
        Literal["enabled", "disabled"],
        Meta(description="`disabled` after the receiver answered 410; a PUT enables it again."),
    ]
    why: Annotated[str, Meta(description="Why it is disabled.")] | UnsetType = UNSET
    secrets: (
        Annotated[
            tuple[str, ...],
            Meta(description="Shown when it is made and when they are rotated: what signs now, the newest first."),
        ]
        | UnsetType
    ) = UNSET
    created_at: Annotated[str, instant("When it was made.")]


class WebhookList(Struct, frozen=True, kw_only=True):
    """Every webhook."""

    webhooks: Annotated[tuple[KeptWebhook, ...], Meta(description="By id.")]


class DeliveryEntry(Struct, frozen=True, kw_only=True):
    """An event on its way to a webhook."""

    number: Annotated[int, Meta(ge=1, le=2**53, description="Number of the event.")]
    kind: Annotated[str, Meta(description="Its kind.")]
    state: Annotated[
        Literal["waiting", "sent", "dead"],
        Meta(description="`dead`: given up after three days, or when the receiver was gone."),
    ]
    attempts: Annotated[int, Meta(ge=0, le=2**31, description="How often it was sent.")]
    said: Annotated[str, Meta(description="What the last attempt came to.")]
    next_at: Annotated[str, instant("When it is sent next, or was settled.")]


class DeliveryList(Struct, frozen=True, kw_only=True):
    """What became of a webhook's events."""

    deliveries: Annotated[tuple[DeliveryEntry, ...], Meta(description="The newest first, up to 200.")]


class AgainAsked(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which events to send again."""

    after: Annotated[int, Meta(ge=0, le=2**53, description="Number of the last event that need not be sent again.")]


class Again(Struct, frozen=True, kw_only=True):
    """Events that are sent again."""

    after: Annotated[int, Meta(ge=0, le=2**53, description="Those with a greater number.")]


async def _put(asked: Asked) -> Response[bytes]:
    sent = await read_body(asked, WebhookSent)
    is_one = re.fullmatch(ADDRESS, sent.url) and sent.url.isascii() and sent.url.isprintable()
    if (why := wrong_address(sent.url)) or not is_one:
        text = "This is not an address that can be called, such as https://orders.example.com/events"
        raise refuse("/url", f"{text}: {why}." if is_one else f"{text}.", value=sent.url[:200])
    for place, kind in enumerate(sent.kinds):
        check_kind(f"/kinds/{place}", kind)
    services = asked.services
    try:
        with precondition_problems():
            kept, done = await services.stored(
                put_webhook,
                services.database,
                asked.caller.tenant,
                asked.path("id"),
                sent.url,
                tuple(dict.fromkeys(sent.kinds)),
                condition_of(asked),
            )
    except TooMany as error:
        raise ProblemRaised("conflict", f"{error} Delete one that is not needed.") from None
    return json_reply(_shown(kept, secrets=done == "created"), status_of(done), {"ETag": f'"{kept.etag}"'})


def _shown(webhook: Webhook, *, secrets: bool = False) -> KeptWebhook:
    state: Any = webhook.state
    return KeptWebhook(
        id=webhook.id,
        url=webhook.url,
        kinds=webhook.kinds,
        state=state,
        why=webhook.why or UNSET,
        secrets=tuple(s.value for s in webhook.secrets) if secrets else UNSET,
        created_at=instant_text(webhook.created_at),
    )


async def _one(asked: Asked) -> Webhook:
    services = asked.services
    found = await services.stored(get_webhook, services.database, asked.caller.tenant, asked.path("id"))
    if found is None:
        raise ProblemRaised("not-found", "There is no webhook of that id.")
    return found


async def _get(asked: Asked) -> Response[bytes]:
    webhook = await _one(asked)
    return json_reply(_shown(webhook), 200, {"ETag": f'"{webhook.etag}"'})


async def _list(asked: Asked) -> Response[bytes]:
    found = await asked.services.stored(list_webhooks, asked.services.database, asked.caller.tenant)
    return json_reply(WebhookList(webhooks=tuple(_shown(w) for w in found)))


async def _delete(asked: Asked) -> Response[bytes]:
    services = asked.services
    if not await services.stored(delete_webhook, services.database, asked.caller.tenant, asked.path("id")):
        raise ProblemRaised("not-found", "There is no webhook of that id.")
    return Response(b"", status_code=204)


async def _rotate(asked: Asked) -> Response[bytes]:
    services = asked.services
    webhook = await services.stored(rotate_secret, services.database, asked.caller.tenant, asked.path("id"))
    if webhook is None:
        raise ProblemRaised("not-found", "There is no webhook of that id.")
    return json_reply(_shown(webhook, secrets=True))


async def _deliveries(asked: Asked) -> Response[bytes]:
    webhook, services = await _one(asked), asked.services
    found = await services.stored(
        list_deliveries, services.database, asked.caller.tenant, webhook.id, asked.query("state") or "", 200
    )
    entries: Any = tuple(
        DeliveryEntry(
            number=d.number,
            kind=d.kind,
            state=_state(d.state),
            attempts=d.attempts,
            said=d.said,
            next_at=instant_text(d.next_at),
        )
        for d in found
    )
    return json_reply(DeliveryList(deliveries=entries))


def _state(word: str) -> Any:
    return word


async def _again(asked: Asked) -> Response[bytes]:
    webhook, wanted, services = await _one(asked), await read_body(asked, AgainAsked), asked.services
    await services.stored(send_again, services.database, asked.caller.tenant, webhook.id, wanted.after)
    return json_reply(Again(after=wanted.after), 202)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    one = "/v1/webhooks/{id}"
    gone = ("not-found", "store-unavailable")
    declared = partial(Endpoint, tag="plans", scope="book")
    return [
        declared(
            method="GET",
            path="/v1/webhooks",
            operation_id="listWebhooks",
            summary="List the webhooks",
            handler=_list,
            replies={200: Reply("Every webhook.", WebhookList)},
            problems=("store-unavailable",),
        ),
        declared(
            method="PUT",
            path=one,
            operation_id="putWebhook",
            summary="Have events sent to an address",
            description=(
                "From now on each event is sent by POST, signed after Standard Webhooks 1.0.0 (`webhook-id`, `webhook-timestamp`, "
                "`webhook-signature`), and again with growing pauses for three days where it is not answered with 2xx within 10 s. "
                "410 disables the webhook. An event may come twice, under one `webhook-id`. The address is judged when it is "
                "called: private ones are not called unless the operator allows it. A tenant has at most 50; `409` says so."
            ),
            handler=_put,
            replies={
                200: Reply("Kept before, or changed.", KeptWebhook),
                201: Reply("Made, with its secret.", KeptWebhook),
            },
            parameters=(ID, *PRECONDITIONS),
            body=WebhookSent,
            problems=(*PRECONDITION_PROBLEMS, "conflict"),
        ),
        declared(
            method="GET",
            path=one,
            operation_id="getWebhook",
            summary="Read a webhook",
            handler=_get,
            replies={200: Reply("The webhook.", KeptWebhook)},
            parameters=(ID,),
            problems=gone,
        ),
        declared(
            method="POST",
            path=f"{one}/rotate",
            operation_id="rotateWebhookSecret",
            summary="Give a webhook a new secret",
            description="The one before still signs beside it for a day.",
            handler=_rotate,
            replies={200: Reply("The webhook with its secrets.", KeptWebhook)},
            parameters=(ID,),
            problems=gone,
        ),
        declared(
            method="POST",
            path=f"{one}/replay",
            operation_id="replayWebhook",
            summary="Send events again",
            handler=_again,
            replies={202: Reply("They are on their way.", Again)},
            parameters=(ID,),
            body=AgainAsked,
            problems=gone,
        ),
        declared(
            method="GET",
            path=f"{one}/deliveries",
            operation_id="listWebhookDeliveries",
            summary="What became of a webhook's events",
            handler=_deliveries,
            replies={200: Reply("The newest 200.", DeliveryList)},
            parameters=(
                ID,
                Parameter(
                    "state",
                    "query",
                    "Only these: `dead` is what was given up.",
                    {"type": "string", "enum": ["waiting", "sent", "dead"]},
                ),
            ),
            problems=(*gone, "refused-input"),
        ),
        declared(
            method="DELETE",
            path=one,
            operation_id="deleteWebhook",
            summary="Send nothing more to an address",
            handler=_delete,
            replies={204: Reply("It is forgotten.")},
            parameters=(ID,),
            problems=gone,
        ),
    ]
