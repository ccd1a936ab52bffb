"""Liquid that comes to a machine warmer than it takes: before the first start, and for as long as it runs."""

from msgspec import UNSET

from coldwright.contract import Notes, joined, say
from coldwright.contract.quantities import Temperature
from coldwright.contract.sentences import Sentence
from coldwright_basis.compare import above
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.plan import Plan

WHY = "Warm liquid overloads the compressors and lifts the suction pressure beyond its limit."


def report_entering(facts: Facts, plan: Plan, notes: Notes) -> None:
    """All machines that say how warm their liquid may enter, in one check each: one bypass serves them all."""
    warm, comes = Temperature.from_si(facts.warmest_still, "degC"), returns_at(plan)
    if limits := _below(plan, warm):
        notes.check(
            "loop_above_entering",
            say(
                "The loop stands at {warm} before the first start, and {limits}.",
                warm=warm,
                limits=joined([_limit(*entry) for entry in limits], ", "),
            ),
            why=WHY,
            do="Lay a mixing bypass from supply to return, with a hose and a valve of its own and not the pump's bypass; "
            "open it until what enters is below the limit; throttle the flow, never below the evaporator's "
            "least; start the compressors one stage at a time, the load side last.",
            cleared_by="the technician at the machine",
            field="/site/design_ambient_temperature",
        )
    if comes is not None and (limits := _below(plan, comes)):
        notes.check(
            "return_above_entering",
            say(
                "In service the liquid comes back at {comes}, and {limits}.",
                comes=comes,
                limits=joined([_limit(*entry) for entry in limits], ", "),
            ),
            why=f"{WHY} It is so for as long as the load is on, and not at the start alone.",
            do=_mixing(plan, limits[0][0]),
            cleared_by="the planner of the loop",
            field="/duty/temperature_difference",
        )


Limit = tuple[Temperature, list[str]]
"""Of liquid that enters, and the types that have it."""


def _below(plan: Plan, warm: Temperature) -> list[Limit]:
    """Limits that the liquid passes, the lowest first."""
    types: dict[float, Limit] = {}
    for machine in (p.machine for p in plan.combination):
        most = machine.envelope.entering_maximum
        if most is not UNSET and above(warm.si, most.si):
            types.setdefault(most.si, (most, []))[1].append(machine.type)
    return [types[most] for most in sorted(types)]


def _limit(most: Temperature, types: list[str]) -> Sentence:
    *others, last = types
    names = f"{', '.join(others)} and {last} take" if others else f"{last} takes"
    return say("{names} liquid up to {most}", names=names, most=most)


def returns_at(plan: Plan) -> Temperature | None:
    """Liquid that comes back under the whole load; None where no loop is known."""
    flow = plan.loop.asked.results.duty_flow if isinstance(plan.loop, LoopPlan) else UNSET
    if flow is UNSET or flow.si <= 0:
        return None
    return Temperature.from_si(plan.load.leaving.si + plan.load.over(flow).si, "degC")


def _mixing(plan: Plan, most: Temperature) -> Sentence:
    """The flow at which the same load warms the liquid no further than that, where the evaporators take so much."""
    kelvins = most.si - plan.load.leaving.si
    other = say("Take machines that take warmer liquid, or agree on a smaller difference of temperature.")
    if kelvins <= 0:
        return other
    needed = plan.load.flow_for(kelvins)
    if above(needed.si, sum(p.count * p.machine.evaporator.flow_maximum.si for p in plan.combination)):
        return other
    return say(
        "Move {needed} or more through the machines: what the load does not take of it goes from supply to return by a "
        "bypass with a valve of its own. Or take machines that take warmer liquid.",
        needed=needed,
    )
