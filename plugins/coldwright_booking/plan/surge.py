"""Pressure surge where the order names a fast valve."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import AbsolutePressure, GaugePressure, Velocity
from coldwright_basis.atmosphere import air_pressure
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.loop import LoopPlan
from coldwright_hydronic.surge import surge
from coldwright_hydronic.surge.given import SurgeGiven, SurgeSegmentGiven
from coldwright_hydronic.surge.results import SurgeResults

HOSE_WAVE_SPEED = Velocity(500, "m/s")
"""Of reinforced rubber hose, on the stiff and so the safe side (common practice)."""


class SurgeNeeds(NamedTuple):
    """What the surge takes of the plan."""

    facts: Facts
    liquid: Liquid
    loop: LoopPlan


def decide(needs: SurgeNeeds, desk: Desk) -> Asked[SurgeGiven, SurgeResults] | Unanswered | None:
    """The valve stops the flow of the supply hose; None without a valve, or where no flow is known."""
    facts, liquid, loop = needs
    closing = facts.order.load_side.fast_valve_closing_time
    if closing is UNSET:
        return None
    element = next((e for e in loop.asked.results.elements if e.name == "supply hose"), None)
    if element is None or element.velocity is UNSET:
        return None
    return desk.try_ask(
        surge,
        SurgeGiven(
            fluid=liquid.at(facts.order.duty.leaving_temperature),
            segments=(
                SurgeSegmentGiven(
                    name="supply hose",
                    length=facts.order.routes.hose_length,
                    inner_diameter=loop.hose.bore,
                    wave_speed=HOSE_WAVE_SPEED,
                ),
            ),
            velocity=element.velocity,
            closure_time=closing,
            static_pressure=GaugePressure.of(element.pressure_out.to("kPa"), "kPa"),
            atmospheric_pressure=AbsolutePressure.from_si(air_pressure(facts.elevation.si), "kPa"),
            working_pressure=loop.hose.working_pressure,
        ),
    )


SURGE = Block("surge", SurgeNeeds, (surge,), decide)
