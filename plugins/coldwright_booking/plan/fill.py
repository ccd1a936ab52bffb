"""Step 5, second half: fill pressure, expansion, least volume and buffer."""

from math import ceil

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract.quantities import AbsolutePressure, Duration, GaugePressure, Power, Temperature, Volume
from coldwright_booking.fleet.given import BufferVessel
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.hoses import HoseKind
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.machines import Combination
from coldwright_booking.plan.vessels import Vessels, choose_vessels
from coldwright_hydronic.fill import Cycling, Expansion, FillGiven, FillLine, FillResults, FillVessel, Tap, fill

USUAL_PRESSURE = 275.79
"""kPa gauge, pump off: 40 psi, the least that is usual at the machine (common practice)."""
LEAST_VOLUME = 1e-6
"""m3: less than that is no vessel."""
STEP = 5.0
"""kPa that a gauge can be set to."""
LOAD_SIDE_PER_KW = 2.0
"""L in the load side for each kW where nobody tells (common practice; it only counts liquid)."""
WARMEST = 313.15
"""Hose in the sun with the machines off, K (40 degC): the default of `hydronic.fill`."""
VESSEL_RANGE = 150.0
"""kPa that the expansion vessel may add to the standing pressure; more where that is high."""
SEA_LEVEL = 101.325
"""Pressure of the standard atmosphere, kPa; the same law as in `hydronic.loop` and `electrical.generator`."""


def standing_pressure(facts: Facts, desk: Desk, liquid: Liquid) -> GaugePressure | Unanswered:
    """Pressure at the machine, pump off: the usual one, or more where the top asks for it."""
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


def plan_fill(
    facts: Facts,
    desk: Desk,
    liquid: Liquid,
    heat: Heat,
    combination: Combination,
    hose: HoseKind,
    runs: int,
    standing: GaugePressure,
) -> Asked[FillGiven, FillResults] | Unanswered:
    """Ask for the whole loop."""
    length = facts.order.routes.hose_length
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
            ),
            vessels=_vessels(facts, heat, combination),
            high_point_elevation=facts.highest_point,
            fill_pressure=standing,
            can_be_shut_in=True,
            treated=not liquid.is_water,
            atmospheric_pressure=air_pressure(facts),
            tap=Tap(flow=facts.fill_flow, backflow_preventer="reduced_pressure"),
            expansion=_expansion(facts, liquid, standing),
            cycling=_cycling(facts, heat, combination),
        ),
    )


def with_buffer(
    facts: Facts, desk: Desk, asked: Asked[FillGiven, FillResults]
) -> tuple[Asked[FillGiven, FillResults] | Unanswered, tuple[Vessels, ...]]:
    """Ask again with the vessels that make up what the control lacks, and those vessels; the same where it lacks nothing."""
    lacking = asked.results.buffer_volume
    if lacking is UNSET or lacking.si <= LEAST_VOLUME:
        return asked, ()
    rows = [a for a in facts.fleet.accessories if isinstance(a, BufferVessel)]
    buffers = choose_vessels(rows, lacking, "buffer vessel")
    filled = tuple(FillVessel(name=b.item, volume=b.volume) for b in buffers)
    return desk.try_ask(fill, replace(asked.given, vessels=(*asked.given.vessels, *filled))), buffers


def air_pressure(facts: Facts) -> AbsolutePressure:
    """Of the standard atmosphere at the site."""
    return AbsolutePressure.of(SEA_LEVEL * (1 - 2.25577e-5 * facts.elevation.si) ** 5.25588, "kPa")


def load_side_volume(facts: Facts, heat: Heat) -> Volume:
    """As told, else by the size of the load."""
    told = facts.order.load_side.volume
    return Volume.of(LOAD_SIDE_PER_KW * heat.net / 1000, "L") if told is UNSET else told


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
    load_side = FillVessel(name="load side", volume=load_side_volume(facts, heat))
    return tuple(vessel for vessel in (*machines, load_side) if vessel.volume.si > LEAST_VOLUME)


def _expansion(facts: Facts, liquid: Liquid, standing: GaugePressure) -> Expansion:
    leaving, hottest = facts.order.duty.leaving_temperature.si, facts.order.site.design_ambient_temperature.si
    still = facts.coldest_still
    coldest = leaving if liquid.is_water or still is None else min(leaving, still)
    pressure = standing.to("kPa")
    rise = max(VESSEL_RANGE, 0.4 * (pressure + SEA_LEVEL))
    return Expansion(
        lowest_temperature=Temperature.from_si(coldest, "degC"),
        highest_temperature=Temperature.from_si(max(WARMEST, hottest), "degC"),
        minimum_pressure=standing,
        maximum_pressure=GaugePressure.of(pressure + rise, "kPa"),
    )


def _cycling(facts: Facts, heat: Heat, combination: Combination) -> Cycling:
    step = min(p.capacity.si * p.candidate.least_step for p in combination)
    return Cycling(
        step_capacity=Power.from_si(step, "kW"),
        minimum_load=Power.from_si(min(facts.lowest_load * heat.gross, step), "kW"),
        minimum_run_time=Duration(5, "min"),
    )
