"""Fill pressure, expansion, least volume, buffer, and the antifreeze that the volume takes."""

from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract.quantities import (
    AbsolutePressure,
    Duration,
    GaugePressure,
    Power,
    Temperature,
    Volume,
)
from coldwright_basis.atmosphere import air_pressure
from coldwright_booking.fleet.given import Antifreeze, BufferVessel, ExpansionVessel
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid, charge
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.pipework import AT_VESSELS, length_at_vessels
from coldwright_booking.plan.vessel_pressure import vessel_maximum
from coldwright_booking.plan.vessels import Vessels, choose_vessels
from coldwright_hydronic.antifreeze import antifreeze
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.antifreeze.results import AntifreezeResults
from coldwright_hydronic.fill import fill
from coldwright_hydronic.fill.given import Cycling, Expansion, FillGiven, FillLine, FillVessel, Tap
from coldwright_hydronic.fill.results import FillResults

USUAL_PRESSURE = 275.79
"""kPa gauge, pump off: 40 psi, the least that is usual at the machine (common practice)."""
MOST_HOSES = 50
"""Side by side, as `hydronic.fill` takes them."""
LEAST_VOLUME = 1e-6
"""m3: less than that is no vessel."""
STEP = 5.0
"""kPa that a gauge can be set to."""
LOAD_SIDE_PER_KW = 2.0
"""L in the load side for each kW where it is not given (common practice; it only counts liquid)."""
WARMEST = 313.15
"""Hose in the sun with the machines off, K (40 degC): the default of `hydronic.fill`."""


class StandingNeeds(NamedTuple):
    """What the standing pressure takes of the plan."""

    facts: Facts
    liquid: Liquid


def standing_pressure(needs: StandingNeeds, desk: Desk) -> GaugePressure | Unanswered:
    """Pressure at the machine, pump off: the usual one, or more where the top asks for it."""
    facts, liquid = needs
    asked = desk.try_ask(
        fill,
        FillGiven(
            fluid=liquid.at(facts.order.duty.leaving_temperature),
            vessels=(FillVessel(name="any", volume=Volume(1, "L")),),
            high_point_elevation=facts.highest_point,
        ),
    )
    if isinstance(asked, Unanswered):
        return asked
    required = asked.results.required_fill_pressure
    least = 0.0 if required is UNSET else required.to("kPa")
    return GaugePressure.of(max(USUAL_PRESSURE, STEP * ceil(least / STEP)), "kPa")


STANDING = Block("standing", StandingNeeds, (), standing_pressure)


@dataclass(frozen=True)
class Fill:
    """The liquid in the loop: how much, at which pressure, and the vessels for it."""

    asked: Asked[FillGiven, FillResults] | Unanswered | None
    """None where no loop is known."""
    load_side: Volume
    """Volume of the load side, given or assumed."""
    buffers: tuple[Vessels, ...] = ()
    """Buffer vessels; `asked` counts them."""
    expansion: tuple[Vessels, ...] = ()
    """Expansion vessels for what it asks for."""

    @property
    def vessels(self) -> int:
        """Buffer vessels in the loop."""
        return sum(b.count for b in self.buffers)


