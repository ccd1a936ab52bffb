"""The plan of a booking, as far as a start takes its configuration from it."""

from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Struct, UnsetType

from coldwright.contract import Given, Text, about, refuse
from coldwright.contract.refusal import Allowed
from coldwright.service.state import Services
from coldwright.store.bookings import get_booking, present
from coldwright.store.bookings.listing import beside
from coldwright.store.records import get_record

CONFIGURATION = ("asked", "procedure", "configuration")
"""Where a plan keeps the configuration of its machines, in the results of its assessment."""
OF_EACH_TYPE = ("asked", "start_configurations")
"""Where it keeps that of each type, in the order of the machines, where they are of several."""
MACHINES = "machines"
MOST_NAMED = 200


class FromBooking(Given, frozen=True, kw_only=True):
    """The booking from whose plan a start takes its configuration."""

    reference: Annotated[Text, about("Reference of the booking.", min_length=1)]
    machine: Annotated[int, about("Which machine of the plan, counted from 1.", low=1, high=1000)] = 1
    revision: (
        Annotated[int, about("Revision of the booking; that which stands if left out.", low=1, high=2**31)] | UnsetType
    ) = UNSET


class Plan(Struct, frozen=True):
    """What a revision of a booking says of its machines."""

    reference: str
    revision: int
    machine_count: int
    configuration: dict[str, Any]
    """Empty where the plan came to none."""
    of_each: tuple[dict[str, Any], ...] = ()
    """That of each machine; none where one holds for all."""


async def plan_of(services: Services, tenant: str, reference: str, revision: int | None = None) -> Plan | None:
    """The plan of a booking, that which stands unless a revision is named; nothing where there is no such booking."""
    if revision is None:
        head = await services.stored(present, services.database, tenant, reference)
        if head is None:
            return None
        revision = head.shown
    booking = await services.stored(get_booking, services.database, tenant, reference, revision)
    if booking is None:
        return None
    record = await services.stored(get_record, services.database, tenant, booking.digest)
    results = msgspec.json.decode(record.answer)["results"] if record is not None else {}
    counts = [int(m.get("count", 1)) for m in results.get(MACHINES, ())]
    of_types = _at(results, OF_EACH_TYPE) or []
    of_each = [found for found, count in zip(of_types, counts, strict=False) for _ in range(count)]
    if len(of_each) < sum(counts):  # a plan of an earlier release says nothing of them
        of_each = []
    return Plan(reference, booking.revision, sum(counts), _at(results, CONFIGURATION) or {}, tuple(of_each))


def _at(results: Any, path: tuple[str, ...]) -> Any:
    """What stands at a path of objects; None where nothing does."""
    for name in path:
        results = results.get(name) if isinstance(results, dict) else None
    return results


async def plan_named(services: Services, tenant: str, wanted: FromBooking, kept: int | None) -> Plan:
    """The plan that a start is to be set up from; raises `Refused` where there is none.

    `kept` is the revision that it was set up from before.
    """
    revision = kept if wanted.revision is UNSET else wanted.revision
    plan = await plan_of(services, tenant, wanted.reference, revision)
    if plan is None:
        text = "There is no booking of that reference and revision."
        raise refuse("/from_booking/reference", text, value=wanted.reference)
    if wanted.machine > plan.machine_count:
        raise refuse(
            "/from_booking/machine",
            f"The plan has {plan.machine_count} machines.",
            code="out_of_range",
            value=wanted.machine,
            allowed=Allowed(minimum=1, maximum=plan.machine_count),
        )
    if plan.of_each:
        plan = msgspec.structs.replace(plan, configuration=plan.of_each[wanted.machine - 1])
    if not plan.configuration:
        text = "The plan of this booking came to no configuration of its machines. Send `configuration` instead."
        raise refuse("/from_booking", text, value=wanted.reference)
    return plan


async def refuse_other_serial(services: Services, tenant: str, serial: str, booking: str) -> None:
    """Raise `Refused` for a serial number that the booking of the start does not hold."""
    if not serial:
        return
    if not booking:
        text = "A serial number is that of a machine of a booking: name the `booking`, or use `machine` alone."
        raise refuse("/serial", text, code="not_allowed", value=serial)
    held = [number for _, number in (await services.stored(beside, services.database, tenant, booking)).serials]
    if serial in held:
        return
    raise refuse(
        "/serial",
        f"The booking {booking!r} does not hold this machine.",
        code="not_allowed",
        value=serial,
        allowed=Allowed(one_of=tuple(held[:MOST_NAMED])) if held else UNSET,
        why="It holds those that are listed." if held else "No machines were assigned to it yet.",
    )
