"""What was sent about a start-up, to whom and when."""

from typing import Annotated, Any

import msgspec
import structlog
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import page_number, page_size, token_after
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.asking import judge_of
from coldwright.service.startups.verdict import Verdict, find_startup
from coldwright.store import StoreFull
from coldwright.store.startups import Startup
from coldwright.store.verdicts import NewVerdict, keep_verdict, list_verdicts

log = structlog.get_logger("coldwright.startups")


# The published document has these two names until its next major.
class ToldVerdict(Struct, frozen=True, kw_only=True):
    """A verdict as it was sent."""

    sent_at: Annotated[str, instant("When it was sent, RFC 3339.")]
    sent_to: Annotated[str, Meta(description="Id of the key or person it was sent to.")]
    told_at: Annotated[str, instant("The same as `sent_at`, as it was called before; it goes with the next major.")]
    told_to: Annotated[
        str, Meta(description="The same as `sent_to`, as it was called before; it goes with the next major.")
    ]
    status: Annotated[str, Meta(description="Its status.")]
    configuration: Annotated[str, Meta(description="SHA-256 of the configuration that it was judged by.")]
    calculator: (
        Annotated[
            str,
            Meta(
                description="Id and version of the calculator that gave it; absent of those sent before this was kept. Rules "
                "of a later version may say something else: ask for the verdict of now."
            ),
        ]
        | UnsetType
    ) = UNSET
    observation_count: Annotated[int, Meta(ge=0, le=10**6, description="On how many observations it rested.")]
    results: Annotated[Any, Meta(description="The results as sent.")]


class ToldVerdicts(Struct, frozen=True, kw_only=True):
    """A page of what was sent about a start-up: each change, to each caller."""

    verdicts: Annotated[tuple[ToldVerdict, ...], Meta(description="In the order in which they were sent.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def keep_sent(asked: Asked, startup: Startup, verdict: Verdict) -> None:
    """Keep for the audit what is sent. A full disk must not take the verdict from the person at the machine."""
    new = NewVerdict(
        verdict.observation_count,
        verdict.status,
        verdict.meaning,
        encode(verdict.results),
        verdict.configuration,
        judge_of(asked.services.registry),
    )
    try:
        await asked.services.stored(
            keep_verdict, asked.services.database, asked.caller.tenant, startup.id, new, asked.caller.id
        )
    except StoreFull as error:
        asked.services.metrics.store_errors.labels("full").inc()
        text = str(error)[:500]
        log.error("verdict_sent_but_not_kept", startup=startup.id, detail=text, trace_id=asked.trace_id)  # noqa: TRY400


async def list_sent(asked: Asked) -> Response[bytes]:
    """What was sent, in pages."""
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
    sent = tuple(
        ToldVerdict(
            sent_at=instant_text(r.sent_at),
            sent_to=r.caller,
            told_at=instant_text(r.sent_at),
            told_to=r.caller,
            status=r.status,
            configuration=r.configuration,
            calculator=r.calculator or UNSET,
            observation_count=r.observation_count,
            results=msgspec.Raw(r.body),
        )
        for r in rows[:size]
    )
    token = token_after(str(rows[size - 1].sequence)) if len(rows) > size else UNSET
    return json_reply(encode(ToldVerdicts(verdicts=sent, next_page_token=token)))
