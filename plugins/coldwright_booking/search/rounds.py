"""Step 7: steps 1 to 6 again until the load stands still, then the steps that hang on the outcome."""

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Allowed, Refused, refuse
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan import load as heat_step
from coldwright_booking.plan.arrival import plan_arrival
from coldwright_booking.plan.cable import plan_cable
from coldwright_booking.plan.capacities import capacities
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import plan_fill, standing_pressure, with_buffer
from coldwright_booking.plan.liquid import Liquid, antifreeze_block
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan, plan_loop
from coldwright_booking.plan.machines import Combination, choose, units_of
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.site import plan_site
from coldwright_booking.plan.supply import SupplyPlan, plan_supply
from coldwright_booking.plan.surge import plan_surge

MOST_ROUNDS = 8
STILL = 0.005
"""Move of the load, as a fraction, below which the plan agrees with itself."""
LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 2.0, 20.0


def draw(facts: Facts, desk: Desk, liquid: Liquid, base: Heat, ruled_out: list[Combination]) -> Plan:
    """The plan with the best combination that is not ruled out; without a combination where none is left."""
    plan = _settle(facts, desk, liquid, base, ruled_out)
    if plan.combination:
        _complete(facts, desk, plan)
    return plan


def _settle(facts: Facts, desk: Desk, liquid: Liquid, base: Heat, ruled_out: list[Combination]) -> Plan:
    """Rounds until the load moves less than `STILL`."""
    heat = base
    swings: list[str] = []
    standing = standing_pressure(facts, desk, liquid)
    units_out = [units_of(c) for c in ruled_out]
    plan: Plan | None = None
    for number in range(1, MOST_ROUNDS + 1):
        candidates, left_out = capacities(facts, desk, liquid, heat.difference)
        choice = choose(facts, desk, candidates, heat, liquid)
        plan = Plan(heat, liquid, candidates, left_out, choice, number)
        combinations = [c for c in (choice.combinations if choice else ()) if units_of(c) not in units_out]
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


def first_heat(facts: Facts, desk: Desk, liquid: Liquid) -> Heat:
    """The load of the order alone; what is refused of it is refused of the order."""
    try:
        base = heat_step.base(facts, desk, liquid.fluid)
    except Unanswered as refusal:
        raise Refused(
            [replace(e, pointer=e.pointer.replace("#/loads", "#/duty/loads", 1)) for e in refusal.refused.errors]
        ) from None
    _hold_difference(facts, base)
    return base


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
    plan.site = plan_site(facts, desk, combination, plan.supply)
    if not isinstance(plan.loop, LoopPlan) or plan.standing is None:
        return
    loop = plan.loop
    plan.fill = plan_fill(facts, desk, plan.liquid, plan.heat, combination, loop.hose, loop.runs, plan.standing)
    if facts.order.load_side.fast_valve_closing_time is not UNSET:
        plan.surge = plan_surge(facts, desk, plan.liquid, loop)
    if isinstance(plan.fill, Asked):
        plan.fill, plan.buffers = with_buffer(facts, desk, plan.fill)
    if isinstance(plan.fill, Unanswered):
        return
    volume = plan.fill.results.total_volume
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
