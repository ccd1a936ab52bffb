"""Puts the answer of `refrigeration.capacity` together: refusals, the two methods, the envelope."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import FieldError, Notes, Refused, field_error, refuse, tidy
from coldwright.contract.quantities import Power, Temperature, VolumeFlow
from coldwright_refrigeration import capacity_estimate, capacity_table, liquids
from coldwright_refrigeration.capacity import (
    CapacityEstimate,
    CapacityGiven,
    CapacityResults,
    CapacitySensitivity,
    RatedPoint,
    RatingTable,
)
from coldwright_refrigeration.capacity_corrections import Penalties, penalties, range_penalty
from coldwright_refrigeration.capacity_envelope import check_envelope, envelope_errors

TON = 3516.8528420667
BTU_PER_WH = 3.412141633
NARROWEST, WIDEST = 1.0, 30.0
"""K of temperature difference at a given flow, beyond which flow and machine do not belong together."""


class Rating(NamedTuple):
    """Capacity and power in W, slopes per K relative to the capacity, difference of the liquid in K."""

    capacity: float
    power: float
    per_degree_leaving: float
    per_degree_ambient: float
    difference: float
    uncertainty: float
    estimate: CapacityEstimate | None = None


def answer(given: CapacityGiven, notes: Notes) -> CapacityResults:
    """Work the answer out; refuse what cannot be right."""
    _refuse(given)
    _voltage(given, notes)
    machine = given.machine
    if machine.rating_table is not UNSET:
        if machine.rated_point is not UNSET:
            notes.note(
                "rated_point_not_used",
                "A rating table and a rated point were given: the table is used, the point is not.",
                field="/machine/rated_point",
            )
        found = penalties(given, machine.rating_table.basis, notes)
        rating = _by_table(given, machine.rating_table, found, notes)
        fans = machine.rating_table.basis.power_includes_fans
    else:
        assert not isinstance(machine.rated_point, type(UNSET))  # noqa: S101 - one of the two is there: see _refuse
        found = penalties(given, machine.rated_point, notes)
        rating = _by_estimate(given, machine.rated_point, found, notes)
        fans = machine.rated_point.power_includes_fans
    if not fans:
        notes.note(
            "power_excludes_fans", "The rating's power leaves out the condenser fans, and so does this answer's."
        )
    return _results(given, found, rating, notes)


def _refuse(given: CapacityGiven) -> None:
    machine, conditions = given.machine, given.conditions
    errors: list[FieldError] = []
    if machine.rating_table is UNSET and machine.rated_point is UNSET:
        text = "The machine needs a rating table or a rated point."
        errors.append(field_error("/machine/rating_table", text, code="missing"))
    if machine.rating_table is not UNSET:
        errors += capacity_table.table_errors(machine.rating_table)
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


def _voltage(given: CapacityGiven, notes: Notes) -> None:
    ratio = given.conditions.voltage_ratio
    if abs(ratio - 1) > 0.1 + 1e-9:
        notes.stop(
            "voltage_outside_tolerance",
            f"The supply voltage is {ratio:.4g} of the rated voltage, outside 0.9 to 1.1.",
            why="Motors overheat or stall outside 10 % of their voltage.",
            resolve="Set the taps, shorten or thicken the cable, or take a machine for this voltage.",
            field="/conditions/voltage_ratio",
            references=("nema_mg1_voltage",),
        )


def _by_table(given: CapacityGiven, table: RatingTable, found: Penalties, notes: Notes) -> Rating:
    _warn_of_rising(table, notes)
    grid = capacity_table.Grid(table)
    conditions = given.conditions
    leaving, ambient = conditions.leaving_liquid_temperature.si, conditions.ambient_temperature.si

    def at() -> tuple[float, float]:
        moved_air = found.ambient_shift + found.condenser_shift
        point = leaving + found.leaving_shift, ambient + moved_air
        if errors := grid.outside(*point, (found.leaving_shift, moved_air)):
            raise Refused(errors)
        return point

    if conditions.flow is not UNSET:
        difference = _difference(given, grid.read(*at()).capacity * found.capacity_factor)
    elif conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    else:
        difference = table.basis.temperature_difference.si
    range_penalty(given, table.basis, difference, found, notes, shift=True)
    read = grid.read(*at(), notes)
    capacity = read.capacity * found.capacity_factor
    if conditions.flow is not UNSET:
        difference = _difference(given, capacity)
    return Rating(
        capacity,
        read.power * found.power_factor,
        read.per_degree_leaving / read.capacity,
        read.per_degree_ambient / read.capacity,
        difference,
        found.uncertainty,
    )


def _warn_of_rising(table: RatingTable, notes: Notes) -> None:
    if rows := capacity_table.rising_rows(table):
        notes.check(
            "capacity_rises_with_ambient",
            f"The table's capacity does not fall with warmer air in the row of {', '.join(rows)}.",
            why="A sound machine gives less in warmer air: rows and columns may be exchanged, or a number mistyped.",
            resolve="Compare the table with the machine's data sheet.",
            field="/machine/rating_table/capacity",
        )


def _difference(given: CapacityGiven, capacity: float) -> float:
    """Temperature difference, K, that a capacity makes at the flow given."""
    conditions = given.conditions
    leaving, flow = conditions.leaving_liquid_temperature.si, conditions.flow.si  # type: ignore[union-attr]
    difference = 0.0
    for _ in range(6):  # the mean temperature moves the properties by parts in a thousand only
        difference = capacity / (flow * liquids.volumetric_heat(conditions.fluid, leaving + difference / 2))
        if not NARROWEST <= difference <= WIDEST:
            raise refuse(
                "/conditions/flow",
                f"At {conditions.flow} the machine's {Power.from_si(capacity, 'kW')} would change the liquid by "
                f"{difference:.3g} K.",
                value=conditions.flow,
                why=f"The method holds for differences from {NARROWEST:g} to {WIDEST:g} K: flow and machine do not "
                "belong "
                "together.",
            )
    return difference


def _by_estimate(given: CapacityGiven, rated: RatedPoint, found: Penalties, notes: Notes) -> Rating:
    conditions = given.conditions
    leaving = conditions.leaving_liquid_temperature.si + found.leaving_shift
    ambient = conditions.ambient_temperature.si + found.ambient_shift
    uncertainty = capacity_estimate.check_reach(rated, leaving, ambient)
    fit = capacity_estimate.Fit(rated, given.assumed)
    capacity_estimate.show_fit(fit, rated, notes)
    held = bool(given.machine.corrections.range)  # factors of the machine take the place of the model's own range
    capacity_flow, difference = None, rated.temperature_difference.si
    if not held and conditions.flow is not UNSET:
        capacity_flow = conditions.flow.si * liquids.volumetric_heat(conditions.fluid, leaving)
    elif not held and conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    demand = capacity_estimate.Demand(leaving, ambient, found.conductance_ratio, capacity_flow, difference)
    balance = fit.balance(demand)
    if balance is None:
        raise refuse(
            "/conditions",
            f"No balance of compressor, evaporator and condenser was found for {rated.refrigerant} at these "
            "conditions.",
            why="A saturation temperature would leave the data of the refrigerant: the machine would trip before.",
        )
    start = (balance.evaporating, balance.condensing)
    warmer_air = fit.balance(demand._replace(ambient=ambient + 0.1), start) or balance
    warmer_liquid = fit.balance(demand._replace(leaving=leaving + 0.1), start) or balance
    capacity, power = _estimated(given, rated, found, fit, balance, notes)
    if conditions.flow is not UNSET:
        difference = _difference(given, capacity)
    elif conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    notes.note(
        "estimated_without_table",
        f"No rating table: capacity and power are estimated from one rated point, within about "
        f"{uncertainty + found.uncertainty:.0%}.",
        resolve="Send `machine.rating_table`.",
        field="/machine/rated_point",
        references=("refrigeration_practice", "coolprop"),
    )
    return Rating(
        capacity,
        power,
        (warmer_liquid.capacity / balance.capacity - 1) / 0.1,
        (warmer_air.capacity / balance.capacity - 1) / 0.1,
        difference,
        uncertainty + found.uncertainty,
        capacity_estimate.described(fit, balance),
    )


def _estimated(
    given: CapacityGiven,
    rated: RatedPoint,
    found: Penalties,
    fit: capacity_estimate.Fit,
    balance: capacity_estimate.Balance,
    notes: Notes,
) -> tuple[float, float]:
    """Capacity and power in W after the factors, with the balance shown; adds the penalty of the range."""
    conditions = given.conditions
    te, tc = (Temperature.from_si(t, "degC") for t in (balance.evaporating, balance.condensing))
    notes.show("Te", "Evaporating (dew) temperature", "Q = eps_e C_l (T_in - Te)", te)
    notes.show("Tc", "Condensing temperature (mean)", f"Q + P = K_c x (Tc - Ta), x = {found.conductance_ratio:.4f}", tc)
    difference = rated.temperature_difference.si
    if conditions.flow is not UNSET:
        difference = _difference(given, balance.capacity * found.capacity_factor)
    elif conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    range_penalty(given, rated, difference, found, notes, shift=False)
    power = balance.compressor_power + fit.fan_power
    return balance.capacity * found.capacity_factor, power * found.power_factor


def _results(given: CapacityGiven, found: Penalties, rating: Rating, notes: Notes) -> CapacityResults:
    conditions = given.conditions
    leaving = conditions.leaving_liquid_temperature.si
    mean_heat = liquids.volumetric_heat(conditions.fluid, leaving + rating.difference / 2)
    flow = rating.capacity / (mean_heat * rating.difference)
    shown = VolumeFlow.from_si(flow, "L/s") if conditions.flow is UNSET else conditions.flow.as_unit("L/s")
    capacity, power = Power.from_si(rating.capacity, "kW"), Power.from_si(rating.power, "kW")
    cop = rating.capacity / rating.power
    factors = f"{found.capacity_factor:.4g}", f"{found.power_factor:.4g}"
    notes.show("Q", "Capacity", f"capacity at the effective temperatures x {factors[0]}", capacity)
    notes.show("P", "Power", f"power at the effective temperatures x {factors[1]}", power)
    notes.show("COP", "Capacity over power", f"{capacity} / {power}", cop)
    notes.show("EER", "Btu per Wh", f"{BTU_PER_WH:.6g} x {cop:.5g}", BTU_PER_WH * cop)
    in_envelope = check_envelope(given, rating.difference, shown, notes)
    return CapacityResults(
        capacity=capacity,
        power=power,
        kw_per_ton=tidy(rating.power / 1000 / (rating.capacity / TON)),
        cop=tidy(cop),
        eer=tidy(BTU_PER_WH * cop),
        source="table" if rating.estimate is None else "estimate",
        corrections=found.corrections,
        effective_ambient_temperature=Temperature.from_si(
            conditions.ambient_temperature.si + found.ambient_shift + found.condenser_shift, "degC"
        ),
        effective_leaving_liquid_temperature=Temperature.from_si(leaving + found.leaving_shift, "degC"),
        uncertainty=tidy(rating.uncertainty),
        flow=shown,
        entering_liquid_temperature=Temperature.from_si(leaving + rating.difference, "degC"),
        in_envelope=in_envelope,
        sensitivity=CapacitySensitivity(
            capacity_per_degree_ambient=tidy(rating.per_degree_ambient),
            capacity_per_degree_leaving=tidy(rating.per_degree_leaving),
        ),
        estimate=UNSET if rating.estimate is None else rating.estimate,
    )
