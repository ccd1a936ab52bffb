"""Inputs of a fault calculation that are missing or contradict one another."""

from msgspec import UnsetType

from coldwright.contract import FieldError, Refused
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.path import segment_errors, source_errors
from coldwright_electrical.shared.practice import frequency_error


def refuse_contradictions(given: FaultCurrentGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if not isinstance(given.frequency, UnsetType) and (error := frequency_error(given.frequency)):
        errors.append(error)
    errors += source_errors(given.source)
    errors += segment_errors(given)
    if errors:
        raise Refused(errors)
