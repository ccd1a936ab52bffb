"""Glycol strength for a cold, the volumes that make it, and what it costs in flow and head."""

from math import log
from typing import Annotated, Any

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Given,
    Load,
    Notes,
    Reference,
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
    DynamicViscosity,
    Length,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    Velocity,
    Volume,
)
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freezing import glycol_freezing_temperature, strength_freezing_at
from coldwright_basis.liquids import (
    HOTTEST,
    FluidState,
    glycol,
    mass_to_volume_fraction,
    volume_to_mass_fraction,
    water,
)
from coldwright_hydronic.antifreeze_findings import always, judge_present, judge_running, judge_strength
from coldwright_hydronic.antifreeze_strength import (
    ICE_ALLOWED,
    GlycolKind,
    Protection,
    Strength,
    burst_limits,
    ice_fraction,
    required_strength,
    strength_error,
    target_temperature,
)
from coldwright_hydronic.backflow import BACKFLOW_PROTECTION, Preventer, least_preventer
from coldwright_hydronic.friction import line_drop, velocity
from coldwright_hydronic.references import (
    CAUTION_REFERENCES,
    FIRST_PRINCIPLES,
    FLUIDS,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import inhibited_glycol

BURST_TABLES = Reference(
    id="glycol_burst_tables",
    title="Published burst-protection tables of glycol mixtures",
    provenance="memory",
    remark="Recalled, such as 22 % ethylene and 24 % propylene by volume at 0 degF. They sit at an ice fraction of "
    "0.25 to 0.35 on the freezing line; the rule here takes 0.25.",
)
RERATE_FLOW_RATIO = 1.03
COLDEST_COMPARED_WATER = ZERO_CELSIUS + 5.0


class PresentStrength(Given, frozen=True, kw_only=True):
    """What the loop holds now: exactly one of the three figures. 0 is plain water."""

    volume_fraction: Annotated[float, about("Pure glycol by volume, not concentrate.", low=0, high=0.6)] | UnsetType = (
        UNSET
    )
    mass_fraction: Annotated[float, about("Glycol by mass.", low=0, high=0.6)] | UnsetType = UNSET
    measured_freezing_temperature: (
        Annotated[
            Temperature,
            about("Freezing point read on a refractometer, on the scale of this glycol.", low=-55, high=1, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    kind: Annotated[GlycolKind, about("Glycol that is in the loop; the same as `kind` unless said.")] | UnsetType = (
        UNSET
    )


class ReferenceLine(Given, frozen=True, kw_only=True):
    """The line in which the cost in head is compared."""

    inner_diameter: Annotated[Length, about("Bore.", low=12, high=610, unit="mm", basis="common_practice")] = Length(
        101.6, "mm"
    )
    roughness: Annotated[
        Length,
        about(
            "Roughness; with these bounds it stays under 0.05 of the bore.",
            low=0,
            high=0.5,
            unit="mm",
            basis="common_practice",
        ),
    ] = Length(0.05, "mm")
    velocity: Annotated[
        Velocity, about("Velocity of plain water.", low=0.05, high=10, unit="m/s", basis="common_practice")
    ] = Velocity(2.0, "m/s")


class AntifreezeGiven(Given, frozen=True, kw_only=True):
    """The cold to stand, the loop, what is poured in and what is in it now."""

    kind: Annotated[GlycolKind, about("Glycol.")]
    lowest_temperature: Annotated[
        Temperature,
        about(
            "Lowest temperature that the liquid meets: of the air when idle, of the evaporating side when running.",
            low=-60,
            high=20,
            unit="degC",
        ),
    ]
    protection: Annotated[
        Protection, about("`freeze`: no ice forms. `burst`: slush forms but bursts nothing; nothing may run in it.")
    ] = "freeze"
    margin: Annotated[
        TemperatureDifference,
        about("Margin below the lowest temperature.", low=0, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(3.0, "delta_degC")
    loop_volume: Annotated[Volume, about("Volume of the loop.", low=0.001, high=5e6, unit="L")]
    concentrate_mass_fraction: Annotated[
        float,
        about(
            "Glycol in the concentrate by mass, the rest water and inhibitors: take it from the data sheet.",
            low=0.3,
            high=1,
            basis="common_practice",
        ),
    ] = 0.95
    present: Annotated[PresentStrength, about("What the loop holds now.")] | UnsetType = UNSET
    fluid_temperature: (
        Annotated[
            Temperature,
            about("Temperature of the properties: the leaving temperature unless given, else 5 degC.", low=-60, high=95,
                  unit="degC"),
        ]
        | UnsetType
    ) = UNSET  # fmt: skip
    leaving_temperature: (
        Annotated[Temperature, about("Set point of the leaving liquid.", low=-55, high=95, unit="degC")] | UnsetType
    ) = UNSET
    evaporator_approach: Annotated[
        TemperatureDifference,
        about("Leaving less evaporating temperature.", low=0, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(5.0, "delta_degC")
    reference_line: Annotated[ReferenceLine, about("Line in which heads are compared.")] = ReferenceLine()


class AntifreezeResults(Results, frozen=True, kw_only=True):
    """Strength, volumes and cost. Properties are left out where the liquid would be frozen."""

    mass_fraction: Annotated[float, about("Strength to reach, by mass.")]
    volume_fraction: Annotated[float, about("The same, pure glycol by volume.")]
    freezing_temperature: Annotated[Temperature, about("Freezing point of that strength.")]
    ice_fraction_at_lowest: Annotated[
        float, about("Ice by mass at the lowest temperature less the margin; 0 with freeze protection.")
    ]
    concentrate_volume: Annotated[Volume, about("Concentrate for a new fill of the loop.")]
    water_volume: Annotated[Volume, about("Water for a new fill of the loop.")]
    drain_volume_batch: (
        Annotated[Volume, about("To drain once, then make up: with concentrate if too weak, with water if too strong.")]
        | UnsetType
    ) = UNSET
    drain_volume_bleed: (
        Annotated[Volume, about("To feed and bleed at once while the loop is mixed; more than in one batch.")]
        | UnsetType
    ) = UNSET
    density: Annotated[Density, about("Density at the fluid temperature.")] | UnsetType = UNSET
    specific_heat: Annotated[SpecificHeat, about("Specific heat at the fluid temperature.")] | UnsetType = UNSET
    dynamic_viscosity: Annotated[DynamicViscosity, about("Viscosity at the fluid temperature.")] | UnsetType = UNSET
    flow_ratio: (
        Annotated[float, about("Flow for the same heat and temperature difference, over that of water.")] | UnsetType
    ) = UNSET
    pressure_drop_ratio_same_flow: (
        Annotated[float, about("Pressure drop in the reference line at the same flow, over that of water.")] | UnsetType
    ) = UNSET
    pressure_drop_ratio_same_heat: (
        Annotated[float, about("The same at the flow that carries the same heat.")] | UnsetType
    ) = UNSET
    lowest_leaving_temperature: Annotated[
        Temperature, about("Lowest leaving temperature that this strength allows: freezing, margin and approach.")
    ]
    second_opinion: (
        Annotated[
            Temperature, about("Freezing point of an inhibited glycol of this volume fraction, by the fitted tables.")
        ]
        | UnsetType
    ) = UNSET
    proposed_backflow_preventer: Annotated[Preventer, about("Least backflow protection proposed for the fill.")]


@calculator(
    "hydronic.antifreeze",
    version="1.0.0",
    title="Glycol strength, its volumes and its cost in flow and head",
    references=(*PROPERTY_REFERENCES, FLUIDS, BURST_TABLES, FIRST_PRINCIPLES, PRACTICE, *CAUTION_REFERENCES),
    tables=(BACKFLOW_PROTECTION,),
    hazards=("chemical", "environment", "general"),
    findings=(
        finding("water_set_point_too_cold", "stop", "Plain water is in the loop and the set point is below 4.4 degC."),
        finding("present_too_weak", "stop", "What is in the loop now does not protect down to the temperature asked."),
        finding("runs_below_freezing", "stop", "Set point less approach is below the freezing point."),
        finding("burst_floor", "note", "The floor of 0.20 by mass decides the burst strength."),
        finding(
            "burst_cap", "check", "The cap, three quarters of the strength for -45 degC, decides the burst strength."
        ),
        finding(
            "burst_is_not_running", "note", "Burst strength lets nothing be pumped or run below the freezing point."
        ),
        finding("thin_mixture", "check", "Under 0.20 by volume: growth, and too little inhibitor."),
        finding("strong_mixture", "check", "Over 0.50 by mass: pumping and capacity suffer."),
        finding("glycols_would_mix", "check", "Another glycol is in the loop."),
        finding("refractometer_scale", "note", "A refractometer has one scale for each glycol."),
        finding("rerate_capacity_and_pump", "check", "The mixture needs over 3 % more flow than water."),
        finding("make_up_water", "note", "Make-up water should be low in minerals and chlorine."),
        finding("used_fluid", "note", "Used or left-over fluid must be tested, kept apart and sent back."),
        finding("same_inhibitors", "note", "Only one inhibitor package, and none made for vehicles."),
    ),
    examples=(
        Example(
            "new_fill",
            "Invented: 3,000 L of propylene glycol mixture for a winter hire at -15 degC.",
            {
                "kind": "propylene_glycol",
                "lowest_temperature": {"value": -15, "unit": "degC"},
                "loop_volume": {"value": 3000, "unit": "L"},
                "leaving_temperature": {"value": 2, "unit": "degC"},
            },
        ),
        Example(
            "correction",
            "Invented: a loop read at -6 degC on the refractometer is brought to -18 degC.",
            {
                "kind": "ethylene_glycol",
                "lowest_temperature": {"value": 5, "unit": "degF"},
                "loop_volume": {"value": 800, "unit": "gal"},
                "concentrate_mass_fraction": 1.0,
                "present": {"measured_freezing_temperature": {"value": 21.2, "unit": "degF"}},
            },
        ),
        Example(
            "idle_in_winter",
            "Invented: burst protection of an idle loop at -25 degC.",
            {
                "kind": "ethylene_glycol",
                "lowest_temperature": {"value": -25, "unit": "degC"},
                "protection": "burst",
                "loop_volume": {"value": 1500, "unit": "L"},
            },
        ),
    ),
    load=Load.HEAVY,
)
def antifreeze(given: AntifreezeGiven, notes: Notes) -> AntifreezeResults:
    """Strength of a glycol mixture for a cold, the volumes that make or correct it, and its cost in flow and head.

    Freeze: the mass fraction whose freezing point (Melinder's lines for plain glycol, by CoolProp) is the lowest
    temperature less the margin. Burst: three quarters of that fraction, so that by the lever rule a quarter of the mass
    is ice; not under 0.20 and not over three quarters of the fraction for -45 degC. Volumes add without contraction.
    Holds for plain ethylene and propylene glycol up to 0.60 by mass; inhibited fluids differ by 0.5 to 1 K.
    """
    target = target_temperature(given.kind, given.lowest_temperature, given.margin)
    wanted = Strength(given.kind, required_strength(given.kind, target, given.protection))
    _show_strength(given, notes, target, wanted)
    concentrate = mass_to_volume_fraction(given.kind, given.concentrate_mass_fraction)
    present = _present(given)
    _refuse_volumes(given, wanted, present, concentrate)
    batch, bleed = _correction(given, notes, wanted, present, concentrate)
    volume_of_concentrate = given.loop_volume.si * wanted.by_volume / concentrate
    notes.show(
        "V_c",
        "concentrate for a new fill",
        f"V x_t / x_c = {given.loop_volume} x {wanted.by_volume:.4f} / {concentrate:.4f}",
        Volume.from_si(volume_of_concentrate, "L"),
    )
    cost = _cost(given, notes, wanted)
    lowest_leaving = wanted.freezing + given.margin.si + given.evaporator_approach.si
    opinion = inhibited_glycol(given.kind, wanted.by_volume)
    judge_strength(given, notes, target, wanted)
    judge_present(given, notes, target, wanted, present)
    judge_running(given, notes, wanted, present)
    always(notes)
    return AntifreezeResults(
        mass_fraction=tidy(wanted.by_mass),
        volume_fraction=tidy(wanted.by_volume),
        freezing_temperature=Temperature.from_si(wanted.freezing, "degC"),
        ice_fraction_at_lowest=tidy(_ice(given, wanted, target)),
        concentrate_volume=Volume.from_si(volume_of_concentrate, "L"),
        water_volume=Volume.from_si(given.loop_volume.si - volume_of_concentrate, "L"),
        drain_volume_batch=batch,
        drain_volume_bleed=bleed,
        lowest_leaving_temperature=Temperature.from_si(lowest_leaving, "degC"),
        second_opinion=UNSET if opinion is UNSET else opinion.freezing_temperature,
        proposed_backflow_preventer=least_preventer(harmful=True),
        **cost,
    )


def _ice(given: AntifreezeGiven, wanted: Strength, target: float) -> float:
    return 0.0 if given.protection == "freeze" else ice_fraction(given.kind, wanted.by_mass, target)


def _show_strength(given: AntifreezeGiven, notes: Notes, target: float, wanted: Strength) -> None:
    notes.show(
        "T_t",
        "temperature to protect to",
        f"lowest temperature - margin = {given.lowest_temperature} - {given.margin}",
        Temperature.from_si(target, "degC"),
    )
    if given.protection == "freeze":
        expression = f"T_freeze(w) = {target - ZERO_CELSIUS:.3f} degC, solved for w"
    else:
        by_ice, floor, cap = burst_limits(given.kind, target)
        expression = (
            f"w = (1 - {ICE_ALLOWED:g}) w_eq = {by_ice:.4f}, with w_eq freezing at {target - ZERO_CELSIUS:.3f} degC; "
            f"not under {floor:g}, not over {cap:.4f}"
        )
    notes.show("w", "strength by mass", expression, wanted.by_mass)
    notes.show("x_t", "strength by volume", "x = (w/rho_g) / (w/rho_g + (1 - w)/rho_w), at 20 degC", wanted.by_volume)


def _present(given: AntifreezeGiven) -> Strength | None:
    present = given.present
    if present is UNSET:
        return None
    kind = given.kind if present.kind is UNSET else present.kind
    names = ("volume_fraction", "mass_fraction", "measured_freezing_temperature")
    told = [n for n in names if getattr(present, n) is not UNSET]
    if len(told) != 1:
        text = "Give exactly one of volume_fraction, mass_fraction and measured_freezing_temperature."
        raise refuse("/present", text, code="refused" if told else "missing")
    if present.volume_fraction is not UNSET:
        by_mass = volume_to_mass_fraction(kind, present.volume_fraction)
        if by_mass > 0.6 + 1e-12:
            limit = Allowed(minimum=0, maximum=round(mass_to_volume_fraction(kind, 0.6), 4))
            text = f"This is {by_mass:.3f} by mass; the data end at 0.60."
            raise refuse("/present/volume_fraction", text, value=present.volume_fraction, allowed=limit)
        return Strength(kind, by_mass)
    if present.mass_fraction is not UNSET:
        return Strength(kind, present.mass_fraction)
    assert present.measured_freezing_temperature is not UNSET  # noqa: S101 - one of three was counted above
    return Strength(kind, _mass_from_reading(kind, present.measured_freezing_temperature))


def _mass_from_reading(kind: str, reading: Temperature) -> float:
    """Strength from a freezing point; near 0 degC, under the range of the solver, in proportion."""
    thin = glycol_freezing_temperature(kind, 0.02) - ZERO_CELSIUS
    celsius = reading.si - ZERO_CELSIUS
    if celsius >= thin:
        return 0.02 * max(0.0, celsius / thin)
    coldest = glycol_freezing_temperature(kind, 0.6)
    if reading.si < coldest - 1e-9:
        raise refuse(
            "/present/measured_freezing_temperature",
            f"A mixture of 0.60 by mass freezes at {coldest - ZERO_CELSIUS:.1f} degC; the data end there.",
            value=reading,
            allowed=Allowed(minimum=round(coldest - ZERO_CELSIUS, 2), unit="degC"),
        )
    return strength_freezing_at(kind, reading.si)


def _refuse_volumes(given: AntifreezeGiven, wanted: Strength, present: Strength | None, concentrate: float) -> None:
    errors: list[FieldError] = []
    at = "/concentrate_mass_fraction"
    if weak := strength_error(at, given.concentrate_mass_fraction, wanted.by_volume, concentrate):
        errors.append(weak)
    if present is not None and present.by_volume >= concentrate:
        errors.append(
            field_error(
                "/present",
                f"The loop would hold {present.by_volume:.3f} by volume, the concentrate holds {concentrate:.3f}.",
                value=present.by_volume,
                allowed=Allowed(below=round(concentrate, 4)),
                why="a loop cannot be stronger than what it was filled with",
            )
        )
    if errors:
        raise Refused(errors)


def _correction(
    given: AntifreezeGiven, notes: Notes, wanted: Strength, present: Strength | None, concentrate: float
) -> tuple[Volume | UnsetType, Volume | UnsetType]:
    if present is None:
        return UNSET, UNSET
    loop, x, x_t = given.loop_volume.si, present.by_volume, wanted.by_volume
    x_c, fed = (concentrate, "concentrate") if x < x_t else (0.0, "water")
    batch = loop * (x_t - x) / (x_c - x) if x != x_t else 0.0
    bleed = loop * log((x_c - x) / (x_c - x_t)) if x != x_t else 0.0
    numbers = f"x = {x:.4f}, x_t = {x_t:.4f}, x_c = {x_c:.4f} ({fed})"
    shown = Volume.from_si(batch, "L"), Volume.from_si(bleed, "L")
    notes.show("V_d", "to drain in one batch", f"V (x_t - x)/(x_c - x), {numbers}", shown[0])
    notes.show("V_b", "to feed and bleed", f"V ln((x_c - x)/(x_c - x_t)), {numbers}", shown[1])
    return shown


def _cost(given: AntifreezeGiven, notes: Notes, wanted: Strength) -> dict[str, Any]:
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
                why="a frozen mixture has no flow",
            )
    elif given.leaving_temperature is not UNSET:
        temperature = given.leaving_temperature
        if temperature.si <= wanted.freezing:
            return {}  # the finding on the set point tells
    at = min(temperature.si, HOTTEST)
    mixture = glycol(given.kind, wanted.by_mass, at)
    plain = water(max(at, COLDEST_COMPARED_WATER))
    flow_ratio = plain.volumetric_heat / mixture.volumetric_heat
    same_flow, same_heat = _drop_ratios(given.reference_line, mixture, plain, flow_ratio)
    notes.show(
        "Q_g/Q_w",
        "flow for the same heat",
        f"(rho cp)_w / (rho cp)_g = {plain.density:.1f} x {plain.specific_heat:.0f} / "
        f"({mixture.density:.1f} x {mixture.specific_heat:.0f})",
        flow_ratio,
    )
    line = given.reference_line
    law = (
        f"Darcy in {line.inner_diameter}, water at {line.velocity}; viscosity {1e3 * mixture.dynamic_viscosity:.3f} "
        f"against {1e3 * plain.dynamic_viscosity:.3f} mPa.s"
    )
    notes.show("dp_g/dp_w", "drop at the same flow", law, same_flow)
    notes.show("dp_g/dp_w", "drop for the same heat", f"{law}; flow x {flow_ratio:.4f}", same_heat)
    if flow_ratio > RERATE_FLOW_RATIO:
        notes.check(
            "rerate_capacity_and_pump",
            f"The mixture needs {flow_ratio:.3f} times the flow of water for the same heat, and {same_heat:.2f} times "
            "the pressure in a line.",
            why="ratings for water promise too much capacity and too little pump head",
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
