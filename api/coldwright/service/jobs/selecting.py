"""Which kept orders a job takes, and what it changes in each."""

from collections.abc import AsyncIterator, Sequence
from datetime import date
from typing import Annotated, Any

import msgspec
from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Refused, Text, about, field_error
from coldwright.service.exploration.pointers import NoSuchPlace, replaced
from coldwright.service.http.endpoint import Asked
from coldwright.store.bookings import Assessed, Filter, State, list_assessed
from coldwright.store.jobs import Item

AT_A_TIME = 200
SHORT = 20
"""Orders that are read, and that are changed in a moment."""


class Change(Given, frozen=True, kw_only=True):
    """A value to put into every order."""

    pointer: Annotated[Text, about("JSON pointer into the order: `/site/design_ambient_temperature`.")]
    value: Annotated[Any, about("What to put there.")]


class BookingsWanted(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """The kept orders of a selection, each with the changes: of each the revision that stands, else its newest."""

    from_: Annotated[date, about("Only orders that last until this day or longer.")] | UnsetType = UNSET
    to: Annotated[date, about("Only orders that begin on this day or before.")] | UnsetType = UNSET
    state: Annotated[State, about("Only orders in this state.")] | UnsetType = UNSET
    site: Annotated[Text, about("Only orders whose site has this in its name, in any case of letters.")] | UnsetType = (
        UNSET
    )
    fleet: Annotated[Text, about("Only orders from this stored fleet.")] | UnsetType = UNSET
    machine_type: Annotated[Text, about("Only orders that hold machines of this type.")] | UnsetType = UNSET
    override: (
        Annotated[
            dict[str, Any],
            about(
                "What to put into every order, as a JSON merge patch (RFC 7396): another sky, another practice. With a "
                "`fleet_id` the orders are assessed with what is free of that stored fleet, in place of their own."
            ),
        ]
        | UnsetType
    ) = UNSET
    change: Annotated[tuple[Change, ...], about("Changes to every order.", max_length=20)] = ()


async def pages_of(asked: Asked, wanted: BookingsWanted) -> AsyncIterator[list[Item]]:
    """The kept inputs of the orders, fleet and free stock included, with the changes. Raises `Refused`."""
    services, tenant = asked.services, asked.caller.tenant
    number, after = 0, None
    while kept := await services.stored(list_assessed, services.database, tenant, _filter(wanted), AT_A_TIME, after):
        yield await services.apart(_items, number, kept, wanted, long=len(kept) > SHORT)
        number, after = number + len(kept), kept[-1].place


def _items(first: int, kept: Sequence[Assessed], wanted: BookingsWanted) -> list[Item]:
    return [
        Item(number, order.reference, _changed(order.reference, order.given, wanted), before=order.digest)
        for number, order in enumerate(kept, first)
    ]


def _filter(wanted: BookingsWanted) -> Filter:
    return Filter(
        first="" if wanted.from_ is UNSET else wanted.from_.isoformat(),
        last="" if wanted.to is UNSET else wanted.to.isoformat(),
        state=wanted.state or "",
        site=wanted.site or "",
        fleet=wanted.fleet or "",
        machine_type=wanted.machine_type or "",
    )


def _changed(reference: str, given: bytes, wanted: BookingsWanted) -> bytes:
    if not wanted.change and not wanted.override:
        return given
    order = msgspec.json.decode(given)
    for number, change in enumerate(wanted.change):
        try:
            order = replaced(order, change.pointer, change.value)
        except NoSuchPlace as error:
            text = f"{error} in the order {reference}."
            at = f"/bookings/change/{number}/pointer"
            raise Refused([field_error(at, text, code="no_such_place", value=change.pointer)]) from None
    if wanted.override:
        if "fleet_id" in wanted.override:
            order.pop("fleet", None)
        order = merged(order, wanted.override)
    return msgspec.json.encode(order)


def merged(target: Any, patch: Any) -> Any:
    """A JSON merge patch applied (RFC 7396, section 2): null takes a member away, all but objects is put in whole."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result