class FillNeeds(NamedTuple):
    """What the fill takes of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    machines: Machines
    loop: LoopPlan | Unanswered | None
    standing: GaugePressure | Unanswered | None


def decide(needs: FillNeeds, desk: Desk) -> Fill:
    """Ask for the whole loop; again with buffer vessels where the control lacks volume."""
    facts, loop, standing = needs.facts, needs.loop, needs.standing
    load_side = _load_side_volume(facts, needs.load)
    if isinstance(standing, Unanswered):
        return Fill(standing, load_side)
    if standing is None or not isinstance(loop, LoopPlan):
        return Fill(None, load_side)
    asked = _ask(facts, desk, needs.liquid, needs.load, needs.machines.combination, loop, standing)
    if isinstance(asked, Unanswered):
        return Fill(asked, load_side)
    asked, buffers = _with_buffer(facts, desk, asked, loop)
    return Fill(asked, load_side, buffers, _expansion_vessels(facts, asked))


FILL = Block("fill", FillNeeds, (fill,), decide)


@dataclass(frozen=True)
class Charge:
    """The antifreeze for the volume of the loop."""

    asked: Asked[AntifreezeGiven, AntifreezeResults]
    row: Antifreeze | None
    """Of the stock; None where that has none that is strong enough."""


class ChargeNeeds(NamedTuple):
    """What the antifreeze takes of the plan."""

    facts: Facts
    liquid: Liquid
    fill: Fill


def decide_charge(needs: ChargeNeeds, desk: Desk) -> Charge | None:
    """None with water, or where the volume is not known."""
    asked = needs.fill.asked
    if needs.liquid.is_water or not isinstance(asked, Asked):
        return None
    return Charge(*charge(needs.facts, needs.liquid, desk, asked.results.total_volume))


CHARGE = Block("antifreeze", ChargeNeeds, (antifreeze,), decide_charge)


def _expansion_vessels(facts: Facts, asked: Asked[FillGiven, FillResults] | Unanswered) -> tuple[Vessels, ...]:
    if isinstance(asked, Unanswered) or asked.results.vessel_volume is UNSET or asked.results.vessel_volume.si <= 0:
        return ()
    rows = [a for a in facts.fleet.accessories if isinstance(a, ExpansionVessel)]
    return choose_vessels(rows, asked.results.vessel_volume, "expansion vessel")


def _ask(
    facts: Facts,
    desk: Desk,
    liquid: Liquid,
    heat: Heat,
    combination: Combination,
    loop: LoopPlan,
    standing: GaugePressure,
) -> Asked[FillGiven, FillResults] | Unanswered:
    length, hose, runs = facts.order.routes.hose_length, loop.hose, loop.runs
    return desk.try_ask(
        fill,
        FillGiven(
            fluid=liquid.at(facts.order.duty.leaving_temperature),
            lines=tuple(
                FillLine(
                    name=name,
                    inner_diameter=hose.bore,
                    length=length,
                    parallel_runs=runs,
                    working_pressure=hose.working_pressure,
                )
                for name in ("supply hose", "return hose")
            )
            + tuple(
                FillLine(
                    name=f"hoses from headers to {h.picked.machine.type}",
                    inner_diameter=h.hose.bore,
                    length=h.hose.section,
                    parallel_runs=min(h.pieces, MOST_HOSES),
                    working_pressure=h.hose.working_pressure,
                )
                for h in loop.pipework.hoses
            ),
            vessels=_vessels(facts, heat, combination),
            high_point_elevation=facts.highest_point,
            fill_pressure=standing,
            can_be_shut_in=True,
            treated=not liquid.is_water,
            atmospheric_pressure=_air_pressure(facts),
            tap=Tap(
                static_pressure=facts.order.site.tap_pressure,
                flow=facts.fill_flow,
                backflow_preventer="reduced_pressure",
            ),
            expansion=_expansion(facts, liquid, standing),
            cycling=_cycling(facts, heat, combination),
        ),
    )


def _with_buffer(
    facts: Facts, desk: Desk, asked: Asked[FillGiven, FillResults], loop: LoopPlan
) -> tuple[Asked[FillGiven, FillResults] | Unanswered, tuple[Vessels, ...]]:
    """Ask again with the vessels that make up what the control lacks and their hose, and those vessels; the same where it
    lacks nothing.
    """
    lacking = asked.results.buffer_volume
    if lacking is UNSET or lacking.si <= LEAST_VOLUME:
        return asked, ()
    rows = [a for a in facts.fleet.accessories if isinstance(a, BufferVessel)]
    buffers = choose_vessels(rows, lacking, "buffer vessel")
    filled = tuple(FillVessel(name=b.item, volume=b.volume) for b in buffers)
    hose = FillLine(
        name=AT_VESSELS,
        inner_diameter=loop.hose.bore,
        length=length_at_vessels(sum(b.count for b in buffers), loop.hose),
        parallel_runs=loop.runs,
        working_pressure=loop.hose.working_pressure,
    )
    given = replace(asked.given, lines=(*asked.given.lines, hose), vessels=(*asked.given.vessels, *filled))
    return desk.try_ask(fill, given), buffers


def _air_pressure(facts: Facts) -> AbsolutePressure:
    """Of the standard atmosphere at the site."""
    return AbsolutePressure.from_si(air_pressure(facts.elevation.si), "kPa")


def _load_side_volume(facts: Facts, heat: Heat) -> Volume:
    """As stated, else by the size of the load."""
    stated = facts.order.load_side.volume
    return Volume.of(LOAD_SIDE_PER_KW * heat.net / 1000, "L") if stated is UNSET else stated


def _vessels(facts: Facts, heat: Heat, combination: Combination) -> tuple[FillVessel, ...]:
    machines = tuple(
        FillVessel(
            name=f"evaporator {p.machine.type}",
            volume=p.machine.evaporator.volume,
            count=p.count,
            working_pressure=p.machine.evaporator.working_pressure,
        )
        for p in combination
    )
    load_side = FillVessel(name="load side", volume=_load_side_volume(facts, heat))
    return tuple(vessel for vessel in (*machines, load_side) if vessel.volume.si > LEAST_VOLUME)


def _expansion(facts: Facts, liquid: Liquid, standing: GaugePressure) -> Expansion:
    leaving, hottest = facts.order.duty.leaving_temperature.si, facts.order.site.design_ambient_temperature.si
    still = facts.coldest_still
    coldest = leaving if liquid.is_water or still is None else min(leaving, still)
    return Expansion(
        lowest_temperature=Temperature.from_si(coldest, "degC"),
        highest_temperature=Temperature.from_si(max(WARMEST, hottest), "degC"),
        minimum_pressure=standing,
        maximum_pressure=vessel_maximum(standing),
    )


def _cycling(facts: Facts, heat: Heat, combination: Combination) -> Cycling:
    step = min(p.capacity.si * p.candidate.least_step for p in combination)
    return Cycling(
        step_capacity=Power.from_si(step, "kW"),
        minimum_load=Power.from_si(min(facts.lowest_load * heat.gross, step), "kW"),
        minimum_run_time=Duration(5, "min"),
    )
