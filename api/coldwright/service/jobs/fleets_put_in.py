"""Puts a stored fleet into an order that names one, with what is free of it, when its turn comes in a job."""

from typing import Any

import msgspec

from coldwright.contract import refuse
from coldwright.registry import Registry, Served
from coldwright.service.bookings.order import OWN
from coldwright.service.bookings.stock import counts_of, free_counts, turnarounds, with_counts
from coldwright.store import Database
from coldwright.store.bookings import Period, taken
from coldwright.store.fleets import get_fleet


class FleetsPutIn:
    """As `PUT /v1/bookings/{reference}` does it: what others hold of the fleet in the order's period is not free."""

    def __init__(self, database: Database, registry: Registry) -> None:
        self._database, self._orders = database, registry.role("booking")

    def __call__(self, tenant: str, served: Served, given: bytes) -> bytes:
        """The input with its fleet; raises `Refused`. An input that names no stored fleet stays as it is."""
        if served is not self._orders or b'"fleet_id"' not in given:
            return given
        order: dict[str, Any] = msgspec.json.decode(given)
        fleet_id = order.pop("fleet_id", "")
        if not isinstance(fleet_id, str) or not fleet_id:
            return given
        if "fleet" in order:
            raise refuse("/fleet", "Give `fleet` or `fleet_id`, not both.", code="either_or")
        fleet = get_fleet(self._database, tenant, fleet_id) if _can_be_asked_for(fleet_id) else None
        if fleet is None:
            raise refuse(
                "/fleet_id", f"There is no fleet {fleet_id!r}: PUT /v1/fleets/{fleet_id} first.", value=fleet_id
            )
        document = msgspec.json.decode(fleet.document)
        period, reference = _period(order.get("period")), str(order.get("reference", ""))
        others = {}
        if period is not None and _can_be_asked_for(reference):  # else whoever reads the order refuses it
            others = taken(self._database, tenant, fleet_id, period, reference, turnarounds(document))
        free = free_counts(counts_of(document), others)
        asked = {name: value for name, value in order.items() if name not in OWN}
        return msgspec.json.encode({**asked, "fleet": with_counts(document, free)})


def _can_be_asked_for(name: str) -> bool:
    """A database takes no text with a NUL in it, and nothing has a name with control characters."""
    return len(name) <= 200 and name.isprintable()


def _period(sent: Any) -> Period | None:
    if isinstance(sent, dict) and isinstance(sent.get("from"), str) and isinstance(sent.get("to"), str):
        first, last = sent["from"][:10], sent["to"][:10]
        return Period(first, last) if _can_be_asked_for(first) and _can_be_asked_for(last) else None
    return None
