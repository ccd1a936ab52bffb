"""How long the liquid stays cold for a critical load while a machine, or the supply of all, restarts."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import Duration, Power, Temperature, TemperatureDifference, Volume
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Fill
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines, Picked
from coldwright_hydronic.fill.given import FillVessel
from coldwright_refrigeration.ride_through import ride_through
from coldwright_refrigeration.ride_through.given import Interruption, RideThroughGiven, RideThroughLoop
from coldwright_refrigeration.ride_through.results import RideThroughResults

BEARABLE = TemperatureDifference(3, "delta_degC")
"""By which the supply may be warmer for a while, where the order does not say (common practice)."""
SET_RESTART, SITE_RESTART = Duration(15, "min"), Duration(5, "min")
"""Until a set that stopped, or the site's supply, is back (common practice)."""
MOST_STAGES = 32
MACHINE, SUPPLY = "Machine trip", "Supply failure"
Restart = Asked[RideThroughGiven, RideThroughResults]


class RestartNeeds(NamedTuple):
    """What a restart takes of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    machines: Machines
    loop: LoopPlan
    fill: Fill


def decide(needs: RestartNeeds, desk: Desk) -> Restart | Unanswered | None:
    """None where the load is not critical, or the volume of the loop not known."""
    facts, fill, combination = needs.facts, needs.fill.asked, needs.machines.combination
    if not facts.order.critical or not isinstance(fill, Asked):
        return None
    leaving = facts.order.duty.leaving_temperature
    return desk.try_ask(
        ride_through,
        RideThroughGiven(
            loop=RideThroughLoop(
                fluid=needs.liquid.fluid,
                volume=fill.results.total_volume,
                supply_volume=_supply_hose(fill.results.total_volume, fill.given.vessels),
                buffer_volume=Volume.of(sum(b.volume.to("L") for b in needs.fill.buffers), "L"),
                leaving_temperature=leaving,
                temperature_difference=_difference(needs),
            ),
            load=Power.from_si(needs.load.gross, "kW"),
            capacity=Power.from_si(combination.capacity, "kW"),
            warmest_supply=_warmest(facts),
            interruptions=(_trip(combination), _outage(facts, needs.loop, combination)),
        ),
    )


RESTART = Block("restart", RestartNeeds, (ride_through,), decide)


def _difference(needs: RestartNeeds) -> TemperatureDifference:
    """By which load, hose and pump warm the flow of the loop, so that it goes round in the time that it takes elsewhere."""
    flow = needs.loop.asked.results.duty_flow
    return needs.load.difference if flow is UNSET or flow.si <= 0 else needs.load.over(flow)


def _warmest(facts: Facts) -> Temperature:
    """Warmest supply that the load bears for a while."""
    stated = facts.order.duty.warmest_supply_temperature
    if stated is not UNSET:
        return stated
    return Temperature.from_si(facts.order.duty.leaving_temperature.si + BEARABLE.si, "degC")


def _back_after(facts: Facts) -> Duration:
    """Until the supply is back."""
    stated = facts.order.supply.restart_time
    if stated is not UNSET:
        return stated
    return SET_RESTART if facts.order.supply.source == "generator" else SITE_RESTART


def _pumps_stop(facts: Facts, loop: LoopPlan, combination: Combination) -> bool:
    """Whether the pumps stop with the supply of the machines: pumps aboard do, the site's where the site feeds all."""
    return facts.order.supply.source != "generator" or any(loop.runs_own(p) for p in combination)


def _supply_hose(total: Volume, vessels: tuple[FillVessel, ...]) -> Volume:
    """Half of what is in the hoses, which lie out and back alike."""
    held = sum(v.volume.to("L") * v.count for v in vessels)
    return Volume.of(max(0.0, total.to("L") - held) / 2, "L")


def _stages(picked: Picked) -> int:
    """Compressors of one machine, that start one after the other."""
    compressors = sum(m.quantity for m in picked.machine.electrical.motors if m.role == "compressor")
    return min(MOST_STAGES, max(compressors, picked.machine.circuits))


def _trip(combination: Combination) -> Interruption:
    """The largest machine trips with its supply on: its oil stays warm, the others and all pumps run on."""
    largest = max(combination, key=lambda p: p.capacity.si)
    return Interruption(
        name=MACHINE,
        outage=Duration(0, "min"),
        circulation="keeps",
        capacity_left=Power.from_si(combination.capacity - largest.capacity.si, "kW"),
        stages=_stages(largest),
    )


def _outage(facts: Facts, loop: LoopPlan, combination: Combination) -> Interruption:
    """All machines lose their supply; they start side by side when it is back."""
    return Interruption(
        name=SUPPLY,
        outage=_back_after(facts),
        circulation="stops" if _pumps_stop(facts, loop, combination) else "keeps",
        oil_warm_up=max((p.machine.oil_warm_up for p in combination), key=lambda d: d.si),
        stages=max(_stages(p) for p in combination),
    )
