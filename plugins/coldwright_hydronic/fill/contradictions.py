"""Inputs of a fill that contradict one another."""

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright_basis.compare import at_most
from coldwright_basis.liquids import check_temperature
from coldwright_hydronic.fill.given import Expansion, FillGiven


def refuse_contradictions(given: FillGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if not (given.lines or given.vessels):
        errors.append(field_error("/lines", "Give at least one line or vessel.", code="missing"))
    meter = given.meter
    if meter is not UNSET and meter.end.si < meter.start.si:
        text = "The reading after filling is below the one before."
        errors.append(
            field_error("/meter/end", text, value=meter.end, allowed=Allowed(minimum=meter.start.to("L"), unit="L"))
        )
    if given.expansion is not UNSET:
        errors += _expansion_errors(given, given.expansion)
    if errors:
        raise Refused(errors)


def _expansion_errors(given: FillGiven, plan: Expansion) -> list[FieldError]:
    errors: list[FieldError] = []
    if given.fluid.kind == "custom":
        text = "The growth of a custom fluid is not known: it brings one density only."
        return [field_error("/expansion", text, why="Two densities would be needed.")]
    if plan.highest_temperature.si <= plan.lowest_temperature.si:
        errors.append(
            field_error(
                "/expansion/highest_temperature",
                "The warmest must be above the coldest.",
                value=plan.highest_temperature,
                allowed=Allowed(above=plan.lowest_temperature.to("degC"), unit="degC"),
            )
        )
    low, high = plan.minimum_pressure, plan.maximum_pressure
    if low is not UNSET and high is not UNSET and at_most(high.si, low.si):
        errors.append(
            field_error(
                "/expansion/maximum_pressure",
                "The greatest pressure must be above the least.",
                value=high,
                allowed=Allowed(above=low.to("kPa"), unit="kPa"),
                why="A vessel takes liquid only while its pressure rises.",
            )
        )
    for name in ("lowest_temperature", "highest_temperature"):
        try:
            check_temperature(given.fluid, getattr(plan, name).si, f"/expansion/{name}", getattr(plan, name))
        except Refused as refused:
            errors += refused.errors
    return errors
