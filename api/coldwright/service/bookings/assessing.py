"""An order with the fleet and the stock of today: what is assessed of it, and what its plan would take."""

import time
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract import Refused, refuse
from coldwright.contract.evaluation import canonical
from coldwright.contract.reading import convert
from coldwright.registry import Registry, Served, rests_on
from coldwright.service.bookings.order import Order
from coldwright.service.bookings.stock import (
    counts_of,
    free_counts,
    held_items,
    turnarounds,
    with_counts,
    with_machines,
)
from coldwright.service.exploration.pointers import Origin, led_back
from coldwright.service.http.intake import LONG
from coldwright.service.http.problems import ProblemRaised, refused_input
from coldwright.service.state import Services
from coldwright.store import Database
from coldwright.store.bookings import Period, Taking, taken
from coldwright.store.fleets import Fleet, get_fleet
from coldwright.store.records import Record, get_record


class Stock(Struct, frozen=True):
    """A fleet with what others hold of it in a period."""

    fleet: Fleet
    document: Mapping[str, Any]
    others: Mapping[str, int]

    @property
    def counts(self) -> dict[str, int]:
        """What there is of every row."""
        return counts_of(self.document)

    def offered(self) -> dict[str, Any]:
        """The fleet document with the counts that are free."""
        return with_counts(self.document, free_counts(self.counts, self.others))

    def taking(self, held: Mapping[str, int]) -> Taking:
        """What a plan would take from it."""
        return Taking(held, self.counts, turnarounds(self.document))


async def stock_for(
    services: Services, tenant: str, fleet_id: str, period: Period, reference: str, before: str = ""
) -> Stock:
    """A stored fleet and what is free of it; raises `Refused` where there is no such fleet."""
    return await services.stored(_read_stock, services.database, tenant, fleet_id, period, reference, before)


def _read_stock(database: Database, tenant: str, fleet_id: str, period: Period, reference: str, before: str) -> Stock:
    fleet = get_fleet(database, tenant, fleet_id) if fleet_id.isprintable() else None  # NUL is in no name of a database
    if fleet is None:
        text = f"There is no fleet {fleet_id!r}: PUT /v1/fleets/{fleet_id} first."
        raise refuse("/fleet_id", text, value=fleet_id)
    document = msgspec.json.decode(fleet.document)
    others = taken(database, tenant, fleet_id, period, reference, turnarounds(document), before)
    return Stock(fleet, document, others)


@lru_cache(maxsize=4)
def rules_of(registry: Registry, served: Served) -> str:
    """What stands for all that an assessment rests on: calculators, those that they ask, parts of plugins, tables."""
    return rests_on(registry, [served, *registry.parts("booking")])


class Assessed(Struct, frozen=True):
    """An order's assessment, and what its plan takes."""

    record: Record
    taking: Taking
    rests_on: str
    fleet_version: int = 0

    @property
    def acceptable(self) -> bool:
        """Whether the plan can be carried out."""
        return self.record.outcome != "unacceptable"


async def assess(
    services: Services,
    served: Served,
    tenant: str,
    order: Order,
    reference: str,
    before: str = "",
    only: Mapping[str, int] | None = None,
) -> Assessed:
    """Assess an order with what is free, or with `only` these machines of it; raises `Refused` with pointers into what is
    assessed.
    """
    stock = None
    if order.fleet_id:
        stock = await stock_for(services, tenant, order.fleet_id, order.period, reference, before)
    body = await services.apart(_joined, served, order, stock, only, long=len(order.document) > LONG)
    began = time.perf_counter()
    evaluated = await services.engine.evaluate(served, body, "metric")
    services.metrics.count_answer(served.calculator.id, evaluated.outcome, time.perf_counter() - began)
    record = Record(
        evaluated.digest,
        served.calculator.id,
        served.calculator.version,
        evaluated.outcome,
        body,
        evaluated.body,
    )
    rules = rules_of(services.registry, served)
    if stock is None:
        return Assessed(record, Taking(), rules)
    held = await services.apart(_held, evaluated.body) if evaluated.outcome != "unacceptable" else {}
    return Assessed(record, stock.taking(held), rules, stock.fleet.version)


def _joined(served: Served, order: Order, stock: Stock | None, only: Mapping[str, int] | None) -> bytes:
    """The order with its fleet inline, in its one spelling."""
    plain = dict(order.plain)
    if stock is not None:
        plain.pop("fleet_id")
        plain["fleet"] = stock.offered()
    if only is not None:
        plain["fleet"] = with_machines(plain["fleet"], only)
        plain.pop("machine_types", None)
    return canonical(convert(served.local.given, plain))


def _held(answer: bytes) -> dict[str, int]:
    return held_items(msgspec.json.decode(answer)["results"])


def led_to_fleet(refused: Refused, order: Order) -> ProblemRaised:
    """The refusal, with pointers into a stored fleet leading to the place where the order names it."""
    origin = Origin("/fleet_id", f"It is in the fleet {order.fleet_id!r}.")
    return led_back(refused_input(refused.errors), "", {"/fleet": origin} if order.fleet_id else {})


async def planned(services: Services, tenant: str, digest: str) -> dict[str, int]:
    """What the plan of a kept assessment takes."""
    record = await services.stored(get_record, services.database, tenant, digest)
    if record is None or record.outcome == "unacceptable":
        return {}
    return await services.apart(_held, record.answer)
