"""How long hose and cable take to lay, and to take up: by their length.

Metres a minute for two people are common practice, no source: wide hose is heavy, single conductors are many.
"""

from collections.abc import Iterator

from coldwright.contract.quantities import Duration, Length
from coldwright_booking.fleet.given import Cable, CableSet
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan

TO_BEGIN = 3.0
"""min to bring the pieces to their place."""
HOSE_RATES = ((Length(60, "mm"), 4.0), (Length(110, "mm"), 2.5))
"""Up to this bore so many m/min."""
WIDEST_RATE = 1.5
SINGLE_RATE, CORD_RATE = 20.0, 10.0
"""m/min of single conductors, a piece for each of the two every minute and a half; and of cords and bundled sets."""
USUAL_SECTION = 15.0
"""m of a section of cable that the stock does not name."""


def hose_laid(facts: Facts, loop: LoopPlan) -> tuple[tuple[Length, float], ...]:
    """Bore and metres of all that is laid, in whole sections."""
    hose, work = loop.hose, loop.pipework
    main = hose.pieces_for(facts.order.routes.hose_length, loop.runs) + work.vessel_hoses(loop.runs)
    laid = [(hose.bore, main * hose.section.to("m"))]
    return (*laid, *((h.hose.bore, h.pieces * h.hose.section.to("m")) for h in work.hoses))


def hose_time(facts: Facts, loop: LoopPlan) -> Duration:
    """Of two people."""
    return Duration.of(TO_BEGIN + sum(metres / _rate(bore) for bore, metres in hose_laid(facts, loop)), "min")


def _rate(bore: Length) -> float:
    return next((rate for widest, rate in HOSE_RATES if bore.si <= widest.si), WIDEST_RATE)


def cable_time(plan: CablePlan | None) -> Duration | None:
    """Of two people; None where no cable is known."""
    minutes = [metres / rate for metres, rate in _cables(plan)]
    return Duration.of(TO_BEGIN + sum(minutes), "min") if minutes else None


def _cables(plan: CablePlan | None) -> Iterator[tuple[float, float]]:
    """Metres, and metres a minute."""
    if plan is None:
        return
    for cable in plan.machines:
        if isinstance(cable.asked, Asked):
            yield cable.pieces * cable.picked.count * _section(cable.row), _cable_rate(cable.row)
    for _, feed in plan.feeds:
        if isinstance(feed.asked, Asked):
            yield feed.pieces * _section(feed.row), _cable_rate(feed.row)


def _section(row: Cable | CableSet | None) -> float:
    return USUAL_SECTION if row is None else row.section_length.to("m")


def _cable_rate(row: Cable | CableSet | None) -> float:
    bundled = isinstance(row, CableSet) or (row is not None and row.construction != "single_conductor_portable")
    return CORD_RATE if bundled else SINGLE_RATE
