"""Filling a loop: volume, pressure, time, expansion vessel, least volume and backflow protection."""

from math import pi
from typing import Annotated, Literal

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
)
from coldwright.contract.quantities import (
    AbsolutePressure,
    Duration,
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeFlow,
    VolumePerPower,
)
from coldwright_basis.liquids import Property, check_fluid, check_temperature, properties
from coldwright_hydronic.backflow import BACKFLOW_PROTECTION, Preventer, can_harm_drinking_water, least_preventer
from coldwright_hydronic.fill_cycling import GoverningRule, least_volume
from coldwright_hydronic.fill_expansion import ASHRAE_EXPANSION, expand
from coldwright_hydronic.fill_findings import judge
from coldwright_hydronic.fill_pressures import Heights, pressures, relief_margin, supply
from coldwright_hydronic.references import (
    CAUTION_REFERENCES,
    FIRST_PRINCIPLES,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import SecondOpinion, second_opinion

BUFFER_STUDY = Reference(
    id="cervera_vazquez_2016",
    title="Cervera-Vazquez and others, Sci. Technol. Built Environ. 22(3): sizing of the water volume for chillers",
    edition="2016",
    clause="abstract",
    provenance="seen",
    remark="The least time on governs.",
)


class FillLine(Given, frozen=True, kw_only=True):
    """Hose or pipe that is filled."""

    name: Annotated[Text, about("Name.")]
    inner_diameter: Annotated[Length, about("Bore.", low=5, high=610, unit="mm")]
    length: Annotated[Length, about("Length.", low=0.001, high=5000, unit="m")]
    parallel_runs: Annotated[int, about("Runs side by side.", low=1, high=50)] = 1
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=20_000, unit="kPa")] | UnsetType
    ) = UNSET


class FillVessel(Given, frozen=True, kw_only=True):
    """Machine, coil, tank or site pipe that is filled."""

    name: Annotated[Text, about("Name.")]
    volume: Annotated[Volume, about("Liquid in one of them.", low=0.001, high=5e6, unit="L")]
    count: Annotated[int, about("How many.", low=1, high=500)] = 1
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=20_000, unit="kPa")] | UnsetType
    ) = UNSET


class Tap(Given, frozen=True, kw_only=True):
    """The supply at the fill point."""

    static_pressure: Annotated[GaugePressure, about("Pressure, no flow.", low=0, high=2000, unit="kPa")] | UnsetType = (
        UNSET
    )
    flow: Annotated[VolumeFlow, about("Flow into the vented loop.", low=0.0001, high=500, unit="L/s")] | UnsetType = (
        UNSET
    )
    backflow_preventer: Annotated[Preventer, about("Protection between supply and loop.")] | UnsetType = UNSET
    backflow_pressure_drop: (
        Annotated[
            PressureDifference,
            about("Pressure lost through it; by common practice unless given.", low=0, high=500, unit="kPa"),
        ]
        | UnsetType
    ) = UNSET


class Meter(Given, frozen=True, kw_only=True):
    """Water meter readings."""

    start: Annotated[Volume, about("Before filling.", low=0, high=1e12, unit="L")]
    end: Annotated[Volume, about("After filling.", low=0, high=1e12, unit="L")]


class Expansion(Given, frozen=True, kw_only=True):
    """Range of temperature and the vessel that takes the expansion. Pressures at the vessel, pump off."""

    lowest_temperature: Annotated[Temperature, about("Coldest the loop gets.", low=-60, high=95, unit="degC")]
    highest_temperature: Annotated[
        Temperature, about("Warmest: hose in the sun, machine off.", low=-59, high=95, unit="degC",
                           basis="common_practice")
    ] = Temperature(40.0, "degC")  # fmt: skip
    linear_expansion_coefficient: Annotated[
        float,
        about("Of the pipe, 1/K: steel 11.7e-6, copper 17.1e-6; 0 for hose, on the safe side.", low=0, high=3e-4,
              basis="derived", references=("ashrae_expansion_vessel",)),
    ] = 0.0  # fmt: skip
    vessel_type: Annotated[
        Literal["diaphragm", "air_water"], about("With a diaphragm, or plain with its air from the atmosphere.")
    ] = "diaphragm"
    minimum_pressure: (
        Annotated[GaugePressure, about("Least pressure at the vessel: its precharge.", low=0, high=5000, unit="kPa")]
        | UnsetType
    ) = UNSET
    maximum_pressure: (
        Annotated[GaugePressure, about("Greatest pressure at the vessel.", low=0, high=5000, unit="kPa")] | UnsetType
    ) = UNSET


