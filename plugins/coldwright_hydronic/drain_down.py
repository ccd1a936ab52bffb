"""Volume and time to drain, what stays behind, the winter lay-up, and where the liquid may go."""

from functools import partial
from math import pi, sqrt
from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Fluid,
    Given,
    Load,
    Notes,
    Reference,
    Refused,
    Results,
    Text,
    about,
    calculator,
    field_error,
    finding,
    refuse,
    tidy,
)
from coldwright.contract.quantities import (
    Duration,
    Length,
    Mass,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeFlow,
)
from coldwright_basis.liquids import (
    check_fluid,
    glycol_mass_fraction,
    mass_to_volume_fraction,
    properties,
    volume_to_mass_fraction,
)
from coldwright_hydronic import draining
from coldwright_hydronic.antifreeze_strength import (
    GlycolKind,
    Protection,
    Strength,
    required_strength,
    strength_error,
    target_temperature,
)
from coldwright_hydronic.drain_down_findings import DischargeTo, Drained, judge
from coldwright_hydronic.references import CAUTION_REFERENCES, FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES
from coldwright_hydronic.shared.second_opinion import SecondOpinion, second_opinion

TORRICELLI = Reference(
    id="torricelli_drain_time",
    title="Time to drain a tank using Torricelli's law, text of a public demonstration",
    provenance="seen",
    remark="Upright tank in closed form, g as 9.81 m/s2; the lying cylinder and the sphere are derived the same way.",
)
ORIFICE = Reference(
    id="orifice_coefficients",
    title="Discharge coefficients of a sharp orifice (0.60 to 0.62) and a short tube (0.8), as in textbooks",
    provenance="memory",
)
OXYGEN_DEMAND = Reference(
    id="theoretical_oxygen_demand",
    title="Oxygen for full oxidation: C2H6O2 + 2.5 O2, C3H8O2 + 4 O2",
    provenance="derived",
)
OSHA_BLOWING = Reference(
    id="osha_1910_242_b",
    title="29 CFR 1910.242(b), Compressed air used for cleaning",
    provenance="memory",
)
OXYGEN, CARBON, HYDROGEN = 15.999, 12.011, 1.008
OXYGEN_PER_KG = {
    "ethylene_glycol": 2.5 * 2 * OXYGEN / (2 * CARBON + 6 * HYDROGEN + 2 * OXYGEN),
    "propylene_glycol": 4.0 * 2 * OXYGEN / (3 * CARBON + 8 * HYDROGEN + 2 * OXYGEN),
}
SLOPED_RESIDUAL, FLAT_RESIDUAL = 0.02, 0.10
LEAST_STEP = 0.9999e-4
"""m, between rows of a table."""
WIDEST_OPENING = 0.5
"""Orifice over vessel diameter: beyond it the level falls too fast for Torricelli's law."""


class UprightVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="upright"):
    """A tank with straight walls. Levels are measured from the outlet at its bottom."""

    name: Annotated[Text, about("Name.")]
    diameter: Annotated[Length, about("Inner diameter.", low=0.01, high=100, unit="m")]
    height: Annotated[Length, about("Inner height.", low=0.001, high=100, unit="m")] | UnsetType = UNSET
    initial_level: (
        Annotated[Length, about("Level at the start; full unless given.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


class HorizontalCylinderVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="horizontal_cylinder"):
    """A lying cylinder with flat ends. Levels are measured from its bottom."""

    name: Annotated[Text, about("Name.")]
    diameter: Annotated[Length, about("Inner diameter.", low=0.01, high=100, unit="m")]
    length: Annotated[Length, about("Inner length.", low=0.001, high=100, unit="m")]
    initial_level: (
        Annotated[Length, about("Level at the start; full unless given.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


class SphereVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="sphere"):
    """A sphere. Levels are measured from its bottom."""

    name: Annotated[Text, about("Name.")]
    diameter: Annotated[Length, about("Inner diameter.", low=0.01, high=100, unit="m")]
    initial_level: (
        Annotated[Length, about("Level at the start; full unless given.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


class LevelVolume(Given, frozen=True, kw_only=True):
    """One row of a strapping table."""

    level: Annotated[Length, about("Level above the outlet.", low=0, high=100, unit="m")]
    volume: Annotated[Volume, about("Volume below that level.", low=0, high=1e8, unit="L")]


class TableVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="table"):
    """Any vessel, by its table of levels and volumes; straight walls between two rows."""

    name: Annotated[Text, about("Name.")]
    volume_by_level: Annotated[
        tuple[LevelVolume, ...], about("Levels and volumes, both rising.", min_length=2, max_length=500)
    ]
    initial_level: (
        Annotated[Length, about("Level at the start; the last of the table unless given.", low=0, high=100, unit="m")]
        | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


VesselGiven = UprightVessel | HorizontalCylinderVessel | SphereVessel | TableVessel


class DrainLine(Given, frozen=True, kw_only=True):
    """Hose or pipe that is emptied."""

    name: Annotated[Text, about("Name.")] | UnsetType = UNSET
    inner_diameter: Annotated[Length, about("Bore.", low=5, high=610, unit="mm")]
    length: Annotated[Length, about("Length.", low=0.001, high=5000, unit="m")]
    parallel_runs: Annotated[int, about("Runs side by side.", low=1, high=50)] = 1
    drains_by_gravity: Annotated[
        bool, about("Laid to a fall all the way; if not, it lies flat with sags.", basis="derived")
    ] = False
    residual_fraction: (
        Annotated[
            float,
            about("Part of its volume that stays: 0.02 laid to a fall, 0.10 lying flat, unless given.", low=0, high=1),
        ]
        | UnsetType
    ) = UNSET


class ResidualVolume(Given, frozen=True, kw_only=True):
    """A place that holds liquid back."""

    name: Annotated[Text, about("Name: evaporator, pump casing, coil header.")]
    volume: Annotated[Volume, about("Liquid that stays in it.", low=0, high=1e6, unit="L")]


class LayUp(Given, frozen=True, kw_only=True):
    """Antifreeze for what stays: a target strength, or the cold that it is to stand."""

    kind: Annotated[GlycolKind, about("Glycol.")]
    target_volume_fraction: (
        Annotated[float, about("Glycol by volume in what stays.", above=0, high=0.6)] | UnsetType
    ) = UNSET
    lowest_temperature: (
        Annotated[Temperature, about("Cold to stand, instead of a target.", low=-60, high=20, unit="degC")] | UnsetType
    ) = UNSET
    protection: Annotated[Protection, about("`freeze` or `burst`, with `lowest_temperature`.")] = "freeze"
    margin: Annotated[
        TemperatureDifference,
        about("Margin, with `lowest_temperature`.", low=0, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(3.0, "delta_degC")
    concentrate_volume_fraction: Annotated[
        float, about("Glycol by volume in what is poured in.", low=0.05, high=1, basis="common_practice")
    ] = 0.95


class DrainDownGiven(Given, frozen=True, kw_only=True):
    """What holds liquid, how it runs out, and where to."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature.")]
    vessels: Annotated[
        tuple[VesselGiven, ...], about("Vessels that drain one after the other through the orifice.", max_length=50)
    ] = ()
    lines: Annotated[tuple[DrainLine, ...], about("Hoses and pipes.", max_length=200)] = ()
    drain_orifice_diameter: (
        Annotated[Length, about("Bore of the drain; needed with vessels.", low=1, high=610, unit="mm")] | UnsetType
    ) = UNSET
    discharge_coefficient: Annotated[
        float,
        about(
            "0.61 for a sharp orifice, 0.8 for a short tube.",
            low=0.3,
            high=1,
            basis="handbook",
            references=("orifice_coefficients",),
        ),
    ] = 0.61
    head_below_vessel: Annotated[
        Length, about("Fall of the outlet hose below the vessel.", low=0, high=100, unit="m", basis="derived")
    ] = Length(0.0, "m")
    vented: Annotated[bool, about("A vent at the top of each vessel is open.")] = True
    residual_volumes: Annotated[tuple[ResidualVolume, ...], about("Places that do not drain.", max_length=200)] = ()
    lay_up: Annotated[LayUp, about("Antifreeze for what stays.")] | UnsetType = UNSET
    lowest_temperature: (
        Annotated[
            Temperature, about("Lowest temperature that the drained parts will meet.", low=-60, high=60, unit="degC")
        ]
        | UnsetType
    ) = UNSET
    discharge_to: Annotated[DischargeTo, about("Where the liquid goes.")] | UnsetType = UNSET
    discharge_consent: Annotated[bool, about("Consent of the treatment works or the site is on file.")] = False
    treated: Annotated[bool, about("The water holds inhibitor, biocide or dirt.")] = False
    receiver_flow_limit: (
        Annotated[VolumeFlow, about("Most that the receiver takes.", above=0, high=1e4, unit="L/s")] | UnsetType
    ) = UNSET


class VesselTime(Results, frozen=True, kw_only=True):
    """One vessel."""

    name: Annotated[str, about("Name.")]
    drain_time: Annotated[Duration, about("Time to drain it.")]


class DrainDownResults(Results, frozen=True, kw_only=True):
    """Volumes, times and what the discharge carries."""

    total_volume: Annotated[Volume, about("Vessels at their first level, lines and places that hold back.")]
    drained_volume: Annotated[Volume, about("What runs out.")]
    residual_volume: Annotated[Volume, about("What stays in lines and places that do not drain.")]
    initial_flow: Annotated[VolumeFlow, about("Flow at the start, first vessel.")] | UnsetType = UNSET
    drain_time: (
        Annotated[Duration, about("All vessels, one after the other, vented, no hose friction.")] | UnsetType
    ) = UNSET
    vessel_times: Annotated[tuple[VesselTime, ...], about("Time of each vessel, in the order given.")]
    antifreeze_volume: Annotated[Volume, about("Antifreeze to work into what stays.")] | UnsetType = UNSET
    lay_up_volume_fraction: Annotated[float, about("Strength of what then stays, glycol by volume.")] | UnsetType = (
        UNSET
    )
    glycol_mass: Annotated[Mass, about("Glycol in what runs out.")] | UnsetType = UNSET
    oxygen_demand: (
        Annotated[Mass, about("Oxygen that this glycol takes from the water that receives it, in theory.")] | UnsetType
    ) = UNSET
    flow_within_limit: Annotated[bool, about("First flow is within what the receiver takes.")] | UnsetType = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET


@calculator(
    "hydronic.drain_down",
    version="1.1.0",
    title="Draining a loop: volumes, time, lay-up and discharge",
    references=(
        *PROPERTY_REFERENCES,
        TORRICELLI,
        ORIFICE,
        OXYGEN_DEMAND,
        OSHA_BLOWING,
        FIRST_PRINCIPLES,
        PRACTICE,
        *CAUTION_REFERENCES,
    ),
    hazards=("pressure", "environment", "chemical", "general"),
    findings=(
        finding("discharge_forbidden", "stop", "Glycol, treated or unknown liquid to a storm drain or the ground."),
        finding("consent_needed", "check", "Such liquid to a sanitary sewer with no consent on file."),
        finding("residual_unprotected", "stop", "What stays will freeze in the cold that is expected."),
        finding("glycols_would_mix", "check", "The lay-up glycol is not the one in the loop."),
        finding("not_vented", "check", "With no vent open the vessel drains late or not at all."),
        finding("flow_over_limit", "check", "The first flow is more than the receiver takes."),
        finding("residual_large", "check", "More than 5 % stays behind."),
        finding("tall_outlet", "note", "A long fall below the vessel puts the outlet's top under suction."),
        finding("drain_plugs", "note", "Drain plugs stay out and are tagged."),
        finding("blowing_out", "note", "How compressed air may be used."),
    ),
    examples=(
        Example(
            "buffer_and_hose",
            "Invented: a buffer tank and two hoses of propylene glycol mixture go to a tanker.",
            {
                "fluid": {
                    "kind": "propylene_glycol",
                    "mass_fraction": 0.3,
                    "temperature": {"value": 10, "unit": "degC"},
                },
                "vessels": [
                    {
                        "name": "buffer tank",
                        "shape": "upright",
                        "diameter": {"value": 1.2, "unit": "m"},
                        "height": {"value": 2.2, "unit": "m"},
                        "initial_level": {"value": 2, "unit": "m"},
                    }
                ],
                "lines": [
                    {
                        "inner_diameter": {"value": 101.6, "unit": "mm"},
                        "length": {"value": 120, "unit": "m"},
                        "drains_by_gravity": True,
                    }
                ],
                "drain_orifice_diameter": {"value": 50, "unit": "mm"},
                "discharge_to": "tanker",
                "receiver_flow_limit": {"value": 10, "unit": "L/s"},
            },
        ),
        Example(
            "winter_lay_up",
            "Invented: a machine left outdoors is drained and what stays is protected to -20 degC.",
            {
                "fluid": {"kind": "water", "temperature": {"value": 50, "unit": "degF"}},
                "residual_volumes": [
                    {"name": "evaporator", "volume": {"value": 8, "unit": "gal"}},
                    {"name": "pump casing", "volume": {"value": 2, "unit": "gal"}},
                ],
                "lay_up": {
                    "kind": "propylene_glycol",
                    "lowest_temperature": {"value": -4, "unit": "degF"},
                    "concentrate_volume_fraction": 1.0,
                },
                "discharge_to": "sanitary",
            },
        ),
    ),
    load=Load.HEAVY,
)
def drain_down(given: DrainDownGiven, notes: Notes) -> DrainDownResults:
    """Volumes and time of draining, what stays, antifreeze for it, and what the discharge carries.

    Torricelli's law over each vessel's own cross-section, with a discharge coefficient: level against an open vent, no
    hose friction (for a long drain hose ask `hydronic.loop`). What stays in lines is common practice: 2 % of their volume
    laid to a fall, 10 % lying flat. Antifreeze for what stays: V x_t/(x_c - x_t). The glycol and its oxygen demand are
    those of what runs out.
    """
    check_fluid(given.fluid)
    _refuse(given)
    drained = _drain(given, notes)
    strength, antifreeze = _lay_up(given, notes, drained.residual)
    glycol_mass = _glycol_mass(given, notes, drained.drained)
    judge(given, notes, drained, strength)
    first = drained.first_flow
    limit = given.receiver_flow_limit
    return DrainDownResults(
        second_opinion=second_opinion(given.fluid),
        total_volume=Volume.from_si(drained.total, "L"),
        drained_volume=Volume.from_si(drained.drained, "L"),
        residual_volume=Volume.from_si(drained.residual, "L"),
        initial_flow=UNSET if first is None else VolumeFlow.from_si(first, "L/s"),
        drain_time=UNSET if first is None else Duration.from_si(sum(drained.times), "s"),
        vessel_times=tuple(
            VesselTime(name=v.name, drain_time=Duration.from_si(t, "s"))
            for v, t in zip(given.vessels, drained.times, strict=True)
        ),
        antifreeze_volume=UNSET if antifreeze is None else Volume.from_si(antifreeze, "L"),
        lay_up_volume_fraction=UNSET if strength is None else tidy(strength.by_volume),
        glycol_mass=UNSET if glycol_mass is None else Mass.from_si(glycol_mass, "kg"),
        oxygen_demand=(
            UNSET if glycol_mass is None else Mass.from_si(glycol_mass * OXYGEN_PER_KG[given.fluid.kind], "kg")
        ),
        flow_within_limit=UNSET if first is None or limit is UNSET else first <= limit.si * (1 + 1e-9),
    )


# --- refusals ----------------------------------------------------------------------------------------------------


def _refuse(given: DrainDownGiven) -> None:
    errors: list[FieldError] = []
    if not (given.vessels or given.lines or given.residual_volumes):
        errors.append(field_error("/vessels", "Give at least one vessel, line or residual volume.", code="missing"))
    if given.vessels and given.drain_orifice_diameter is UNSET:
        text = "Vessels need the bore of the drain that they run out through."
        errors.append(field_error("/drain_orifice_diameter", text, code="missing"))
    for i, vessel in enumerate(given.vessels):
        errors += _vessel_errors(vessel, f"/vessels/{i}", given.drain_orifice_diameter)
    if errors:
        raise Refused(errors)


def _vessel_errors(vessel: VesselGiven, at: str, orifice: Length | UnsetType) -> list[FieldError]:
    errors: list[FieldError] = []
    bottom = 0.0
    if isinstance(vessel, TableVessel):
        if error := _table_error(vessel, at):
            return [error]
        bottom, top = vessel.volume_by_level[0].level.si, vessel.volume_by_level[-1].level.si
    else:
        top = _height(vessel)
    width = _width(vessel)
    if orifice is not UNSET and orifice.si > WIDEST_OPENING * width:
        errors.append(
            field_error(
                "/drain_orifice_diameter",
                f"The drain must not be wider than {WIDEST_OPENING:g} of the vessel {vessel.name}.",
                value=orifice,
                allowed=Allowed(maximum=tidy(1e3 * WIDEST_OPENING * width), unit="mm"),
                why="the level would fall as fast as the jet, where the method does not hold",
            )
        )
    initial = _initial_level(vessel)
    if initial is None:
        errors.append(field_error(f"{at}/initial_level", "Give the level or the height of the tank.", code="missing"))
        return errors
    for name, level in (("initial_level", initial), ("final_level", vessel.final_level.si)):
        if not bottom * (1 - 1e-12) <= level <= top * (1 + 1e-12):
            errors.append(
                field_error(
                    f"{at}/{name}",
                    f"The level lies outside the vessel {vessel.name}.",
                    code="out_of_range",
                    value=getattr(vessel, name),
                    allowed=Allowed(minimum=bottom, unit="m")
                    if top == float("inf")
                    else Allowed(minimum=bottom, maximum=tidy(top), unit="m"),
                )
            )
    if not errors and vessel.final_level.si > initial:
        errors.append(field_error(f"{at}/final_level", "The last level is above the first.", value=vessel.final_level))
    return errors


def _table_error(vessel: TableVessel, at: str) -> FieldError | None:
    rows = vessel.volume_by_level
    for i in range(1, len(rows)):
        if rows[i].level.si < rows[i - 1].level.si + LEAST_STEP or rows[i].volume.si <= rows[i - 1].volume.si:
            return field_error(
                f"{at}/volume_by_level/{i}",
                "Levels and volumes must both rise from row to row, levels by 0.1 mm or more.",
                why="a vessel holds more the fuller it is",
            )
    return None


def _height(vessel: UprightVessel | HorizontalCylinderVessel | SphereVessel) -> float:
    if isinstance(vessel, UprightVessel):
        return float("inf") if vessel.height is UNSET else vessel.height.si
    return vessel.diameter.si


def _width(vessel: VesselGiven) -> float:
    """Diameter, or that of a circle as wide as a table's vessel is on average."""
    if not isinstance(vessel, TableVessel):
        return vessel.diameter.si
    first, last = vessel.volume_by_level[0], vessel.volume_by_level[-1]
    return sqrt(4 / pi * (last.volume.si - first.volume.si) / (last.level.si - first.level.si))


def _initial_level(vessel: VesselGiven) -> float | None:
    """Given, else full; None for an upright tank of unknown height."""
    if vessel.initial_level is not UNSET:
        return vessel.initial_level.si
    if isinstance(vessel, TableVessel):
        return vessel.volume_by_level[-1].level.si
    if isinstance(vessel, UprightVessel) and vessel.height is UNSET:
        return None
    return _height(vessel)


# --- volumes and times -------------------------------------------------------------------------------------------


def _drain(given: DrainDownGiven, notes: Notes) -> Drained:
    held = below = 0.0
    times: list[float] = []
    first_flow: float | None = None
    if given.vessels and given.drain_orifice_diameter is not UNSET:
        bore = given.drain_orifice_diameter.si
        opening = given.discharge_coefficient * pi / 4 * bore * bore
        fall = given.head_below_vessel.si
        for vessel in given.vessels:
            start, end = _initial_level(vessel) or 0.0, vessel.final_level.si
            held += _volume(vessel, start)
            below += _volume(vessel, end)
            times.append(_time(vessel, start, end, fall, opening))
            notes.show(
                "t",
                f"time to drain {vessel.name}",
                f"integral of A(h)/(Cd a sqrt(2 g (h + h0))) from {end:.4g} to {start:.4g} m, Cd a = {opening:.4g} m2, "
                f"h0 = {fall:.4g} m",
                Duration.from_si(times[-1], "s"),
            )
        first = _initial_level(given.vessels[0]) or 0.0
        first_flow = draining.outflow(first, fall, opening)
        notes.show(
            "Q_0",
            "flow at the start",
            f"Cd a sqrt(2 g (h + h0)) = {opening:.4g} x sqrt(2 x 9.80665 x {first + fall:.4g})",
            VolumeFlow.from_si(first_flow, "L/s"),
        )
    in_lines = stays_in_lines = 0.0
    for line in given.lines:
        volume = pi / 4 * line.inner_diameter.si**2 * line.length.si * line.parallel_runs
        in_lines += volume
        stays_in_lines += volume * _residual_fraction(line, notes)
    held_back = sum(r.volume.si for r in given.residual_volumes)
    total, residual = held + in_lines + held_back, stays_in_lines + held_back
    notes.show(
        "V_res",
        "stays behind",
        f"lines {1e3 * stays_in_lines:.4g} L + places that do not drain {1e3 * held_back:.4g} L",
        Volume.from_si(residual, "L"),
    )
    drained = max(0.0, total - residual - below)  # the sum of parts is exact but for the last bit
    return Drained(total=total, drained=drained, residual=residual, first_flow=first_flow, times=tuple(times))


def _residual_fraction(line: DrainLine, notes: Notes) -> float:
    if line.residual_fraction is not UNSET:
        return line.residual_fraction
    fraction = SLOPED_RESIDUAL if line.drains_by_gravity else FLAT_RESIDUAL
    code = "residual_sloped" if line.drains_by_gravity else "residual_flat"
    if code not in {a.code for a in notes.assumptions}:
        how = "laid to a fall" if line.drains_by_gravity else "lying flat with sags"
        notes.assume(
            code,
            f"{fraction:g} of the volume of a line {how} stays behind.",
            value=fraction,
            basis="common_practice",
            references=("hydronic_practice",),
        )
    return fraction


def _table(vessel: TableVessel) -> tuple[tuple[float, float], ...]:
    return tuple((row.level.si, row.volume.si) for row in vessel.volume_by_level)


def _volume(vessel: VesselGiven, level: float) -> float:
    if isinstance(vessel, UprightVessel):
        return pi / 4 * vessel.diameter.si**2 * level
    if isinstance(vessel, HorizontalCylinderVessel):
        return draining.volume_in_cylinder(vessel.diameter.si, vessel.length.si, level)
    if isinstance(vessel, SphereVessel):
        return draining.volume_in_sphere(vessel.diameter.si, level)
    return draining.volume_in_table(_table(vessel), level)


def _time(vessel: VesselGiven, start: float, end: float, fall: float, opening: float) -> float:
    if isinstance(vessel, TableVessel):
        return draining.time_through_table(_table(vessel), start, end, fall, opening)
    if isinstance(vessel, UprightVessel):
        section = pi / 4 * vessel.diameter.si**2
        return draining.time_to_fall(lambda _: section, start, end, fall, opening)
    if isinstance(vessel, HorizontalCylinderVessel):
        surface = partial(draining.surface_in_cylinder, vessel.diameter.si, vessel.length.si)
    else:
        surface = partial(draining.surface_in_sphere, vessel.diameter.si)
    return draining.time_to_fall(surface, start, end, fall, opening)


# --- lay-up and discharge ----------------------------------------------------------------------------------------


def _lay_up(given: DrainDownGiven, notes: Notes, residual: float) -> tuple[Strength | None, float | None]:
    """Strength of what is to stay, and the antifreeze that makes it."""
    plan = given.lay_up
    if plan is UNSET:
        return None, None
    if (plan.target_volume_fraction is UNSET) == (plan.lowest_temperature is UNSET):
        code = "missing" if plan.target_volume_fraction is UNSET else "refused"
        raise refuse("/lay_up", "Give exactly one of target_volume_fraction and lowest_temperature.", code=code)
    if plan.target_volume_fraction is not UNSET:
        by_mass = volume_to_mass_fraction(plan.kind, plan.target_volume_fraction)
        if by_mass > 0.6 + 1e-12:
            raise refuse(
                "/lay_up/target_volume_fraction",
                f"This is {by_mass:.3f} by mass; the data end at 0.60.",
                value=plan.target_volume_fraction,
                allowed=Allowed(above=0, maximum=round(mass_to_volume_fraction(plan.kind, 0.6), 4)),
            )
    else:
        assert plan.lowest_temperature is not UNSET  # noqa: S101 - one of the two, refused above
        target = target_temperature(plan.kind, plan.lowest_temperature, plan.margin, "/lay_up")
        by_mass = required_strength(plan.kind, target, plan.protection)
    strength = Strength(plan.kind, by_mass)
    x_t, x_c = strength.by_volume, plan.concentrate_volume_fraction
    if plan.target_volume_fraction is not UNSET:
        x_t = plan.target_volume_fraction
    at = "/lay_up/concentrate_volume_fraction"
    if error := strength_error(at, plan.concentrate_volume_fraction, x_t, x_c):
        raise Refused([error])
    # what stays of the same glycol counts; of the other it does not
    w = glycol_mass_fraction(given.fluid)
    x = mass_to_volume_fraction(plan.kind, w) if given.fluid.kind == plan.kind else 0.0
    volume = residual * max(0.0, x_t - x) / (x_c - x_t)
    notes.show(
        "V_g",
        "antifreeze into what stays",
        f"V_res (x_t - x)/(x_c - x_t) = {1e3 * residual:.4g} L x ({x_t:.4f} - {x:.4f})/({x_c:.4f} - {x_t:.4f}), not below 0",
        Volume.from_si(volume, "L"),
    )
    return (strength, volume) if x <= x_t else (Strength(plan.kind, w), volume)


def _glycol_mass(given: DrainDownGiven, notes: Notes, drained: float) -> float | None:
    if given.fluid.kind not in OXYGEN_PER_KG:
        return None
    density = properties(given.fluid).density
    fraction = glycol_mass_fraction(given.fluid)
    mass = density * fraction * drained
    notes.show(
        "m_g",
        "glycol in what runs out",
        f"rho w V = {density:.1f} kg/m3 x {fraction:.4f} x {1e3 * drained:.4g} L",
        Mass.from_si(mass, "kg"),
    )
    each = OXYGEN_PER_KG[given.fluid.kind]
    notes.show("ThOD", "oxygen demand", f"{each:.4f} kg/kg x m_g", Mass.from_si(mass * each, "kg"))
    return mass
