"""What cannot be judged: a set-up or records that contradict themselves."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright_basis.instants import stamp_error
from coldwright_readiness.shared.configuration import configuration_errors
from coldwright_readiness.startup.evidence.changes import FIELDS
from coldwright_readiness.startup.evidence.kept import is_kept
from coldwright_readiness.startup.given import ConfigurationChange, StartupGiven
from coldwright_readiness.startup.joined import expiry_errors
from coldwright_readiness.startup.observation_errors import observation_errors, stamp_errors
from coldwright_readiness.startup.observations import (
    AnyObservation,
    Compressor,
    OilHeater,
)

MOST_ERRORS = 50


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
    for index, change in enumerate(given.configuration_changes):
        errors += _change_errors(change, f"/configuration_changes/{index}")
    errors += expiry_errors(given.joined)
    numbers = tuple(str(n) for n in range(1, c.compressors + 1))
    for name in ("observations", "carried", "shared"):
        for index, observation in enumerate(getattr(given, name)):
            if _errors_of(observation, numbers):  # nearly never
                errors += _errors_of(observation, numbers, f"/{name}/{index}")
    if errors:
        raise Refused(errors[:MOST_ERRORS])


def _errors_of(observation: AnyObservation, numbers: tuple[str, ...], pointer: str = "") -> list[FieldError]:
    """What is wrong with one; of what was kept under earlier rules only what cannot be read."""
    wrong_number = _number_error(observation, numbers, pointer) if type(observation) in _NUMBERED else []
    if not is_kept(observation):
        return observation_errors(observation, pointer) + wrong_number
    named = wrong_number and str(wrong_number[0].value).isdecimal()
    return stamp_errors(observation, pointer) + (wrong_number if named else [])


_NUMBERED: Final = (Compressor, OilHeater)


def _number_error(observation: AnyObservation, numbers: tuple[str, ...], pointer: str = "") -> list[FieldError]:
    """A compressor that the machine does not have."""
    name = "id" if isinstance(observation, Compressor) else "compressor"
    value = getattr(observation.data, name)
    if value in numbers:
        return []
    text = "Compressors are numbered from 1 to those of the configuration."
    return [
        field_error(f"{pointer}/data/{name}", text, code="not_allowed", value=value, allowed=Allowed(one_of=numbers))
    ]


def _change_errors(change: ConfigurationChange, pointer: str) -> list[FieldError]:
    """A stamp that is none, or fields that the configuration does not have."""
    text = "The configuration has no field of that name."
    errors = [
        field_error(f"{pointer}/fields/{place}", text, code="not_allowed", value=name, allowed=Allowed(one_of=FIELDS))
        for place, name in enumerate(change.fields)
        if name not in FIELDS
    ]
    error = stamp_error(f"{pointer}/at", change.at)
    return [error, *errors] if error else errors
