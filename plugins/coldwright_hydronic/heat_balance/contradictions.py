"""Too much or too little given, and differences outside the method."""

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error, refuse, tidy
from coldwright_basis.compare import between
from coldwright_hydronic.heat_balance.given import HeatBalanceGiven

LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 0.2, 30.0


def refuse_wrong_count(given: HeatBalanceGiven) -> None:
    """Exactly two of heat, flow and difference, and a temperature to take properties at."""
    ends = (given.entering_temperature is not UNSET) + (given.leaving_temperature is not UNSET)
    by_difference = given.temperature_difference is not UNSET
    difference_known = by_difference or ends == 2
    known = (given.flow is not UNSET) + (given.heat is not UNSET) + difference_known
    errors: list[FieldError] = []
    if by_difference and ends == 2:
        text = "Two temperatures already give the difference: leave out temperature_difference, or one temperature."
        errors.append(field_error("/temperature_difference", text, value=given.temperature_difference))
    if ends == 0:
        text = "Properties need a temperature: add entering_temperature or leaving_temperature."
        errors.append(field_error("/entering_temperature", text, code="missing"))
    if known == 3:
        text = "Flow, heat and temperature difference are all given: leave out the one that is to be worked out."
        errors.append(field_error("/heat", text, value=given.heat))
    elif known < 2:
        absent = [
            name
            for name, there in (
                ("flow", given.flow is not UNSET),
                ("heat", given.heat is not UNSET),
                ("temperature_difference", difference_known),
            )
            if not there
        ]
        text = f"Exactly two of flow, heat and temperature difference are needed: add {' or '.join(absent)}."
        errors.append(field_error(f"/{absent[0]}", text, code="missing"))
    if errors:
        raise Refused(errors)


def refuse_difference(difference: float, pointer: str) -> None:
    """Refuse a difference [K] outside 0.2 to 30 K."""
    if not between(LEAST_DIFFERENCE, abs(difference), GREATEST_DIFFERENCE):
        raise refuse(
            pointer,
            f"The temperature difference comes to {difference:.4g} K; it must be 0.2 to 30 K, up or down.",
            code="out_of_range",
            value=tidy(difference),
            allowed=Allowed(minimum=LEAST_DIFFERENCE, maximum=GREATEST_DIFFERENCE, unit="delta_degC"),
            why="A smaller one drowns in the error of the sensors; over a larger one the properties change too much.",
        )
