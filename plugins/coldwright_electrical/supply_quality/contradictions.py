"""Readings that contradict one another."""

from msgspec import UnsetType

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright_electrical.shared.practice import frequency_error
from coldwright_electrical.supply_quality.given import DEAD_OR_FLOATING, SupplyQualityGiven


def refuse_contradictions(given: SupplyQualityGiven, low: float, high: float) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    if low >= high:
        pointer = "/voltage_minimum" if not isinstance(given.voltage_minimum, UnsetType) else "/voltage_maximum"
        errors.append(
            field_error(pointer, f"The least voltage, {low:g} V, is not below the greatest, {high:g} V.", value=low)
        )
    for name in ("ab", "bc", "ca"):
        value = getattr(given.line_voltages, name).value
        if 0 < value < 50:
            errors.append(
                field_error(
                    f"/line_voltages/{name}",
                    f"{value:g} V is neither a live line nor a dead one.",
                    code="out_of_range",
                    value=value,
                    allowed=Allowed(minimum=50, maximum=800, unit="V"),
                    why=DEAD_OR_FLOATING,
                )
            )
    if errors:
        raise Refused(errors)
