"""Capacity and power of every type at the design conditions."""

import re
from dataclasses import dataclass

from msgspec import UNSET

from coldwright.contract import say
from coldwright.contract.quantities import TemperatureDifference
from coldwright.contract.sentences import Words
from coldwright_booking.fleet.given import MachineType
from coldwright_booking.fleet.plate import plate_difference, table_on_plate
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_refrigeration.capacity import capacity
from coldwright_refrigeration.capacity.given import (
    CapacityConditions,
    CapacityEnvelope,
    CapacityGiven,
    CapacityMachine,
    RatedPoint,
)
from coldwright_refrigeration.capacity.results import CapacityResults

WORDS = {
    "mass_fraction": "Antifreeze by mass",
    "leaving_liquid_temperature": "Leaving liquid",
    "ambient_temperature": "Air",
    "temperature_difference": "Difference between entering and leaving liquid",
    "altitude": "Elevation",
    "frequency": "Frequency",
}
"""Conditions of `refrigeration.capacity`, as people call them."""
_LONG_NUMBER = re.compile(r"\d+\.\d{4,}")


@dataclass(frozen=True)
class Candidate:
    """A type that can be used here."""

    machine: MachineType
    place: int
    asked: Asked[CapacityGiven, CapacityResults]

    @property
    def least_step(self) -> float:
        """Least step of capacity; one circuit where no steps are given."""
        return min(self.machine.capacity_steps, default=1 / self.machine.circuits)


@dataclass(frozen=True)
class LeftOut:
    """A type that can't be used here, and why."""

    machine: MachineType
    place: int
    reason: Words
    asked: Asked[CapacityGiven, CapacityResults] | None = None


def capacities(
    facts: Facts, desk: Desk, liquid: Liquid, difference: TemperatureDifference
) -> tuple[list[Candidate], list[LeftOut]]:
    """Every type of the fleet, sorted into those that can be used and those that can't."""
    usable: list[Candidate] = []
    out: list[LeftOut] = []
    for place, machine in enumerate(facts.fleet.machines):
        if reason := _unfit(facts, machine) or _too_cold(facts, machine):
            out.append(LeftOut(machine, place, reason))
            continue
        given = _given(facts, machine, liquid, difference)
        asked = desk.try_ask(capacity, given)
        if isinstance(asked, Unanswered):
            out.append(LeftOut(machine, place, _in_words(asked)))
            continue
        stops = [f.said.get("statement", f.statement) for f in asked.notes.findings if f.severity == "stop"]
        if stops:
            out.append(LeftOut(machine, place, stops[0], asked))
        else:
            usable.append(Candidate(machine, place, asked))
    return usable, out


def _unfit(facts: Facts, machine: MachineType) -> str:
    if facts.order.machine_types and machine.type not in facts.order.machine_types:
        return "The order does not name it."
    if machine.type in facts.left_aside:
        return "Plans with it were tried and cannot be carried out."
    if machine.count == 0:
        return "None is on hand."
    wanted, built = facts.frequency, machine.electrical.frequency
    if wanted.si != built.si:
        return f"It runs on {built}; the supply has {wanted}."
    return ""


def _too_cold(facts: Facts, machine: MachineType) -> Words:
    coldest, least = facts.coldest_still, machine.envelope.ambient_minimum
    if coldest is None or least is UNSET or coldest >= least.si - 1e-6:
        return ""
    return say("It runs in air down to {least}; the order names {coldest}.", least=least, coldest=facts.lowest_ambient)


def _in_words(refusal: Unanswered) -> str:
    """Why its capacity cannot be known, without the names that fields have in another calculator."""
    stated = []
    for error in refusal.refused.errors[:3]:
        field = error.pointer.rsplit("/", 1)[-1]
        detail = _LONG_NUMBER.sub(lambda number: f"{float(number[0]):.4g}", error.detail)
        stated.append(f"{WORDS.get(field, field.replace('_', ' '))}: {detail}")
    return f"Its capacity here is not known. {' '.join(stated)}"


def _given(facts: Facts, machine: MachineType, liquid: Liquid, difference: TemperatureDifference) -> CapacityGiven:
    order = facts.order
    table = machine.capacity_table
    return CapacityGiven(
        machine=CapacityMachine(
            rating_table=UNSET if table is UNSET else table_on_plate(machine, table),
            rated_point=_rated_point(machine) if table is UNSET else UNSET,
            corrections=machine.corrections,
            envelope=_envelope(machine, liquid),
            head_pressure_control=machine.envelope.ambient_minimum is not UNSET,
        ),
        conditions=CapacityConditions(
            leaving_liquid_temperature=order.duty.leaving_temperature,
            ambient_temperature=order.site.design_ambient_temperature,
            temperature_difference=difference,
            fluid=liquid.fluid,
            altitude=facts.elevation,
            frequency=facts.frequency,
        ),
    )


def _rated_point(machine: MachineType) -> RatedPoint:
    rating = machine.rating
    return RatedPoint(
        refrigerant=machine.refrigerant.designation,
        capacity=rating.capacity,
        power=rating.power,
        leaving_liquid_temperature=rating.leaving_temperature,
        temperature_difference=plate_difference(machine),
        ambient_temperature=rating.ambient_temperature,
        frequency=machine.electrical.frequency,
    )


def _envelope(machine: MachineType, liquid: Liquid) -> CapacityEnvelope:
    limits = machine.envelope
    coldest = limits.leaving_minimum if liquid.is_water else limits.leaving_minimum_with_antifreeze
    if coldest is UNSET:
        coldest = limits.leaving_minimum
    return CapacityEnvelope(
        leaving_minimum=coldest,
        leaving_maximum=limits.leaving_maximum,
        entering_maximum=limits.entering_maximum,
        ambient_minimum=limits.ambient_minimum,
        ambient_maximum=limits.ambient_maximum,
    )
