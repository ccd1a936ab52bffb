"""What to load, each line compared with the stock."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import say, spoken
from coldwright.contract.people import count_of
from coldwright.contract.quantities import Length, Mass
from coldwright_basis.compare import whole_at_least
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import in_words_of
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.energy import Energy
from coldwright_booking.plan.fill import Charge, Fill
from coldwright_booking.plan.filling import Filling
from coldwright_booking.plan.joints import Joints
from coldwright_booking.plan.lifting import Lifting
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Machines
from coldwright_booking.plan.pick_list import PickList, PlanPickLine
from coldwright_booking.plan.picking_filling import pick_liquid, pick_totes
from coldwright_booking.plan.picking_pipework import pick_hose
from coldwright_booking.plan.picking_power import pick_power
from coldwright_booking.plan.removal import Removal
from coldwright_booking.plan.sizes import travelling_mass
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.words import both
from coldwright_site.ground.results import GroundResults

MAT_STEP = 0.1
"""m in which sides of mats are listed here (common practice)."""
SLING_STEP = 0.5
"""t in which rated loads of slings are listed here (common practice)."""


class Picking(NamedTuple):
    """The pick list, and what it comes to."""

    lines: tuple[PlanPickLine, ...]
    missing: tuple[str, ...]
    """Items that the fleet document names and of which the stock has too few."""
    mass: Mass
    """Of machines, and of the items that give theirs."""


class PickingNeeds(NamedTuple):
    """What the pick list takes of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    machines: Machines
    loop: LoopPlan | Unanswered | None
    supply: SupplyPlan | Unanswered | None
    cable: CablePlan | None
    joints: Joints | None
    fill: Fill
    antifreeze: Charge | None
    filling: Filling | None
    lifting: Lifting | None
    removal: Removal | None
    energy: Energy | None


def decide(needs: PickingNeeds, _: Desk) -> Picking:
    """All lines."""
    made = PickList(needs.facts)
    machines = [
        PlanPickLine(
            item=p.machine.type,
            kind="machine",
            count=p.count,
            calculator="refrigeration.selection",
            stock_short=False,
            from_stock=True,
            **spoken(reason=say("They carry {load:us=ton}.", load=needs.load.design)),
        )
        for p in needs.machines.combination
    ]
    if isinstance(needs.loop, LoopPlan) and needs.joints is not None:
        pick_hose(made, needs.facts, needs.machines.combination, needs.loop, needs.joints)
    if isinstance(needs.supply, SupplyPlan):
        pick_power(made, needs.facts, needs.supply, needs.cable, needs.energy)
    pick_liquid(made, needs.facts, needs.liquid, needs.fill, needs.antifreeze, needs.filling)
    if needs.removal is not None:
        pick_totes(made, needs.removal.totes)
    _mats(made, needs)
    _slings(made, needs.lifting)
    if needs.machines.combination:
        _kits(made, needs.facts.order.practice)
    lines = (*machines, *made.lines)
    return Picking(lines, tuple(_missing(lines)), _mass(needs, lines))


PICKING = Block("picking", PickingNeeds, (), decide)


def _missing(lines: tuple[PlanPickLine, ...]) -> list[str]:
    return [f"{line.item} ({line.short_by} of {line.count})" for line in lines if line.stock_short and line.from_stock]


def _mass(needs: PickingNeeds, lines: tuple[PlanPickLine, ...]) -> Mass:
    each = {a.item: a.mass.si for a in needs.facts.fleet.accessories if a.mass is not UNSET}
    machines = sum(travelling_mass(p.machine.body).si * p.count for p in needs.machines.combination)
    return Mass.of(
        machines + sum(each.get(line.item, 0.0) * line.count for line in lines if line.kind != "machine"), "kg"
    )


def _slings(made: PickList, lifting: Lifting | None) -> None:
    """For the heaviest pull of any machine that hangs from a hook; none where its points are not given."""
    lifts = [a.results for _, a in (lifting.lifts if lifting else ()) if isinstance(a, Asked) and a.results.legs]
    pulls = [r.required_leg_rated_load for r in lifts if r.required_leg_rated_load is not UNSET]
    if not pulls:
        return
    legs, pull = max(len(r.legs) for r in lifts), max(pulls, key=lambda m: m.si)
    each = Mass(SLING_STEP * whole_at_least(pull.to("t") / SLING_STEP), "t")
    item = f"sling set, {count_of(legs, 'leg')} of {both(each)} each, with shackles"
    reason = say("The hardest pull on one leg, at 60 degrees, is that of {pull}.", pull=pull)
    made.gear("sling set", item, 1, reason, "site.lift", "lifting the machines")


def _kits(made: PickList, practice: Practice) -> None:
    """What people work with (common practice)."""
    text = "{spanners} and coupling keys, two gauges, thermometer, level, {torch}, tape, tie wraps, cones."
    reason = in_words_of(practice, text).capitalize()
    made.gear("tool kit", "tool kit of the crew", 1, reason, "readiness.procedure", "crew")
    text = "Tester with its proving unit, phase indicator, insulation and {earth} testers, locks and tags, cones."
    reason = in_words_of(practice, text)
    made.gear("electrician", "electrician's kit", 1, reason, "readiness.procedure", "leads and lock-out")


def mat_side(results: GroundResults) -> Length:
    """Of a mat that is hired elsewhere: the least that the ground asks for, rounded up; one step where it asks for none."""
    side = results.required_square_side
    steps = 1 if side is UNSET else whole_at_least(side.to("m") / MAT_STEP)
    return Length(MAT_STEP * steps, "m")


def _mats(made: PickList, needs: PickingNeeds) -> None:
    outriggers = needs.lifting.outriggers if needs.lifting else None
    if outriggers is None or not isinstance(outriggers.asked, Asked):
        return
    results = outriggers.asked.results
    item = outriggers.row.item if outriggers.row else f"mat, {both(mat_side(results))} square or more"
    reason = say(
        "Below the crane's outriggers: {force} on one, which takes {area} of ground.",
        force=results.quick_reaction,
        area=results.required_area,
    )
    made.add(item, "mat", outriggers.mats, reason, "site.ground")
