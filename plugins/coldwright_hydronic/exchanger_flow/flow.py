"""Flow from the pressure drop, and from the heat."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import Allowed, Notes, Refused, refuse, tidy
from coldwright.contract.quantities import GaugePressure, PressureDifference, VolumeFlow
from coldwright_basis.compare import above
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_basis.liquids import properties
from coldwright_hydronic.exchanger_flow.contradictions import drop_errors
from coldwright_hydronic.exchanger_flow.gauges import drop_error
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven
from coldwright_hydronic.shared.devices import (
    assume_rated_with_water,
    device_drop,
    device_flow_ratio,
    fluid_correction,
    needs_of,
    rated_state,
)

LEAST_DROP = 1.0
"""Pa: no gauge can read less."""

GREATEST_RATIO = 2.0


class Flow(NamedTuple):
    """What follows from the drop. SI."""

    drop: float
    drop_error: float
    ratio: float
    flow: float
    uncertainty: float
    correction: float


def flow_of(given: ExchangerFlowGiven, notes: Notes) -> Flow:
    """Flow from the corrected drop and the rating; refused above twice the rated flow."""
    n = given.exponent
    state = properties(given.fluid, needs=needs_of(n))
    rated = rated_state(given.rated_fluid, n, "/rated_fluid")
    if given.rated_fluid is UNSET:
        assume_rated_with_water(notes)
    correction = fluid_correction(n, state, rated)
    drop = _corrected_drop(given, state.density, notes)
    rated_drop = given.rated_pressure_drop.si
    ratio = device_flow_ratio(drop, rated_drop, n, correction)
    if above(ratio, GREATEST_RATIO):
        raise _over_twice(given, drop, ratio, device_drop(GREATEST_RATIO, rated_drop, n, correction))
    flow = given.rated_flow.si * ratio
    error = drop_error(given, notes)
    uncertainty = error / (n * drop)
    notes.show(
        "c",
        "Drop with this liquid over drop with the rated one",
        f"(rho/rho_r)^(n-1) (mu/mu_r)^(2-n), n = {n:g}, rho {state.density:.5g} over {rated.density:.5g} kg/m3",
        correction,
    )
    notes.show(
        "Q",
        "flow",
        f"Q_r (dp / (dp_r c))^(1/n) = {given.rated_flow} x ({drop / 1e3:.5g} / ({rated_drop / 1e3:.5g} x "
        f"{correction:.5g}))^(1/{n:g})",
        VolumeFlow.from_si(flow, "L/s"),
    )
    notes.show("u", "uncertainty", f"u_dp / (n dp) = {error / 1e3:.4g} / ({n:g} x {drop / 1e3:.5g})", uncertainty)
    return Flow(drop, error, ratio, flow, uncertainty, correction)


def _over_twice(given: ExchangerFlowGiven, drop: float, ratio: float, most: float) -> Refused:
    """Names the reading that was given: of two gauges the inlet's, with what it may read above the other."""
    inlet = given.inlet_gauge_pressure
    pointer, limit = "/pressure_drop", Allowed(maximum=tidy(most / 1e3), unit="kPa")
    value: float | GaugePressure = tidy(drop / 1e3)
    if inlet is not UNSET:
        pointer, value = "/inlet_gauge_pressure", inlet
        limit = Allowed(maximum=tidy(GaugePressure.from_si(inlet.si - drop + most, inlet.unit).value), unit=inlet.unit)
    return refuse(
        pointer,
        f"The drop of {drop / 1e3:.4g} kPa means {ratio:.4g} times the rated flow; the law ends at twice.",
        code="out_of_range",
        value=value,
        allowed=limit,
        why="So large a drop is a fouled or blocked exchanger, a wrong gauge or the wrong rating, not a flow.",
    )


def _corrected_drop(given: ExchangerFlowGiven, density: float, notes: Notes) -> float:
    if given.pressure_drop is not UNSET:
        return given.pressure_drop.si
    inlet, outlet = given.inlet_gauge_pressure, given.outlet_gauge_pressure
    z_in, z_out = given.inlet_gauge_elevation, given.outlet_gauge_elevation
    if inlet is UNSET or outlet is UNSET or z_in is UNSET or z_out is UNSET:  # refused before
        raise Refused(drop_errors(given))
    drop = inlet.si - outlet.si + density * STANDARD_GRAVITY * (z_in.si - z_out.si)
    if drop < LEAST_DROP:
        raise refuse(
            "/outlet_gauge_pressure",
            f"With the heights taken out the drop is {drop / 1e3:.4g} kPa; it must be above zero.",
            code="out_of_range",
            value=outlet,
            allowed=Allowed(maximum=tidy(GaugePressure.from_si(outlet.si + drop - LEAST_DROP, outlet.unit).value),
                            unit=outlet.unit),
            why="The flow is reversed or stopped, or the gauges or their heights are swapped.",
        )  # fmt: skip
    notes.show(
        "dp",
        "Corrected pressure drop",
        f"p_in - p_out + rho g (z_in - z_out) = {inlet.to('kPa'):.5g} - {outlet.to('kPa'):.5g} + {density:.5g} x "
        f"{STANDARD_GRAVITY} x ({z_in.to('m'):.5g} - {z_out.to('m'):.5g}) / 1000",
        PressureDifference.from_si(drop, "kPa"),
    )
    return drop


def flow_from_heat(given: ExchangerFlowGiven, notes: Notes) -> float | None:
    """Flow [m3/s] from heat and temperature difference; None where they were not given."""
    if given.heat is UNSET or given.temperature_difference is UNSET:
        return None
    state = properties(given.fluid, needs=("density", "specific_heat"))
    flow = given.heat.si / (state.volumetric_heat * given.temperature_difference.si)
    notes.show(
        "Q_heat",
        "Flow from heat",
        f"heat / (rho cp dT) = {given.heat.to('kW'):.5g} kW / ({state.volumetric_heat / 1e3:.5g} kJ/m3.K x "
        f"{given.temperature_difference.si:.5g} K)",
        VolumeFlow.from_si(flow, "L/s"),
    )
    return flow
