"""From the request to a `Case`: what is refused, machines rated at the design conditions, arrays in SI units."""

import math
from dataclasses import dataclass
from typing import Any

from msgspec import UNSET

from coldwright.contract import Ask, FieldError, Notes, Refused, field_error
from coldwright.contract.quantities import Quantity
from coldwright_basis.compare import above
from coldwright_basis.repeats import repeated
from coldwright_refrigeration.capacity import capacity
from coldwright_refrigeration.capacity.given import CapacityConditions, CapacityGiven
from coldwright_refrigeration.selection.case import RULES, Case, np
from coldwright_refrigeration.selection.given import FleetRow, Rule, SelectionGiven
from coldwright_refrigeration.selection.rounding import above as too_high
from coldwright_refrigeration.shared import liquids

TEN_CELSIUS = 283.15


def flow_of(given: SelectionGiven, notes: Notes) -> float | None:
    """Flow through all machines together, m3/s; None where the design does not give it."""
    design = given.design
    if design.flow is not UNSET:
        return design.flow.si
    if design.temperature_difference is UNSET:
        return None
    difference = design.temperature_difference.si
    leaving = design.leaving_liquid_temperature
    mean = TEN_CELSIUS if leaving is UNSET else leaving.si + difference / 2
    heat = liquids.volumetric_heat(design.fluid, mean)
    flow = design.load.si / (heat * difference)
    expression = f"{design.load} / (rho c {design.temperature_difference}), rho c = {heat / 1e6:.4f} MJ/m3.K"
    notes.show("F", "Flow through all machines", expression, flow * 1000, "L/s")
    return flow


MOST_MONEY = 1e12


@dataclass(frozen=True)
class Unit:
    """One type, in SI units; None where the figure was not given."""

    name: str
    stock: int
    capacity: float
    power: float | None
    circuits: int | None
    minimum_capacity: float | None
    flow_minimum: float | None
    flow_maximum: float | None
    footprint: float | None
    haul_fraction: float | None
    hire_cost: float | None
    mass: float | None


def refuse_design(given: SelectionGiven) -> None:
    """Refuse a request that contradicts itself or lacks what its rules need; every fault is named."""
    design = given.design
    errors: list[FieldError] = []
    if above(given.minimum_load.si, design.load.si):
        text = f"The least load of {given.minimum_load} is above the load of {design.load}."
        errors.append(field_error("/minimum_load", text, value=given.minimum_load))
    if design.flow is not UNSET and design.temperature_difference is not UNSET:
        text = "Give the flow or the temperature difference, not both: one follows from the other."
        errors.append(field_error("/design/flow", text, value=design.flow))
    several = given.redundancy.rule == "several_units"
    if several != (given.redundancy.units is not UNSET):
        text = "The rule `several_units` needs `units`, and no other rule takes it."
        errors.append(field_error("/redundancy/units", text, code="missing" if several else "refused"))
    try:
        liquids.check_liquid(design.fluid, "/design/fluid")
        if design.leaving_liquid_temperature is not UNSET:
            pointer = "/design/leaving_liquid_temperature"
            liquids.check_liquid_at(design.fluid, design.leaving_liquid_temperature, pointer)
    except Refused as refused:
        errors += refused.errors
    errors += _money_errors(given) + _row_errors(given) + _sum_errors(given)
    if errors:
        raise Refused(errors)


def _money_errors(given: SelectionGiven) -> list[FieldError]:
    money = [(f"/fleet/{i}/hire_cost", row.hire_cost) for i, row in enumerate(given.fleet)]
    money.append(("/haul_cost", given.haul_cost))
    known = [(pointer, m) for pointer, m in money if m is not UNSET]
    errors = [
        field_error(f"{pointer}/value", f"{m.value:g} is less than nothing.", value=m.value)
        for pointer, m in known
        if m.value < 0
    ]
    first = known[0][1].currency if known else ""
    return errors + [
        field_error(
            f"{pointer}/currency",
            f"{m.currency} beside {first}: one currency in one call.",
            value=m.currency,
            why="No rate of exchange is known here.",
        )
        for pointer, m in known
        if m.currency != first
    ]


def _sum_errors(given: SelectionGiven) -> list[FieldError]:
    """An error where the whole fleet would cost more than an amount of money may be."""
    each_haul = 0.0 if given.haul_cost is UNSET else given.haul_cost.value
    costs = [0.0 if row.hire_cost is UNSET else row.count_available * row.hire_cost.value for row in given.fleet]
    hauls = sum(row.count_available * (0.0 if row.haul_fraction is UNSET else row.haul_fraction) for row in given.fleet)
    if math.fsum(costs) + (hauls + 1) * each_haul <= MOST_MONEY:
        return []
    dearest = max(range(len(costs)), key=costs.__getitem__)
    pointer = f"/fleet/{dearest}/hire_cost" if costs[dearest] > hauls * each_haul else "/haul_cost"
    text = f"All units on hand would cost more than {MOST_MONEY:g}, the largest amount taken."
    return [field_error(f"{pointer}/value", text, why="Express the amounts in thousands.")]


