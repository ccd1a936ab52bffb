"""Capacity and power of every type at the design conditions."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import say
from coldwright.contract.quantities import TemperatureDifference
from coldwright.contract.sentences import Words
from coldwright_basis.compare import at_least
from coldwright_booking.fleet.given import MachineType
from coldwright_booking.fleet.plate import plate_difference, table_on_plate
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
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


class CapacitiesNeeds(NamedTuple):
    """What the capacities take of the plan: the load of the order alone, whose difference no gain moves."""

    facts: Facts
    liquid: Liquid
    load: Heat


def decide(needs: CapacitiesNeeds, desk: Desk) -> tuple[Candidate | LeftOut, ...]:
    """Every type of the fleet: what it does here, or why it can't be used."""
    return tuple(_one(needs, desk, place, machine) for place, machine in enumerate(needs.facts.fleet.machines))


CAPACITIES = Block("capacities", CapacitiesNeeds, (capacity,), decide)


def _one(needs: CapacitiesNeeds, desk: Desk, place: int, machine: MachineType) -> Candidate | LeftOut:
    if reason := _unfit(needs.facts, machine) or _too_cold(needs.facts, machine):
        return LeftOut(machine, place, reason)
    asked = desk.try_ask(capacity, _given(needs.facts, machine, needs.liquid, needs.load.difference))
    if isinstance(asked, Unanswered):
        return LeftOut(machine, place, _in_words(asked))
    stops = [f.said.get("statement", f.statement) for f in asked.notes.findings if f.severity == "stop"]
    return LeftOut(machine, place, stops[0], asked) if stops else Candidate(machine, place, asked)


def without_left_aside(facts: Facts, every: Iterable[Candidate | LeftOut]) -> tuple[list[Candidate], list[LeftOut]]:
    """Those that can be used and those that can't, with types that were tried among the latter."""
    usable: list[Candidate] = []
    out: list[LeftOut] = []
    for one in every:
        if isinstance(one, LeftOut):
            out.append(one)
        elif one.machine.type in facts.left_aside:
            out.append(LeftOut(one.machine, one.place, "Plans with it were tried and cannot be carried out."))
        else:
            usable.append(one)
    return usable, out


def _unfit(facts: Facts, machine: MachineType) -> str:
    if facts.order.machine_types and machine.type not in facts.order.machine_types:
        return "The order does not name it."
    if machine.count == 0:
        return "None is on hand."
    wanted, built = facts.frequency, machine.electrical.frequency
    if wanted.si != built.si:
        return f"It runs on {built}; the supply has {wanted}."
    return ""


def _too_cold(facts: Facts, machine: MachineType) -> Words:
    coldest, least = facts.coldest_still, machine.envelope.ambient_minimum
    if coldest is None or least is UNSET or at_least(coldest, least.si):
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
