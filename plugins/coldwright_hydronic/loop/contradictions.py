"""Inputs of a loop that contradict one another."""

from collections.abc import Sequence

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error, tidy
from coldwright_basis.compare import below
from coldwright_basis.liquids import Property, check_fluid
from coldwright_basis.repeats import repeated
from coldwright_hydronic.loop.elements import SUCTION, Located, everything
from coldwright_hydronic.loop.given import (
    MOST_ELEMENTS,
    DeviceGiven,
    ElementGiven,
    FittingsGiven,
    LineGiven,
    LoopGiven,
    ValveGiven,
)
from coldwright_hydronic.loop.pump_contradictions import pump_errors
from coldwright_hydronic.shared.devices import needs_of
from coldwright_hydronic.shared.friction import LARGEST_RELATIVE_ROUGHNESS, LINE_ROUGHNESS
from coldwright_hydronic.shared.given import SQUARE_LAW

DEEPEST = 2
"""Levels of `branches`: the sure way through a doubtful split grows with every level."""


def refuse_contradictions(given: LoopGiven) -> None:
    """Raise `Refused` with all that is wrong."""
    located = list(everything(given.elements))
    errors = _fluid_errors(given, located)
    errors += _mode_errors(given)
    errors += _name_errors(located)
    for pointer, element, level in located:
        errors += _element_errors(pointer, element, level)
    for i, pump in enumerate(given.pumps):
        errors += pump_errors(f"/pumps/{i}", pump)
    errors += _pressure_errors(given, located)
    errors += _required_errors(given)
    errors += _shut_valve_errors(given)
    if errors:
        raise Refused(errors)


def _shut_valve_errors(given: LoopGiven) -> list[FieldError]:
    errors: list[FieldError] = []
    if given.shut_off_head is not UNSET and given.fixed_flow is UNSET:
        text = "It stands for pumps that are not named: give it with fixed_flow."
        errors.append(field_error("/shut_off_head", text, value=given.shut_off_head, why="A curve has its own head."))
    known = given.pressure_reference
    if known is not UNSET and known.gauge_pressure_maximum is not UNSET and known.growth < 0:
        errors.append(
            field_error(
                "/pressure_reference/gauge_pressure_maximum",
                "The greatest pressure is below the pressure there.",
                value=known.gauge_pressure_maximum,
                allowed=Allowed(minimum=known.gauge_pressure.to("kPa"), unit="kPa"),
            )
        )
    return errors


def _fluid_errors(given: LoopGiven, located: Sequence[Located]) -> list[FieldError]:
    needs: list[Property] = ["density"]
    if given.hose_options or any(_needs_viscosity(element) for _, element, _ in located):
        needs.append("dynamic_viscosity")
    if given.required is not UNSET and given.required.load is not UNSET:
        needs.append("specific_heat")
    errors: list[FieldError] = []
    try:
        check_fluid(given.fluid, needs=tuple(needs))
    except Refused as refused:
        errors += refused.errors
    for pointer, element, _ in located:
        if isinstance(element, DeviceGiven) and element.rated_fluid is not UNSET:
            try:
                check_fluid(element.rated_fluid, f"{pointer}/rated_fluid", needs=needs_of(element.exponent))
            except Refused as refused:
                errors += refused.errors
    return errors


def _needs_viscosity(element: ElementGiven) -> bool:
    if isinstance(element, DeviceGiven):
        return element.exponent != SQUARE_LAW
    return isinstance(element, LineGiven) or (
        isinstance(element, FittingsGiven) and element.equivalent_length is not UNSET
    )


def _mode_errors(given: LoopGiven) -> list[FieldError]:
    errors = []
    by_point = [i for i, pump in enumerate(given.pumps) if pump.point is not UNSET]
    if by_point:
        at = f"/pumps/{by_point[0]}/point"
        if len(given.pumps) > 1:
            errors.append(field_error(at, "A known point is worked for one pump alone: leave the other pumps out."))
        if given.elements:
            errors.append(
                field_error("/elements", "With a known point there is no loop to work: leave the elements out.")
            )
        if given.fixed_flow is not UNSET:
            text = "With a known point the flow follows from it: leave fixed_flow out."
            errors.append(field_error("/fixed_flow", text, value=given.fixed_flow))
        return errors
    if given.pumps and given.fixed_flow is not UNSET:
        text = "Either pumps, or a fixed_flow in their place, not both."
        errors.append(field_error("/fixed_flow", text, value=given.fixed_flow))
    if given.pumps and given.pump_owner is UNSET:
        errors.append(field_error("/pump_owner", "Say whose pump runs: machine, site or none.", code="missing"))
    if given.pumps and all(pump.state != "running" for pump in given.pumps):
        text = "No pump runs: start one, or give the flow as fixed_flow."
        errors.append(field_error("/pumps", text))
    if given.elements and not given.pumps and given.fixed_flow is UNSET:
        errors.append(field_error("/pumps", "Give the pumps, or the flow as fixed_flow.", code="missing"))
    if not given.elements and (given.pumps or not given.hose_options):
        errors.append(field_error("/elements", "A loop needs one element at least.", code="missing"))
    return errors


