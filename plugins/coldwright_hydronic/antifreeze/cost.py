"""What a mixture costs in flow and head."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Allowed, Notes, refuse, tidy
from coldwright.contract.quantities import Density, DynamicViscosity, SpecificHeat, Temperature
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import HOTTEST, FluidState, glycol, water
from coldwright_hydronic.antifreeze.given import AntifreezeGiven, ReferenceLine
from coldwright_hydronic.shared.friction import line_drop, velocity
from coldwright_hydronic.shared.strength import Strength

RERATE_FLOW_RATIO = 1.03

COLDEST_COMPARED_WATER = ZERO_CELSIUS + 5.0


def cost_of(given: AntifreezeGiven, notes: Notes, wanted: Strength) -> dict[str, Any]:
    """Properties and ratios; nothing where the liquid would be frozen at a temperature that was not asked for."""
    temperature = Temperature(5.0, "degC")
    if given.fluid_temperature is not UNSET:
        temperature = given.fluid_temperature
        if temperature.si <= wanted.freezing:
            freezing = wanted.freezing - ZERO_CELSIUS
            raise refuse(
                "/fluid_temperature",
                f"The mixture freezes at {freezing:.2f} degC.",
                code="out_of_range",
                value=temperature,
                allowed=Allowed(above=round(freezing, 3), maximum=95, unit="degC"),
                why="A frozen mixture has no flow.",
            )
    elif given.leaving_temperature is not UNSET:
        temperature = given.leaving_temperature
        if temperature.si <= wanted.freezing:
            return {}  # the finding on the set point says so
    at = min(temperature.si, HOTTEST)
    mixture = glycol(given.kind, wanted.by_mass, at)
    plain = water(max(at, COLDEST_COMPARED_WATER))
    flow_ratio = plain.volumetric_heat / mixture.volumetric_heat
    same_flow, same_heat = _drop_ratios(given.reference_line, mixture, plain, flow_ratio)
    notes.show(
        "Q_g/Q_w",
        "Flow for the same heat",
        f"(rho cp)_w / (rho cp)_g = {plain.density:.1f} x {plain.specific_heat:.0f} / "
        f"({mixture.density:.1f} x {mixture.specific_heat:.0f})",
        flow_ratio,
    )
    line = given.reference_line
    law = (
        f"Darcy in {line.inner_diameter}, water at {line.velocity}; viscosity {1e3 * mixture.dynamic_viscosity:.3f} "
        f"against {1e3 * plain.dynamic_viscosity:.3f} mPa.s"
    )
    notes.show("dp_g/dp_w", "Drop at the same flow", law, same_flow)
    notes.show("dp_g/dp_w", "Drop for the same heat", f"{law}; flow x {flow_ratio:.4f}", same_heat)
    if flow_ratio > RERATE_FLOW_RATIO:
        notes.check(
            "rerate_capacity_and_pump",
            f"The mixture needs {flow_ratio:.3f} times the flow of water for the same heat, and {same_heat:.2f} times "
            "the pressure in a line.",
            why="Ratings for water promise too much capacity and too little pump head.",
            resolve="Rate the machine and the pump for this mixture.",
            references=("hydronic_practice",),
        )
    return {
        "density": Density.from_si(mixture.density, "kg/m3"),
        "specific_heat": SpecificHeat.from_si(mixture.specific_heat, "kJ/kg.K"),
        "dynamic_viscosity": DynamicViscosity.from_si(mixture.dynamic_viscosity, "mPa.s"),
        "flow_ratio": tidy(flow_ratio),
        "pressure_drop_ratio_same_flow": tidy(same_flow),
        "pressure_drop_ratio_same_heat": tidy(same_heat),
    }


def _drop_ratios(line: ReferenceLine, mixture: FluidState, plain: FluidState, flow_ratio: float) -> tuple[float, float]:
    bore, rough = line.inner_diameter.si, line.roughness.si
    flow = line.velocity.si / velocity(1.0, bore)

    def drop(state: FluidState, factor: float) -> float:
        return line_drop(flow * factor, bore, 1.0, rough, state.density, state.dynamic_viscosity)

    base = drop(plain, 1.0)
    return drop(mixture, 1.0) / base, drop(mixture, flow_ratio) / base
