"""Inputs of a feeder that contradict one another."""

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright_basis.compare import below
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.shared.practice import frequency_error


def refuse_contradictions(given: FeederGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    least, load = given.minimum_ampacity.si, given.load_current.si
    if given.practice == "nec" and below(least, load):
        errors.append(
            field_error(
                "/minimum_ampacity",
                f"{least:g} A is below the running load of {load:g} A.",
                value=given.minimum_ampacity,
                allowed=Allowed(minimum=load, unit="A"),
                why="A circuit must carry at least what runs on it.",
            )
        )
    own, source = given.ampacity_each is not UNSET, given.ampacity_source is not UNSET
    if own is not source:
        name, other = ("ampacity_source", "ampacity_each") if own else ("ampacity_each", "ampacity_source")
        errors.append(field_error(f"/{name}", f"`{other}` is given without `{name}`.", code="missing"))
    if given.conductor_size is UNSET and (own or given.resistance_per_length is not UNSET):
        detail = "An ampacity or resistance of your own is that of one size: say which."
        errors.append(field_error("/conductor_size", detail, code="missing"))
    if errors:
        raise Refused(errors)
