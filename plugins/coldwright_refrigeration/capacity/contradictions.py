"""What is refused because its parts contradict one another."""

from msgspec import UNSET

from coldwright.contract import FieldError, Refused, field_error
from coldwright_refrigeration.capacity.envelope import envelope_errors
from coldwright_refrigeration.capacity.given import CapacityGiven
from coldwright_refrigeration.capacity.grid import table_errors
from coldwright_refrigeration.shared import liquids


def refuse_contradictions(given: CapacityGiven) -> None:
    """Refuse a request whose parts contradict one another; every fault is named."""
    machine, conditions = given.machine, given.conditions
    errors: list[FieldError] = []
    if machine.rating_table is UNSET and machine.rated_point is UNSET:
        text = "The machine needs a rating table or a rated point."
        errors.append(field_error("/machine/rating_table", text, code="missing"))
    if machine.rating_table is not UNSET:
        errors += table_errors(machine.rating_table)
    if conditions.flow is not UNSET and conditions.temperature_difference is not UNSET:
        text = "Give the flow or the temperature difference, not both: one follows from the other."
        errors.append(field_error("/conditions/flow", text, value=conditions.flow))
    if machine.envelope is not UNSET:
        errors += envelope_errors(machine.envelope)
    errors += _liquid_errors(given)
    if errors:
        raise Refused(errors)


def _liquid_errors(given: CapacityGiven) -> list[FieldError]:
    conditions, machine = given.conditions, given.machine
    errors: list[FieldError] = []
    fluids = [(conditions.fluid, "/conditions/fluid")]
    if machine.rating_table is not UNSET:
        fluids.append((machine.rating_table.basis.fluid, "/machine/rating_table/basis/fluid"))
    elif machine.rated_point is not UNSET:
        fluids.append((machine.rated_point.fluid, "/machine/rated_point/fluid"))
    for fluid, pointer in fluids:
        try:
            liquids.check_liquid(fluid, pointer)
        except Refused as refused:
            errors += refused.errors
    if not errors:
        leaving = conditions.leaving_liquid_temperature
        try:
            liquids.check_liquid_at(conditions.fluid, leaving, "/conditions/leaving_liquid_temperature")
        except Refused as refused:
            errors += refused.errors
    return errors
