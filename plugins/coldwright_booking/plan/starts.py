"""What the start of each machine is judged by: its own plate, evaporator, oil and compressors, and the loop of the order."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import (
    Duration,
    GaugePressure,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeFlow,
)
from coldwright_basis.compare import below
from coldwright_booking.fleet.given import MachineType
from coldwright_booking.order.facts import FROST, Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Fill
from coldwright_booking.plan.liquid import Liquid, freeze_margin
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines, Picked
from coldwright_hydronic.loop import loop
from coldwright_hydronic.loop.given import DeviceGiven, LoopGiven
from coldwright_readiness.shared.given import Configuration

PRESSURE_BAND = 68.95
"""kPa over the least fill pressure that is let stand: 10 psi (common practice)."""
HIGHEST_BAND = 1034.0
MOST_DROP = 1000.0
"""kPa that a configuration takes."""
BELOW_FROST = TemperatureDifference(5, "delta_degF")
"""How far below the coldest air the mixture must freeze, as the start asks it (common practice)."""


class StartsNeeds(NamedTuple):
    """What the starts take of the plan."""

    facts: Facts
    liquid: Liquid
    machines: Machines
    loop: LoopPlan
    standing: GaugePressure
    fill: Fill


def decide(needs: StartsNeeds, desk: Desk) -> tuple[Configuration, ...]:
    """One a type, in the order of the machines; none where all are of one type, whose configuration the work on arrival
    has, or where the volume of the loop is not known.
    """
    combination = needs.machines.combination
    if len(combination) < 2 or not isinstance(needs.fill.asked, Asked):
        return ()
    volume = needs.fill.asked.results.total_volume
    return tuple(
        configuration_of(needs.facts, desk, needs.liquid, combination, picked, needs.loop, needs.standing, volume)
        for picked in combination
    )


STARTS = Block("starts", StartsNeeds, (loop,), decide)


def configuration_of(
    facts: Facts,
    desk: Desk,
    liquid: Liquid,
    combination: Combination,
    picked: Picked,
    loop_plan: LoopPlan,
    standing: GaugePressure,
    volume: Volume,
) -> Configuration:
    """What the start of one machine of a type is judged by."""
    machine = picked.machine
    least = _drop_at(facts, desk, liquid, machine, machine.evaporator.flow_minimum)
    most = _drop_at(facts, desk, liquid, machine, machine.evaporator.flow_maximum)
    flow = loop_plan.asked.results.duty_flow
    turnover = Duration.of(volume.si / flow.si, "s") if flow is not UNSET and flow.si > 0 else UNSET
    return Configuration(
        practice=facts.order.practice,
        source=_source(facts),
        own_breaker=combination.units > 1,
        loop=f"Loop of order {_printed(facts.order.reference)}",
        officer_on_duty=facts.order.officer_on_duty,
        supply_source="generator" if facts.order.supply.source == "generator" else "site",
        pump_mode="own_pump" if loop_plan.runs_own(picked) else "site_pump",
        pump_fitted=machine.pump is not UNSET,
        fluid_kind=liquid.fluid.kind,  # type: ignore[arg-type]
        rated_voltage=machine.electrical.voltage,
        rated_frequency=machine.electrical.frequency,
        compressors=compressors_of(machine),
        circuits=machine.circuits,
        lifted_by="stays_on_trailer" if facts.lift == "roll_off" else facts.lift,
        warm_up_duration=machine.oil_warm_up,
        fill_pressure_minimum=standing,
        fill_pressure_maximum=GaugePressure.of(min(standing.to("kPa") + PRESSURE_BAND, HIGHEST_BAND), "kPa"),
        high_point_rise=facts.highest_point,
        freeze_margin=freeze_margin(facts),
        required_freeze_point=_freeze_point(facts, liquid),
        evaporator_pressure_drop_minimum=least,
        evaporator_pressure_drop_maximum=most,
        loop_turnover_time=turnover,
    )


def compressors_of(machine: MachineType) -> int:
    """That start one after the other: as its motors are given, at least one for each circuit."""
    stated = sum(m.quantity for m in machine.electrical.motors if m.role == "compressor")
    return max(stated, machine.circuits)


def _freeze_point(facts: Facts, liquid: Liquid) -> Temperature | UnsetType:
    """What the frost that the plan counts with asks of the mixture: a set point that is warm would be content with less."""
    coldest = facts.coldest_still
    if liquid.is_water or coldest is None or not below(coldest, FROST):
        return UNSET
    return Temperature.from_si(coldest - BELOW_FROST.si, "degC")


def _source(facts: Facts) -> str:
    """What feeds every machine of the order: several hang on one panel, each behind a breaker of its own."""
    fed_by = "Generator" if facts.order.supply.source == "generator" else "Supply"
    return f"{fed_by} of order {_printed(facts.order.reference)}"


def _printed(reference: str) -> str:
    """A reference as a name takes it: without what cannot be printed."""
    return "".join(c for c in reference if c.isprintable())


def _drop_at(
    facts: Facts, desk: Desk, liquid: Liquid, machine: MachineType, flow: VolumeFlow
) -> PressureDifference | UnsetType:
    """Drop across the evaporator at a flow, corrected to the liquid of the plan."""
    if flow.si <= 0:
        return UNSET
    evaporator = machine.evaporator
    asked = desk.try_ask(
        loop,
        LoopGiven(
            fluid=liquid.at(facts.order.duty.leaving_temperature),
            elements=(
                DeviceGiven(
                    name="evaporator",
                    device_kind="evaporator",
                    rated_flow=evaporator.rated_flow,
                    rated_pressure_drop=evaporator.rated_pressure_drop,
                    exponent=evaporator.exponent,
                ),
            ),
            fixed_flow=flow,
        ),
    )
    if isinstance(asked, Unanswered) or asked.results.elements[0].pressure_drop.to("kPa") > MOST_DROP:
        return UNSET
    return asked.results.elements[0].pressure_drop
