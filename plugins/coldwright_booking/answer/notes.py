"""What the answer says beside its results: cautions, what the calculators said, findings, assumptions, working."""

from coldwright.contract import Notes
from coldwright.contract.notes import Finding
from coldwright_booking.answer.assumptions import assume
from coldwright_booking.answer.cautions import CAUTIONS
from coldwright_booking.answer.circuit_names import FREQUENCY_UNUSUAL, circuit_names, of_circuit
from coldwright_booking.answer.findings import report
from coldwright_booking.answer.origins import ORIGINS
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.answer.settled import unsettled
from coldwright_booking.plan.plan import Plan

OF_GLYCOL = {"ethylene_toxic", "glycol"}
"""Cautions that say nothing to who works with plain water."""


def write_notes(plan: Plan, results: AssessmentResults, notes: Notes) -> None:
    """Everything, in the order in which it is read."""
    notes.caution(*CAUTIONS)
    circuits = circuit_names(plan)
    for asked in plan.heard:
        said, circuit = unsettled(asked, plan), circuits.get(id(asked))
        said = said if circuit is None else of_circuit(said, circuit)
        notes.adopt(said, asked.calculator, origin=ORIGINS.get(asked.calculator))
    report(plan, notes, results.limits_nearest, results.open_questions)
    _say_once(notes)
    if plan.liquid.is_water:
        notes.cautions[:] = [c for c in notes.cautions if c.code not in OF_GLYCOL]
    assume(plan, notes)
    _show(plan, notes)


def _say_once(notes: Notes) -> None:
    """What two types of machine, machine and crane, or two calculators meet alike is one finding: nobody can settle it
    twice.
    """
    first = {(f.code, f.severity, f.statement, _remedy(f)): f for f in reversed(notes.findings)}
    notes.findings[:] = reversed(first.values())


def _remedy(found: Finding) -> str:
    """A frequency that the practice is not used to is one question, with whatever words a calculator asks it."""
    return "" if found.code == FREQUENCY_UNUSUAL else found.resolve


def _show(plan: Plan, notes: Notes) -> None:
    heat = plan.load
    notes.show(
        "Q",
        "Design load",
        f"({heat.net / 1000:.5g} + hose {heat.hose_heat / 1000:.4g} + pump {heat.pump_heat / 1000:.4g}) kW with its margin",
        heat.design,
    )
    if plan.combination:
        terms = " + ".join(f"{p.count} x {p.capacity}" for p in plan.combination)
        notes.show("sum Q", "Capacity of the machines", terms, plan.combination.capacity / 1000, "kW")
