"""`/v1/schedules`: open bookings are looked at again by the clock, or whenever a forecast is put."""

from typing import Annotated

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Example, Given, Text, about, refuse
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.body import read_body
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import PAGE_PARAMETERS, page_size, page_start, token_after
from coldwright.service.http.preconditions import PRECONDITIONS, condition_of, precondition_problems, status_of
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.bookings import STATES, State
from coldwright.store.schedules import (
    Plan,
    Schedule,
    TooManySchedules,
    delete_schedule,
    get_schedule,
    list_schedules,
    put_schedule,
)

ID = Parameter("id", "path", "Your own id of the schedule.", NAME, example="every-morning")
TIME = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"


class ScheduledBookings(Given, frozen=True, kw_only=True):
    """Open bookings; what is left out asks nothing."""

    site: Annotated[Text, about("Part of the site's name, in any case of letters.")] | UnsetType = UNSET
    fleet: Annotated[Text, about("From this stored fleet.")] | UnsetType = UNSET
    state: Annotated[State, about("In this state.")] | UnsetType = UNSET
    machine_type: Annotated[Text, about("That hold machines of this type.")] | UnsetType = UNSET


class ScheduleSent(Given, frozen=True, kw_only=True):
    """When to look, and at which bookings."""

    daily_at: Annotated[str, about("Time of the day in UTC, `05:30`.", pattern=TIME)] | UnsetType = UNSET
    forecast: (
        Annotated[
            str, about("Id of a forecast: whenever it is put, wherever the bookings are.", pattern=NAME["pattern"])
        ]
        | UnsetType
    ) = UNSET
    bookings: Annotated[ScheduledBookings, about("Which; not given: every open one.")] = ScheduledBookings()


class KeptSchedule(Struct, frozen=True, kw_only=True):
    """A schedule, and when it ran."""

    id: Annotated[str, Meta(description="Your id of it.")]
    schedule: Annotated[ScheduleSent, Meta(description="As it was put.")]
    next_at: Annotated[str, instant("When it runs next; absent where no time of the day is given.")] | UnsetType = UNSET
    last_at: Annotated[str, instant("When it ran last; absent: it has not run yet.")] | UnsetType = UNSET
    last_count: Annotated[int, Meta(ge=0, le=2**31, description="Bookings that it had looked at again then.")]
    created_at: Annotated[str, instant("When it was made.")]


class ScheduleList(Struct, frozen=True, kw_only=True):
    """A page of the schedules."""

    schedules: Annotated[tuple[KeptSchedule, ...], Meta(description="By id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def _put(asked: Asked) -> Response[bytes]:
    sent, services = await read_body(asked, ScheduleSent), asked.services
    if sent.daily_at is UNSET and sent.forecast is UNSET:
        raise refuse("/daily_at", "Give a time of the day, a forecast, or both: else it never runs.", code="missing")
    chosen = sent.bookings
    plan = Plan(
        daily_at=sent.daily_at or "",
        forecast=sent.forecast or "",
        site=chosen.site or "",
        fleet=chosen.fleet or "",
        state=chosen.state or "",
        machine_type=chosen.machine_type or "",
    )
    try:
        with precondition_problems():
            kept, done = await services.stored(
                put_schedule, services.database, asked.caller.tenant, asked.path("id"), plan, condition_of(asked)
            )
    except TooManySchedules as error:
        raise ProblemRaised("conflict", f"{error} Delete one that is not needed.") from None
    return json_reply(_shown(kept), status_of(done), {"ETag": f'"{kept.etag}"'})


def _shown(kept: Schedule) -> KeptSchedule:
    plan = kept.plan
    return KeptSchedule(
        id=kept.id,
        schedule=ScheduleSent(
            daily_at=plan.daily_at or UNSET,
            forecast=plan.forecast or UNSET,
            bookings=ScheduledBookings(
                site=plan.site or UNSET,
                fleet=plan.fleet or UNSET,
                state=_state(plan.state),
                machine_type=plan.machine_type or UNSET,
            ),
        ),
        next_at=UNSET if kept.next_at is None else instant_text(kept.next_at),
        last_at=UNSET if kept.last_at is None else instant_text(kept.last_at),
        last_count=kept.last_count,
        created_at=instant_text(kept.created_at),
    )


def _state(text: str) -> State | UnsetType:
    return next((state for state in STATES if state == text), UNSET)


async def _get(asked: Asked) -> Response[bytes]:
    services = asked.services
    kept = await services.stored(get_schedule, services.database, asked.caller.tenant, asked.path("id"))
    if kept is None:
        raise ProblemRaised("not-found", "There is no schedule of that id.")
    return json_reply(_shown(kept), 200, {"ETag": f'"{kept.etag}"'})


async def _delete(asked: Asked) -> Response[bytes]:
    services = asked.services
    if not await services.stored(delete_schedule, services.database, asked.caller.tenant, asked.path("id")):
        raise ProblemRaised("not-found", "There is no schedule of that id.")
    return Response(b"", status_code=204)


async def _list(asked: Asked) -> Response[bytes]:
    size, services = page_size(asked), asked.services
    rows = await services.stored(list_schedules, services.database, asked.caller.tenant, page_start(asked), size + 1)
    token = token_after(rows[size - 1].id) if len(rows) > size else UNSET
    return json_reply(ScheduleList(schedules=tuple(map(_shown, rows[:size])), next_page_token=token))


EXAMPLES = (
    Example("every_morning", "Every open booking, before breakfast.", {"daily_at": "04:30"}),
    Example(
        "with_a_forecast",
        "What one yard holds, whenever this forecast is put.",
        {"forecast": "north-coast", "bookings": {"fleet": "demo"}},
    ),
)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    one, problems = "/v1/schedules/{id}", ("not-found", "store-unavailable")
    return [
        Endpoint(
            method="GET",
            path="/v1/schedules",
            operation_id="listSchedules",
            summary="List the schedules",
            tag="plans",
            scope="book",
            handler=_list,
            replies={200: Reply("A page of the list.", ScheduleList)},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="PUT",
            path=one,
            operation_id="putSchedule",
            summary="Have open bookings looked at again",
            description=(
                "At a time of the day, whenever a forecast is put, or both. Each is looked at as `POST .../recheck` would, with "
                "the machines that it holds; no revision is made: what turned is marked, and reported as an event. Needs no "
                "`If-Match`. A tenant has at most 100; `409` says so."
            ),
            tag="plans",
            scope="book",
            handler=_put,
            replies={
                200: Reply("Kept before, or changed.", KeptSchedule),
                201: Reply("Kept as something new.", KeptSchedule),
            },
            parameters=(ID, *PRECONDITIONS),
            body=ScheduleSent,
            examples=EXAMPLES,
            problems=("changed-meanwhile", "conflict", "store-unavailable", "store-full"),
        ),
        Endpoint(
            method="GET",
            path=one,
            operation_id="getSchedule",
            summary="Read a schedule",
            tag="plans",
            scope="book",
            handler=_get,
            replies={200: Reply("The schedule.", KeptSchedule)},
            parameters=(ID,),
            problems=problems,
        ),
        Endpoint(
            method="DELETE",
            path=one,
            operation_id="deleteSchedule",
            summary="Forget a schedule",
            tag="plans",
            scope="book",
            handler=_delete,
            replies={204: Reply("It is forgotten.")},
            parameters=(ID,),
            problems=problems,
        ),
    ]
