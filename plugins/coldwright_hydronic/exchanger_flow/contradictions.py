"""Readings that are missing or contradict one another."""

from msgspec import UNSET

from coldwright.contract import FieldError, Refused, field_error
from coldwright_basis.liquids import Property, check_fluid
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven
from coldwright_hydronic.shared.devices import needs_of


def refuse_contradictions(given: ExchangerFlowGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    needs: tuple[Property, ...] = needs_of(given.exponent)
    if given.heat is not UNSET:
        needs = (*needs, "specific_heat")
    check_fluid(given.fluid, needs=needs)
    errors = drop_errors(given) + _pair_errors(given) + _proof_errors(given)
    if errors:
        raise Refused(errors)


def drop_errors(given: ExchangerFlowGiven) -> list[FieldError]:
    """One drop or two gauges with their heights, not both and not half."""
    names = ("inlet_gauge_pressure", "outlet_gauge_pressure", "inlet_gauge_elevation", "outlet_gauge_elevation")
    there = [n for n in names if getattr(given, n) is not UNSET]
    if given.pressure_drop is not UNSET:
        text = "Either one pressure_drop or the four fields of two gauges, not both."
        return [field_error("/pressure_drop", text, value=given.pressure_drop)] if there else []
    if not there:
        text = "Give the pressure_drop, or both gauge pressures with both gauge elevations."
        return [field_error("/pressure_drop", text, code="missing")]
    text = "Two gauges need both pressures and both elevations."
    return [field_error(f"/{n}", text, code="missing") for n in names if n not in there]


def _pair_errors(given: ExchangerFlowGiven) -> list[FieldError]:
    errors = []
    text = "Heat and temperature_difference are given together or not at all."
    if given.heat is UNSET and given.temperature_difference is not UNSET:
        errors.append(field_error("/heat", text, code="missing"))
    if given.heat is not UNSET and given.temperature_difference is UNSET:
        errors.append(field_error("/temperature_difference", text, code="missing"))
    least, most = given.flow_minimum, given.flow_maximum
    if least is not UNSET and most is not UNSET and least.si > most.si:
        errors.append(field_error("/flow_maximum", f"It is below flow_minimum, {least}.", value=most))
    return errors


def _proof_errors(given: ExchangerFlowGiven) -> list[FieldError]:
    if given.proof is UNSET:
        return []
    wanted, other = "trip_flow", "trip_pressure_drop"
    if given.proof.proof_kind == "pressure_switch":
        wanted, other = other, wanted
    errors = []
    if getattr(given.proof, wanted) is UNSET:
        text = f"A {given.proof.proof_kind} needs its {wanted}."
        errors.append(field_error(f"/proof/{wanted}", text, code="missing"))
    if getattr(given.proof, other) is not UNSET:
        text = f"A {given.proof.proof_kind} has no {other}: it trips on its {wanted}."
        errors.append(field_error(f"/proof/{other}", text, value=getattr(given.proof, other)))
    return errors
