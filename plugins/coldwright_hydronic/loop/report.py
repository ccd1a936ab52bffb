"""Results and working of a loop that has been worked out."""

from collections.abc import Sequence

from msgspec import UNSET

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import GaugePressure, Length, Power, PressureDifference, Velocity, VolumeFlow
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_basis.liquids import FluidState
from coldwright_hydronic.loop.building import kv_of, roughness_of
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import DeviceGiven, FittingsGiven, LineGiven, ValveGiven
from coldwright_hydronic.loop.network import RAMP
from coldwright_hydronic.loop.pressures import Reading
from coldwright_hydronic.loop.results import LoopElement, NamedPressure
from coldwright_hydronic.shared.friction import LAMINAR_BELOW, friction_factor


def report(readings: Sequence[Reading], state: FluidState) -> tuple[LoopElement, ...]:
    """Elements as they are answered, paths of branches inside theirs."""
    return tuple(_element(r, state) for r in readings)


def _element(reading: Reading, state: FluidState) -> LoopElement:
    reynolds = reading.reynolds(state)
    factor = _factor(reading, reynolds)
    return LoopElement(
        name=reading.node.element.name,
        flow_each=VolumeFlow.from_si(reading.each, "L/s"),
        velocity=UNSET if reading.speed is None else Velocity.from_si(reading.speed, "m/s"),
        reynolds=UNSET if reynolds is None else tidy(reynolds),
        friction_factor=UNSET if factor is None else tidy(factor),
        pressure_drop=PressureDifference.from_si(reading.drop, "kPa"),
        pressure_in=GaugePressure.from_si(reading.pressure_in, "kPa"),
        pressure_out=GaugePressure.from_si(reading.pressure_out, "kPa"),
        branches=tuple(report(path, state) for path in reading.branches) if reading.branches else UNSET,
    )


def _factor(reading: Reading, reynolds: float | None) -> float | None:
    """Friction factor of a line, or of fittings by their equivalent length."""
    element = reading.node.element
    if not reynolds:
        return None
    if isinstance(element, LineGiven):
        return friction_factor(reynolds, roughness_of(element) / element.inner_diameter.si)
    if isinstance(element, FittingsGiven) and element.roughness is not UNSET:
        return friction_factor(reynolds, element.roughness.si / element.inner_diameter.si)
    return None


def branch_flows(readings: Sequence[Reading]) -> tuple[VolumeFlow, ...]:
    """Flows of all paths of all branches, in order."""
    return tuple(VolumeFlow.from_si(path[0].flow, "L/s") for r in readings for path in r.branches)


def extremes(case: Case) -> tuple[NamedPressure, NamedPressure]:
    """Lowest and highest running pressure over all inlets and outlets."""
    ends = [(p, r) for r in case.readings for p in (r.pressure_in, r.pressure_out)]
    lowest, highest = min(ends, key=lambda e: e[0]), max(ends, key=lambda e: e[0])
    return _named(*lowest), _named(*highest)


def _named(pressure: float, reading: Reading) -> NamedPressure:
    return NamedPressure(name=reading.node.element.name, value=GaugePressure.from_si(pressure, "kPa"))


def show_duty(case: Case, notes: Notes) -> None:
    """The key equations with their numbers: one line of each kind of element, then the balance."""
    shown: set[type] = set()
    for reading in case.readings:
        if type(reading.node.element) not in shown:
            shown.add(type(reading.node.element))
            _show_element(reading, case.state, notes)
    weight = case.loop.weight
    notes.show(
        "S",
        "Drop of the whole loop",
        "sum of all elements; equal runs share the flow, unequal branches share the drop",
        PressureDifference.from_si(case.resistance, "kPa"),
    )
    if case.loop.lift:
        notes.show("L", "Lift of the open loop", "rho g height + suction drop", case.loop.lift / 1e3, "kPa")
    if case.loop.pumps:
        expression = "rho g H(Q) = S(Q)" + (" + L" if case.loop.lift else "")
        notes.show("Q", "Flow of the loop", expression, VolumeFlow.from_si(case.flow, "L/s"))
        for pump in case.loop.pumps:
            notes.show(
                "H",
                f"Head of pump {pump.index}",
                f"r^2 H_r(Q / (r n)), r = {pump.ratio:.5g}, n = {pump.count}",
                pump.head(case.flow),
                "m",
            )
    notes.show(
        "P_h",
        "Hydraulic power",
        f"rho g Q H = {case.state.density:.6g} kg/m3 x {STANDARD_GRAVITY} m/s2 x {case.flow:.6g} m3/s x "
        f"{case.rise / weight:.5g} m",
        Power.from_si(case.rise * case.flow, "kW"),
    )
    notes.show(
        "p",
        "Pressure after an element",
        "p_out = p_in - dp - rho g (z_out - z_in), from the pressure at the pump suction",
        GaugePressure.from_si(case.press.suction, "kPa"),
    )


def _show_element(reading: Reading, state: FluidState, notes: Notes) -> None:
    element, drop = reading.node.element, PressureDifference.from_si(reading.drop, "kPa")
    if isinstance(element, LineGiven):
        reynolds = reading.reynolds(state)
        factor = _factor(reading, reynolds) or 0.0
        ramp = " on the ramp to" if LAMINAR_BELOW * (1.0 - RAMP) <= (reynolds or 0.0) < LAMINAR_BELOW else " at"
        notes.show(
            "dp",
            f"Drop of {element.name}",
            f"f (L/D) rho v^2 / 2, f = {factor:.5g}{ramp} Re {reynolds or 0.0:.6g}, v = {reading.speed or 0.0:.5g} m/s, "
            f"L/D = {element.length.si / element.inner_diameter.si:.5g}",
            drop,
        )
    elif isinstance(element, FittingsGiven):
        kind = "K" if element.equivalent_length is UNSET else "f L_eq/D"
        notes.show("dp", f"Drop of {element.name}", f"{kind} rho v^2 / 2, v = {reading.speed or 0.0:.5g} m/s", drop)
    elif isinstance(element, DeviceGiven):
        notes.show(
            "dp",
            f"Drop of {element.name}",
            f"dp_r (Q/Q_r)^n (rho/rho_r)^(n-1) (mu/mu_r)^(2-n) = {element.rated_pressure_drop} x "
            f"({VolumeFlow.from_si(reading.each, 'L/s')} / {element.rated_flow})^{element.exponent:g} x ...",
            drop,
        )
    elif isinstance(element, ValveGiven):
        expression = f"(Q[m3/h] / Kv)^2 rho / 1000 bar, Kv = {kv_of(element):.5g}"
        notes.show("dp", f"Drop of {element.name}", expression, drop)


def show_suction(notes: Notes, suction: float, air: float, vapor: float, density: float, head: float) -> None:
    """Suction head with its numbers."""
    notes.show(
        "NPSHa",
        "Suction head available",
        f"(p_suction + p_air - p_vapour) / (rho g) = ({suction / 1e3:.5g} + {air / 1e3:.5g} - {vapor / 1e3:.4g}) kPa / "
        f"({density:.6g} kg/m3 x {STANDARD_GRAVITY} m/s2)",
        Length.from_si(head, "m"),
    )
