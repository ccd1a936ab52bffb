"""The distribution panel between the feeder and several machines, one whose plate bears less than the site's breaker, or
one behind a transformer.
"""

from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Current
from coldwright_basis.compare import above, at_least
from coldwright_booking.fleet.given import Panel
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.machines import Combination
from coldwright_electrical.service.results import CircuitResults, ServiceResults

MANY_TIMES = 2.0
"""Of the smallest device: beyond it cable would be laid for the breaker and not for the machine (common practice)."""


class PanelWanted(NamedTuple):
    """What the panel must carry, A, and into how many circuits."""

    current: float
    outlets: int


def panel_wanted(
    combination: Combination, service: ServiceResults, breaker: Current | UnsetType, *, behind_transformer: bool
) -> PanelWanted | None:
    """None where one machine hangs on its feeder alone, behind a breaker that its plate allows.

    The breaker before a transformer protects no conductor behind it: NEC 240.4(F) and 240.21(C), from memory.
    """
    feeder = service.feeder
    alone = combination.units < 2 and not behind_transformer
    if alone and not _too_large(breaker, feeder):
        return None
    least = (
        feeder.minimum_circuit_ampacity
        if feeder.smallest_workable_standard is UNSET
        else feeder.smallest_workable_standard
    )
    return PanelWanted(least.to("A"), combination.units)


def _too_large(breaker: Current | UnsetType, feeder: CircuitResults) -> bool:
    """Whether a machine cannot stand behind the site's breaker without a device of its own: above what its plate allows, or
    where that says nothing above `MANY_TIMES` the smallest that is workable.
    """
    greatest, least = feeder.maximum_overcurrent_standard, feeder.smallest_workable_standard
    if breaker is UNSET:
        return False
    if greatest is not UNSET:
        return above(breaker.si, greatest.si)
    return least is not UNSET and above(breaker.si, MANY_TIMES * least.si)


def panel_of(facts: Facts, wanted: PanelWanted) -> Panel | None:
    """The smallest of the stock that surely does, else one of which too little is given; None where none may do."""
    rows = [a for a in facts.fleet.accessories if isinstance(a, Panel) and a.count > 0]
    may = [row for row in rows if _carries(row, wanted.current) and _divides(row, wanted.outlets)]
    stated = [row for row in may if row.rated_current is not UNSET and row.outlets is not UNSET]
    if stated:
        return min(stated, key=lambda row: (0.0 if row.rated_current is UNSET else row.rated_current.si, row.item))
    return may[0] if may else None


def _carries(row: Panel, current: float) -> bool:
    return row.rated_current is UNSET or at_least(row.rated_current.to("A"), current)


def _divides(row: Panel, outlets: int) -> bool:
    return row.outlets is UNSET or row.outlets >= outlets
