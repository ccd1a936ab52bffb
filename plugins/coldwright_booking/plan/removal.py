"""Taking away: what runs out and what becomes of it, the steps of the stop, and how it stands through frost."""

from dataclasses import dataclass
from math import pi
from typing import NamedTuple

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract.quantities import Duration, Length, Temperature, Volume
from coldwright_basis.compare import whole_at_least
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_booking.order.facts import FROST, Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Fill
from coldwright_booking.plan.laying import cable_time, hose_time
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.pipework import AT_VESSELS, length_at_vessels
from coldwright_hydronic.drain_down import drain_down
from coldwright_hydronic.drain_down.given import DrainDownGiven, DrainLine, UprightVessel
from coldwright_hydronic.drain_down.results import DrainDownResults
from coldwright_readiness.procedure import ProcedureResults
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shutdown import ShutdownGiven, ShutdownResults, shutdown

TANK_HEIGHT, TANK_ACROSS = 1.5, 0.2
"""m: machines, buffer vessels and the load side drain as upright tanks of this height, or of this width where they are
small (common practice)."""
MOST_TANKS = 50
"""That `hydronic.drain_down` takes."""
LEAST_TANK = 1e-4
"""m3, below which nothing runs out that counts."""
DRAIN = Length(50, "mm")
"""Bore of a drain (common practice)."""
HOSE_DRAIN = 2.0
"""L/s out of a hose with one end opened (common practice)."""
TOTE = Volume(1000, "L")
"""What takes the mixture back (common practice)."""
DISCONNECTING, DRAINING = 20.0, 30.0
"""min at each machine, and for the low points at the least (common practice)."""

Stop = Asked[ShutdownGiven, ShutdownResults] | Unanswered


@dataclass(frozen=True)
class Removal:
    """The end of the hire."""

    drained: Asked[DrainDownGiven, DrainDownResults] | Unanswered
    stop: Stop
    frost: Stop | None
    """How it stands stopped in frost; None where no frost is expected."""
    totes: int
    """Containers that take the glycol back; none with water."""

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked, in order; a plan is not stopped by what cannot be said of its end."""
        return tuple(a for a in (self.drained, self.stop, self.frost) if isinstance(a, Asked))


class RemovalNeeds(NamedTuple):
    """What taking away takes of the plan."""

    facts: Facts
    liquid: Liquid
    machines: Machines
    loop: LoopPlan
    cable: CablePlan | None
    fill: Fill
    arrival: Asked[ProcedureGiven, ProcedureResults]


def decide(needs: RemovalNeeds, desk: Desk) -> Removal:
    """Ask how it drains, then for the steps with the time that each takes here."""
    facts, liquid, loop, combination = needs.facts, needs.liquid, needs.loop, needs.machines.combination
    drained = desk.try_ask(drain_down, _drained(facts, liquid, loop, combination, needs.fill))
    given = ShutdownGiven(
        configuration=needs.arrival.given.configuration,
        reason="off_hire",
        lay_up="drained",
        ambient_minimum=UNSET if facts.indoors or facts.lowest_ambient is None else facts.lowest_ambient,
        hose_inside_diameter=loop.hose.bore,
        water_temperature=Temperature.from_si(max(facts.order.duty.leaving_temperature.si, ZERO_CELSIUS), "degC"),
        generator_brought=facts.order.supply.source == "generator",
    )
    stop = desk.try_ask(shutdown, replace(given, machines=combination.units, step_durations=_times(needs, drained)))
    cold = facts.coldest_still is not None and facts.coldest_still < FROST
    frost = desk.try_ask(shutdown, replace(given, reason="winter_standby", lay_up="stays_filled")) if cold else None
    totes = 0
    if not liquid.is_water and isinstance(drained, Asked):
        totes = whole_at_least(drained.results.drained_volume.si / TOTE.si)
    return Removal(drained, stop, frost, totes)


REMOVAL = Block("removal", RemovalNeeds, (drain_down, shutdown), decide)


def _times(needs: RemovalNeeds, drained: Asked[DrainDownGiven, DrainDownResults] | Unanswered) -> dict[str, Duration]:
    """Hose and cable by their length, draining by its volume."""
    units = needs.machines.combination.units
    off = DISCONNECTING * units + hose_time(needs.facts, needs.loop).to("min")
    times = {"disconnect_hoses": Duration.of(off, "min")}
    if (coiled := cable_time(needs.cable)) is not None:
        times["coil_cables"] = coiled
    if isinstance(drained, Asked):
        times["drain_low_points"] = Duration.of(max(DRAINING, _minutes(drained)), "min")
    return times


def _minutes(drained: Asked[DrainDownGiven, DrainDownResults]) -> float:
    """Vessels one after the other, and the hoses after them."""
    results = drained.results
    vessels = 0.0 if results.drain_time is UNSET else results.drain_time.to("min")
    tanks = sum(
        pi / 4 * v.diameter.si**2 * v.height.si
        for v in drained.given.vessels
        if isinstance(v, UprightVessel) and v.height is not UNSET
    )
    hoses = max(0.0, results.drained_volume.si - tanks) * 1000
    return vessels + hoses / HOSE_DRAIN / 60


def _drained(facts: Facts, liquid: Liquid, loop: LoopPlan, combination: Combination, fill: Fill) -> DrainDownGiven:
    """Hoses, machines and buffer vessels; of glycol also what is on the load side, which gets its water back."""
    tanks = [
        (f"evaporator {p.machine.type} {n + 1}", p.machine.evaporator.volume)
        for p in combination
        for n in range(p.count)
    ]
    tanks += [(f"{b.item} {n + 1}", b.each) for b in fill.buffers for n in range(b.count)]
    if not liquid.is_water:
        tanks.append(("load side", fill.load_side))
    held = [(name, volume) for name, volume in tanks if volume.si > LEAST_TANK]
    lines = [
        DrainLine(
            name="supply and return hose",
            inner_diameter=loop.hose.bore,
            length=facts.order.routes.hose_length,
            parallel_runs=2 * loop.runs,
        )
    ]
    lines += [
        DrainLine(
            name=f"hoses from headers to {h.picked.machine.type}",
            inner_diameter=h.hose.bore,
            length=h.hose.section,
            parallel_runs=min(h.pieces, 50),
        )
        for h in loop.pipework.hoses
    ]
    if fill.buffers:
        lines.append(
            DrainLine(
                name=AT_VESSELS,
                inner_diameter=loop.hose.bore,
                length=length_at_vessels(fill.vessels, loop.hose),
                parallel_runs=loop.runs,
            )
        )
    return DrainDownGiven(
        fluid=liquid.at(facts.order.duty.leaving_temperature),
        vessels=tuple(_tank(name, volume) for name, volume in held[:MOST_TANKS]),
        drain_orifice_diameter=DRAIN if held else UNSET,
        lines=tuple(lines),
        discharge_to=UNSET if liquid.is_water else "reuse",
    )


def _tank(name: str, volume: Volume) -> UprightVessel:
    height = min(TANK_HEIGHT, volume.si / (pi / 4 * TANK_ACROSS**2))
    return UprightVessel(
        name=name[:100],
        diameter=Length.of((4 * volume.si / (pi * height)) ** 0.5, "m"),
        height=Length.of(height, "m"),
    )