def _row_errors(given: SelectionGiven) -> list[FieldError]:
    errors = repeated((f"/fleet/{i}/type", row.type) for i, row in enumerate(given.fleet))
    needed = _needed(given)
    for i, row in enumerate(given.fleet):
        at = f"/fleet/{i}"
        if row.capacity is UNSET and row.machine is UNSET:
            errors.append(field_error(f"{at}/capacity", "A type needs its capacity or its machine.", code="missing"))
        elif row.capacity is not UNSET and row.machine is not UNSET:
            text = "Give the capacity or the machine, not both."
            errors.append(field_error(f"{at}/capacity", text, value=row.capacity))
        errors += [
            field_error(f"{at}/{name}", f"Needed here: {why}.", code="missing")
            for name, why in needed.items()
            if getattr(row, name) is UNSET and not (name == "power" and row.machine is not UNSET)
        ]
        for low, high in (("minimum_capacity", "capacity"), ("flow_minimum", "flow_maximum")):
            one, other = getattr(row, low), getattr(row, high)
            if one is not UNSET and other is not UNSET and above(one.si, other.si):
                errors.append(field_error(f"{at}/{low}", f"{one} is above the {high} of {other}.", value=one))
    if any(row.machine is not UNSET for row in given.fleet):
        errors += [
            field_error(f"/design/{name}", "Needed to rate a row with a machine.", code="missing")
            for name in ("leaving_liquid_temperature", "ambient_temperature")
            if getattr(given.design, name) is UNSET
        ]
    return errors


def _needed(given: SelectionGiven) -> dict[str, str]:
    """Fields that every row must have, with the reason."""
    limits, needed = given.limits, {}
    if given.objective == "hire_cost":
        needed["hire_cost"] = "the objective is the hire cost"
    elif given.objective == "power":
        needed["power"] = "the objective is the power"
    if given.objective == "hauls" or limits.hauls_max is not UNSET:
        needed["haul_fraction"] = "hauls are counted"
    elif given.objective == "hire_cost" and given.haul_cost is not UNSET and given.haul_cost.value:
        needed["haul_fraction"] = "a haul costs something"
    if given.redundancy.rule == "one_circuit":
        needed["circuits"] = "the loss of a circuit is asked for"
    if given.minimum_load.si > 0:
        needed["minimum_capacity"] = "a least load is given"
    if given.design.flow is not UNSET or given.design.temperature_difference is not UNSET:
        needed["flow_minimum"] = needed["flow_maximum"] = "the flow is known"
    for limit, name in (("power_available", "power"), ("footprint_available", "footprint"), ("mass_max", "mass")):
        if getattr(limits, limit) is not UNSET:
            needed[name] = f"there is a limit {limit}"
    return needed


def units_of(given: SelectionGiven, notes: Notes, ask: Ask) -> list[Unit]:
    """The fleet by the names of its types, each machine rated at the design conditions."""
    units: list[Unit] = []
    errors: list[FieldError] = []
    for i, row in sorted(enumerate(given.fleet), key=lambda pair: pair[1].type):
        rated: tuple[float, float] | None = None
        if row.machine is not UNSET:
            try:
                rated = _rated(given, row, i, notes, ask)
            except Refused as refused:
                errors += refused.errors
                continue
        units.append(_unit(row, rated))
    if errors:
        raise Refused(errors)
    return units


def _unit(row: FleetRow, rated: tuple[float, float] | None) -> Unit:
    capacity_, power = rated or (_plain(row.capacity) or 0.0, None)
    usable = capacity_ > 0
    return Unit(
        name=row.type,
        stock=row.count_available if usable else 0,
        capacity=capacity_ if usable else 1.0,
        power=_plain(row.power) if row.power is not UNSET else power,
        circuits=None if row.circuits is UNSET else row.circuits,
        minimum_capacity=_plain(row.minimum_capacity),
        flow_minimum=_plain(row.flow_minimum),
        flow_maximum=_plain(row.flow_maximum),
        footprint=_plain(row.footprint),
        haul_fraction=_plain(row.haul_fraction),
        hire_cost=None if row.hire_cost is UNSET else row.hire_cost.value,
        mass=_plain(row.mass),
    )


def _plain(value: Any) -> float | None:
    if value is UNSET:
        return None
    return value.si if isinstance(value, Quantity) else float(value)


