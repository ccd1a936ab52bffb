"""People by the hour, for setting up and for taking away.

How many hands a step takes is common practice, no source; what it needs of skill is `readiness`'s.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from coldwright.contract.quantities import Duration
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.removal import Removal
from coldwright_readiness.procedure import ProcedureResults
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shutdown import ShutdownResults

HANDS = {
    "place_machine": 3,
    "place_generator": 3,
    "lay_cables": 2,
    "lay_hoses": 2,
    "connect_hoses": 2,
    "disconnect_hoses": 2,
    "coil_cables": 2,
    "lift": 3,
    "lift_generator": 3,
    "tie_down": 2,
}
"""People of its role at a step; one at any other."""
ROLES = ("electrician", "technician", "lift_team")
HOUR = 60.0


class CrewHour(NamedTuple):
    """One hour: the people of each role at work at one time, and their time together."""

    number: int
    """From 1."""
    people: dict[str, int]
    minutes: float


@dataclass(frozen=True)
class Phase:
    """Setting up, or taking away."""

    hours: tuple[CrewHour, ...]
    person_time: Duration
    """Of all people at all steps."""
    most: int
    """People at work at one time."""


class Crew(NamedTuple):
    """Both phases; None where its steps are not known."""

    arrival: Phase | None
    removal: Phase | None


class CrewNeeds(NamedTuple):
    """What the crew takes of the plan."""

    arrival: Asked[ProcedureGiven, ProcedureResults] | Unanswered | None
    removal: Removal | None


def decide(needs: CrewNeeds, _: Desk) -> Crew:
    """From the steps at their earliest times, with hands enough."""
    arrival = phase(needs.arrival.results) if isinstance(needs.arrival, Asked) else None
    stop = needs.removal and needs.removal.stop
    return Crew(arrival, phase(stop.results) if isinstance(stop, Asked) else None)


CREW = Block("crew", CrewNeeds, (), decide)


def phase(plan: ProcedureResults | ShutdownResults) -> Phase:
    """Hour by hour: who is at work, and for how long together."""
    work = [
        (s.role, HANDS.get(s.id, 1), s.earliest_start.to("min"), s.earliest_finish.to("min"))
        for s in plan.steps
        if s.role != "none"
    ]
    last = max((end for *_, end in work), default=0.0)
    hours = []
    for number in range(ceil(last / HOUR)):
        start, end = HOUR * number, HOUR * (number + 1)
        here = [(role, (hands, max(a, start), min(b, end))) for role, hands, a, b in work if a < end and b > start]
        spans: dict[str, list[tuple[int, float, float]]] = {role: [] for role in ROLES}
        for role, span in here:
            spans[role].append(span)
        people = {role: _most(of_role) for role, of_role in spans.items()}
        hours.append(CrewHour(number + 1, people, sum(hands * (b - a) for _, (hands, a, b) in here)))
    return Phase(
        tuple(hours),
        Duration.of(sum(hands * (b - a) for _, hands, a, b in work) / 60, "h"),
        _most((hands, a, b) for _, hands, a, b in work),
    )


def _most(spans: Iterable[tuple[int, float, float]]) -> int:
    """Greatest number of hands at one time."""
    moves = sorted((t, d) for hands, a, b in spans if b > a for t, d in ((a, hands), (b, -hands)))
    most = now = 0
    for _, change in moves:
        now += change
        if now > most:
            most = now
    return most
