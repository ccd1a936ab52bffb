"""Loads and sets that contradict themselves."""

from msgspec import UnsetType

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.sets import set_errors
from coldwright_electrical.generator.starting import load_errors
from coldwright_electrical.shared.fuel import curve_errors
from coldwright_electrical.shared.practice import frequency_error


def refuse_contradictions(given: GeneratorGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    errors += load_errors(given)
    if not isinstance(given.generator, UnsetType):
        errors += set_errors(given.generator, "/generator")
    for index, candidate in enumerate(given.candidate_sets):
        errors += set_errors(candidate, f"/candidate_sets/{index}")
    errors += curve_errors(given.fuel_curve, "/fuel_curve")
    if given.minimum_load_fraction >= given.maximum_load_fraction:
        errors.append(
            field_error(
                "/minimum_load_fraction",
                "The least load is not below the greatest.",
                value=given.minimum_load_fraction,
                allowed=Allowed(below=given.maximum_load_fraction),
            )
        )
    if errors:
        raise Refused(errors)
