"""What is asked: a set-up, everything that was seen of it, and the time of the question."""

from typing import Annotated

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Given, Refused, about, field_error
from coldwright_basis.instants import stamp, stamp_error
from coldwright_readiness.shared.configuration import Configuration, configuration_errors
from coldwright_readiness.startup.observation_errors import observation_errors
from coldwright_readiness.startup.observations import (
    MOST_OBSERVATIONS,
    AnyObservation,
    Compressor,
    OilHeater,
)

MOST_ERRORS = 50


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


def refuse_what_cannot_be_judged(given: StartupGiven) -> None:
    """Raise `Refused` with every error, up to fifty."""
    c = given.configuration
    errors = configuration_errors(c)
    for name in ("evaporator_pressure_drop_minimum", "evaporator_pressure_drop_maximum"):
        if getattr(c, name) is UNSET:
            text = "The start needs the maker's drop at least and at greatest flow: it proves the flow."
            errors.append(field_error(f"/configuration/{name}", text, code="missing"))
    if c.supply_source == "generator" and c.rated_frequency is UNSET:
        text = "A generator's hertz are compared with the machine's plate."
        errors.append(field_error("/configuration/rated_frequency", text, code="missing"))
    if error := stamp_error("/evaluated_at", given.evaluated_at):
        errors.append(error)
    for index, observation in enumerate(given.observations):
        errors += observation_errors(observation, f"/observations/{index}")
        errors += _number_error(observation, c, f"/observations/{index}/data")
    if errors:
        raise Refused(errors[:MOST_ERRORS])


def _number_error(observation: AnyObservation, c: Configuration, pointer: str) -> list[FieldError]:
    """A compressor that the machine does not have."""
    if isinstance(observation, Compressor):
        name, value = "id", observation.data.id
    elif isinstance(observation, OilHeater):
        name, value = "compressor", observation.data.compressor
    else:
        return []
    numbers = tuple(str(n) for n in range(1, c.compressors + 1))
    if value in numbers:
        return []
    text = "Compressors are numbered from 1 to those of the configuration."
    return [field_error(f"{pointer}/{name}", text, code="not_allowed", value=value, allowed=Allowed(one_of=numbers))]
