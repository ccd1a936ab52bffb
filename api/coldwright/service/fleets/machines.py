"""`/v1/fleets/{id}/machines`: machines by serial number, and which of them are out of service."""

import datetime
from typing import Annotated, Any, Literal

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import refuse
from coldwright.contract.fields import TEXT_PATTERN
from coldwright.registry import Registry
from coldwright.service.bookings.stock import counts_of
from coldwright.service.fleets.resource import ID, fleet_type
from coldwright.service.http.body import read_body
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import PAGE_PARAMETERS, page_size, page_start, token_after
from coldwright.service.http.preconditions import PRECONDITIONS, condition_of, precondition_problems, status_of
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.bookings.stock import today
from coldwright.store.fleets import get_fleet
from coldwright.store.machines import (
    Machine,
    TooManyMachines,
    bookings_of,
    delete_machine,
    get_machine,
    list_machines,
    put_machine,
)

SERIAL = Parameter(
    "serial",
    "path",
    "Serial number, as the machine bears it.",
    {"type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9_.-]{0,99}$"},
)
Day = Annotated[datetime.date, Meta()]


class MachineSent(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is known of a machine."""

    type: Annotated[str, Meta(min_length=1, max_length=100, description="Its type in the fleet.")]
    state: Annotated[
        Literal["in_service", "out_of_service"],
        Meta(description="What is out of service is not offered; bookings that lose it are marked."),
    ] = "in_service"
    note: Annotated[str, Meta(max_length=500, pattern=TEXT_PATTERN, description="Why, or anything else.")] = ""
    since: Annotated[datetime.date, Meta(description="First day out of service; not given: today.")] | UnsetType = UNSET
    until: (
        Annotated[datetime.date, Meta(description="Last day out of service; not given: no end known.")] | UnsetType
    ) = UNSET


class KeptMachine(Struct, frozen=True, kw_only=True):
    """A machine of a fleet."""

    serial: Annotated[str, Meta(description="Its serial number.")]
    type: Annotated[str, Meta(description="Its type.")]
    state: Annotated[Literal["in_service", "out_of_service"], Meta(description="Whether it is in service.")]
    note: Annotated[str, Meta(description="As it was given.")]
    since: (
        Annotated[str, Meta(description="First day out of service.", extra_json_schema={"format": "date"})] | UnsetType
    ) = UNSET
    until: (
        Annotated[str, Meta(description="Last day out of service.", extra_json_schema={"format": "date"})] | UnsetType
    ) = UNSET
    updated_at: Annotated[str, instant("When this was kept.")]
    bookings: Annotated[tuple[str, ...], Meta(description="Bookings that it is assigned to, the earliest first.")] = ()


class MachineList(Struct, frozen=True, kw_only=True):
    """A page of the machines of a fleet."""

    machines: Annotated[tuple[KeptMachine, ...], Meta(description="Sorted by serial number.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def _put(asked: Asked) -> Response[bytes]:
    await asked.services.kept.refuse_more(asked.caller.tenant)
    sent = await read_body(asked, MachineSent)
    machine = _machine(asked.path("serial"), sent)
    counts = await _counts(asked)
    counted = counts.get(f"machine:{sent.type}")
    if counted is None:
        known = sorted(n.partition(":")[2] for n in counts if n.startswith("machine:"))
        raise refuse("/type", f"The fleet has no such type. It has {', '.join(known)}.", value=sent.type)
    services, tenant = asked.services, asked.caller.tenant
    try:
        with precondition_problems():
            kept, done = await services.stored(
                put_machine, services.database, tenant, asked.path("id"), machine, counted, condition_of(asked)
            )
    except TooManyMachines:
        text = f"The fleet counts {counted} of this type, and as many are named by serial number already."
        raise refuse("/type", text, value=sent.type, why="PUT the fleet with the greater count first") from None
    return json_reply(await _shown(asked, kept), status_of(done), {"ETag": f'"{kept.etag}"'})


def _machine(serial: str, sent: MachineSent) -> Machine:
    if sent.state == "in_service":
        if sent.since is not UNSET or sent.until is not UNSET:
            text = "A machine in service has no days out of service: say `out_of_service`, or leave them away."
            raise refuse("/since" if sent.since is not UNSET else "/until", text)
        return Machine(serial, sent.type, sent.state, sent.note)
    since = today() if sent.since is UNSET else sent.since.isoformat()
    until = "" if sent.until is UNSET else sent.until.isoformat()
    if until and until < since:
        raise refuse("/until", f"The last day is before the first, {since}.", value=until)
    return Machine(serial, sent.type, sent.state, sent.note, since, until)


async def _counts(asked: Asked) -> dict[str, int]:
    fleet = await asked.services.stored(get_fleet, asked.services.database, asked.caller.tenant, asked.path("id"))
    if fleet is None:
        raise ProblemRaised("not-found", "There is no fleet of that id.")
    return counts_of(msgspec.json.decode(fleet.document))


async def _shown(asked: Asked, machine: Machine) -> bytes:
    services = asked.services
    references = await services.stored(
        bookings_of, services.database, asked.caller.tenant, asked.path("id"), machine.serial
    )
    return encode(_entry(machine, tuple(references)))


def _entry(machine: Machine, references: tuple[str, ...] = ()) -> KeptMachine:
    optional: dict[str, Any] = {n: v for n, v in (("since", machine.since), ("until", machine.until)) if v}
    return KeptMachine(
        serial=machine.serial,
        type=machine.type,
        state=machine.state,
        note=machine.note,
        updated_at=instant_text(machine.updated_at),
        bookings=references,
        **optional,
    )


async def _get(asked: Asked) -> Response[bytes]:
    services = asked.services
    machine = await services.stored(
        get_machine, services.database, asked.caller.tenant, asked.path("id"), asked.path("serial")
    )
    if machine is None:
        raise ProblemRaised("not-found", "The fleet has no machine of that serial number.")
    return json_reply(await _shown(asked, machine), 200, {"ETag": f'"{machine.etag}"'})


async def _delete(asked: Asked) -> Response[bytes]:
    services = asked.services
    gone = await services.stored(
        delete_machine, services.database, asked.caller.tenant, asked.path("id"), asked.path("serial")
    )
    if not gone:
        raise ProblemRaised("not-found", "The fleet has no machine of that serial number.")
    return Response(b"", status_code=204)


async def _list(asked: Asked) -> Response[bytes]:
    size, services = page_size(asked), asked.services
    await _counts(asked)  # a fleet that is not there has no list
    rows = await services.stored(
        list_machines, services.database, asked.caller.tenant, asked.path("id"), page_start(asked), size + 1
    )
    token = token_after(rows[size - 1].serial) if len(rows) > size else UNSET
    return json_reply(MachineList(machines=tuple(_entry(m) for m in rows[:size]), next_page_token=token))


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource; none where no plugin knows what a fleet is."""
    if fleet_type(registry) is None:
        return []
    one, problems = "/v1/fleets/{id}/machines/{serial}", ("not-found", "refused-input", "store-unavailable")
    return [
        Endpoint(
            method="GET",
            path="/v1/fleets/{id}/machines",
            operation_id="listMachines",
            summary="List the machines of a fleet by serial number",
            tag="plans",
            scope="fleet",
            handler=_list,
            replies={200: Reply("A page of the list.", MachineList)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="PUT",
            path=one,
            operation_id="putMachine",
            summary="Say what is known of a machine",
            description=(
                "Its type, and whether it is in service. What is out of service is not offered to bookings of those days; "
                "bookings that lose a machine are marked within a minute. Needs no `If-Match`."
            ),
            tag="plans",
            scope="fleet",
            handler=_put,
            replies={
                200: Reply("Kept before, or changed.", KeptMachine),
                201: Reply("Kept as something new.", KeptMachine),
            },
            parameters=(ID, SERIAL, *PRECONDITIONS),
            body=MachineSent,
            problems=(*problems, "changed-meanwhile", "store-full", "storage-used"),
        ),
        Endpoint(
            method="GET",
            path=one,
            operation_id="getMachine",
            summary="Read what is known of a machine",
            tag="plans",
            scope="fleet",
            handler=_get,
            replies={200: Reply("The machine.", KeptMachine)},
            parameters=(ID, SERIAL),
            problems=("not-found", "store-unavailable"),
        ),
        Endpoint(
            method="DELETE",
            path=one,
            operation_id="deleteMachine",
            summary="Forget a machine",
            tag="plans",
            scope="fleet",
            handler=_delete,
            replies={204: Reply("It is forgotten.")},
            parameters=(ID, SERIAL),
            problems=("not-found", "store-unavailable"),
        ),
    ]
