"""Pressure surge where the order names a fast valve."""

from msgspec import UNSET

from coldwright.contract.quantities import GaugePressure, Velocity
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.loop import LoopPlan
from coldwright_hydronic.surge import SurgeGiven, SurgeResults, SurgeSegmentGiven, surge

HOSE_WAVE_SPEED = Velocity(500, "m/s")
"""Of reinforced rubber hose, on the stiff and so the safe side (common practice)."""


def plan_surge(
    facts: Facts, desk: Desk, liquid: Liquid, loop: LoopPlan
) -> Asked[SurgeGiven, SurgeResults] | Unanswered | None:
    """The valve stops the flow of the supply hose."""
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
            closure_time=facts.order.load_side.fast_valve_closing_time,  # type: ignore[arg-type]
            static_pressure=GaugePressure.of(element.pressure_out.to("kPa"), "kPa"),
            working_pressure=loop.hose.working_pressure,
        ),
    )
