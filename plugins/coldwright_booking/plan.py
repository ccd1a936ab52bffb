"""Step 7: steps 1 to 6 again until the load stands still; another combination where the first cannot be carried out."""

from dataclasses import dataclass, field

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Allowed, Refused, refuse
from coldwright.contract.quantities import GaugePressure, Volume
from coldwright_booking import heat as heat_step
from coldwright_booking.arrival_plan import plan_arrival
from coldwright_booking.cable_plan import CablePlan, plan_cable
from coldwright_booking.capacities import Candidate, LeftOut, capacities
from coldwright_booking.desk import Asked, Desk, Unanswered
from coldwright_booking.facts import Facts
from coldwright_booking.fill_plan import plan_fill, standing_pressure
from coldwright_booking.heat import Gains, Heat
from coldwright_booking.liquid import Liquid, antifreeze_block, decide
from coldwright_booking.loop_plan import LoopPlan, plan_loop
from coldwright_booking.machines import Choice, Combination, choose
from coldwright_booking.site_plan import SitePlan, plan_site
from coldwright_booking.supply_plan import SupplyPlan, plan_supply
from coldwright_booking.surge_plan import plan_surge
from coldwright_hydronic.antifreeze import AntifreezeGiven, AntifreezeResults
from coldwright_hydronic.fill import FillGiven, FillResults
from coldwright_hydronic.surge import SurgeGiven, SurgeResults
from coldwright_readiness.procedure import ProcedureGiven, ProcedureResults

MOST_ROUNDS = 8
STILL = 0.005
"""Move of the load, as a fraction, below which the plan agrees with itself."""
LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 2.0, 20.0
MOST_PLANS = 4
"""Combinations that are worked out in full before the first is shown with its stops."""


@dataclass
class Plan:
    """A plan, as far as it goes."""

    heat: Heat
    liquid: Liquid
    candidates: list[Candidate]
    left_out: list[LeftOut]
    choice: Choice | None
    rounds: int
    combination: Combination = ()
    standing: GaugePressure | None = None
    loop: LoopPlan | Unanswered | None = None
    fill: Asked[FillGiven, FillResults] | Unanswered | None = None
    surge: Asked[SurgeGiven, SurgeResults] | Unanswered | None = None
    antifreeze: Asked[AntifreezeGiven, AntifreezeResults] | None = None
    supply: SupplyPlan | Unanswered | None = None
    cable: CablePlan | None = None
    site: SitePlan | None = None
    arrival: Asked[ProcedureGiven, ProcedureResults] | Unanswered | None = None
    trouble: Unanswered | None = None
    """The load with the heat of this loop, where that is refused."""
    swings: tuple[str, ...] = ()
    """What each round came to, where they did not agree."""
    passed_over: list[tuple[Combination, str]] = field(default_factory=list)
    """Combinations before this one, and the stop that ruled each out."""

    @property
    def unanswered(self) -> list[Unanswered]:
        """Calculators that refuse what the plan asks."""
        return [u for u in self._parts() if isinstance(u, Unanswered)]

    @property
    def heard(self) -> list[Asked]:  # type: ignore[type-arg]
        """Answers that the plan is made of, in the order of the steps."""
        return [a for a in self._parts() if isinstance(a, Asked)]

    def _parts(self) -> list[object]:
        parts: list[object] = [self.heat.asked, self.trouble, self.antifreeze]
        parts += [p.candidate.asked for p in self.combination]
        parts.append(self.choice.asked if self.choice else None)
        if isinstance(self.supply, SupplyPlan):
            parts += [self.supply.service, self.supply.generator, self.supply.transformer]
        else:
            parts.append(self.supply)
        if self.cable:
            parts += [part for c in self.cable.machines for part in (c.asked, c.fault)]
        parts += [self.loop.asked if isinstance(self.loop, LoopPlan) else self.loop, self.fill, self.surge]
        if self.site:
            parts += [a for _, a in self.site.lifts] + [a for _, a in self.site.grounds]
            parts += [self.site.placement, self.site.sound, self.site.transport]
        parts.append(self.arrival)
        return parts

    def first_stop(self) -> str:
        """The first stop of any step; empty where there is none."""
        for asked in self.heard:
            for found in asked.notes.findings:
                if found.severity == "stop":
                    return f"{asked.calculator}: {found.statement}"
        return next((f"{u.calculator}: {u.reason}" for u in self.unanswered), "")


def draw(facts: Facts, desk: Desk) -> Plan:
    """The best combination that can be carried out; where none can, the best with what stands against it."""
    liquid = decide(facts, desk)
    first: Plan | None = None
    ruled_out: list[tuple[Combination, str]] = []
    for _ in range(MOST_PLANS):
        plan = _settle(facts, desk, liquid, [c for c, _ in ruled_out])
        if plan.combination:
            _complete(facts, desk, plan)
        stop = plan.first_stop()
        first = first or plan
        if not plan.combination or plan.swings:
            return first
        if not stop:
            plan.passed_over = ruled_out
            return plan
        ruled_out.append((plan.combination, stop))
    return first or plan


