"""Whose sheet it is: that of a whole plant, or of one of its machines."""

from typing import Final, NamedTuple

from msgspec import UnsetType

from coldwright.contract.page import Occasion
from coldwright.contract.quantities import Power, PressureDifference, Quantity
from coldwright_basis.speech import Speech
from coldwright_booking.answer.plan_answer import PlanAnswer
from coldwright_booking.answer.results import AssessmentResults

ONCE: Final = frozenset(
    {
        "start_generator", "charge_antifreeze", "fill_loop", "purge_high_point", "repressurise", "read_antifreeze",
        "handover",
    }
)  # fmt: skip
"""Steps that are done once for a plant, whatever number of machines it has (common practice)."""

EVAPORATOR: Final = "evaporator"
"""How the plan's loop calls what stands in a machine, before the type of the machine."""


def in_us(results: AssessmentResults) -> bool:
    """Whether an answer is in US units."""
    return results.design_load.unit == "ton"


def measured(value: Quantity, results: AssessmentResults) -> Quantity:
    """What the order or the fleet gives, in the units of the answer beside it."""
    if isinstance(value, Power):
        return value.as_unit(results.design_load.unit)
    return value.in_us() if in_us(results) else value.as_unit(value.metric_unit)


class Machine(NamedTuple):
    """One machine of a plant."""

    number: int
    """Counted in the order of the plan, from 1."""
    type: str
    serial: str
    """Empty where none was assigned."""


class Crew(NamedTuple):
    """What every part of the sheet takes."""

    answer: PlanAnswer
    results: AssessmentResults
    say: Speech
    machines: tuple[Machine, ...]
    """Every machine of the plan."""
    chosen: Machine | None
    """The one whose sheet it is; none: it is that of the plant."""

    def about(self, type_: str) -> bool:
        """Whether something of that type of machine belongs on the sheet."""
        return self.chosen is None or self.chosen.type == type_

    @property
    def us(self) -> bool:
        """Whether its numbers are in US units."""
        return in_us(self.results)


def crew_of(answer: PlanAnswer, occasion: Occasion) -> Crew:
    """What the occasion asks for. A number that no machine has is that of the plant."""
    machines = tuple(_numbered(answer.results, occasion.serials))
    chosen = next((m for m in machines if m.number == occasion.number), None)
    speech = Speech(occasion.language, answer.given.practice)
    return Crew(answer, answer.results, speech, machines, chosen if len(machines) > 1 else None)


def _numbered(results: AssessmentResults, serials: tuple[tuple[str, str], ...]) -> list[Machine]:
    machines: list[Machine] = []
    for planned in results.machines:
        own = [serial for name, serial in serials if name == planned.type]
        for place in range(planned.count):
            serial = own[place] if place < len(own) else ""
            machines.append(Machine(len(machines) + 1, planned.type, serial))
    return machines


def evaporators(results: AssessmentResults) -> tuple[tuple[str, PressureDifference], ...]:
    """Each type of machine with what its evaporator takes of the pump at the flow of the plan."""
    if isinstance(results.loop, UnsetType):
        return ()
    found: dict[str, PressureDifference] = {}
    waiting = list(results.loop.elements)
    while waiting:
        element = waiting.pop(0)
        if not isinstance(element.branches, UnsetType):
            waiting += [deeper for path in element.branches for deeper in path]
        elif element.name.startswith(EVAPORATOR):
            found.setdefault(element.name.removeprefix(EVAPORATOR).strip(), element.pressure_drop)
    return tuple(found.items())
