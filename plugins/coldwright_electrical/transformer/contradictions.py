"""Inputs of a transformer that contradict one another."""

from coldwright.contract import FieldError, Refused, field_error
from coldwright_electrical.shared.practice import frequency_error
from coldwright_electrical.transformer.given import TransformerGiven


def refuse_contradictions(given: TransformerGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    if given.primary_voltage.value == given.secondary_voltage.value and not given.isolation:
        errors.append(
            field_error(
                "/secondary_voltage",
                f"Both sides are {given.primary_voltage}: no transformer is needed.",
                value=given.secondary_voltage,
                why="If the transformer is only to separate the two, say so in `isolation`.",
            )
        )
    if errors:
        raise Refused(errors)
