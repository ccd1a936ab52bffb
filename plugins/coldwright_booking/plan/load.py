"""The load, with what hoses and pumps add to it."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Allowed, Fluid, Refused, refuse
from coldwright.contract.quantities import (
    HeatFlux,
    Length,
    Power,
    Speed,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_basis.compare import between
from coldwright_basis.liquids import properties
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_refrigeration.load import load
from coldwright_refrigeration.load.given import AnyLoad, DirectLoad, HoseLoad, LoadGiven, LoadSite, PumpLoad
from coldwright_refrigeration.load.results import LoadResults

HOSE_WALL_RATIO = 1.145
"""Outside over inside diameter of the hose: 174 mm on 152 mm, common practice."""
SUMMER_SUN = HeatFlux(900, "W/m2")
SHADE = HeatFlux(0, "W/m2")
BREEZE, STILL_AIR = Speed(3, "m/s"), Speed(0.3, "m/s")
"""Wind across the hose: outdoors as `refrigeration.load` takes it, and the least that its method bears."""
USUAL_DIFFERENCE = TemperatureDifference(10, "delta_degF")
HOSE_NAMES = ("supply hose", "return hose")
PUMP_NAME = "pump"
LOAD_NAME = "load"
LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 2.0, 20.0


class PumpWork(NamedTuple):
    """What the pumps of one kind do to the liquid."""

    flow: VolumeFlow
    head: Length
    efficiency: float | None


@dataclass(frozen=True)
class Gains:
    """What the loop itself adds to the load: hose in air and sun, and the pump."""

    bore: Length
    runs: int
    pumps: tuple[PumpWork, ...]


@dataclass(frozen=True)
class Heat:
    """The load of a round."""

    asked: Asked[LoadGiven, LoadResults]
    leaving: Temperature
    """Of the liquid, as the order names it."""
    difference: TemperatureDifference
    flow: VolumeFlow
    first: "Heat | None" = None
    """The load of the order alone, where this one counts the gains after its parts."""

    @property
    def design(self) -> Power:
        """What the machines must do."""
        return self.asked.results.design_load

    @property
    def pump_heat(self) -> float:
        """W."""
        own = len(self.first.asked.results.loads) if self.first else len(self.asked.results.loads)
        return sum(p.total.si for p in self.asked.results.loads[own:] if p.kind == "pump")

    @property
    def hose_heat(self) -> float:
        """W."""
        own = len(self.first.asked.results.loads) if self.first else len(self.asked.results.loads)
        return sum(p.total.si for p in self.asked.results.loads[own:] if p.kind == "hose")

    @property
    def gross(self) -> float:
        """Load with its gains and without margin, W."""
        return self.asked.results.diversified_total.si

    def over(self, flow: VolumeFlow) -> TemperatureDifference:
        """By which it warms a flow."""
        return difference_made(self.asked.given.fluid, self.leaving.si, self.gross, flow)

    def flow_for(self, kelvins: float) -> VolumeFlow:
        """Which it warms by so much."""
        carried = heat_carried(self.asked.given.fluid, self.leaving.si, kelvins)
        return VolumeFlow.from_si(self.gross / (carried * kelvins), "L/s")

    @property
    def net(self) -> float:
        """Load without margin and gains, W."""
        return self.gross - self.pump_heat - self.hose_heat


class LoadNeeds(NamedTuple):
    """What the load takes of the plan."""

    facts: Facts
    liquid: Liquid


def of_the_order(needs: LoadNeeds, desk: Desk) -> Heat:
    """The load of the order alone, and the flow that it asks for at the load side, both without the margin.

    Heat of hose and pump is not met at the load side, so it moves neither the flow nor the difference. What is refused
    of it is refused of the order.
    """
    facts, fluid = needs.facts, needs.liquid.fluid
    try:
        heat = _alone(facts, desk, fluid)
    except Unanswered as refusal:
        raise Refused(
            [replace(e, pointer=e.pointer.replace("#/loads", "#/duty/loads", 1)) for e in refusal.refused.errors]
        ) from None
    _hold_difference(facts, heat)
    return heat


LOAD = Block("load", LoadNeeds, (load,), of_the_order)


def _alone(facts: Facts, desk: Desk, fluid: Fluid) -> Heat:
    duty = facts.order.duty
    difference = USUAL_DIFFERENCE if duty.temperature_difference is UNSET else duty.temperature_difference
    asked = desk.ask(load, _given(facts, fluid, difference, ()))
    # the margin is for the machines: liquid is moved for the load that there is
    heat, leaving, wanted = asked.results.diversified_total.si, duty.leaving_temperature, duty.liquid_flow
    if wanted is UNSET:
        flow = heat / (heat_carried(fluid, leaving.si, difference.si) * difference.si)
        return Heat(asked, leaving, difference, VolumeFlow.from_si(flow, "L/s"))
    return Heat(asked, leaving, difference_made(fluid, leaving.si, heat, wanted), wanted)


def heat_carried(fluid: Fluid, leaving: float, difference: float) -> float:
    """Density times specific heat, J/m3.K, between a leaving temperature (K) and `difference` above it.

    `refrigeration.load` counts its flow with the liquid at 10 degC: a cold mixture carries up to 2 % less.
    """
    return properties(fluid, leaving + difference / 2).volumetric_heat


def difference_made(fluid: Fluid, leaving: float, heat: float, flow: VolumeFlow) -> TemperatureDifference:
    """By how much a heat, W, warms the flow; a hundredth of a per cent after two steps, since liquids hardly change."""
    kelvins = heat / (heat_carried(fluid, leaving, 0.0) * flow.si)
    for _ in range(2):
        kelvins = heat / (heat_carried(fluid, leaving, min(kelvins, GREATEST_DIFFERENCE)) * flow.si)
    return TemperatureDifference.from_si(kelvins, "delta_degC")


def _hold_difference(facts: Facts, heat: Heat) -> None:
    """A flow that the order names must leave a difference that machines can work with."""
    kelvin, flow = heat.difference.to("delta_degC"), facts.order.duty.liquid_flow
    if flow is UNSET or between(LEAST_DIFFERENCE, kelvin, GREATEST_DIFFERENCE):
        return
    per_kelvin = flow.to("L/s") * kelvin
    raise refuse(
        "/duty/liquid_flow",
        f"The load of {Power.from_si(heat.gross, 'kW')} makes a difference of {kelvin:.3g} K on this flow.",
        value=flow,
        allowed=Allowed(minimum=per_kelvin / GREATEST_DIFFERENCE, maximum=per_kelvin / LEAST_DIFFERENCE, unit="L/s"),
        why="Machines work with 2 to 20 K between entering and leaving.",
    )


def with_gains(facts: Facts, desk: Desk, fluid: Fluid, first: Heat, gains: Gains | None) -> Heat:
    """The load with what this loop adds to it; flow and difference as the order alone asks for them.

    Raises `Unanswered`.
    """
    given = first.asked.given
    asked = desk.ask(load, _given(facts, fluid, given.temperature_difference, _entries(facts, gains, first.difference)))
    return Heat(asked, first.leaving, first.difference, first.flow, first)


def _given(facts: Facts, fluid: Fluid, difference: TemperatureDifference, gains: tuple[AnyLoad, ...]) -> LoadGiven:
    duty = facts.order.duty
    own: tuple[AnyLoad, ...] = (DirectLoad(name=LOAD_NAME, power=duty.load),) if duty.load is not UNSET else duty.loads
    return LoadGiven(
        site=LoadSite(altitude=facts.elevation),
        fluid=fluid,
        loads=own + gains,
        temperature_difference=difference,
        margin=duty.margin_fraction,
        leaving_liquid_temperature=duty.leaving_temperature,
    )


def _entries(facts: Facts, gains: Gains | None, difference: TemperatureDifference) -> tuple[AnyLoad, ...]:
    if gains is None:
        return ()
    leaving = facts.order.duty.leaving_temperature
    entering = Temperature.from_si(leaving.si + difference.si, "degC")
    length = Length.of(facts.order.routes.hose_length.to("m") * gains.runs, "m")
    hoses = tuple(
        HoseLoad(
            name=name,
            length=length,
            outside_diameter=Length.of(gains.bore.to("mm") * HOSE_WALL_RATIO, "mm"),
            inside_diameter=gains.bore,
            liquid_temperature=temperature,
            air_temperature=facts.order.site.design_ambient_temperature,
            wind_speed=STILL_AIR if facts.indoors else BREEZE,
            solar_irradiance=SHADE if facts.indoors else SUMMER_SUN,
        )
        for name, temperature in zip(HOSE_NAMES, (leaving, entering), strict=True)
    )
    working = [work for work in gains.pumps if work.head.si > 0]
    return (*hoses, *(_pump_load(f"{PUMP_NAME} {n + 1}" if n else PUMP_NAME, work) for n, work in enumerate(working)))


def _pump_load(name: str, work: PumpWork) -> PumpLoad:
    pump = PumpLoad(name=name, flow=work.flow, head=work.head)
    return pump if work.efficiency is None else replace(pump, pump_efficiency=work.efficiency)
