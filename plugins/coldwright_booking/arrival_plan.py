"""Step 8: from the lorry's arrival to cold water."""

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Duration, GaugePressure, Power, Temperature, Volume
from coldwright_booking.desk import Asked, Desk, Unanswered
from coldwright_booking.facts import Facts
from coldwright_booking.heat import Heat
from coldwright_booking.liquid import Liquid
from coldwright_booking.loop_plan import LoopPlan
from coldwright_booking.machines import Combination, Picked
from coldwright_readiness.configuration import Configuration
from coldwright_readiness.procedure import ProcedureGiven, ProcedureResults, procedure
from coldwright_readiness.pull_down import PullDown, PullDownCompressor

PRESSURE_BAND = 68.95
"""kPa over the least fill pressure that is let stand: 10 psi (common practice)."""
HIGHEST_BAND = 1034.0
DRUM_PUMP = 0.5
"""L/s: a hand or drum pump charging antifreeze, after 10 min to set it up (common practice)."""
MOST_COMPRESSORS = 24


def plan_arrival(
    facts: Facts,
    desk: Desk,
    liquid: Liquid,
    heat: Heat,
    combination: Combination,
    loop: LoopPlan,
    standing: GaugePressure,
    volume: Volume,
    concentrate: Volume | None,
) -> Asked[ProcedureGiven, ProcedureResults] | Unanswered:
    """The steps of the machine that takes longest to warm its oil."""
    slowest = max(combination, key=lambda p: (p.machine.oil_warm_up.si, p.count))
    charging: Duration | UnsetType = UNSET
    if concentrate is not None:
        charging = Duration.of(10 + concentrate.to("L") / DRUM_PUMP / 60, "min")
    return desk.try_ask(
        procedure,
        ProcedureGiven(
            configuration=_configuration(facts, liquid, slowest, loop, standing, volume),
            loop_volume=volume,
            fill_flow=facts.fill_flow,
            antifreeze_duration=charging,
            pull_down=_pull_down(facts, liquid, heat, combination, volume),
        ),
    )


def _configuration(
    facts: Facts, liquid: Liquid, picked: Picked, loop: LoopPlan, standing: GaugePressure, volume: Volume
) -> Configuration:
    machine = picked.machine
    compressors = sum(m.quantity for m in machine.electrical.motors if m.role == "compressor")
    compressors = max(compressors, machine.circuits)
    flow = loop.asked.results.duty_flow
    evaporator = machine.evaporator
    turnover = Duration.of(volume.si / flow.si, "s") if flow is not UNSET and flow.si > 0 else UNSET
    return Configuration(
        supply_source="generator" if facts.order.supply.source == "generator" else "site",
        pump_mode="own_pump" if loop.own_pumps else "site_pump",
        pump_fitted=machine.pump is not UNSET,
        fluid_kind=liquid.fluid.kind,  # type: ignore[arg-type]
        rated_voltage=machine.electrical.voltage,
        rated_frequency=machine.electrical.frequency,
        compressors=compressors,
        circuits=machine.circuits,
        lifted_by="stays_on_trailer" if facts.lift == "roll_off" else facts.lift,
        warm_up_duration=machine.oil_warm_up,
        fill_pressure_minimum=standing,
        fill_pressure_maximum=GaugePressure.of(min(standing.to("kPa") + PRESSURE_BAND, HIGHEST_BAND), "kPa"),
        high_point_rise=facts.highest_point,
        evaporator_reference_flow=evaporator.rated_flow,
        evaporator_reference_pressure_drop=evaporator.rated_pressure_drop,
        loop_turnover_time=turnover,
    )


def _pull_down(facts: Facts, liquid: Liquid, heat: Heat, combination: Combination, volume: Volume) -> PullDown:
    """From the air's temperature to the set point, against the least load: the rest waits for cold water."""
    leaving = facts.order.duty.leaving_temperature.si
    start = max(facts.order.site.design_ambient_temperature.si, leaving)
    capacity = sum(p.capacity.si * p.count for p in combination)
    return PullDown(
        mass_fraction=liquid.fluid.mass_fraction,
        leaving_temperature=Temperature.from_si(start, "degC"),
        set_point=facts.order.duty.leaving_temperature,
        compressors=(PullDownCompressor(id="all machines", capacity=Power.from_si(capacity, "kW")),),
        loop_volume=volume,
        load=Power.from_si(min(facts.lowest_load * heat.gross, 0.8 * capacity), "kW"),
    )
