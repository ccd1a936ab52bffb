"""Checks of the calculators that this plan has settled already, or that nobody can settle before a crane is chosen.

A calculator that is asked alone cannot know them: the plan does, and does not repeat them.
"""

from collections.abc import Callable
from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright_booking.answer.entering_findings import returns_at
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.supply import SupplyPlan

MAIN_HOSES = ("supply hose", "return hose")
SMALL = 0.01
"""Share of the drop of the loop below which a doubt about it settles nothing."""


def _no_crane_yet(plan: Plan) -> bool:
    """One line for the crane company stands in their place."""
    return plan.facts.order.access.crane_chart_capacity is UNSET


def _set_is_sized(plan: Plan) -> bool:
    """The set was compared with the starts of pump, fans and compressors."""
    supply = plan.supply
    return isinstance(supply, SupplyPlan) and isinstance(supply.generator, Asked) and bool(supply.generator.given.loads)


def _bank_is_listed(plan: Plan) -> bool:
    """A load bank is on the pick list."""
    supply = plan.supply
    return isinstance(supply, SupplyPlan) and supply.set is not None and supply.set.load_bank is not None


def _drawn_with_its_mixture(plan: Plan) -> bool:
    """Capacity, flow and pressure drop are those of the mixture in the loop."""
    return plan.antifreeze is not None


def _pump_is_listed(plan: Plan) -> bool:
    """A booster pump for filling is on the pick list."""
    return plan.filling is not None and plan.filling.booster


def _is_small(plan: Plan) -> bool:
    """All that lies between headers and machines takes so little that 30 % of it is nothing beside the loop."""
    loop = plan.loop
    if not isinstance(loop, LoopPlan) or loop.asked.results.loop_pressure_drop is UNSET:
        return False
    drops = {e.name: e.pressure_drop.si for e in loop.asked.results.elements}
    main = [n for n in drops if n in MAIN_HOSES]
    doubtful = [f for f in loop.asked.notes.findings if f.code == "transition"]
    if any(name in f.statement for f in doubtful for name in main):
        return False
    return 0.3 * sum(d for n, d in drops.items() if "header" in n) < SMALL * loop.asked.results.loop_pressure_drop.si


def _turns_down(plan: Plan) -> bool:
    """The machines of the plan keep the rule of the least load, or the plan says itself that they do not."""
    return bool(plan.combination)


def _valves_are_listed(plan: Plan) -> bool:
    """A balancing valve for each machine is on the pick list, and the plan itself asks the technician to set it."""
    return isinstance(plan.loop, LoopPlan) and plan.loop.mixed


def _in_the_removal(plan: Plan) -> bool:
    """The stop in frost is in the plan, with what must stay on."""
    return plan.removal is not None


def _return_is_known(plan: Plan) -> bool:
    """What comes back at the flow of this loop is compared with the machine; the order's difference is not what it gets."""
    return returns_at(plan) is not None


SETTLED: dict[tuple[str, str], Callable[[Plan], bool]] = {
    ("site.lift", "no_chart"): _no_crane_yet,
    ("site.lift", "hook_block_not_given"): _no_crane_yet,
    ("refrigeration.selection", "turndown_costs"): _turns_down,
    ("refrigeration.selection", "mixed_sizes_in_parallel"): _valves_are_listed,
    ("readiness.procedure", "generator_starting_current"): _set_is_sized,
    ("electrical.generator", "load_near_minimum"): _bank_is_listed,
    ("readiness.shutdown", "keep_power_on"): _in_the_removal,
    ("hydronic.drain_down", "residual_large"): _in_the_removal,
    ("hydronic.loop", "transition"): _is_small,
    ("hydronic.fill", "feed_pump_needed"): _pump_is_listed,
    ("hydronic.antifreeze", "rerate_capacity_and_pump"): _drawn_with_its_mixture,
    ("refrigeration.capacity", "entering_above_maximum"): _return_is_known,
}


def unsettled(asked: Asked[Any, Any], plan: Plan) -> Notes:
    """What the calculator said, without checks that are settled."""
    kept = [f for f in asked.notes.findings if f.severity != "check" or not _is_settled(asked.calculator, f.code, plan)]
    if len(kept) == len(asked.notes.findings):
        return asked.notes
    notes = Notes({})
    notes.caution(*asked.notes.cautions)
    notes.findings, notes.assumptions, notes.working = kept, asked.notes.assumptions, asked.notes.working
    return notes


def _is_settled(calculator: str, code: str, plan: Plan) -> bool:
    settles = SETTLED.get((calculator, code))
    return settles is not None and settles(plan)
