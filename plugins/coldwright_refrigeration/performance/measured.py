"""Capacity and efficiency from readings, with their uncertainty, and the heat balance."""

import math
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, Notes, Refused, say, tidy
from coldwright.contract.quantities import Power, TemperatureDifference
from coldwright_basis.compare import below
from coldwright_refrigeration.performance.given import PerformanceGiven
from coldwright_refrigeration.shared import liquids
from coldwright_refrigeration.shared.liquids import must_fall

SMALL_DIFFERENCE = 3 / 1.8
OPEN_BALANCE = 0.06
BTU_PER_WH = 3.412141633


class Measured(NamedTuple):
    """Capacity and liquid difference, SI, with the relative standard uncertainty of the capacity."""

    capacity: float
    difference: float
    uncertainty: float


def refuse_contradictions(given: PerformanceGiven) -> None:
    """Refuse readings that contradict one another; every fault is named."""
    readings = given.readings
    errors: list[FieldError] = must_fall(
        "/readings/leaving_temperature", readings.entering_temperature, readings.leaving_temperature
    )
    try:
        liquids.check_liquid(given.fluid, "/fluid")
    except Refused as refused:
        raise Refused([*errors, *refused.errors]) from None
    for name in ("entering_temperature", "leaving_temperature"):
        try:
            liquids.check_liquid_at(given.fluid, getattr(readings, name), f"/readings/{name}")
        except Refused as refused:
            errors += refused.errors
    if errors:
        raise Refused(errors)


def measure(given: PerformanceGiven, notes: Notes) -> Measured:
    """Capacity from flow and temperatures, with its relative standard uncertainty."""
    readings, doubts = given.readings, given.uncertainty
    warm, cold = readings.entering_temperature.si, readings.leaving_temperature.si
    difference = warm - cold
    heat = liquids.volumetric_heat(given.fluid, (warm + cold) / 2)
    capacity = readings.flow.si * heat * difference
    shown = TemperatureDifference.from_si(difference, "delta_degC")
    expression = f"V rho c dT = {readings.flow} x {heat / 1e6:.5f} MJ/m3.K x {shown}"
    notes.show("Q", "Capacity", expression, Power.from_si(capacity, "kW"))
    sensor, correlation = doubts.temperature.si, doubts.temperature_correlation
    of_difference = math.sqrt(max(2 * sensor**2 * (1 - correlation), 0.0))
    expression = f"u_t sqrt(2 (1 - r)), u_t = {doubts.temperature}, r = {correlation:.12g}"
    notes.show(
        "u_dT",
        "Standard uncertainty of the difference",
        expression,
        TemperatureDifference.from_si(of_difference, "delta_degC"),
    )
    uncertainty = math.sqrt(doubts.flow**2 + (of_difference / difference) ** 2 + doubts.property**2)
    expression = (
        f"sqrt(u_V^2 + (u_dT/dT)^2 + u_p^2) = sqrt({doubts.flow:g}^2 + {of_difference / difference:.5g}^2 + "
        f"{doubts.property:g}^2)"
    )
    notes.show("u_Q/Q", "Relative standard uncertainty of the capacity", expression, uncertainty)
    if below(difference, SMALL_DIFFERENCE):
        notes.check(
            "sensors_dominate",
            say(
                "The liquid changes by {difference} only: the sensors alone make {share:.1%} of uncertainty.",
                difference=shown,
                share=of_difference / difference,
            ),
            why="Below 3 delta_degF a tenth of a kelvin decides the result.",
            resolve="Change the two sensors over and read again, take the mean of both, or lower the flow.",
            field="/readings/leaving_temperature",
            references=("jcgm_100_2008", "refrigeration_practice"),
        )
    return Measured(capacity, difference, uncertainty)


def efficiency(
    given: PerformanceGiven, measured: Measured, notes: Notes
) -> tuple[float | UnsetType, float | UnsetType]:
    """Coefficient of performance, and its expanded uncertainty."""
    power = given.readings.power
    if power is UNSET:
        return UNSET, UNSET
    cop = measured.capacity / power.si
    notes.show("COP", "Capacity over power", f"{Power.from_si(measured.capacity, 'kW')} / {power}", cop)
    relative = math.hypot(measured.uncertainty, given.uncertainty.power)
    expanded = given.coverage_factor * relative * cop
    expression = f"k COP sqrt((u_Q/Q)^2 + u_P^2) = {given.coverage_factor:g} x {cop:.6g} x {relative:.6g}"
    notes.show("U_COP", "Expanded uncertainty of the coefficient of performance", expression, expanded)
    return tidy(cop), tidy(expanded)


def closure(given: PerformanceGiven, measured: Measured, notes: Notes) -> float | UnsetType:
    """How far the heat balance of the machine is from closing; nothing without its air side."""
    power, rejected = given.readings.power, given.readings.heat_rejected
    if power is UNSET or rejected is UNSET:
        return UNSET
    closure = (measured.capacity + power.si - rejected.si) / rejected.si
    shown = Power.from_si(measured.capacity, "kW")
    notes.show(
        "closure", "Heat balance", f"(Q + P - Q_rej) / Q_rej = ({shown} + {power} - {rejected}) / {rejected}", closure
    )
    if abs(closure) > OPEN_BALANCE:
        notes.check(
            "heat_balance_open",
            f"Heat in and heat out differ by {closure:.1%}.",
            why="What goes into the machine comes out of it: one of the readings is wrong, or it was not steady.",
            resolve="Wait until it is steady, then read flow, temperatures, power and air again.",
            field="/readings/heat_rejected",
            references=("refrigeration_practice",),
        )
    return tidy(closure)
