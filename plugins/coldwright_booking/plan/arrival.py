"""From the arrival of the machines to cold water."""

from math import ceil
from typing import NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract.quantities import Duration, GaugePressure, Power, Temperature, Volume
from coldwright_basis.compare import below
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Charge, Fill
from coldwright_booking.plan.filling import Filling
from coldwright_booking.plan.laying import cable_time, hose_time
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.starts import compressors_of, configuration_of
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_electrical.generator.results import GeneratorResults
from coldwright_readiness.procedure import ProcedureResults, procedure
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shared.given import Configuration, PullDown, PullDownCompressor

MOST_STAGES = 24
"""Starts one after the other that a pull-down takes."""
PROOF = 5
"""min that a proof of flow takes at the least, as in the table of steps (common practice)."""
TURNOVERS = 3
"""Times that the loop goes round before its mixture is read, as the start asks."""
HOURS_A_DAY = 24.0
DRUM_PUMP = 0.5
"""L/s: a hand or drum pump charging antifreeze, after 10 min to set it up (common practice)."""


class ArrivalNeeds(NamedTuple):
    """What the work on arrival takes of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    machines: Machines
    loop: LoopPlan
    standing: GaugePressure
    cable: CablePlan | None
    fill: Fill
    antifreeze: Charge | None
    supply: SupplyPlan | Unanswered | None
    filling: Filling | None


def decide(needs: ArrivalNeeds, desk: Desk) -> Asked[ProcedureGiven, ProcedureResults] | Unanswered | None:
    """The steps of the machine that takes longest to warm its oil, with the hands for all of them.

    None where the volume of the loop is not known.
    """
    if not isinstance(needs.fill.asked, Asked):
        return None
    facts, liquid, combination = needs.facts, needs.liquid, needs.machines.combination
    volume, charge = needs.fill.asked.results.total_volume, needs.antifreeze
    slowest = max(combination, key=lambda p: (p.machine.oil_warm_up.si, p.count))
    charging: Duration | UnsetType = UNSET
    if charge is not None:
        charging = Duration.of(10 + charge.asked.results.concentrate_volume.to("L") / DRUM_PUMP / 60, "min")
    configuration = configuration_of(facts, desk, liquid, combination, slowest, needs.loop, needs.standing, volume)
    given = ProcedureGiven(
        configuration=configuration,
        loop_volume=volume,
        fill_flow=facts.fill_flow,
        concentrate_volume=UNSET if charge is None else charge.asked.results.concentrate_volume,
        water_volume=UNSET if charge is None else charge.asked.results.water_volume,
        antifreeze_duration=charging,
        pull_down=_pull_down(facts, liquid, needs.load, combination, volume),
    )
    given = _with_extras(given, needs)
    laid = {
        "lay_hoses": hose_time(facts, needs.loop),
        **_first_run(configuration),
        **_staging(configuration, combination),
    }
    if (cables := cable_time(needs.cable)) is not None:
        laid["lay_cables"] = cables
    return desk.try_ask(procedure, replace(given, machines=combination.units, step_durations=laid))


def _with_extras(given: ProcedureGiven, needs: ArrivalNeeds) -> ProcedureGiven:
    """A set that comes along, its load bank and its fillings; flushing where the order asks for it."""
    supply, flushing = needs.supply, needs.filling.flushing if needs.filling else None
    given = replace(given, flush_volume=UNSET if flushing is None else flushing)
    if needs.facts.order.supply.source != "generator":
        return given
    chosen = supply.set if isinstance(supply, SupplyPlan) else None
    stated = chosen.asked.results if chosen is not None and isinstance(chosen.asked, Asked) else None
    bank = chosen.load_bank if chosen is not None else None
    return replace(
        given,
        generator_brought=True,
        load_bank_power=UNSET if bank is None else bank,
        refuel_interval=UNSET if stated is None or not _refuelled(needs.facts, stated) else stated.refuel_interval,
    )


def _refuelled(facts: Facts, stated: GeneratorResults) -> bool:
    """Whether a full tank does not last for the hire."""
    return stated.time_per_fill is not UNSET and below(stated.time_per_fill.to("h"), HOURS_A_DAY * facts.days)


def _first_run(configuration: Configuration) -> dict[str, Duration]:
    """Proving the flow takes until the loop has gone round once, as the start asks before the strainer is blown down;
    the proof after that, with a mixture, until it has gone round three times, as the start asks before its strength is read.
    """
    turnover = configuration.loop_turnover_time
    if turnover is UNSET:
        return {}
    rounds = {"prove_flow": 1}
    if configuration.fluid_kind != "water":
        rounds["prove_flow_again"] = TURNOVERS
    minutes = {step: max(PROOF, ceil(n * turnover.to("min"))) for step, n in rounds.items()}
    return {step: Duration(float(lasts), "min") for step, lasts in minutes.items()}


def _staging(configuration: Configuration, combination: Combination) -> dict[str, Duration]:
    """Machines start side by side: the one with the most compressors is the last that is done, whichever warms longest."""
    most = max(compressors_of(p.machine) for p in combination)
    if most <= configuration.compressors or configuration.compressors < 2:  # of one compressor the step is not there
        return {}
    return {"stage_next_compressors": Duration.of(configuration.anti_recycle.to("min") * (most - 1), "min")}


ARRIVAL = Block("arrival", ArrivalNeeds, (procedure,), decide)


def _pull_down(facts: Facts, liquid: Liquid, heat: Heat, combination: Combination, volume: Volume) -> PullDown:
    """From the temperature of the standing loop to the set point, against the least load: the rest waits for cold water.

    The machines start side by side, and each starts its own compressors one after the other: so many stages in all as the
    machine with the most has, and of the others as many as each has.
    """
    stages = [(p.capacity.si * p.count, min(compressors_of(p.machine), MOST_STAGES)) for p in combination]
    return PullDown(
        mass_fraction=liquid.fluid.mass_fraction,
        leaving_temperature=Temperature.from_si(facts.warmest_still, "degC"),
        set_point=facts.order.duty.leaving_temperature,
        compressors=tuple(
            PullDownCompressor(
                id=f"start {n + 1} of every machine",
                capacity=Power.from_si(sum(capacity / own for capacity, own in stages if n < own), "kW"),
            )
            for n in range(max(own for _, own in stages))
        ),
        loop_volume=volume,
        load=Power.from_si(min(facts.lowest_load * heat.gross, 0.8 * combination.capacity), "kW"),
    )