def _rated(given: SelectionGiven, row: FleetRow, i: int, notes: Notes, ask: Ask) -> tuple[float, float]:
    """Capacity and power of a machine at the design conditions, W; zero capacity where it cannot work there."""
    design = given.design
    conditions = CapacityConditions(
        leaving_liquid_temperature=design.leaving_liquid_temperature,  # type: ignore[arg-type] # see _row_errors
        ambient_temperature=design.ambient_temperature,  # type: ignore[arg-type]
        temperature_difference=design.temperature_difference,
        fluid=design.fluid,
        altitude=design.altitude,
    )
    try:
        results, its_notes = ask.apart(capacity, CapacityGiven(machine=row.machine, conditions=conditions))  # type: ignore[arg-type]
    except Refused as refused:
        of_machine = [e for e in refused.errors if e.pointer.startswith("#/machine")]
        if of_machine:
            raise Refused(_under(e, f"/fleet/{i}") for e in of_machine) from None
        _left_out(row, i, refused.errors[0].detail, notes)
        return 0.0, 0.0
    stops = [f for f in its_notes.findings if f.severity == "stop"]
    if stops:
        _left_out(row, i, stops[0].statement, notes)
        return 0.0, 0.0
    notes.show(
        f"Q({row.type})", "Capacity of one unit at the design conditions", "refrigeration.capacity", results.capacity
    )
    return results.capacity.si, results.power.si


def _under(error: FieldError, pointer: str) -> FieldError:
    return field_error(
        pointer + error.pointer.removeprefix("#"),
        error.detail,
        code=error.code,
        value=error.value,
        allowed=error.allowed,
        why=error.why,
    )


def _left_out(row: FleetRow, i: int, reason: str, notes: Notes) -> None:
    notes.check(
        "type_left_out",
        f"{row.type} was left out: {reason}",
        resolve="Change the design conditions, or send a table that reaches them.",
        field=f"/fleet/{i}/machine",
    )


def case_of(given: SelectionGiven, units: list[Unit], flow: float | None) -> Case:
    """The arrays of a fleet whose rows are known to have what the rules need."""
    active = _active(given, flow)
    limits, rule = given.limits, given.redundancy.rule

    def column(name: str, used: bool = True) -> Any:
        values = [getattr(unit, name) for unit in units]
        return np.array(values, dtype=float) if used and None not in values else None

    def known_or_nothing(name: str) -> Any:
        known = column(name)
        return np.zeros(len(units)) if known is None else known

    size = column("capacity")
    money = given.objective == "hire_cost"
    each_haul = given.haul_cost.value if money and given.haul_cost is not UNSET else 0.0
    haul_weight = 1.0 if given.objective == "hauls" else each_haul
    unit_cost = {
        "hire_cost": column("hire_cost"),
        "power": column("power"),
        "units": np.ones(len(units)),
        "hauls": np.zeros(len(units)),
    }[given.objective]
    return Case(
        names=tuple(unit.name for unit in units),
        stock=column("stock"),
        capacity=size,
        load=given.design.load.si,
        active=active,
        unit_cost=unit_cost,
        haul_weight=haul_weight,
        lost_units={"one_unit": 1, "several_units": given.redundancy.units}.get(rule, 0),  # type: ignore[arg-type]
        circuit=size / column("circuits") if rule == "one_circuit" else None,
        turns_down=(
            (~too_high(column("minimum_capacity"), given.minimum_load.si)).astype(float)
            if "turndown" in active
            else None
        ),
        flow=flow or 0.0,
        flow_minimum=column("flow_minimum", flow is not None),
        flow_maximum=column("flow_maximum", flow is not None),
        standby_isolated=given.standby_isolated,
        power=known_or_nothing("power"),
        haul=known_or_nothing("haul_fraction"),
        power_available=_plain(limits.power_available) or 0.0,
        footprint=column("footprint", "footprint_available" in active),
        footprint_available=_plain(limits.footprint_available) or 0.0,
        hauls_max=0 if limits.hauls_max is UNSET else limits.hauls_max,
        units_max=0 if limits.units_max is UNSET else limits.units_max,
        mass=column("mass", "mass_max" in active),
        mass_max=_plain(limits.mass_max) or 0.0,
        quantum=common_step([*unit_cost.tolist(), haul_weight]),
    )


def _active(given: SelectionGiven, flow: float | None) -> tuple[Rule, ...]:
    limits = given.limits
    in_force = {
        "capacity": True,
        "redundancy": given.redundancy.rule != "none",
        "turndown": given.minimum_load.si > 0,
        "flow_minimum": flow is not None,
        "flow_maximum": flow is not None,
        "power_available": limits.power_available is not UNSET,
        "footprint_available": limits.footprint_available is not UNSET,
        "hauls_max": limits.hauls_max is not UNSET,
        "units_max": limits.units_max is not UNSET,
        "mass_max": limits.mass_max is not UNSET,
    }
    return tuple(rule for rule in RULES if in_force[rule])


def common_step(costs: list[float]) -> float:
    """Least step between two sums of these costs: their greatest common divisor in thousandths; 0 where there is none."""
    thousandths = [round(cost * 1000) for cost in costs]
    if any(abs(cost * 1000 - whole) > 1e-6 for cost, whole in zip(costs, thousandths, strict=True)):
        return 0.0
    return math.gcd(*thousandths) / 1000
