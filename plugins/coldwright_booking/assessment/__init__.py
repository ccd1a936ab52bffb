"""The main job in one call: from an order to a plan."""

import dataclasses
from typing import Any

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Ask, Calculator, Load, Notes, calculator
from coldwright_booking.answer.blocks import results_of_plan
from coldwright_booking.answer.finding_kinds import FINDINGS
from coldwright_booking.answer.notes import write_notes
from coldwright_booking.answer.page import plan_page
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.assessment.examples import EXAMPLES
from coldwright_booking.order.facts import facts_of
from coldwright_booking.order.given import Order
from coldwright_booking.order.metric import in_metric
from coldwright_booking.order.rules import fleet_of
from coldwright_booking.plan.desk import Desk
from coldwright_booking.plan.layout import in_full
from coldwright_booking.plan.plan import BLOCKS
from coldwright_booking.references import DIN_VDE_0105_100, ISO_5149_3, PANEL_PROTECTION, PRACTICE
from coldwright_booking.search.combinations import find

ASKED: tuple[Calculator[Any, Any], ...] = tuple(dict.fromkeys(c for block in BLOCKS for c in block.asks))
"""In the order of the plan. Their notes join the plan, so their references are its own."""
OWN = (PRACTICE, DIN_VDE_0105_100, ISO_5149_3, PANEL_PROTECTION)
REFERENCES = tuple({r.id: r for r in (*OWN, *(r for c in ASKED for r in c.references))}.values())


@calculator(
    "booking.assessment",
    version="1.33.0",
    title="Plan for an order of temporary cooling",
    references=REFERENCES,
    hazards=("general",),
    uses=tuple(c.id for c in ASKED),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
    page=plan_page,
)
def assessment(given: Order, notes: Notes, ask: Ask) -> AssessmentResults:
    """From an order: which machines, what supply, cable, loop and antifreeze, how to lift and place, what to load, what
    to do on arrival, and what is still to be asked.

    It has no physics of its own: it asks the other calculators in turn, again and again until the load with the heat of
    hose and pump moves by less than 0.5 %, and joins their answers. Each block equals what its calculator answers alone
    for the input under `asked`. Where the best combination of machines meets a stop, the next ones are tried. Whatever
    the order leaves open stands in `open_questions` with what was assumed, what it moves and who can answer.
    """
    fleet = in_metric(fleet_of(given))
    facts = facts_of(in_metric(replace(given, fleet=UNSET)), fleet)
    desk = Desk(ask)
    plan = find(facts, desk)
    plan = dataclasses.replace(plan, layout=in_full(plan.layout, desk))
    results = results_of_plan(plan)
    write_notes(plan, results, notes)
    return results