def _settle(facts: Facts, desk: Desk, liquid: Liquid, ruled_out: list[Combination]) -> Plan:
    """Rounds until the load moves less than `STILL`."""
    gains: Gains | None = None
    swings: list[str] = []
    standing = standing_pressure(facts, desk, liquid)
    units_out = [_units(c) for c in ruled_out]
    plan: Plan | None = None
    for number in range(1, MOST_ROUNDS + 1):
        heat = heat_step.work_out(facts, desk, liquid.fluid, gains) if gains else _first_heat(facts, desk, liquid)
        _hold_difference(facts, heat)
        candidates, left_out = capacities(facts, desk, liquid, heat.difference)
        choice = choose(facts, desk, candidates, heat, liquid)
        plan = Plan(heat, liquid, candidates, left_out, choice, number)
        combinations = [c for c in (choice.combinations if choice else ()) if _units(c) not in units_out]
        if not combinations:
            return plan
        plan.combination = combinations[0]
        if isinstance(standing, Unanswered):
            plan.fill = standing
            return plan
        plan.standing = standing
        plan.loop = plan_loop(facts, desk, liquid, heat, plan.combination, standing)
        if isinstance(plan.loop, Unanswered):
            return plan
        gains = plan.loop.gains()
        try:
            following = heat_step.work_out(facts, desk, liquid.fluid, gains)
        except Unanswered as refusal:
            plan.trouble = refusal
            return plan
        swings.append(f"{_names(plan.combination)} for {heat.design}")
        if abs(following.design.si - heat.design.si) < STILL * heat.design.si:
            return plan
    assert plan is not None  # noqa: S101 - there is at least one round
    plan.swings = tuple(swings)
    return plan


def _first_heat(facts: Facts, desk: Desk, liquid: Liquid) -> Heat:
    """The load of the order alone; what is refused of it is refused of the order."""
    try:
        return heat_step.work_out(facts, desk, liquid.fluid, None)
    except Unanswered as refusal:
        raise Refused(
            [replace(e, pointer=e.pointer.replace("#/loads", "#/duty/loads", 1)) for e in refusal.refused.errors]
        ) from None


def _units(combination: Combination) -> dict[str, int]:
    return {p.machine.type: p.count for p in combination}


def _names(combination: Combination) -> str:
    return " + ".join(f"{p.count} x {p.machine.type}" for p in combination)


def _hold_difference(facts: Facts, heat: Heat) -> None:
    """A flow that the order names must leave a difference that machines can work with."""
    kelvin = heat.difference.to("delta_degC")
    if LEAST_DIFFERENCE - 1e-9 <= kelvin <= GREATEST_DIFFERENCE + 1e-9:
        return
    flow = facts.order.duty.liquid_flow
    assert flow is not UNSET  # noqa: S101 - a difference that was given is within its range
    per_kelvin = flow.to("L/s") * kelvin
    raise refuse(
        "/duty/liquid_flow",
        f"The design load of {heat.design} makes a difference of {kelvin:.3g} K on this flow.",
        value=flow,
        allowed=Allowed(minimum=per_kelvin / GREATEST_DIFFERENCE, maximum=per_kelvin / LEAST_DIFFERENCE, unit="L/s"),
        why="machines work with 2 to 20 K between entering and leaving",
    )


def _complete(facts: Facts, desk: Desk, plan: Plan) -> None:
    """The steps that nothing before depends on."""
    choice, combination = plan.choice, plan.combination
    assert choice is not None  # noqa: S101 - a combination comes from it
    plan.supply = plan_supply(facts, desk, choice, combination)
    if isinstance(plan.supply, SupplyPlan):
        plan.cable = plan_cable(facts, desk, combination, plan.supply)
    plan.site = plan_site(facts, desk, combination)
    if not isinstance(plan.loop, LoopPlan) or plan.standing is None:
        return
    loop = plan.loop
    plan.fill = plan_fill(facts, desk, plan.liquid, plan.heat, combination, loop.hose, loop.runs, plan.standing)
    if facts.order.load_side.fast_valve_closing_time is not UNSET:
        plan.surge = plan_surge(facts, desk, plan.liquid, loop)
    if isinstance(plan.fill, Unanswered):
        return
    volume = with_buffer(plan.fill.results)
    plan.antifreeze = antifreeze_block(facts, plan.liquid, desk, volume)
    plan.arrival = plan_arrival(
        facts,
        desk,
        plan.liquid,
        plan.heat,
        combination,
        loop,
        plan.standing,
        volume,
        plan.antifreeze.results.concentrate_volume if plan.antifreeze else None,
    )


def with_buffer(filled: FillResults) -> Volume:
    """Liquid in the loop once the buffer that it lacks is added."""
    added = 0.0 if filled.buffer_volume is UNSET else filled.buffer_volume.to("L")
    return Volume.of(filled.total_volume.to("L") + added, "L")
