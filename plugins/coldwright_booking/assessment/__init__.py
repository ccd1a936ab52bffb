"""The main job in one call: from an order to a plan."""

from typing import Any

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Ask, Calculator, Load, Notes, calculator, tidy
from coldwright_booking.answer import blocks
from coldwright_booking.answer.assumptions import assume
from coldwright_booking.answer.cautions import CAUTIONS
from coldwright_booking.answer.findings import FINDINGS, heard, tell
from coldwright_booking.answer.limits import nearest
from coldwright_booking.answer.questions import ask_about
from coldwright_booking.answer.references import PRACTICE
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.assessment.examples import EXAMPLES
from coldwright_booking.order.facts import facts_of
from coldwright_booking.order.given import Order
from coldwright_booking.order.metric import in_metric
from coldwright_booking.order.questions import Questions
from coldwright_booking.order.rules import fleet_of
from coldwright_booking.plan.desk import Asked, Desk
from coldwright_booking.plan.machines import total_capacity
from coldwright_booking.plan.picking import pick_list
from coldwright_booking.plan.plan import Plan
from coldwright_booking.search.combinations import find
from coldwright_electrical.fault_current import fault_current
from coldwright_electrical.feeder import feeder
from coldwright_electrical.generator import generator
from coldwright_electrical.service import service
from coldwright_electrical.transformer import transformer
from coldwright_hydronic.antifreeze import antifreeze
from coldwright_hydronic.fill import fill
from coldwright_hydronic.loop import loop
from coldwright_hydronic.surge import surge
from coldwright_readiness.procedure import procedure
from coldwright_refrigeration.capacity import capacity
from coldwright_refrigeration.load import load
from coldwright_refrigeration.selection import selection
from coldwright_site.ground import ground
from coldwright_site.lift import lift
from coldwright_site.placement import placement
from coldwright_site.sound import sound
from coldwright_site.transport import transport

ASKED: tuple[Calculator[Any, Any], ...] = (
    load,
    capacity,
    selection,
    antifreeze,
    loop,
    fill,
    surge,
    service,
    generator,
    transformer,
    feeder,
    fault_current,
    lift,
    ground,
    placement,
    sound,
    transport,
    procedure,
)
"""In the order of the plan. Their notes join the plan, so their references are its own."""
REFERENCES = tuple({r.id: r for r in (PRACTICE, *(r for c in ASKED for r in c.references))}.values())


@calculator(
    "booking.assessment",
    version="1.2.0",
    title="Plan for an order of temporary cooling",
    references=REFERENCES,
    hazards=("general",),
    uses=tuple(c.id for c in ASKED),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def assessment(given: Order, notes: Notes, ask: Ask) -> AssessmentResults:
    """From an order: which machines, what supply, cable, loop and antifreeze, how to lift and place, what to load, what
    to do on arrival, and what nobody has told yet.

    It has no physics of its own: it asks the other calculators in turn, again and again until the load with the heat of
    hose and pump moves by less than 0.5 %, and joins their answers. Each block equals what its calculator answers alone
    for the input under `asked`. Where the best combination of machines meets a stop, the next ones are tried. Whatever
    the order leaves open stands in `open_questions` with what was assumed, what it moves and who can answer.
    """
    fleet = in_metric(fleet_of(given))
    questions = Questions()
    facts = facts_of(in_metric(replace(given, fleet=UNSET)), fleet, questions)
    plan = find(facts, Desk(ask))
    ask_about(facts, plan, questions)
    lines = pick_list(facts, plan)
    limits = nearest(facts, plan)
    listed = questions.listed()
    notes.caution(*CAUTIONS)
    for asked in heard(plan):
        notes.adopt(asked.notes, asked.calculator)
    tell(facts, plan, notes, lines, limits, listed)
    assume(facts, plan, notes, lines)
    _show(plan, notes)
    return AssessmentResults(
        design_load=plan.heat.design,
        load=blocks.load_block(facts, plan),
        machines=blocks.machine_blocks(plan, limits),
        margin_fraction=_margin(plan) if plan.combination else UNSET,
        redundancy=facts.redundancy,
        redundancy_met=bool(plan.combination),
        fluid=blocks.fluid_block(facts, plan),
        energy=blocks.energy_block(plan),
        supply=blocks.supply_block(facts, plan),
        cable=blocks.cable_block(plan),
        loop=blocks.loop_block(plan),
        fill=blocks.results_of(plan.fill),
        fill_pressure=UNSET if plan.standing is None else plan.standing,
        surge=blocks.results_of(plan.surge),
        site=blocks.site_block(plan),
        arrival_plan=blocks.results_of(plan.arrival),
        cold_water_after=plan.arrival.results.time_to_cold_water if isinstance(plan.arrival, Asked) else UNSET,
        pick_list=lines,
        pick_mass=blocks.pick_mass(facts, plan, lines) if plan.combination else UNSET,
        open_questions=listed,
        alternatives=blocks.alternatives(facts, plan),
        failed_combinations=blocks.failed(plan),
        types_left_out=blocks.left_out(plan),
        limits_nearest=limits,
        rounds=plan.rounds,
        asked=blocks.asked_block(plan),
    )


def _margin(plan: Plan) -> float:
    return tidy(total_capacity(plan.combination) / plan.heat.gross - 1)


def _show(plan: Plan, notes: Notes) -> None:
    heat = plan.heat
    notes.show(
        "Q",
        "Design load",
        f"({heat.net / 1000:.5g} + hose {heat.hose_heat / 1000:.4g} + pump {heat.pump_heat / 1000:.4g}) kW with its margin",
        heat.design,
    )
    if plan.combination:
        terms = " + ".join(f"{p.count} x {p.capacity}" for p in plan.combination)
        notes.show("sum Q", "Capacity of the machines", terms, total_capacity(plan.combination) / 1000, "kW")
