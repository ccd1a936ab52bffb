"""Puts the answer of `refrigeration.performance` together."""

import math
from typing import Literal, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, Notes, Refused, tidy
from coldwright.contract.quantities import Power, TemperatureDifference
from coldwright_refrigeration import liquids
from coldwright_refrigeration.liquids import must_fall
from coldwright_refrigeration.performance import PerformanceGiven, PerformancePartLoad, PerformanceResults

TON = 3516.8528420667
BTU_PER_WH = 3.412141633
SMALL_DIFFERENCE = 3 / 1.8
OPEN_BALANCE = 0.06
SHORT = 0.90
WEIGHTS = (0.01, 0.42, 0.45, 0.12)
"""Of 100, 75, 50 and 25 % load: AHRI 550/590-2023, 5.2, as quoted in a public source."""


class Measured(NamedTuple):
    """Capacity and liquid difference, SI, with the relative standard uncertainty of the capacity."""

    capacity: float
    difference: float
    uncertainty: float


def answer(given: PerformanceGiven, notes: Notes) -> PerformanceResults:
    """Work the answer out; refuse what cannot be right."""
    _refuse(given)
    measured = _measured(given, notes)
    capacity = Power.from_si(measured.capacity, "kW")
    expanded = Power.from_si(given.coverage_factor * measured.uncertainty * measured.capacity, "kW")
    expression = f"k x {measured.uncertainty:.5f} x {capacity}, k = {given.coverage_factor:g}"
    notes.show("U_Q", "Expanded uncertainty of the capacity", expression, expanded)
    cop, doubt = _efficiency(given, measured, notes)
    _usual_notes(measured, notes)
    expected = given.expected
    power_ratio: float | UnsetType = UNSET
    if expected is not UNSET and expected.power is not UNSET and given.readings.power is not UNSET:
        power_ratio = tidy(given.readings.power.si / expected.power.si)
    ratio, verdict = _verdict(given, measured, notes)
    return PerformanceResults(
        capacity=capacity,
        cop=cop,
        eer=UNSET if cop is UNSET else tidy(BTU_PER_WH * cop),
        kw_per_ton=UNSET if cop is UNSET else tidy(TON / 1000 / cop),
        relative_standard_uncertainty=tidy(measured.uncertainty),
        capacity_uncertainty=expanded,
        efficiency_uncertainty=doubt,
        heat_balance_closure=_closure(given, measured, notes),
        capacity_ratio=ratio,
        power_ratio=power_ratio,
        verdict=verdict,
        tolerance=_tolerance(given, measured, notes),
        part_load_value=UNSET if given.part_load is UNSET else _part_load(given.part_load, notes),
    )


def _refuse(given: PerformanceGiven) -> None:
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


def _measured(given: PerformanceGiven, notes: Notes) -> Measured:
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
    expression = f"u_t sqrt(2 (1 - r)), u_t = {doubts.temperature}, r = {correlation:g}"
    notes.show(
        "u_dT",
        "Standard uncertainty of the difference",
        expression,
        TemperatureDifference.from_si(of_difference, "delta_degC"),
    )
    uncertainty = math.sqrt(doubts.flow**2 + (of_difference / difference) ** 2 + doubts.property**2)
    expression = (
        f"sqrt(u_V^2 + (u_dT/dT)^2 + u_p^2) = sqrt({doubts.flow:g}^2 + {of_difference / difference:.5f}^2 + "
        f"{doubts.property:g}^2)"
    )
    notes.show("u_Q/Q", "Relative standard uncertainty of the capacity", expression, uncertainty)
    if difference < SMALL_DIFFERENCE - 1e-9:
        notes.check(
            "sensors_dominate",
            f"The liquid changes by {shown} only: the sensors alone make {of_difference / difference:.1%} of "
            "uncertainty.",
            why="Below 3 delta_degF a tenth of a kelvin decides the result.",
            resolve="Change the two sensors over and read again, take the mean of both, or lower the flow.",
            field="/readings/leaving_temperature",
            references=("jcgm_100_2008", "refrigeration_practice"),
        )
    return Measured(capacity, difference, uncertainty)


