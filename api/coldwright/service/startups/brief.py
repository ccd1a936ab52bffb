"""The verdict for a phone on a poor network: what to do, with the record to make of it, in less than two kilobytes."""

from collections.abc import Iterator
from datetime import datetime
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.replies import encode, has_already, json_reply, wanted_units
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.audit import keep_sent
from coldwright.service.startups.reply import moved_on, tag_of, zone_of
from coldwright.service.startups.site_time import small_screen
from coldwright.service.startups.verdict import Verdict, find_startup, verdict_now
from coldwright.store.observations import Observation, list_observations
from coldwright.store.startups import Startup

MOST_BYTES = 1_999
LINE = 80
SHORT = 60
ROOM = (20, 12, 8, 6, 4, 3, 2, 1, 0)
"""How many entries of each list are tried, until all of it fits."""


class BriefAction(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Something to do now."""

    do: Annotated[str, Meta(max_length=LINE, description="What to do, in short.")]
    step_id: Annotated[str, Meta(description="Step of the procedure.")] = ""
    done_by: Annotated[str, Meta(max_length=LINE, description="Who may do it.")] = ""
    record: Annotated[
        tuple[Any, ...], Meta(description="Observations that would settle it, as far as their data are known.")
    ] = ()


class BriefOpen(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Something in the way."""

    rule: Annotated[str, Meta(description="The rule.")]
    what: Annotated[str, Meta(max_length=LINE, description="The fact, or what was found.")] = ""
    status: Annotated[str, Meta(description="How the fact stands.")] = ""


class Heard(Struct, frozen=True, kw_only=True):
    """A device that recorded something, and since when it is unheard."""

    device: Annotated[str, Meta(description="The device by its own name, else the key that it sends with.")]
    since: Annotated[str, instant("When its latest record arrived, RFC 3339.")]


class Brief(Struct, frozen=True, kw_only=True):
    """The verdict in less than 2 kB. It is no order to start: the person on site decides."""

    id: Annotated[str, Meta(description="Your id of the start-up.")]
    status: Annotated[str, Meta(description="The verdict's status.")]
    lines: Annotated[tuple[str, ...], Meta(max_length=3, description="Three lines to show.")]
    next: Annotated[tuple[BriefAction, ...], Meta(description="What to do now, the most pressing first.")]
    open: Annotated[tuple[BriefOpen, ...], Meta(description="What is in the way; as many as there is room for.")]
    open_count: Annotated[int, Meta(ge=0, le=10**6, description="How many there are in all.")]
    stop: Annotated[tuple[str, ...], Meta(description="Compressors to stop now; absent where none is.")] | UnsetType = (
        UNSET
    )
    evaluated_at: Annotated[str, instant("The instant that it was judged for, RFC 3339.")]
    valid_until: (
        Annotated[str, Meta(description="When to ask again though nothing was recorded; absent: never.")] | UnsetType
    ) = UNSET
    unheard: Annotated[
        tuple[Heard, ...],
        Meta(description="Other devices, the longest unheard first: what they saw since is not in the verdict."),
    ]
    unheard_count: Annotated[int, Meta(ge=0, le=10**6, description="How many other devices there are in all.")]
    observation_count: Annotated[int, Meta(ge=0, le=10**6, description="Observations that the verdict rests on.")]


async def get_brief(asked: Asked) -> Response[bytes]:
    """The verdict of now, in short."""
    services, tenant, zone = asked.services, asked.caller.tenant, zone_of(asked)
    startup = await find_startup(services, tenant, asked.path("id"))
    if moved := await moved_on(asked, startup):
        return moved
    verdict = await verdict_now(services, tenant, startup, wanted_units(asked))
    await keep_sent(asked, startup, verdict)
    etag = tag_of(asked, startup, verdict)
    if has_already(asked, etag):
        return Response(b"", status_code=304, headers={"ETag": etag})
    rows = await services.stored(list_observations, services.database, tenant, startup.id)
    unheard = [h for h in heard(rows) if h.device != (asked.query("device") or asked.caller.id)]
    return json_reply(fitted(startup, verdict, unheard, zone), headers={"ETag": etag})


def heard(rows: list[Observation]) -> list[Heard]:
    """Every device with when its latest record arrived, the longest unheard first."""
    latest: dict[str, datetime] = {}
    for row in rows:
        device = msgspec.json.decode(row.counted, type=_Device).device or row.caller
        if device and (device not in latest or row.received_at > latest[device]):
            latest[device] = row.received_at
    ranked = sorted(latest.items(), key=lambda entry: (entry[1], entry[0]))
    return [Heard(device=shortened(device, SHORT), since=instant_text(at)) for device, at in ranked]


class _Device(Struct):
    device: str = ""


def fitted(startup: Startup, verdict: Verdict, unheard: list[Heard], zone: str = "") -> bytes:
    """As many entries of each list as there is room for; the counts say what is left out."""
    names = ("next_action", "lines", "blocks", "open_checks")
    parts = small_screen({name: verdict.part(name) for name in names}, zone, verdict.evaluated_at)
    actions, in_the_way = list(_actions(parts)), list(_open(parts))
    stop = verdict.part("stop_now")
    body = b""
    for room in ROOM:
        brief = Brief(
            id=startup.id,
            status=verdict.status,
            lines=_lines(parts, LINE if room else LINE // 2),
            next=tuple(actions[: max(1, room // 2)]) if room else (_bare(actions[0]),),
            open=tuple(in_the_way[:room]),
            open_count=len(in_the_way),
            stop=tuple(shortened(c, 8) for c in stop["compressors"][:20]) if stop else UNSET,
            evaluated_at=verdict.evaluated_at,
            valid_until=UNSET if verdict.valid_until is None else instant_text(verdict.valid_until),
            unheard=tuple(unheard[: (room + 1) // 2]),
            unheard_count=len(unheard),
            observation_count=verdict.observation_count,
        )
        body = encode(brief)
        if len(body) <= MOST_BYTES:
            break
    return body


def _lines(parts: dict[str, Any], length: int) -> tuple[str, ...]:
    return tuple(shortened(line, length) for line in parts["lines"][:3])


def _actions(parts: dict[str, Any]) -> Iterator[BriefAction]:
    action = parts["next_action"]
    yield BriefAction(
        do=action["short"],
        step_id=action["step_id"],
        done_by=shortened(action["done_by"], LINE),
        record=tuple(action["record"]),
    )
    for other in action["meanwhile"]:
        yield BriefAction(do=shortened(other["why"], LINE), step_id=other["step_id"])


def _bare(action: BriefAction) -> BriefAction:
    return BriefAction(do=shortened(action.do, LINE // 2), step_id=action.step_id)


def _open(parts: dict[str, Any]) -> Iterator[BriefOpen]:
    for block in parts["blocks"]:
        what = block.get("fact", "") or block.get("reason", "")
        yield BriefOpen(rule=block["rule"], what=shortened(what, LINE), status=block.get("status", ""))
    for check in parts["open_checks"]:
        yield BriefOpen(rule=check["code"], what=shortened(check["statement"], LINE), status="open")


def shortened(text: str, length: int) -> str:
    """The text, or its beginning with a mark that there is more."""
    return text if len(text) <= length else text[: length - 1] + "…"
