"""What is asked: a set-up, everything that was seen of it, and the time of the question."""

from typing import Annotated

from coldwright.contract import Given, about
from coldwright_basis.instants import stamp
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.startup.observations import (
    MOST_OBSERVATIONS,
    AnyObservation,
)


class StartupGiven(Given, frozen=True, kw_only=True):
    """A set-up, what was seen of it, and the time of the question."""

    configuration: Annotated[
        Configuration, about("What is set up; both `evaporator_pressure_drop_` fields are needed here.")
    ]
    evaluated_at: Annotated[str, stamp("The time for which the question is asked, by the service's clock.")]
    observations: Annotated[
        tuple[AnyObservation, ...],
        about("Everything that was seen, in any order; the same one may come twice.", max_length=MOST_OBSERVATIONS),
    ] = ()