def _efficiency(
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
    expression = f"k COP sqrt((u_Q/Q)^2 + u_P^2) = {given.coverage_factor:g} x {cop:.4f} x {relative:.5f}"
    notes.show("U_COP", "Expanded uncertainty of the coefficient of performance", expression, expanded)
    return tidy(cop), tidy(expanded)


def _closure(given: PerformanceGiven, measured: Measured, notes: Notes) -> float | UnsetType:
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


def _verdict(
    given: PerformanceGiven, measured: Measured, notes: Notes
) -> tuple[float | UnsetType, Literal["not_distinguishable", "short", "above"] | UnsetType]:
    """Capacity over expected, and whether the difference means anything."""
    expected = given.expected
    if expected is UNSET or expected.capacity is UNSET:
        return UNSET, UNSET
    target = expected.capacity.si
    ratio = measured.capacity / target
    both = given.coverage_factor * math.hypot(measured.uncertainty * measured.capacity, expected.uncertainty * target)
    off = measured.capacity - target
    expression = f"|Q - Q_exp| = {abs(off) / 1000:.5g} kW against k sqrt(u_Q^2 + u_exp^2) = {both / 1000:.5g} kW"
    notes.show("Q/Q_exp", "Capacity over expected", expression, ratio)
    if abs(off) <= both * (1 + 1e-12) + 1e-9 * target:
        return tidy(ratio), "not_distinguishable"
    if off > 0:
        return tidy(ratio), "above"
    if ratio < SHORT:
        notes.check(
            "capacity_short",
            f"The machine gives {ratio:.1%} of the {expected.capacity} expected, which is more than the readings' "
            "doubt.",
            why="A shortfall that the readings cannot explain has a cause in the machine or its air.",
            resolve="Read the circuits with refrigeration.circuit_check, and look at coil, fans and flow.",
            field="/readings",
            references=("refrigeration_practice",),
        )
    return tidy(ratio), "short"


def _tolerance(given: PerformanceGiven, measured: Measured, notes: Notes) -> float | UnsetType:
    if given.load_fraction is UNSET:
        return UNSET
    load, difference = given.load_fraction, measured.difference * 1.8
    tolerance = 0.105 - 0.07 * load + 0.15 / (difference * load)
    expression = f"0.105 - 0.07 L + 0.15/(dT L) = 0.105 - 0.07 x {load:g} + 0.15/({difference:.4g} x {load:g})"
    notes.show("Tol1", "Tolerance of AHRI 550/590, dT in degF", expression, tolerance)
    return tidy(tolerance)


def _part_load(part_load: PerformancePartLoad, notes: Notes) -> float:
    four = (part_load.a, part_load.b, part_load.c, part_load.d)
    if part_load.metric == "kw_per_ton":
        value = 1 / math.fsum(w / x for w, x in zip(WEIGHTS, four, strict=True))
        expression = "1 / (" + " + ".join(f"{w:g}/{x:g}" for w, x in zip(WEIGHTS, four, strict=True)) + ")"
    else:
        value = math.fsum(w * x for w, x in zip(WEIGHTS, four, strict=True))
        expression = " + ".join(f"{w:g} x {x:g}" for w, x in zip(WEIGHTS, four, strict=True))
    notes.show(part_load.rule.upper(), "Weighted part-load value", expression, value)
    return tidy(value)


def _usual_notes(measured: Measured, notes: Notes) -> None:
    notes.note(
        "clamp_on_flow",
        "A clamp-on flow meter is usually good for 3 to 5 %, in a straight full pipe; the flow's share of the "
        "uncertainty "
        "above stands for the meter that was used.",
        field="/uncertainty/flow",
        references=("refrigeration_practice",),
    )
    notes.note(
        "not_a_rating_test",
        f"{Power.from_si(measured.capacity, 'kW')} by readings in the field is no certified test: AHRI 550/590 asks "
        "for "
        "calibrated instruments, steady states and more readings.",
        references=("ahri_550_590_2023",),
    )
