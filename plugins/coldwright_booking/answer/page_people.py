"""People by the hour, and taking away, on the page of a plan."""

from msgspec import UnsetType

from coldwright.contract.page import Section, Table, facts, grid, section, under
from coldwright.contract.people import clock, count_of, number, plain_text, prose, quantity, value_text, words
from coldwright_booking.answer.results import AssessmentResults, CrewPhase
from coldwright_readiness.shutdown import ShutdownResults


def fact(results: AssessmentResults) -> str:
    """Hours of people for both, in one line."""
    crew, said = results.crew, []
    if isinstance(crew, UnsetType):
        return ""
    for name, phase in (("setting up", crew.arrival), ("taking away", crew.removal)):
        if not isinstance(phase, UnsetType):
            people = count_of(phase.people_at_most, "person", "people")
            said.append(f"{name}: {number(phase.person_time.to('h'))} person-hours, {people} at most")
    text = "; ".join(said)
    return text[:1].upper() + text[1:]


def people(results: AssessmentResults) -> Section | None:
    """By the hour, then the steps of taking away, and what becomes of the liquid."""
    crew, removal = results.crew, results.removal
    if isinstance(crew, UnsetType):
        return None
    frost = glycol = stop = None
    if not isinstance(removal, UnsetType):
        if not isinstance(removal.glycol, UnsetType):
            back = removal.glycol
            glycol = facts(
                ("Mixture that comes out", quantity(back.volume)),
                ("Glycol in it", value_text(back.glycol_mass)),
                ("Containers", f"{back.totes} of {quantity(back.container_volume)}"),
                ("What becomes of it", prose(back.becomes)),
            )
        if not isinstance(removal.stop, UnsetType):
            stop = _steps(removal.stop)
        if not isinstance(removal.frost, UnsetType):
            frost = _steps(removal.frost)
    return section(
        "People, and taking away",
        *under("Setting up, by the hour", _hours(crew.arrival)),
        *under("Taking away, by the hour", _hours(crew.removal)),
        *under("Steps of taking away", stop),
        *under("What becomes of the glycol", glycol),
        *under("Shut down in frost, loop full", frost),
    )


def _hours(phase: CrewPhase | UnsetType) -> Table | None:
    if isinstance(phase, UnsetType):
        return None
    return grid(
        (("Hour", 8), ("Electricians", 12), ("Technicians", 12), ("Lift team", 12), ("Person-hours", 14)),
        (
            (
                str(h.hour),
                str(h.electricians or ""),
                str(h.technicians or ""),
                str(h.lift_team or ""),
                clock(h.person_time),
            )
            for h in phase.hours
        ),
    )


def _steps(plan: ShutdownResults) -> Table | None:
    rows = sorted(plan.steps, key=lambda s: (s.earliest_start.value, s.earliest_finish.value))
    return grid(
        (("From", 8), ("Until", 8), ("Do", 34), ("Who", 16)),
        (
            (
                clock(s.earliest_start),
                clock(s.earliest_finish),
                plain_text(s.title),
                "by itself" if s.role == "none" else words(s.role),
            )
            for s in rows
        ),
    )