class Cycling(Given, frozen=True, kw_only=True):
    """What keeps the last step of the machine from starting too often."""

    step_capacity: Annotated[Power, about("Capacity of the smallest step.", above=0, high=1e5, unit="kW")]
    minimum_load: Annotated[Power, about("Least load on it.", low=0, high=1e5, unit="kW", basis="derived")] = Power(
        0.0, "kW"
    )
    minimum_run_time: (
        Annotated[
            Duration, about("Least time on; 5 minutes where no other rule is given.", above=0, high=120, unit="min")
        ]
        | UnsetType
    ) = UNSET
    minimum_off_time: Annotated[Duration, about("Least time off.", above=0, high=120, unit="min")] | UnsetType = UNSET
    dead_band: Annotated[
        TemperatureDifference, about("Band of the control.", low=0.01, high=20, unit="delta_degC", basis="common_practice")
    ] = TemperatureDifference(2.0, "delta_degC")  # fmt: skip
    starts_per_hour: Annotated[float, about("Most starts in an hour.", low=0.1, high=60)] | UnsetType = UNSET
    effective_fraction: Annotated[
        float, about("Part of the loop's volume that always circulates and mixes.", low=0, high=1, basis="derived")
    ] = 1.0
    rule_volume_per_capacity: (
        Annotated[
            VolumePerPower,
            about("Rule of thumb: 3 to 6 gal/ton comfort, 6 to 10 process.", above=0, high=200, unit="L/kW"),
        ]
        | UnsetType
    ) = UNSET


