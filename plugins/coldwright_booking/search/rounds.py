"""One combination in full: rounds until its load stands still, then the blocks that hang on it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from coldwright.contract import say
from coldwright.contract.quantities import GaugePressure
from coldwright_booking.plan.block import walk
from coldwright_booking.plan.desk import Desk, Unanswered
from coldwright_booking.plan.fill import FILL
from coldwright_booking.plan.layout import LAYOUT
from coldwright_booking.plan.load import with_gains
from coldwright_booking.plan.loop import LOOP, LoopPlan
from coldwright_booking.plan.machines import MACHINES
from coldwright_booking.plan.picking import PICKING
from coldwright_booking.plan.plan import REST, ROUND, Plan

MOST_ROUNDS = 8
STILL = 0.005
"""Move of the load, as a fraction, below which the plan agrees with itself."""
PLACES = REST.index(LAYOUT)
NOTHING = dict.fromkeys((*(b.name for b in ROUND), *(b.name for b in REST)))


def draw(first: Mapping[str, Any], desk: Desk) -> Plan:
    """The plan with the best combination that is not ruled out; without a combination where none is left.

    `first` holds the facts, what no choice of machines moves, and the combinations that are ruled out. Places are looked for
    where nothing stops the plan before: that takes the longest. `with_places` makes up for it.
    """
    settled = _settle(first, desk)
    if not settled["machines"].combination:
        return _plan(walk((FILL, PICKING), NOTHING | settled | {"standing": None}, desk))
    decided = walk(REST[:PLACES], settled, desk)
    if _plan(NOTHING | decided).first_stop:
        return _plan(walk(REST[PLACES + 1 :], decided | {LAYOUT.name: None}, desk))
    return _plan(walk(REST[PLACES:], decided, desk))


def with_places(plan: Plan, desk: Desk) -> Plan:
    """The same with the places of its machines, where they were not looked for."""
    if plan.layout is not None or not plan.combination:
        return plan
    known = {"facts": plan.facts, "machines": plan.machines, "supply": plan.supply}
    return replace(plan, layout=walk((LAYOUT,), known, desk)[LAYOUT.name])


def _plan(decided: Mapping[str, Any]) -> Plan:
    values = {name: value for name, value in decided.items() if name not in ("standing", "ruled_out", "vessels")}
    standing = decided["standing"]
    return Plan(**values, standing=standing if isinstance(standing, GaugePressure) else None)


def _round(known: Mapping[str, Any], before: Mapping[str, Any], desk: Desk) -> dict[str, Any]:
    """One round. Gains move no flow: the same machines and vessels as in the round before have the same loop."""
    decided = walk((MACHINES,), known, desk)
    again = before and (before["machines"].combination, before["vessels"])
    if again == (decided["machines"].combination, decided["vessels"]):
        decided["loop"] = before["loop"]
    else:
        decided = walk((LOOP,), decided, desk)
    return walk((FILL,), decided, desk)


def _settle(first: Mapping[str, Any], desk: Desk) -> dict[str, Any]:
    """Rounds until the load moves less than `STILL`, counts the gains of the loop that stands beside it, and the buffer
    vessels in the loop are those that it needs. Where machines swing to and fro over so small a move, the first that
    stood still.
    """
    facts, liquid, alone = first["facts"], first["liquid"], first["load"]
    heat, vessels, swings = alone, 0, []
    decided: dict[str, Any] = {}
    counted: LoopPlan | None = None
    stood: dict[str, Any] = {}
    for number in range(1, MOST_ROUNDS + 1):
        decided = _round({**first, "load": heat, "vessels": vessels}, decided, desk) | {"rounds": number}
        loop = decided["loop"]
        combination = decided["machines"].combination
        if not combination or not isinstance(loop, LoopPlan):
            return decided
        try:
            following = with_gains(facts, desk, liquid.fluid, alone, loop.gains())
        except Unanswered as refusal:
            return decided | {"trouble": refusal}
        swings.append(say("{machines} for {load:us=ton}", machines=str(combination), load=heat.design))
        still = abs(following.design.si - heat.design.si) < STILL * heat.design.si
        if still and decided["fill"].vessels == vessels:
            if loop is counted:
                return decided
            stood = stood or decided
        heat, vessels, counted = following, decided["fill"].vessels, loop
    return stood or decided | {"swings": tuple(swings)}