def _name_errors(located: Sequence[Located]) -> list[FieldError]:
    errors = []
    if len(located) > MOST_ELEMENTS:
        text = f"{len(located)} elements, those of branches counted."
        errors.append(field_error("/elements", text, code="out_of_range", allowed=Allowed(maximum=MOST_ELEMENTS)))
    for pointer, element, _ in located:
        if element.name == SUCTION:
            text = f"The name {SUCTION!r} is the pump's own: give the element another."
            errors.append(field_error(f"{pointer}/name", text, value=element.name))
    why = "Each element is found by its name"
    return errors + repeated(((f"{pointer}/name", element.name) for pointer, element, _ in located), why)


def _element_errors(pointer: str, element: ElementGiven, level: int) -> list[FieldError]:
    if isinstance(element, LineGiven):
        roughness = LINE_ROUGHNESS[element.line_kind] if element.roughness is UNSET else element.roughness.si
        return _roughness_errors(pointer, roughness, element.inner_diameter.si)
    if isinstance(element, FittingsGiven):
        return _fittings_errors(pointer, element)
    if isinstance(element, ValveGiven):
        if (element.flow_coefficient_kv is UNSET) == (element.flow_coefficient_cv is UNSET):
            text = "A valve needs exactly one of flow_coefficient_kv and flow_coefficient_cv."
            return [field_error(f"{pointer}/flow_coefficient_kv", text)]
        return []
    if isinstance(element, DeviceGiven):
        least, most = element.flow_minimum, element.flow_maximum
        if least is not UNSET and most is not UNSET and least.si > most.si:
            return [field_error(f"{pointer}/flow_maximum", f"It is below flow_minimum, {least}.", value=most)]
        return []
    if level >= DEEPEST:
        text = "Branches inside branches inside branches are outside the method."
        return [
            field_error(f"{pointer}/branches", text, why="Put the inner paths side by side in one branches element.")
        ]
    return []


def _roughness_errors(pointer: str, roughness: float, diameter: float) -> list[FieldError]:
    most = LARGEST_RELATIVE_ROUGHNESS * diameter
    if below(roughness, most):
        return []
    return [
        field_error(
            f"{pointer}/roughness",
            f"A roughness of {roughness * 1e3:.4g} mm is 0.05 of the bore or more.",
            code="out_of_range",
            value=roughness * 1e3,
            allowed=Allowed(below=tidy(most * 1e3), unit="mm"),
            why="The friction law ends there; for corrugated hose give the measured drop as a device.",
        )
    ]


def _fittings_errors(pointer: str, element: FittingsGiven) -> list[FieldError]:
    if (element.k_factor is UNSET) == (element.equivalent_length is UNSET):
        text = "Fittings need exactly one of k_factor and equivalent_length."
        return [field_error(f"{pointer}/k_factor", text)]
    if element.equivalent_length is UNSET:
        if element.roughness is not UNSET:
            text = "A roughness belongs to an equivalent length, not to a k_factor."
            return [field_error(f"{pointer}/roughness", text, value=element.roughness)]
        return []
    if element.roughness is UNSET:
        return [field_error(f"{pointer}/roughness", "An equivalent length needs its roughness.", code="missing")]
    return _roughness_errors(pointer, element.roughness.si, element.inner_diameter.si)


def _pressure_errors(given: LoopGiven, located: Sequence[Located]) -> list[FieldError]:
    errors = []
    if given.atmospheric_pressure is not UNSET and given.site_elevation is not UNSET:
        text = "Either the atmospheric_pressure or the site_elevation that it follows from, not both."
        errors.append(field_error("/site_elevation", text, value=given.site_elevation))
    reference = given.pressure_reference
    if reference is not UNSET and reference.location not in {SUCTION, *(element.name for _, element, _ in located)}:
        text = "There is no element of this name; it must be `pump_suction` or the name of an element."
        errors.append(field_error("/pressure_reference/location", text, value=reference.location))
    return errors


def _required_errors(given: LoopGiven) -> list[FieldError]:
    errors = []
    wanted = given.required
    if wanted is not UNSET:
        text = "Give the flow, or the load with its temperature_difference."
        if (wanted.flow is UNSET) == (wanted.load is UNSET):
            errors.append(field_error("/required/flow", text))
        elif wanted.load is not UNSET and wanted.temperature_difference is UNSET:
            errors.append(field_error("/required/temperature_difference", text, code="missing"))
        elif wanted.load is UNSET and wanted.temperature_difference is not UNSET:
            errors.append(field_error("/required/load", text, code="missing"))
    if given.hose_options:
        if given.run_length is UNSET:
            text = "Hose can be chosen for a length only: hose in one run, out plus back."
            errors.append(field_error("/run_length", text, code="missing"))
        if wanted is UNSET:
            errors.append(field_error("/required", "Hose can be chosen for a required flow only.", code="missing"))
    for i, option in enumerate(given.hose_options):
        errors += _roughness_errors(f"/hose_options/{i}", option.roughness.si, option.inner_diameter.si)
    return errors
