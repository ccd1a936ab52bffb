"""The figures of a heat balance as results."""

from math import sqrt
from typing import Literal

from coldwright.contract import tidy
from coldwright.contract.quantities import (
    Density,
    MassFlow,
    Power,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_basis.liquids import FluidState
from coldwright_hydronic.heat_balance.given import HeatBalanceGiven
from coldwright_hydronic.heat_balance.results import HeatBalanceResults
from coldwright_hydronic.shared.second_opinion import second_opinion


def results_of(
    given: HeatBalanceGiven,
    solved_for: Literal["flow", "heat", "temperature_difference"],
    flow: float,
    heat: float,
    difference: float,
    entering: float,
    leaving: float,
    state: FluidState,
    volumetric_heat: float,
) -> HeatBalanceResults:
    """The results, with the US constant and the error of the rule of 500."""
    flow_us = VolumeFlow.from_si(flow, "L/s").to("gpm")
    gpm = VolumeFlow(1.0, "gpm").si
    constant = Power.from_si(volumetric_heat * gpm / 1.8, "Btu/h").value
    rule = Power(500.0 * flow_us * difference * 1.8, "Btu/h")
    sensors = sqrt(2.0) * given.temperature_error.si / abs(difference)
    return HeatBalanceResults(
        solved_for=solved_for,
        flow=VolumeFlow.from_si(flow, "L/s"),
        heat=Power.from_si(heat, "kW"),
        temperature_difference=TemperatureDifference.from_si(difference, "delta_degC"),
        entering_temperature=Temperature.from_si(entering, "degC"),
        leaving_temperature=Temperature.from_si(leaving, "degC"),
        mass_flow=MassFlow.from_si(heat / (state.specific_heat * difference), "kg/s"),
        density=Density.from_si(state.density, "kg/m3"),
        specific_heat=SpecificHeat.from_si(state.specific_heat, "kJ/kg.K"),
        us_constant=tidy(constant),
        rule_heat=Power.from_si(rule.si, "kW"),
        rule_error_fraction=tidy(500.0 / constant - 1.0),
        flow_per_capacity=tidy(flow_us / abs(Power.from_si(heat, "kW").to("ton"))),
        uncertainty_fraction=tidy(sqrt(given.flow_error_fraction**2 + sensors**2)),
        second_opinion=second_opinion(given.fluid, 0.5 * (entering + leaving)),
    )
