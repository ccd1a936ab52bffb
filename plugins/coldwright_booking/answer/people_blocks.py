"""People and taking away, as the answer has them."""

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Duration
from coldwright_booking.answer.results import CrewBlock, CrewHourBlock, CrewPhase, GlycolBack, RemovalBlock
from coldwright_booking.plan.crew import Phase
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.removal import TOTE, Removal

BECOMES = (
    "Back to the yard in closed containers, to be used again after strength and inhibitor are tested; what fails goes to a "
    "licensed disposal. Nothing into the ground, a storm drain, or a sewer without consent."
)


def crew_block(plan: Plan) -> CrewBlock | UnsetType:
    """People for both ends of the hire."""
    if plan.crew is None:
        return UNSET
    return CrewBlock(arrival=_phase(plan.crew.arrival), removal=_phase(plan.crew.removal))


def _phase(phase: Phase | None) -> CrewPhase | UnsetType:
    if phase is None:
        return UNSET
    return CrewPhase(
        hours=tuple(
            CrewHourBlock(
                hour=h.number,
                electricians=h.people["electrician"],
                technicians=h.people["technician"],
                lift_team=h.people["lift_team"],
                person_time=Duration.of(h.minutes, "min"),
            )
            for h in phase.hours
        ),
        person_time=phase.person_time,
        people_at_most=phase.most,
    )


def removal_block(plan: Plan) -> RemovalBlock | UnsetType:
    """Steps, draining, glycol and frost."""
    removal = plan.removal
    if removal is None:
        return UNSET
    return RemovalBlock(
        stop=removal.stop.results if isinstance(removal.stop, Asked) else UNSET,
        drained=removal.drained.results if isinstance(removal.drained, Asked) else UNSET,
        glycol=_glycol(removal),
        frost=removal.frost.results if isinstance(removal.frost, Asked) else UNSET,
    )


def _glycol(removal: Removal) -> GlycolBack | UnsetType:
    if not removal.totes or not isinstance(removal.drained, Asked):
        return UNSET
    drained = removal.drained.results
    return GlycolBack(
        volume=drained.drained_volume,
        glycol_mass=drained.glycol_mass,
        totes=removal.totes,
        container_volume=TOTE,
        becomes=BECOMES,
    )
