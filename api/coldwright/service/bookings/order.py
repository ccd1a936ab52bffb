"""What the service reads of an order that is sent, whatever else the plugin makes of it."""

import datetime
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract import refuse
from coldwright.contract.evaluation import canonical
from coldwright.service.http.instants import still_to_come
from coldwright.store.bookings import Period, State

OWN = ("state", "held_until", "customer", "metadata")
"""Members of an order that are kept with the booking and not assessed: the same plan for another customer is the same."""


class Order:
    """An order as it was read, with what lists and stock need of it."""

    def __init__(self, document: bytes) -> None:
        self.document = document
        """The whole body with its defaults: two bodies that say the same are the same."""
        self.plain: dict[str, Any] = msgspec.json.decode(document)
        own = {name: self.plain.pop(name) for name in OWN if name in self.plain}
        self.wished: State | None = own.get("state")
        until = own.get("held_until")
        self.held_until = datetime.datetime.fromisoformat(until) if until else None
        self.customer: str = own.get("customer", "")
        self.labels: dict[str, str] = own.get("metadata", {})
        self.reference = str(self.plain["reference"])
        period = self.plain["period"]
        self.period = Period(str(period["from"])[:10], str(period["to"])[:10])
        self.fleet_id: str = self.plain.get("fleet_id", "")
        site = self.plain.get("site", {})
        self.site: str = site.get("name", "")
        place = site.get("position")
        self.position: tuple[float, float] | None = (place["latitude"], place["longitude"]) if place else None


def order_of(sent: Struct, reference: str) -> Order:
    """The order that a body asks to be kept under a reference; raises `Refused`."""
    if (named := getattr(sent, "reference", reference)) != reference:
        raise refuse("/reference", f"The address names {reference!r}.", value=named, why="One order has one reference.")
    order = Order(canonical(sent))
    if order.fleet_id and "fleet" in order.plain:
        raise refuse("/fleet", "Give `fleet` or `fleet_id`, not both.", code="either_or")
    if order.held_until is not None and order.wished == "quote":
        raise refuse("/held_until", "A quote holds nothing, so there is nothing to lapse.", code="either_or")
    if order.held_until is not None:
        still_to_come("/held_until", order.held_until)
    return order
