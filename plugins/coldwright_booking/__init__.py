"""The booking family: the main job in one call."""

from coldwright.contract import Plugin
from coldwright_booking.assessment import assessment
from coldwright_booking.change import change
from coldwright_booking.fleet_check import fleet_check

plugin = Plugin(
    name="booking",
    title="Plans for orders of temporary cooling",
    contract=">=1.2,<2",
    calculators=(assessment, change, fleet_check),
    roles={"booking": assessment.id, "booking_change": change.id, "fleet": fleet_check.id},
    warms=(assessment.id, change.id, fleet_check.id),
    summary="The whole plan from an order, and what a change of it changes.",
)
