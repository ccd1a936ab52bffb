"""Liquid that comes to a machine warmer than it takes: before the first start, and for as long as it runs."""

from collections.abc import Iterator

from msgspec import UNSET

from coldwright.contract import Notes, joined, say
from coldwright.contract.quantities import Temperature
from coldwright.contract.sentences import Sentence, Words
from coldwright_basis.compare import above
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Picked
from coldwright_booking.plan.plan import Plan

WHY = "Warm liquid overloads the compressors and lifts the suction pressure beyond its limit."


def report_entering(facts: Facts, plan: Plan, notes: Notes) -> None:
    """Each machine that says how warm its liquid may enter."""
    limited = [(p, most) for p in plan.combination if (most := p.machine.envelope.entering_maximum) is not UNSET]
    warm = Temperature.from_si(facts.warmest_still, "degC")
    too_warm: dict[Temperature, list[str]] = {}
    for picked, most in limited:
        if above(warm.si, most.si):
            too_warm.setdefault(most, []).append(picked.machine.type)
    if too_warm:
        notes.check(
            "loop_above_entering",
            say("The loop stands at {warm} before the first start, and {take}.", warm=warm, take=_taken(too_warm)),
            why=WHY,
            do="Lay a mixing bypass from supply to return, with a hose and a valve of its own and not the pump's bypass; "
            "open it until what enters is below the limit; throttle the flow, never below the evaporator's "
            "least; start the compressors one stage at a time, the load side last.",
            cleared_by="the technician at the machine",
            field="/site/design_ambient_temperature",
        )
    for picked, most, comes in _in_service(plan, limited):
        notes.check(
            "return_above_entering",
            say(
                "In service the liquid comes back at {comes}, and {machine} takes it up to {most}.",
                comes=comes,
                machine=picked.machine.type,
                most=most,
            ),
            why=f"{WHY} It is so for as long as the load is on, and not at the start alone.",
            do=_mixing(plan, most),
            cleared_by="the planner of the loop",
            field="/duty/temperature_difference",
        )


def _taken(limits: dict[Temperature, list[str]]) -> Words:
    return joined(
        [
            say(
                "{machines} {take} liquid up to {most}",
                machines=" and ".join(part for part in (", ".join(types[:-1]), types[-1]) if part),
                take="takes" if len(types) == 1 else "take",
                most=most,
            )
            for most, types in limits.items()
        ],
        ", ",
    )


def returns_at(plan: Plan) -> Temperature | None:
    """Liquid that comes back under the whole load; None where no loop is known."""
    flow = plan.loop.asked.results.duty_flow if isinstance(plan.loop, LoopPlan) else UNSET
    if flow is UNSET or flow.si <= 0:
        return None
    return Temperature.from_si(plan.load.leaving.si + plan.load.over(flow).si, "degC")


def _in_service(
    plan: Plan, limited: list[tuple[Picked, Temperature]]
) -> Iterator[tuple[Picked, Temperature, Temperature]]:
    comes = returns_at(plan)
    if comes is not None:
        yield from ((picked, most, comes) for picked, most in limited if above(comes.si, most.si))


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