class FillGiven(Given, frozen=True, kw_only=True):
    """The loop, its heights, the supply and what is to be checked. Each result needs only its own fields."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature when filled.")]
    lines: Annotated[tuple[FillLine, ...], about("Hoses and pipes.", max_length=200)] = ()
    vessels: Annotated[tuple[FillVessel, ...], about("Machines, coils, tanks, site pipe.", max_length=200)] = ()
    high_point_elevation: (
        Annotated[Length, about("Height of the highest point.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    fill_point_elevation: Annotated[
        Length, about("Height of the fill point and its gauge.", low=-300, high=300, unit="m", basis="derived")
    ] = Length(0.0, "m")
    machine_elevation: (
        Annotated[Length, about("Height of the machine and its pump; the fill point's unless given.", low=-300, high=300,
                                unit="m")]
        | UnsetType
    ) = UNSET  # fmt: skip
    relief_valve_elevation: (
        Annotated[Length, about("Height of the relief valve; the fill point's unless given.", low=-300, high=300,
                                unit="m")]
        | UnsetType
    ) = UNSET  # fmt: skip
    vessel_elevation: (
        Annotated[Length, about("Height of the expansion vessel; the fill point's unless given.", low=-300, high=300,
                                unit="m")]
        | UnsetType
    ) = UNSET  # fmt: skip
    minimum_top_pressure: Annotated[
        GaugePressure, about("Least pressure wanted at the top.", low=0, high=200, unit="kPa", basis="common_practice")
    ] = GaugePressure(35.0, "kPa")
    fill_pressure: (
        Annotated[
            GaugePressure, about("Pressure at the fill point, pump off: meant or read.", low=-90, high=5000, unit="kPa")
        ]
        | UnsetType
    ) = UNSET
    pump_suction_pressure_minimum: (
        Annotated[GaugePressure, about("Least pressure at the pump's suction.", low=-90, high=2000, unit="kPa")]
        | UnsetType
    ) = UNSET
    relief_valve_setting: (
        Annotated[GaugePressure, about("Setting of the relief valve.", above=0, high=5000, unit="kPa")] | UnsetType
    ) = UNSET
    relief_margin_fraction: Annotated[
        float, about("Margin kept below the setting.", low=0, high=0.9, basis="common_practice")
    ] = 0.10
    pump_rise_at_relief: Annotated[
        PressureDifference, about("What the running pump adds at the relief valve.", low=0, high=5000, unit="kPa",
                                  basis="derived")
    ] = PressureDifference(0.0, "kPa")  # fmt: skip
    can_be_shut_in: Annotated[bool, about("Both ends of a full length can be shut at once.")] | UnsetType = UNSET
    treated: Annotated[bool, about("The water holds inhibitor or biocide, or once did.")] = False
    atmospheric_pressure: Annotated[AbsolutePressure, about("Atmosphere.", low=60, high=110, unit="kPa")] = (
        AbsolutePressure(101.325, "kPa")
    )
    tap: Annotated[Tap, about("Supply.")] | UnsetType = UNSET
    meter: Annotated[Meter, about("Meter readings.")] | UnsetType = UNSET
    expansion: Annotated[Expansion, about("Expansion and its vessel.")] | UnsetType = UNSET
    cycling: Annotated[Cycling, about("Least volume for the control.")] | UnsetType = UNSET


class FilledElement(Results, frozen=True, kw_only=True):
    """One line or vessel."""

    name: Annotated[str, about("Name.")]
    volume: Annotated[Volume, about("Volume of all its runs, or of all of its kind.")]


class FillResults(Results, frozen=True, kw_only=True):
    """What filling takes. What its inputs were not given for is left out. Pressures are gauge, pump off."""

    total_volume: Annotated[Volume, about("Volume of the loop.")]
    elements: Annotated[tuple[FilledElement, ...], about("Lines, then vessels, in the order given.")]
    static_pressure: (
        Annotated[PressureDifference, about("Column of liquid from the fill point to the top.")] | UnsetType
    ) = UNSET
    required_fill_pressure: Annotated[GaugePressure, about("Least pressure at the fill point.")] | UnsetType = UNSET
    top_pressure: Annotated[GaugePressure, about("At the top, with the fill pressure.")] | UnsetType = UNSET
    machine_pressure: Annotated[GaugePressure, about("At the machine, with the fill pressure.")] | UnsetType = UNSET
    height_served: (
        Annotated[Length, about("Height above the machine at which the least top pressure is left.")] | UnsetType
    ) = UNSET
    fill_time: Annotated[Duration, about("Time to fill from the tap, loop vented.")] | UnsetType = UNSET
    reachable_pressure: (
        Annotated[GaugePressure, about("What the tap reaches at the fill point, behind the backflow preventer.")]
        | UnsetType
    ) = UNSET
    meter_volume: Annotated[Volume, about("Volume by the meter.")] | UnsetType = UNSET
    meter_difference_fraction: (
        Annotated[float, about("Meter over loop volume, less 1: negative is short.")] | UnsetType
    ) = UNSET
    relief_margin: (
        Annotated[PressureDifference, about("Setting less its margin, less the pressure at the valve.")] | UnsetType
    ) = UNSET
    expansion_fraction: Annotated[float, about("Net growth of the liquid against its pipe.")] | UnsetType = UNSET
    expansion_volume: Annotated[Volume, about("That growth of the whole loop.")] | UnsetType = UNSET
    acceptance_factor: Annotated[float, about("Part of the vessel that can take liquid.")] | UnsetType = UNSET
    vessel_volume: Annotated[Volume, about("Expansion vessel that is needed.")] | UnsetType = UNSET
    precharge_pressure: Annotated[GaugePressure, about("Precharge, set at the vessel's height.")] | UnsetType = UNSET
    minimum_loop_volume: Annotated[Volume, about("Least volume for the control.")] | UnsetType = UNSET
    governing_rule: Annotated[GoverningRule, about("Rule that asks for most.")] | UnsetType = UNSET
    rule_volume: Annotated[Volume, about("Volume by the rule of thumb, beside the above.")] | UnsetType = UNSET
    buffer_volume: Annotated[Volume, about("Volume to add; 0 where none is needed.")] | UnsetType = UNSET
    trapped_liquid_pressure_rise: (
        Annotated[PressureDifference, about("Rise in water shut into a rigid space, from coldest to warmest.")]
        | UnsetType
    ) = UNSET
    proposed_backflow_preventer: Annotated[Preventer, about("Least backflow protection proposed.")]
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET


@calculator(
    "hydronic.fill",
    version="1.1.0",
    title="Filling a loop: volume, pressure, time, expansion vessel and least volume",
    references=(
        *PROPERTY_REFERENCES,
        ASHRAE_EXPANSION,
        BUFFER_STUDY,
        FIRST_PRINCIPLES,
        PRACTICE,
        *CAUTION_REFERENCES,
    ),
    tables=(BACKFLOW_PROTECTION,),
    hazards=("pressure", "chemical", "general"),
    findings=(
        finding("fill_pressure_low", "stop", "The fill pressure is below what is required."),
        finding("top_pressure_not_positive", "stop", "An opened vent would draw air in."),
        finding("relief_margin_used", "stop", "The relief valve is at or within its margin."),
        finding("height_above_rating", "stop", "The height asks for more pressure than a part may take."),
        finding("rating_exceeded", "stop", "A part is above its working pressure."),
        finding("backflow_not_enough", ("stop", "check"), "The backflow preventer does not suit the contents."),
        finding(
            "shut_in_without_relief", ("stop", "check"), "A full loop can be shut in with nothing to take its growth."
        ),
        finding("vessel_over_maximum", "stop", "The fill pressure leaves the expansion vessel nothing to take."),
        finding(
            "vessel_already_full", "check", "The fill pressure is above the precharge: part of the vessel is taken."
        ),
        finding("feed_pump_needed", "check", "The tap does not reach the required pressure."),
        finding("long_fill", "check", "Filling takes more than 4 hours."),
        finding("meter_differs", "check", "Meter and volume differ by more than 10 %."),
        finding("vessel_barely_works", "check", "Precharge over greatest pressure is above 0.8."),
        finding("buffer_needed", "check", "The loop is too small for the control."),
        finding("pressure_high_for_height", "check", "Over 345 kPa at the machine on a job of under 20 m."),
        finding("no_net_expansion", "note", "The pipe grows as much as the liquid."),
        finding("top_is_not_the_high_point", "note", "Machine or fill point stand above the high point given."),
        finding("shut_in_hose_in_the_sun", "note", "A full length shut in at both ends bursts when it warms."),
        finding("lay_flat_swells", "note", "Charged lay-flat hose holds a few per cent more."),
    ),
    examples=(
        Example(
            "hose_loop",
            "Invented: 120 m of 4 in hose, a machine on the ground and a coil on the roof.",
            {
                "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
                "lines": [
                    {
                        "name": "hose",
                        "inner_diameter": {"value": 101.6, "unit": "mm"},
                        "length": {"value": 120, "unit": "m"},
                        "working_pressure": {"value": 1000, "unit": "kPa"},
                    }
                ],
                "vessels": [
                    {"name": "machine", "volume": {"value": 180, "unit": "L"}},
                    {"name": "coil", "volume": {"value": 60, "unit": "L"}, "count": 2},
                ],
                "high_point_elevation": {"value": 18, "unit": "m"},
                "fill_pressure": {"value": 250, "unit": "kPa"},
                "relief_valve_setting": {"value": 600, "unit": "kPa"},
                "tap": {
                    "static_pressure": {"value": 400, "unit": "kPa"},
                    "flow": {"value": 0.8, "unit": "L/s"},
                    "backflow_preventer": "reduced_pressure",
                },
                "expansion": {
                    "lowest_temperature": {"value": 4, "unit": "degC"},
                    "minimum_pressure": {"value": 250, "unit": "kPa"},
                    "maximum_pressure": {"value": 450, "unit": "kPa"},
                },
            },
        ),
        Example(
            "is_a_buffer_needed",
            "Invented: a process load that falls to 20 ton on a step of 50 ton.",
            {
                "fluid": {"kind": "water", "temperature": {"value": 49, "unit": "degF"}},
                "vessels": [{"name": "loop", "volume": {"value": 500, "unit": "gal"}}],
                "can_be_shut_in": False,
                "cycling": {
                    "step_capacity": {"value": 50, "unit": "ton"},
                    "minimum_load": {"value": 20, "unit": "ton"},
                    "minimum_run_time": {"value": 6, "unit": "min"},
                    "dead_band": {"value": 5, "unit": "delta_degF"},
                },
            },
        ),
    ),
    load=Load.HEAVY,
)
def fill(given: FillGiven, notes: Notes) -> FillResults:
    """Volume of a loop, the pressure and time to fill it, its expansion vessel, and the least volume for the control.

    Required pressure: least pressure at the top plus the column, or what the pump's suction needs. Expansion by the form
    of the ASHRAE handbook: e = v2/v1 - 1 - 3 alpha (t2 - t1), vessel V e/(1 - P1/P2) with a diaphragm and
    V e/(Pa/P1 - Pa/P2) without, absolute pressures. Least volume: heat balance over the control's band for run time, off
    time and starts in an hour (worst at half load). Everything with the pump off unless said.
    """
    needs: tuple[Property, ...] = ("density", "specific_heat") if given.cycling is not UNSET else ("density",)
    if given.high_point_elevation is UNSET and given.fill_pressure is UNSET and given.cycling is UNSET:
        needs = ()
    check_fluid(given.fluid, needs=needs)
    _refuse(given)
    volumes = _volumes(given)
    total = sum(volumes)
    notes.show("V", "volume of the loop", "sum of pi/4 D^2 L runs, and of vessels", Volume.from_si(total, "L"))
    density = properties(given.fluid, needs=needs).density if needs else 0.0
    heights = Heights(given)
    worked = {
        **pressures(given, notes, density, heights),
        **supply(given, notes, total),
        **expand(given, notes, total),
        **least_volume(given, notes, total),
        **relief_margin(given, notes, density, heights),
    }
    judge(given, notes, worked, density, heights)
    names = [n.name for n in given.lines] + [v.name for v in given.vessels]
    return FillResults(
        second_opinion=second_opinion(given.fluid),
        total_volume=Volume.from_si(total, "L"),
        elements=tuple(
            FilledElement(name=n, volume=Volume.from_si(v, "L")) for n, v in zip(names, volumes, strict=True)
        ),
        proposed_backflow_preventer=least_preventer(
            harmful=can_harm_drinking_water(given.fluid, treated=given.treated)
        ),
        **worked,
    )


def _refuse(given: FillGiven) -> None:
    errors: list[FieldError] = []
    if not (given.lines or given.vessels):
        errors.append(field_error("/lines", "Give at least one line or vessel.", code="missing"))
    meter = given.meter
    if meter is not UNSET and meter.end.si < meter.start.si:
        text = "The reading after filling is below the one before."
        errors.append(
            field_error("/meter/end", text, value=meter.end, allowed=Allowed(minimum=meter.start.to("L"), unit="L"))
        )
    if given.expansion is not UNSET:
        errors += _expansion_errors(given, given.expansion)
    if errors:
        raise Refused(errors)


def _expansion_errors(given: FillGiven, plan: Expansion) -> list[FieldError]:
    errors: list[FieldError] = []
    if given.fluid.kind == "custom":
        text = "The growth of a custom fluid is not known: it brings one density only."
        return [field_error("/expansion", text, why="two densities would be needed")]
    if plan.highest_temperature.si <= plan.lowest_temperature.si:
        errors.append(
            field_error(
                "/expansion/highest_temperature",
                "The warmest must be above the coldest.",
                value=plan.highest_temperature,
                allowed=Allowed(above=plan.lowest_temperature.to("degC"), unit="degC"),
            )
        )
    low, high = plan.minimum_pressure, plan.maximum_pressure
    if low is not UNSET and high is not UNSET and high.si <= low.si * (1 + 1e-9):
        errors.append(
            field_error(
                "/expansion/maximum_pressure",
                "The greatest pressure must be above the least.",
                value=high,
                allowed=Allowed(above=low.to("kPa"), unit="kPa"),
                why="a vessel takes liquid only while its pressure rises",
            )
        )
    for name in ("lowest_temperature", "highest_temperature"):
        try:
            check_temperature(given.fluid, getattr(plan, name).si, f"/expansion/{name}", getattr(plan, name))
        except Refused as refused:
            errors += refused.errors
    return errors


def _volumes(given: FillGiven) -> list[float]:
    return [
        *(pi / 4 * n.inner_diameter.si**2 * n.length.si * n.parallel_runs for n in given.lines),
        *(v.volume.si * v.count for v in given.vessels),
    ]
