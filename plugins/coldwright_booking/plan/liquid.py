"""Which liquid, and how strong."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Fluid, refuse
from coldwright.contract.quantities import Temperature, TemperatureDifference, Volume
from coldwright_basis.compare import below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freeze_margin import USUAL_FREEZE_MARGIN, freezing_point_for
from coldwright_basis.freezing import glycol_freezing_temperature
from coldwright_basis.liquids import volume_to_mass_fraction
from coldwright_booking.fleet.given import Antifreeze
from coldwright_booking.order.facts import FROST, Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_hydronic.antifreeze import antifreeze
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.antifreeze.results import AntifreezeResults

COLDEST_WATER = 277.55
"""Leaving temperature, K, below which plain water freezes in an evaporator (4.4 degC, common practice)."""
MARGIN = 3.0
"""Coldest air over the freezing point, K: the default of `hydronic.antifreeze`."""
LEAST_VOLUME_FRACTION = 0.20
"""Glycol by volume under which inhibitors are too few and things grow: `hydronic.antifreeze` says so (common practice)."""
SAME = 1e-6
"""Difference below which two strengths, or two temperatures in K, are one."""
_ANY_VOLUME = Volume(1000, "L")


@dataclass(frozen=True)
class Liquid:
    """The liquid of the plan."""

    fluid: Fluid
    ordered_too_weak: bool
    """The order asks for plain water, or for less glycol, than the cold allows; the plan is drawn with what is needed."""
    frost_not_known: bool
    lowest: Temperature
    """Coldest that it is held safe for."""

    @property
    def is_water(self) -> bool:
        """Whether it is plain water."""
        return self.fluid.kind == "water"

    def at(self, temperature: Temperature) -> Fluid:
        """The liquid with its temperature, as the hydronic calculators take it."""
        return Fluid(kind=self.fluid.kind, mass_fraction=self.fluid.mass_fraction, temperature=temperature)


class LiquidNeeds(NamedTuple):
    """What the liquid takes of the plan."""

    facts: Facts


def decide(needs: LiquidNeeds, desk: Desk) -> Liquid:
    """Water where neither running nor standing cold can freeze it, else antifreeze: as strong as ordered, or as needed."""
    facts = needs.facts
    wanted, leaving = facts.order.fluid, facts.order.duty.leaving_temperature.si
    coldest = facts.coldest_still
    needed = below(leaving, COLDEST_WATER) or (coldest is not None and below(coldest, FROST))
    unknown = not facts.indoors and facts.lowest_ambient is None
    water_ordered = wanted is not UNSET and wanted.kind == "water"
    lowest = _lowest_of(facts)
    if (wanted is UNSET or water_ordered) and not needed:
        return Liquid(Fluid(kind="water"), False, unknown, lowest)
    kind = "propylene_glycol" if wanted is UNSET or wanted.kind == "water" else wanted.kind
    ordered = UNSET if wanted is UNSET else wanted.mass_fraction
    if ordered is UNSET:
        lowest = _not_thin(kind, lowest)
    required = _asked(facts, desk, kind, lowest, _ANY_VOLUME).results.mass_fraction
    if ordered is UNSET or (needed and ordered < required - SAME):
        too_weak = water_ordered or ordered is not UNSET
        return Liquid(Fluid(kind=kind, mass_fraction=required), too_weak, unknown, lowest)
    safe_to = Temperature.from_si(glycol_freezing_temperature(kind, ordered) + MARGIN + SAME, "degC")
    return Liquid(Fluid(kind=kind, mass_fraction=ordered), False, unknown, safe_to)


def _not_thin(kind: str, lowest: Temperature) -> Temperature:
    """As cold as a mixture stands that is no thinner than its inhibitors need: what nobody ordered is made right at once."""
    least = volume_to_mass_fraction(kind, LEAST_VOLUME_FRACTION) + SAME
    return Temperature.from_si(min(lowest.si, glycol_freezing_temperature(kind, least) + MARGIN), "degC")


LIQUID = Block("liquid", LiquidNeeds, (), decide)
"""It asks `hydronic.antifreeze` how strong; the plan shows what that says for the volume of the loop."""


def charge(
    facts: Facts, liquid: Liquid, desk: Desk, volume: Volume
) -> tuple[Asked[AntifreezeGiven, AntifreezeResults], Antifreeze | None]:
    """The antifreeze for a volume of the loop, and the row of the stock that it comes from; None where there is none."""
    row = _concentrate_of(facts, liquid)
    return _asked(facts, desk, liquid.fluid.kind, liquid.lowest, volume, row), row


def _concentrate_of(facts: Facts, liquid: Liquid) -> Antifreeze | None:
    """Of the stock the row with the most pieces that is stronger than the mixture; None where there is none."""
    strength = liquid.fluid.mass_fraction
    rows = [
        a
        for a in facts.fleet.accessories
        if isinstance(a, Antifreeze)
        and a.fluid == liquid.fluid.kind
        and strength is not UNSET
        and a.concentrate_mass_fraction > strength + SAME
    ]
    return max(rows, key=lambda row: row.count, default=None)


def _asked(
    facts: Facts, desk: Desk, kind: str, lowest: Temperature, volume: Volume, stock: Antifreeze | None = None
) -> Asked[AntifreezeGiven, AntifreezeResults]:
    given = AntifreezeGiven(
        kind=kind,  # type: ignore[arg-type]
        lowest_temperature=lowest,
        loop_volume=volume,
        leaving_temperature=facts.order.duty.leaving_temperature,
    )
    if stock is not None:
        given = replace(given, concentrate_mass_fraction=stock.concentrate_mass_fraction)
    try:
        return desk.ask(antifreeze, given)
    except Unanswered as refused:
        colder = facts.coldest_still is not None and facts.coldest_still <= facts.order.duty.leaving_temperature.si
        raise refuse(
            "/site/lowest_ambient_temperature" if colder else "/duty/leaving_temperature",
            f"No strength is found for it: hydronic.antifreeze says {refused.reason}",
            value=lowest,
            why="Beyond its strongest mixture nothing is known of the liquid.",
        ) from None


def freeze_margin(facts: Facts) -> TemperatureDifference:
    """How far below the leaving liquid the mixture must freeze; the start on site asks for the same."""
    fluid = facts.order.fluid
    return USUAL_FREEZE_MARGIN if fluid is UNSET or fluid.freeze_margin is UNSET else fluid.freeze_margin


def _lowest_of(facts: Facts) -> Temperature:
    """Coldest that the liquid is to be safe for, `MARGIN` above its freezing point: still air, or what the start asks of
    a running machine; never above 0 degC.
    """
    leaving = facts.order.duty.leaving_temperature.si
    still = facts.coldest_still
    running = freezing_point_for(leaving, freeze_margin(facts).si) + MARGIN
    lowest = min(running, ZERO_CELSIUS, *([] if still is None else [still]))
    return Temperature.from_si(lowest, "degC")
