"""Heat, flow and temperature difference: any two give the third."""

from math import sqrt
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Fluid,
    Given,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    refuse,
    tidy,
)
from coldwright.contract.quantities import (
    Density,
    MassFlow,
    Power,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import FluidState, check_fluid, check_temperature, freezing_temperature, properties
from coldwright_hydronic.cautions import EVAPORATOR_FREEZE, FLOW_DIRECTION, LOCAL_CODE
from coldwright_hydronic.references import FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES, VA_GLYCOL_TABLES
from coldwright_hydronic.shared.second_opinion import SecondOpinion, second_opinion

LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 0.2, 30.0
COLDEST_PLAIN_WATER = ZERO_CELSIUS + 4.4
PASSES = 60
"""Most passes of the iteration for the mean temperature: three suffice, the rest cost nothing."""


class HeatBalanceGiven(Given, frozen=True, kw_only=True):
    """Exactly two of flow, heat and temperature difference; the difference may come as two temperatures."""

    fluid: Annotated[Fluid, about("The liquid, without a temperature: that follows from the readings.")]
    entering_temperature: (
        Annotated[Temperature, about("Liquid entering the machine.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET
    leaving_temperature: (
        Annotated[Temperature, about("Liquid leaving the machine.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[
            TemperatureDifference,
            about("Entering less leaving, with one of the two temperatures.", low=-30, high=30, unit="delta_degC"),
        ]
        | UnsetType
    ) = UNSET
    flow: Annotated[VolumeFlow, about("Flow.", low=0.001, high=10000, unit="L/s")] | UnsetType = UNSET
    heat: (
        Annotated[Power, about("Heat taken from the liquid; negative if warmed.", low=-1e6, high=1e6, unit="kW")]
        | UnsetType
    ) = UNSET
    flow_measured_at: Annotated[
        Literal["mean", "entering", "leaving"], about("Where the flow meter sits: its density counts.")
    ] = "mean"
    temperature_error: Annotated[
        TemperatureDifference,
        about(
            "Error of each temperature sensor.",
            low=0,
            high=5,
            unit="delta_degC",
            basis="common_practice",
            references=("hydronic_practice",),
        ),
    ] = TemperatureDifference(0.3, "delta_degC")
    flow_error_fraction: Annotated[
        float,
        about("Relative error of the flow.", low=0, high=1, basis="common_practice", references=("hydronic_practice",)),
    ] = 0.05


class HeatBalanceResults(Results, frozen=True, kw_only=True):
    """The balance, with the flow, heat and difference that belong together."""

    solved_for: Annotated[
        Literal["flow", "heat", "temperature_difference"], about("Which of the three was worked out.")
    ]
    flow: Annotated[VolumeFlow, about("Flow, at the meter.")]
    heat: Annotated[Power, about("Heat taken from the liquid.", us="ton")]
    temperature_difference: Annotated[TemperatureDifference, about("Entering less leaving.")]
    entering_temperature: Annotated[Temperature, about("Liquid entering.")]
    leaving_temperature: Annotated[Temperature, about("Liquid leaving.")]
    mass_flow: Annotated[MassFlow, about("Mass in a time.")]
    density: Annotated[Density, about("Density at the mean temperature.")]
    specific_heat: Annotated[SpecificHeat, about("Specific heat at the mean temperature.")]
    us_constant: Annotated[float, about("Btu/h for each gpm and degF; the rule of thumb takes 500.")]
    rule_heat: Annotated[Power, about("Heat by the rule of thumb, 500 gpm degF.", us="ton")]
    rule_error_fraction: Annotated[
        float, about("Rule of thumb over the balance, less one; positive promises too much.")
    ]
    flow_per_capacity: Annotated[float, about("Flow for the heat, gpm per ton.")]
    uncertainty_fraction: Annotated[float, about("Relative uncertainty of a heat from these readings.")]
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at the mean temperature.")] | UnsetType = UNSET


FINDINGS = (
    finding("small_difference", "check", "The temperature difference is small against the error of the sensors."),
    finding("liquid_is_warmed", "check", "The liquid leaves warmer than it enters: at a cooling machine, crossed."),
    finding("rule_of_thumb_misleads", "check", "The rule of 500 is more than 3 % off with this liquid."),
    finding("near_freezing", "stop", "The cold end is within 2 K of the freezing point."),
    finding("cold_plain_water", "check", "Plain water leaves colder than 4.4 degC (40 degF)."),
    finding("unusual_flow_per_capacity", "note", "The flow for the heat is outside 1.5 to 3 gpm per ton."),
)


@calculator(
    "hydronic.heat_balance",
    version="1.0.0",
    title="Heat, flow and temperature difference of a liquid",
    references=(FIRST_PRINCIPLES, PRACTICE, *PROPERTY_REFERENCES, VA_GLYCOL_TABLES),
    hazards=("general",),
    findings=FINDINGS,
    examples=(
        Example(
            "tons_of_a_machine",
            "Invented readings: what does this machine take out of the water?",
            {
                "fluid": {"kind": "water"},
                "entering_temperature": {"value": 54, "unit": "degF"},
                "leaving_temperature": {"value": 44, "unit": "degF"},
                "flow": {"value": 240, "unit": "gpm"},
            },
        ),
        Example(
            "flow_for_a_load",
            "Invented load: which flow of glycol carries 300 kW at 5 K?",
            {
                "fluid": {"kind": "propylene_glycol", "volume_fraction": 0.3},
                "leaving_temperature": {"value": 2, "unit": "degC"},
                "temperature_difference": {"value": 5, "unit": "delta_degC"},
                "heat": {"value": 300, "unit": "kW"},
            },
        ),
    ),
)
def heat_balance(given: HeatBalanceGiven, notes: Notes) -> HeatBalanceResults:
    """Heat carried by a liquid: Q = rho V cp (T_in - T_out); any two of heat, flow and difference give the third.

    Properties are taken at the mean temperature, the density at the meter. Steady flow, no phase change, differences
    of 0.2 to 30 K. Also compares with the rule of 500 Btu/h for each gpm and degF, which glycol makes wrong, and tells
    how much the readings can be trusted.
    """
    check_fluid(given.fluid, temperature="derived", needs=("density", "specific_heat"))
    _refuse_wrong_count(given)
    solved_for, difference, flow = _solve(given)
    entering, leaving = _ends(given, difference)
    mean = 0.5 * (entering + leaving)
    state = _state(given, mean)
    volumetric_heat = _density_at_meter(given, entering, leaving) * state.specific_heat
    heat = volumetric_heat * flow * difference
    results = _results(given, solved_for, flow, heat, difference, entering, leaving, state, volumetric_heat)
    _show(given, notes, results, volumetric_heat)
    _find(given, notes, results, min(entering, leaving), difference)
    _assume(notes)
    notes.caution(EVAPORATOR_FREEZE, FLOW_DIRECTION, LOCAL_CODE)
    return results


def _refuse_wrong_count(given: HeatBalanceGiven) -> None:
    ends = (given.entering_temperature is not UNSET) + (given.leaving_temperature is not UNSET)
    by_difference = given.temperature_difference is not UNSET
    difference_known = by_difference or ends == 2
    known = (given.flow is not UNSET) + (given.heat is not UNSET) + difference_known
    errors: list[FieldError] = []
    if by_difference and ends == 2:
        text = "Two temperatures already give the difference: leave out temperature_difference, or one temperature."
        errors.append(field_error("/temperature_difference", text, value=given.temperature_difference))
    if ends == 0:
        text = "Properties need a temperature: add entering_temperature or leaving_temperature."
        errors.append(field_error("/entering_temperature", text, code="missing"))
    if known == 3:
        text = "Flow, heat and temperature difference are all given: leave out the one that is to be worked out."
        errors.append(field_error("/heat", text, value=given.heat))
    elif known < 2:
        absent = [
            name
            for name, there in (
                ("flow", given.flow is not UNSET),
                ("heat", given.heat is not UNSET),
                ("temperature_difference", difference_known),
            )
            if not there
        ]
        text = f"Exactly two of flow, heat and temperature difference are needed: add {' or '.join(absent)}."
        errors.append(field_error(f"/{absent[0]}", text, code="missing"))
    if errors:
        raise Refused(errors)


def _solve(given: HeatBalanceGiven) -> tuple[Literal["flow", "heat", "temperature_difference"], float, float]:
    """What was solved for, the difference (K) and the flow (m3/s)."""
    if given.temperature_difference is not UNSET:
        difference = given.temperature_difference.si
    elif given.entering_temperature is not UNSET and given.leaving_temperature is not UNSET:
        difference = given.entering_temperature.si - given.leaving_temperature.si
    else:
        return "temperature_difference", _solve_difference(given), _si(given.flow)
    pointer = "/temperature_difference" if given.temperature_difference is not UNSET else "/leaving_temperature"
    _refuse_difference(difference, pointer)
    if given.flow is not UNSET:
        return "heat", difference, given.flow.si
    heat = _si(given.heat)
    entering, leaving = _ends(given, difference)
    carried = _density_at_meter(given, entering, leaving) * _state(given, 0.5 * (entering + leaving)).specific_heat
    if heat * difference <= 0.0:
        text = "Heat and temperature difference must have the same sign, and the heat must not be zero."
        raise refuse("/heat", text, value=given.heat, why="no flow carries heat against its own temperature difference")
    return "flow", difference, heat / (carried * difference)


def _solve_difference(given: HeatBalanceGiven) -> float:
    """The difference that the heat makes of the flow, by passes over the mean temperature."""
    heat, flow = _si(given.heat), _si(given.flow)
    difference = 0.0
    for _ in range(PASSES):
        entering, leaving = _ends(given, difference)
        state = _state(given, 0.5 * (entering + leaving))
        latest = heat / (_density_at_meter(given, entering, leaving) * state.specific_heat * flow)
        _refuse_difference(latest, "/heat")
        if abs(latest - difference) <= 1e-12 * abs(latest):
            break
        difference = latest
    return latest


def _si(quantity: VolumeFlow | Power | UnsetType) -> float:
    return 0.0 if quantity is UNSET else quantity.si


def _refuse_difference(difference: float, pointer: str) -> None:
    if not LEAST_DIFFERENCE * (1 - 1e-9) <= abs(difference) <= GREATEST_DIFFERENCE * (1 + 1e-9):
        raise refuse(
            pointer,
            f"The temperature difference comes to {difference:.4g} K; it must be 0.2 to 30 K, up or down.",
            code="out_of_range",
            value=tidy(difference),
            allowed=Allowed(minimum=LEAST_DIFFERENCE, maximum=GREATEST_DIFFERENCE, unit="delta_degC"),
            why="a smaller one drowns in the error of the sensors; over a larger one the properties change too much",
        )


def _ends(given: HeatBalanceGiven, difference: float) -> tuple[float, float]:
    """Entering and leaving temperature, K."""
    if given.entering_temperature is not UNSET:
        entering = given.entering_temperature.si
        leaving = given.leaving_temperature
        return entering, entering - difference if leaving is UNSET else leaving.si
    leaving_k = given.leaving_temperature.si if given.leaving_temperature is not UNSET else ZERO_CELSIUS
    return leaving_k + difference, leaving_k


def _state(given: HeatBalanceGiven, mean: float) -> FluidState:
    pointer = "/entering_temperature" if given.entering_temperature is not UNSET else "/leaving_temperature"
    check_temperature(given.fluid, mean, pointer, tidy(mean - ZERO_CELSIUS))
    return properties(given.fluid, mean, needs=("density", "specific_heat"))


def _density_at_meter(given: HeatBalanceGiven, entering: float, leaving: float) -> float:
    at = {"mean": 0.5 * (entering + leaving), "entering": entering, "leaving": leaving}[given.flow_measured_at]
    check_temperature(given.fluid, at, "/flow_measured_at", tidy(at - ZERO_CELSIUS))
    return properties(given.fluid, at, needs=("density",)).density


def _results(
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


def _show(given: HeatBalanceGiven, notes: Notes, r: HeatBalanceResults, volumetric_heat: float) -> None:
    notes.show("rho", "density at the mean temperature", "library", r.density)
    notes.show("cp", "specific heat at the mean temperature", "library", r.specific_heat)
    notes.show("k", "heat in a volume", "rho (at the meter) cp", volumetric_heat / 1e3, "kJ/m3.K")
    notes.show(
        "Q",
        "heat",
        f"Q = k V (T_in - T_out) = {volumetric_heat / 1e3:.5g} x {r.flow.si:.6g} x {r.temperature_difference.si:.5g}",
        r.heat,
    )
    notes.show("C", "US constant", "C = k x 1 gpm x 1 degF", r.us_constant, "Btu/h.gpm.degF")
    notes.show("e", "error of the rule of 500", f"500 / {r.us_constant:.5g} - 1", r.rule_error_fraction)
    notes.show(
        "u",
        "uncertainty",
        f"u^2 = u_flow^2 + 2 (u_T / (T_in - T_out))^2 = {given.flow_error_fraction:g}^2 + "
        f"2 ({given.temperature_error.si:.4g} / {r.temperature_difference.si:.5g})^2",
        r.uncertainty_fraction,
    )


def _find(given: HeatBalanceGiven, notes: Notes, r: HeatBalanceResults, coldest: float, difference: float) -> None:
    sensors = sqrt(2.0) * given.temperature_error.si / abs(difference)
    cold = coldest - ZERO_CELSIUS
    if abs(difference) < 3.0 and sensors > 0.14:
        notes.check(
            "small_difference",
            f"The difference is {abs(difference):.2f} K and the sensors alone make {sensors:.0%} of error.",
            why="two sensors, each with its own error, are subtracted from one another",
            resolve="use one sensor in both wells or a matched pair, or raise the load before reading",
            field="/temperature_error",
            references=("hydronic_practice",),
        )
    if difference < 0.0:
        notes.check(
            "liquid_is_warmed",
            f"The liquid leaves {-difference:.2f} K warmer than it enters.",
            why="at a cooling machine the hoses or the sensors are crossed",
            resolve="follow the hoses, swap the sensors, read again",
            field="/leaving_temperature",
        )
    if abs(r.rule_error_fraction) > 0.03:
        notes.check(
            "rule_of_thumb_misleads",
            f"500 gpm degF is {r.rule_error_fraction:+.1%} off: this liquid takes {r.us_constant:.0f}.",
            why="glycol carries less heat than water",
            resolve=f"use {r.us_constant:.0f} Btu/h for each gpm and degF",
            field="/fluid",
        )
    freezing = freezing_temperature(given.fluid)
    if freezing is not None and coldest < freezing + 2.0:
        notes.stop(
            "near_freezing",
            f"The cold end is at {cold:.2f} degC, the liquid freezes at {freezing - ZERO_CELSIUS:.2f} degC.",
            why="in the evaporator the wall is colder than the liquid that leaves it: ice forms there first",
            resolve="raise the set point, or raise the strength of the antifreeze",
            field="/leaving_temperature",
            references=("hydronic_practice",),
        )
    if given.fluid.kind == "water" and coldest < COLDEST_PLAIN_WATER - 1e-9:
        notes.check(
            "cold_plain_water",
            f"Plain water at {cold:.2f} degC is colder than 4.4 degC (40 degF).",
            why="on the refrigerant's side the tubes may be colder than 0 degC by now",
            resolve="raise the set point to 4.4 degC or more, or use antifreeze",
            field="/leaving_temperature",
            references=("hydronic_practice",),
        )
    if not 1.5 <= r.flow_per_capacity <= 3.0:
        notes.note(
            "unusual_flow_per_capacity",
            f"{r.flow_per_capacity:.2f} gpm per ton; 1.5 to 3 is usual (2.4 at a difference of 10 degF).",
            resolve="look at the flow reading and at which load the machine stands",
            field="/flow",
            references=("hydronic_practice",),
        )


def _assume(notes: Notes) -> None:
    notes.assume("steady", "Flow and temperatures are steady, and nothing freezes or boils.", basis="derived")
    notes.assume("all_flow", "All of the flow passes both sensors: no bypass between them.", basis="derived")
    notes.assume(
        "pump_heat",
        "The heat is all that the liquid gives up between the two sensors. A pump between them adds its own heat "
        "(hydraulic power over efficiency, often 1 to 3 % of the load); one outside them does not.",
        basis="common_practice",
        references=("hydronic_practice",),
    )
