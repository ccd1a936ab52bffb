"""Step 7: steps 1 to 6 again until the load stands still; another combination where the first cannot be carried out."""

import dataclasses

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Allowed, Refused, refuse
from coldwright.contract.quantities import Volume
from coldwright_booking import heat as heat_step
from coldwright_booking.arrival_plan import plan_arrival
from coldwright_booking.cable_plan import plan_cable
from coldwright_booking.capacities import capacities
from coldwright_booking.desk import Desk, Unanswered
from coldwright_booking.facts import Facts
from coldwright_booking.fill_plan import plan_fill, standing_pressure
from coldwright_booking.heat import Heat
from coldwright_booking.liquid import Liquid, antifreeze_block, decide
from coldwright_booking.loop_plan import LoopPlan, plan_loop
from coldwright_booking.machines import Combination, choose
from coldwright_booking.pick_list import shortage
from coldwright_booking.plan import Plan
from coldwright_booking.site_plan import plan_site
from coldwright_booking.supply_plan import SupplyPlan, plan_supply
from coldwright_booking.surge_plan import plan_surge
from coldwright_hydronic.fill import FillResults

MOST_ROUNDS = 8
STILL = 0.005
"""Move of the load, as a fraction, below which the plan agrees with itself."""
LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 2.0, 20.0
MOST_PLANS = 5
"""Combinations that are worked out in full before the first is shown with its stops."""


MOST_TYPES = 4
"""Types that are left out one by one where no combination can be carried out."""
WHATEVER_MACHINES = ("hydronic.surge", "hydronic.antifreeze", "refrigeration.load")
"""Calculators whose stops no other machine frees."""


def draw(facts: Facts, desk: Desk) -> Plan:
    """The best combination that can be carried out; where none can, the best with what stands against it.

    First the combinations of the selection in their order; then again without each type that stood among those that
    failed, so that a type more in the fleet never hides what would do without it.
    """
    liquid = decide(facts, desk)
    base = _first_heat(facts, desk, liquid)
    first, found = _try_in_order(facts, desk, liquid, base)
    if found or not first.passed_over or not _machines_could_help(first):
        return first
    types = dict.fromkeys(p.machine.type for c, _ in first.passed_over for p in c)
    for name in list(types)[:MOST_TYPES]:
        fewer = [m for m in facts.fleet.machines if m.type != name]
        if not fewer:
            break
        without = dataclasses.replace(facts, left_aside=(*facts.left_aside, name))
        plan, found = _try_in_order(without, desk, liquid, base)
        if found:
            plan.passed_over = [*first.passed_over, *plan.passed_over]
            return plan
    return first


def _try_in_order(facts: Facts, desk: Desk, liquid: Liquid, base: Heat) -> tuple[Plan, bool]:
    """The first combination without a stop, and whether there is one; else the first of all, with those tried."""
    first: Plan | None = None
    tried: list[tuple[Combination, str]] = []
    for _ in range(MOST_PLANS):
        plan = _settle(facts, desk, liquid, base, [c for c, _ in tried])
        if plan.combination:
            _complete(facts, desk, plan)
        stop = plan.first_stop() or shortage(facts, plan)
        first = first or plan
        if not plan.combination or plan.swings:
            break
        if not stop:
            plan.passed_over = tried
            return plan, True
        tried.append((plan.combination, stop))
        if not _machines_could_help(plan):
            break
    assert first is not None  # noqa: S101 - at least one plan was drawn
    first.passed_over = tried
    return first, False


def _machines_could_help(plan: Plan) -> bool:
    """Whether other machines could free every stop of the plan."""
    return not any(
        asked.calculator in WHATEVER_MACHINES and any(f.severity == "stop" for f in asked.notes.findings)
        for asked in plan.heard
    )


def _settle(facts: Facts, desk: Desk, liquid: Liquid, base: Heat, ruled_out: list[Combination]) -> Plan:
    """Rounds until the load moves less than `STILL`."""
    heat = base
    swings: list[str] = []
    standing = standing_pressure(facts, desk, liquid)
    units_out = [_units(c) for c in ruled_out]
    plan: Plan | None = None
    for number in range(1, MOST_ROUNDS + 1):
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
        try:
            following = heat_step.with_gains(facts, desk, liquid.fluid, base, plan.loop.gains())
        except Unanswered as refusal:
            plan.trouble = refusal
            return plan
        swings.append(f"{_names(plan.combination)} for {heat.design}")
        if abs(following.design.si - heat.design.si) < STILL * heat.design.si:
            return plan
        heat = following
    assert plan is not None  # noqa: S101 - there is at least one round
    plan.swings = tuple(swings)
    return plan


def _first_heat(facts: Facts, desk: Desk, liquid: Liquid) -> Heat:
    """The load of the order alone; what is refused of it is refused of the order."""
    try:
        base = heat_step.base(facts, desk, liquid.fluid)
    except Unanswered as refusal:
        raise Refused(
            [replace(e, pointer=e.pointer.replace("#/loads", "#/duty/loads", 1)) for e in refusal.refused.errors]
        ) from None
    _hold_difference(facts, base)
    return base


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
