"""What the plan takes from common practice, beside what the order leaves open."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import Mass
from coldwright_booking.cable_plan import SOURCE_ANGLE
from coldwright_booking.desk import Asked
from coldwright_booking.facts import Facts
from coldwright_booking.fill_plan import LOAD_SIDE_PER_KW
from coldwright_booking.heat import HOSE_WALL_RATIO, SUMMER_SUN, USUAL_DIFFERENCE
from coldwright_booking.loop_plan import LoopPlan
from coldwright_booking.machines import LONGEST_LIST
from coldwright_booking.plan import Plan
from coldwright_booking.references import PRACTICE
from coldwright_booking.results import PlanPickLine
from coldwright_booking.surge_plan import HOSE_WAVE_SPEED

NAMED = 8
"""Items without a told mass, told by name."""


def assume(facts: Facts, plan: Plan, notes: Notes, lines: tuple[PlanPickLine, ...]) -> None:
    """List them."""

    def practice(code: str, statement: str, value: object) -> None:
        notes.assume(code, statement, value=value, basis="common_practice", references=(PRACTICE.id,))

    duty = facts.order.duty
    if duty.temperature_difference is UNSET and duty.liquid_flow is UNSET:
        practice("usual_difference", "Liquid enters the machines 10 degF warmer than it leaves.", USUAL_DIFFERENCE)
    if not plan.combination:
        return
    limit = plan.choice.ground_limit if plan.choice else UNSET
    if limit is not UNSET:
        notes.assume(
            "ground_held_to",
            f"No order limits the ground. The selection was held to {limit} so that its list of {LONGEST_LIST} reaches "
            "the combination that takes the least; combinations of more ground are not among the alternatives.",
            value=limit,
            basis="derived",
        )
    if isinstance(plan.loop, LoopPlan):
        practice("hose_wall", "Outside over inside diameter of the hose.", HOSE_WALL_RATIO)
        if not facts.indoors:
            practice("sun_on_hose", "The sun shines on the hose.", SUMMER_SUN)
    if plan.standing is not None:
        practice("fill_pressure", "Pressure at the machine, pump off: 40 psi, or what the top asks for.", plan.standing)
    if facts.order.load_side.volume is UNSET:
        practice("load_side_volume", "Litres in the load side for each kW.", LOAD_SIDE_PER_KW)
    if facts.order.supply.fault_current is not UNSET and facts.order.supply.source == "site":
        practice("source_angle", "X/R of the site's supply.", SOURCE_ANGLE)
    if plan.surge is not None:
        practice("hose_wave_speed", "Wave speed in the hose, on the stiff side.", HOSE_WAVE_SPEED)
    practice("device_before_cable", "The device before each cable is the greatest that the plate allows.", "plate")
    practice("all_share_the_load", "All machines run side by side, those for redundancy too.", "all")
    practice(
        "starts_one_by_one", "On a generating set pumps start first, then fans, then compressors singly.", "singly"
    )
    units = sum(p.count for p in plan.combination)
    if units > 1 and isinstance(plan.arrival, Asked):
        practice(
            "machines_set_up_in_turn",
            f"One crew places the {units} machines, lays and connects them one after the other, each in the time "
            "of one; every other step is that of one machine, or passes for all at once.",
            units,
        )
    if plan.site is not None and isinstance(plan.site.transport, Asked):
        _not_on_the_lorries(facts, notes, lines)


def _not_on_the_lorries(facts: Facts, notes: Notes, lines: tuple[PlanPickLine, ...]) -> None:
    """`site.transport` is asked for the machines: the stock tells no sizes of anything else."""
    each = {a.item: a.mass for a in facts.fleet.accessories if a.mass is not UNSET}
    others = [line for line in lines if line.kind != "machine"]
    if not others:
        return
    told = Mass.of(sum(each[line.item].to("kg") * line.count for line in others if line.item in each), "kg")
    untold = list(dict.fromkeys(line.item for line in others if line.item not in each))
    named = ", ".join(untold[:NAMED]) + (f" and {len(untold) - NAMED} more" if len(untold) > NAMED else "")
    rest = f"; no mass is told of {named}" if untold else ""
    kinds = ", ".join(dict.fromkeys(line.kind.replace("_", " ") for line in others if line.kind != "other"))
    notes.assume(
        "lorries_carry_machines_only",
        f"`transport` counts the machines only, not {kinds or 'the rest'} of the pick list. "
        f"Of these {told} is told{rest}.",
        value=told,
        basis="derived",
    )
