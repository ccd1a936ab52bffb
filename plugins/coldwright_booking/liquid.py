"""Step 2: which liquid, and how strong."""

from dataclasses import dataclass

from msgspec import UNSET

from coldwright.contract import Fluid, refuse
from coldwright.contract.quantities import Temperature, Volume
from coldwright_booking.desk import Asked, Desk, Unanswered
from coldwright_booking.facts import FROST, Facts
from coldwright_hydronic.antifreeze import AntifreezeGiven, AntifreezeResults, PresentStrength, antifreeze

COLDEST_WATER = 277.55
"""Leaving temperature, K, below which plain water freezes in an evaporator (4.4 degC, common practice)."""
APPROACH = 5.0
"""Leaving over evaporating temperature, K: the default of `hydronic.antifreeze`."""
_ANY_VOLUME = Volume(1000, "L")


@dataclass(frozen=True)
class Liquid:
    """The liquid of the plan."""

    fluid: Fluid
    water_will_not_do: bool
    """The order asks for plain water where antifreeze is needed; the plan is drawn with antifreeze."""
    frost_not_known: bool

    @property
    def is_water(self) -> bool:
        """Whether it is plain water."""
        return self.fluid.kind == "water"

    def at(self, temperature: Temperature) -> Fluid:
        """The liquid with its temperature, as the hydronic calculators take it."""
        return Fluid(kind=self.fluid.kind, mass_fraction=self.fluid.mass_fraction, temperature=temperature)


def decide(facts: Facts, desk: Desk) -> Liquid:
    """Water where neither running nor standing cold can freeze it, else antifreeze of the strength that is needed."""
    wanted, leaving = facts.order.fluid, facts.order.duty.leaving_temperature.si
    coldest = facts.coldest_still
    needed = leaving < COLDEST_WATER - 1e-6 or (coldest is not None and coldest < FROST - 1e-6)
    unknown = not facts.indoors and facts.lowest_ambient is None
    water_ordered = wanted is not UNSET and wanted.kind == "water"
    if (wanted is UNSET or water_ordered) and not needed:
        return Liquid(Fluid(kind="water"), False, unknown)
    kind = "propylene_glycol" if wanted is UNSET or wanted.kind == "water" else wanted.kind
    if wanted is not UNSET and wanted.mass_fraction is not UNSET:
        strength = wanted.mass_fraction
    else:
        strength = _asked(facts, desk, kind, _ANY_VOLUME).results.mass_fraction
    return Liquid(Fluid(kind=kind, mass_fraction=strength), water_ordered, unknown)


def antifreeze_block(
    facts: Facts, liquid: Liquid, desk: Desk, loop_volume: Volume
) -> Asked[AntifreezeGiven, AntifreezeResults] | None:
    """The antifreeze for the volume of the loop; None with water."""
    return None if liquid.is_water else _asked(facts, desk, liquid.fluid.kind, loop_volume)


def _asked(facts: Facts, desk: Desk, kind: str, volume: Volume) -> Asked[AntifreezeGiven, AntifreezeResults]:
    wanted = facts.order.fluid
    present = (
        UNSET
        if wanted is UNSET or wanted.mass_fraction is UNSET
        else PresentStrength(mass_fraction=wanted.mass_fraction)
    )
    given = AntifreezeGiven(
        kind=kind,  # type: ignore[arg-type]
        lowest_temperature=lowest_of(facts),
        loop_volume=volume,
        leaving_temperature=facts.order.duty.leaving_temperature,
        present=present,
    )
    try:
        return desk.ask(antifreeze, given)
    except Unanswered as refused:
        colder = facts.coldest_still is not None and facts.coldest_still <= facts.order.duty.leaving_temperature.si
        raise refuse(
            "/site/lowest_ambient_temperature" if colder else "/duty/leaving_temperature",
            f"hydronic.antifreeze finds no strength for it: {refused.reason}",
            value=given.lowest_temperature,
            why="beyond its strongest mixture nothing is known of the liquid",
        ) from None


def lowest_of(facts: Facts) -> Temperature:
    """Coldest that the liquid meets: still air, or the evaporating side while running; never above 0 degC."""
    leaving = facts.order.duty.leaving_temperature.si
    still = facts.coldest_still
    lowest = min(leaving - APPROACH, 273.15, *([] if still is None else [still]))
    return Temperature.from_si(lowest, "degC")
