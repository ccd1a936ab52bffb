"""The plan that costs least in all, among combinations of the same types: hire, transport, crew, fuel and power."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import msgspec

from coldwright.contract.sentences import Words
from coldwright_booking.plan.cost import Cost, CostBlock, least_cost_of
from coldwright_booking.plan.machines import LONGEST_LIST, Combination
from coldwright_booking.plan.plan import Plan

MOST_COMPARED = 10
"""Plans that are worked out in full."""
Draw = Callable[[tuple[Combination, ...]], Plan]


def least_in_all(first: Plan, draw: Draw, ruled_out: tuple[Combination, ...]) -> Plan:
    """The cheapest plan; `draw` works out the best that is not ruled out.

    Of every combination that the selection lists it is known what it costs at least: the hire of its machines, and their
    energy for the load without gains. By that they are worked out, the least first, until no other can cost less than the
    best. The selection lists by rising hire: where its list is full, nothing beyond it may be cheaper than its last. Where a
    type has no price it does not, and nothing is proved.
    Only plans that lack the same prices are compared.
    """
    choice = first.machines.choice
    if choice is None or first.cost is None or first.cost.total is None or first.cost.machines is None:
        return first
    out = [c.counts for c in ruled_out] + [r.counts for r in first.facts.order.ruled_out]
    listed = [c for c in choice.combinations if c.counts not in out]
    bounds = {str(c): least_cost_of(first.facts, c, first.load.net) for c in listed}
    plans, drawn, proved = [first], 1, choice.by_cost  # else the list says nothing of what is not on it
    for combination in sorted(listed, key=lambda c: bounds[str(c)]):
        if bounds[str(combination)] >= _total(_best(plans)):
            break
        if combination.counts == first.combination.counts:
            continue
        if drawn == MOST_COMPARED:
            proved = False
            break
        plan, drawn = draw((*ruled_out, *(c for c in listed if c.counts != combination.counts))), drawn + 1
        if plan.combination.counts == combination.counts and not plan.obstacle and _alike(plan, first):
            plans.append(plan)
    best = _best(plans)
    if len(choice.combinations) > LONGEST_LIST:
        proved = proved and least_cost_of(first.facts, choice.combinations[-1], 0.0) >= _total(best)
    return replace(best, cost=_compared(best, len(plans), proved=proved), dearer=_dearer(plans, best))


def _total(plan: Plan) -> Decimal:
    total = None if plan.cost is None else plan.cost.total
    return Decimal("Infinity") if total is None else total


def _best(plans: list[Plan]) -> Plan:
    """The first of the cheapest."""
    return min(plans, key=_total)


def _block(plan: Plan) -> CostBlock:
    assert plan.cost is not None  # noqa: S101 - only plans with a price are compared
    assert plan.cost.block is not None  # noqa: S101
    return plan.cost.block


def _alike(plan: Plan, first: Plan) -> bool:
    """Whether the same kinds of cost have their prices: a plan of which something is not priced only looks cheap."""
    if plan.cost is None or plan.cost.block is None:
        return False
    return _lacking(plan) <= _lacking(first)


def _lacking(plan: Plan) -> set[tuple[str, str]]:
    return {(lack.kind, "" if lack.kind == "hire" else lack.item) for lack in _block(plan).not_priced}


def _compared(plan: Plan, compared: int, *, proved: bool) -> Cost:
    cost = plan.cost
    assert cost is not None  # noqa: S101 - only plans with a price are compared
    return cost._replace(block=msgspec.structs.replace(_block(plan), plans_compared=compared, least_proved=proved))


def _dearer(plans: list[Plan], best: Plan) -> tuple[tuple[Combination, Words], ...]:
    own = _block(best)
    return tuple(
        (
            plan.combination,
            f"It costs {own.currency} {_block(plan).total} in all, this plan {own.currency} {own.total}.",
        )
        for plan in plans
        if plan is not best
    )
