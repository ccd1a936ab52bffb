"""Whether the cold hoses and vessels of the plan sweat."""

from math import pi
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import Area, Length, Temperature
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Fill
from coldwright_booking.plan.load import HOSE_NAMES, HOSE_WALL_RATIO, Heat
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.vessels import Vessels
from coldwright_refrigeration.condensation import condensation
from coldwright_refrigeration.condensation.given import CondensationGiven, HoseSurface, VesselSurface
from coldwright_refrigeration.condensation.results import CondensationResults

USUAL_DEW_POINT = 297.15
"""K: 24 degC, the dew point of a muggy day (common practice)."""
DRY_ENOUGH = 3.0
"""K below the air, where that is cooler than such a day: air is seldom damper by day (common practice)."""
Sweat = Asked[CondensationGiven, CondensationResults]


class CondensationNeeds(NamedTuple):
    """What condensation takes of the plan."""

    facts: Facts
    load: Heat
    loop: LoopPlan
    fill: Fill


def decide(needs: CondensationNeeds, desk: Desk) -> Sweat | Unanswered:
    """Ask for both hoses and the buffer vessels, in the hottest air."""
    facts = needs.facts
    leaving = facts.order.duty.leaving_temperature
    entering = Temperature.from_si(leaving.si + needs.load.difference.si, "degC")
    humidity = facts.order.site.relative_humidity_fraction
    return desk.try_ask(
        condensation,
        CondensationGiven(
            air_temperature=facts.order.site.design_ambient_temperature,
            relative_humidity_fraction=humidity,
            dew_point_temperature=_dew_point(facts) if humidity is UNSET else UNSET,
            altitude=facts.elevation,
            surfaces=(
                *(_hose(facts, needs.loop, *which) for which in zip(HOSE_NAMES, (leaving, entering), strict=True)),
                *(_vessel(v, leaving) for v in needs.fill.buffers),
            ),
            below="floor_or_goods" if facts.indoors else "open_ground",
        ),
    )


CONDENSATION = Block("condensation", CondensationNeeds, (condensation,), decide)


def _dew_point(facts: Facts) -> Temperature:
    """Of the air: given, or that of a muggy day as far as the air of the hire is warm enough for it.

    Air takes up water by day and loses it by night: where its coldest is given, it is no damper than between the two.
    """
    site = facts.order.site
    if site.dew_point_temperature is not UNSET:
        return site.dew_point_temperature
    hottest = site.design_ambient_temperature.si
    dampest = min(USUAL_DEW_POINT, hottest - DRY_ENOUGH)
    if facts.coldest_still is not None:
        dampest = min(dampest, (hottest + facts.coldest_still) / 2)
    return Temperature.from_si(dampest, "degC")


def _hose(facts: Facts, loop: LoopPlan, name: str, temperature: Temperature) -> HoseSurface:
    return HoseSurface(
        name=name,
        liquid_temperature=temperature,
        length=Length.of(facts.order.routes.hose_length.to("m") * loop.runs, "m"),
        outside_diameter=Length.of(loop.hose.bore.to("mm") * HOSE_WALL_RATIO, "mm"),
        inside_diameter=loop.hose.bore,
    )


def _vessel(vessels: Vessels, temperature: Temperature) -> VesselSurface:
    """Upright cylinders twice as high as wide: V = pi d3 / 2, A = 5 pi d2 / 2 (common practice)."""
    diameter = (2 * vessels.each.si / pi) ** (1 / 3)
    return VesselSurface(
        name=vessels.item,
        liquid_temperature=temperature,
        area=Area.from_si(2.5 * pi * diameter**2 * vessels.count, "m2"),
    )
