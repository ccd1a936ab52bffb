"""Whether the air will leave a loop, where it stays, and whether the purge is done."""

from math import exp, pi, radians, sin, sqrt
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
    load_table,
    tidy,
)
from coldwright.contract.quantities import (
    AbsolutePressure,
    GaugePressure,
    Length,
    Temperature,
    Velocity,
    Volume,
    VolumeFlow,
)
from coldwright_basis.liquids import check_fluid, properties, water_vapor_pressure
from coldwright_hydronic.cautions import (
    ETHYLENE_TOXIC,
    EVAPORATOR_FREEZE,
    HOSE_UNDER_PRESSURE,
    LOCAL_CODE,
    POTABLE_BACKFLOW,
)
from coldwright_hydronic.friction import GRAVITY, velocity
from coldwright_hydronic.references import (
    CAUTION_REFERENCES,
    FIRST_PRINCIPLES,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import SecondOpinion, second_opinion

AIR_SOLUBILITY = load_table("coldwright_hydronic", "air_solubility")
CLEARING = Reference(
    id="sanks_clearing_velocity",
    title="Sanks, Pumping Station Design: velocity that clears air from a falling line, after Wisner and others, "
    "J. Hydraul. Div. ASCE 101(HY2)",
    edition="1975 (Wisner)",
    provenance="seen_reproduced",
    remark="Formula read as quoted, title of the paper seen. Tests on larger bores: count 10 % in.",
)
LEAST_VELOCITY = Reference(
    id="ashrae_air_velocity",
    title="ASHRAE Handbook, hydronic systems: velocity that carries air along",
    provenance="memory",
    remark="2 ft/s up to 2 in; in larger pipe about 0.75 ft per 100 ft of drop.",
)
GAS_CONSTANT = 8.314462618
REFERENCE_TEMPERATURE = 298.15
SLOWEST = 0.6
"""m/s: under it bubbles settle at the crown whatever the slope."""
DONE_BELOW = 0.01
STEPS = (
    "Fill from the low point with the high vents open; close each vent when it runs solid, from the lowest to the highest.",
    "With the pump off, vent every high point and the pump casing; air leaves there and then only.",
    "Top up to the fill pressure.",
    "Run the pump for 5 to 10 minutes at part flow.",
    "Stop it, give bubbles about 10 minutes to rise, vent again and top up.",
    "Do this again until nothing needs topping up, the suction gauge and the motor current stand still, and no hiss is heard.",
    "If the same top-up is needed day after day, look for a leak: it is not air any more.",
)


class FallingLine(Given, frozen=True, kw_only=True):
    """A line that air has to be driven down."""

    name: Annotated[Text, about("Name.")]
    inner_diameter: Annotated[Length, about("Bore.", low=12, high=610, unit="mm")]
    slope_angle: Annotated[
        float, about("Degrees below the horizontal, in the direction of flow; 90 falls straight.", low=0, high=90)
    ]
    flow: Annotated[VolumeFlow, about("Flow of all its runs together.", low=0, high=3000, unit="L/s")]
    parallel_runs: Annotated[int, about("Runs side by side.", low=1, high=12)] = 1


class TopUp(Given, frozen=True, kw_only=True):
    """Water pressed into the closed loop, and what the gauge did. No expansion vessel open to the loop meanwhile."""

    volume_added: Annotated[Volume, about("Water added.", above=0, high=1e6, unit="L")]
    pressure_before: Annotated[GaugePressure, about("Gauge before.", low=-90, high=2000, unit="kPa")]
    pressure_after: Annotated[GaugePressure, about("Gauge after.", low=-90, high=2000, unit="kPa")]


class AirRemovalGiven(Given, frozen=True, kw_only=True):
    """Lines, filling, running and topping up. Each result needs only its own fields."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature.")]
    lines: Annotated[tuple[FallingLine, ...], about("Lines that fall in the direction of flow.", max_length=200)] = ()
    loop_volume: Annotated[Volume, about("Volume of the loop.", low=0.001, high=5e6, unit="L")] | UnsetType = UNSET
    supply_temperature: (
        Annotated[
            Temperature,
            about("Temperature of the fill water.", low=0, high=60, unit="degC", why="range of the solubilities"),
        ]
        | UnsetType
    ) = UNSET
    supply_absolute_pressure: Annotated[
        AbsolutePressure,
        about("Pressure at which the fill water met air.", above=0, high=1000, unit="kPa", basis="common_practice"),
    ] = AbsolutePressure(101.325, "kPa")
    operating_temperature: (
        Annotated[
            Temperature,
            about("Warmest temperature in the loop.", low=0, high=60, unit="degC", why="range of the solubilities"),
        ]
        | UnsetType
    ) = UNSET
    operating_gauge_pressure: (
        Annotated[
            GaugePressure,
            about("Pressure at the high point when running.", low=-100, high=900, unit="kPa",
                  why="the solubilities hold below 10 bar absolute"),
        ]
        | UnsetType
    ) = UNSET  # fmt: skip
    reference_gauge_pressure: (
        Annotated[GaugePressure, about("Gauge reading, pump off.", low=-90, high=5000, unit="kPa")] | UnsetType
    ) = UNSET
    reference_elevation: Annotated[
        Length, about("Height of that gauge.", low=-300, high=300, unit="m", basis="derived")
    ] = Length(0.0, "m")
    high_point_elevation: (
        Annotated[Length, about("Height of the highest point, same datum.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    minimum_top_pressure: Annotated[
        GaugePressure, about("Least pressure wanted at the top.", low=0, high=200, unit="kPa", basis="common_practice")
    ] = GaugePressure(35.0, "kPa")
    atmospheric_pressure: Annotated[AbsolutePressure, about("Atmosphere.", low=60, high=110, unit="kPa")] = (
        AbsolutePressure(101.325, "kPa")
    )
    top_up: Annotated[TopUp, about("A top-up, for the air that is still in.")] | UnsetType = UNSET
    flush_volumes: Annotated[
        float, about("Loop volumes pushed to drain in the purge.", low=0, high=20, basis="common_practice")
    ] = 1.0


class LineClearing(Results, frozen=True, kw_only=True):
    """One line."""

    name: Annotated[str, about("Name.")]
    velocity: Annotated[Velocity, about("Velocity in each run.")]
    clearing_velocity: Annotated[Velocity, about("Velocity that drives air down this slope.")]
    clears: Annotated[bool, about("The velocity reaches it, and 0.6 m/s.")]


class AirRemovalResults(Results, frozen=True, kw_only=True):
    """Where air goes and how much is left. What its inputs were not given for is left out."""

    lines: Annotated[tuple[LineClearing, ...], about("One entry a line, in the order given.")]
    dissolved_air_at_fill: Annotated[float, about("Air that the fill water can hold, mol/m3.")] | UnsetType = UNSET
    dissolved_air_at_operation: (
        Annotated[float, about("Air that the running loop can hold at its high point, mol/m3.")] | UnsetType
    ) = UNSET
    released_air_volume: (
        Annotated[Volume, about("Air that comes out of solution, at the high point's pressure and temperature.")]
        | UnsetType
    ) = UNSET
    top_pressure_pump_off: (
        Annotated[GaugePressure, about("Pressure at the highest point with the pump off.")] | UnsetType
    ) = UNSET
    trapped_air_volume: (
        Annotated[Volume, about("Air in the loop before the top-up, at the pressure before.")] | UnsetType
    ) = UNSET
    trapped_air_fraction: Annotated[float, about("The same over the loop volume.")] | UnsetType = UNSET
    top_up_volume: Annotated[Volume, about("Water still needed to take its place.")] | UnsetType = UNSET
    makeup_volume: (
        Annotated[Volume, about("Water for the purge: what takes the air's place and what goes to drain.")] | UnsetType
    ) = UNSET
    steps: Annotated[tuple[str, ...], about("How to purge, in order.")]
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET


@calculator(
    "hydronic.air_removal",
    version="1.1.0",
    title="Air in a loop: where it stays, and whether the purge is done",
    references=(*PROPERTY_REFERENCES, CLEARING, LEAST_VELOCITY, FIRST_PRINCIPLES, PRACTICE, *CAUTION_REFERENCES),
    tables=(AIR_SOLUBILITY,),
    hazards=("pressure", "chemical", "general"),
    findings=(
        finding("top_pressure_not_positive", "stop", "An opened vent would draw air in."),
        finding("top_pressure_low", "check", "The top is below the least pressure wanted."),
        finding("line_does_not_clear", "check", "The flow does not drive air down this line."),
        finding("air_left", "check", "More than 1 % of the loop is air."),
        finding("warming_frees_air", "note", "Warming the fill water frees air."),
    ),
    examples=(
        Example(
            "falling_hose_and_top_up",
            "Invented: does the return hose clear, and is the purge done?",
            {
                "fluid": {"kind": "water", "temperature": {"value": 15, "unit": "degC"}},
                "lines": [
                    {
                        "name": "return drop",
                        "inner_diameter": {"value": 101.6, "unit": "mm"},
                        "slope_angle": 90,
                        "flow": {"value": 12, "unit": "L/s"},
                    }
                ],
                "loop_volume": {"value": 3000, "unit": "L"},
                "top_up": {
                    "volume_added": {"value": 6, "unit": "L"},
                    "pressure_before": {"value": 150, "unit": "kPa"},
                    "pressure_after": {"value": 250, "unit": "kPa"},
                },
                "reference_gauge_pressure": {"value": 250, "unit": "kPa"},
                "high_point_elevation": {"value": 18, "unit": "m"},
            },
        ),
        Example(
            "air_from_solution",
            "Invented: cold fill water warms in an idle loop on a summer's day.",
            {
                "fluid": {"kind": "water", "temperature": {"value": 50, "unit": "degF"}},
                "loop_volume": {"value": 900, "unit": "gal"},
                "supply_temperature": {"value": 50, "unit": "degF"},
                "operating_temperature": {"value": 86, "unit": "degF"},
                "operating_gauge_pressure": {"value": 5, "unit": "psi"},
            },
        ),
    ),
    load=Load.HEAVY,
)
def air_removal(given: AirRemovalGiven, notes: Notes) -> AirRemovalResults:
    """Whether flow drives air down each falling line, how much air comes out of solution, and how much is still trapped.

    Clearing velocity sqrt(g D) (0.825 + 0.25 sqrt(sin slope)), and not under 0.6 m/s. Dissolved air by Henry's law for
    nitrogen, oxygen and argon in water, 0 to 60 degC, below 10 bar. Trapped air by Boyle's law from a top-up:
    dV/(1 - P1/P2), absolute pressures. The top by the column of liquid above the gauge.
    """
    check_fluid(given.fluid, needs=("density",) if given.high_point_elevation is not UNSET else ())
    _refuse(given)
    lines = tuple(_line(line, i, notes) for i, line in enumerate(given.lines))
    at_fill, at_operation, released = _dissolved(given, notes)
    top = _top_pressure(given, notes)
    trapped = _trapped(given, notes)
    loop = given.loop_volume
    makeup: Volume | UnsetType = UNSET
    if trapped is not None and loop is not UNSET:
        makeup = Volume.from_si(trapped + given.flush_volumes * loop.si, "L")
        notes.show("V_m", "make-up", f"trapped air + {given.flush_volumes:g} x {loop}", makeup)
    _judge(given, notes, top, trapped)
    held = UNSET if trapped is None else Volume.from_si(trapped, "L")
    return AirRemovalResults(
        second_opinion=second_opinion(given.fluid),
        lines=lines,
        dissolved_air_at_fill=UNSET if at_fill is None else tidy(at_fill),
        dissolved_air_at_operation=UNSET if at_operation is None else tidy(at_operation),
        released_air_volume=UNSET if released is None else Volume.from_si(released, "L"),
        top_pressure_pump_off=UNSET if top is None else GaugePressure.from_si(top, "kPa"),
        trapped_air_volume=held,
        trapped_air_fraction=UNSET if trapped is None or loop is UNSET else tidy(trapped / loop.si),
        top_up_volume=held,
        makeup_volume=makeup,
        steps=STEPS,
    )


def _refuse(given: AirRemovalGiven) -> None:
    errors: list[FieldError] = []
    air = given.atmospheric_pressure.si
    if given.supply_temperature is not UNSET:
        vapor = water_vapor_pressure(given.supply_temperature.si)
        if given.supply_absolute_pressure.si <= vapor:
            errors.append(
                field_error(
                    "/supply_absolute_pressure",
                    f"Water at {given.supply_temperature} boils at {vapor / 1e3:.3f} kPa absolute.",
                    value=given.supply_absolute_pressure,
                    allowed=Allowed(above=round(vapor / 1e3, 3), maximum=1000, unit="kPa"),
                    why="below its vapour pressure water holds no air and is no liquid",
                )
            )
    if given.operating_temperature is not UNSET and given.operating_gauge_pressure is not UNSET:
        vapor = water_vapor_pressure(given.operating_temperature.si)
        if given.operating_gauge_pressure.si + air <= vapor:
            errors.append(
                field_error(
                    "/operating_gauge_pressure",
                    f"Water at {given.operating_temperature} boils at {(vapor - air) / 1e3:.2f} kPa gauge.",
                    value=given.operating_gauge_pressure,
                    allowed=Allowed(above=round((vapor - air) / 1e3, 3), maximum=900, unit="kPa"),
                    why="below its vapour pressure the high point is full of steam, not air",
                )
            )
    if given.top_up is not UNSET:
        errors += _top_up_errors(given.top_up, air, given.loop_volume)
    if errors:
        raise Refused(errors)


def _top_up_errors(top_up: TopUp, air: float, loop: Volume | UnsetType) -> list[FieldError]:
    before, after = top_up.pressure_before.si + air, top_up.pressure_after.si + air
    if before <= 0:
        return [
            field_error(
                "/top_up/pressure_before",
                "This gauge pressure is below full vacuum with this atmosphere.",
                value=top_up.pressure_before,
                allowed=Allowed(above=tidy(-air / 1e3), unit="kPa"),
            )
        ]
    if after <= before * (1 + 1e-9):
        return [
            field_error(
                "/top_up/pressure_after",
                "The pressure did not rise with the water added.",
                value=top_up.pressure_after,
                allowed=Allowed(above=top_up.pressure_before.to("kPa"), unit="kPa"),
                why="water pressed into a closed loop squeezes its air; if the gauge stands still, it leaks or a vessel is open",
            )
        ]
    trapped = top_up.volume_added.si / (1 - before / after)
    if loop is not UNSET and trapped > loop.si:
        return [
            field_error(
                "/top_up",
                f"By this top-up {1e3 * trapped:.0f} L of air would be in a loop of {loop}.",
                why="the loop leaks, a vessel is open to it, or a figure is wrong",
            )
        ]
    return []


def _line(line: FallingLine, index: int, notes: Notes) -> LineClearing:
    bore = line.inner_diameter.si
    speed = velocity(line.flow.si / line.parallel_runs, bore)
    sine = max(0.0, sin(radians(line.slope_angle)))
    clearing = sqrt(GRAVITY * bore) * (0.825 + 0.25 * sqrt(sine))
    wanted = max(clearing, SLOWEST)
    clears = speed >= wanted
    notes.show(
        "v_c",
        f"clearing velocity of {line.name}",
        f"sqrt(g D) (0.825 + 0.25 sqrt(sin {line.slope_angle:g} deg)), D = {line.inner_diameter}",
        Velocity.from_si(clearing, "m/s"),
    )
    if not clears:
        flow = wanted * pi / 4 * bore * bore * line.parallel_runs
        notes.check(
            "line_does_not_clear",
            f"{line.name}: {speed:.2f} m/s in each run, {wanted:.2f} m/s needed.",
            why="air stays at the top of the fall, chokes the flow and comes down in slugs on the flow proof",
            resolve=f"Fit a vent at its upstream high point, or purge with {1e3 * flow:.1f} L/s or more.",
            field=f"/lines/{index}/flow",
            references=("sanks_clearing_velocity", "ashrae_air_velocity"),
        )
    return LineClearing(
        name=line.name,
        velocity=Velocity.from_si(speed, "m/s"),
        clearing_velocity=Velocity.from_si(clearing, "m/s"),
        clears=clears,
    )


def dissolved_air(temperature: float, pressure: float) -> float:
    """mol/m3 of air in water that is in balance with moist air at an absolute pressure above its vapour pressure."""
    dry = pressure - water_vapor_pressure(temperature)
    shift = 1.0 / temperature - 1.0 / REFERENCE_TEMPERATURE
    held: float = sum(
        fraction * constant * exp(slope * shift) * dry for _, fraction, constant, slope in AIR_SOLUBILITY.rows
    )
    return held


def _dissolved(given: AirRemovalGiven, notes: Notes) -> tuple[float | None, float | None, float | None]:
    """Dissolved at filling and in operation, mol/m3, and volume set free, m3."""
    law = "sum y H0 exp(B (1/T - 1/298.15)) (p - p_v)"
    at_fill = at_operation = released = None
    if given.supply_temperature is not UNSET:
        at_fill = dissolved_air(given.supply_temperature.si, given.supply_absolute_pressure.si)
        numbers = f"{law} at {given.supply_temperature}, {given.supply_absolute_pressure} absolute"
        notes.show("c_1", "air in the fill water", numbers, at_fill, "mol/m3")
    if given.operating_temperature is not UNSET and given.operating_gauge_pressure is not UNSET:
        temperature = given.operating_temperature.si
        pressure = given.operating_gauge_pressure.si + given.atmospheric_pressure.si
        at_operation = dissolved_air(temperature, pressure)
        numbers = f"{law} at {given.operating_temperature}, {pressure / 1e3:.3f} kPa absolute"
        notes.show("c_2", "air that the loop can hold", numbers, at_operation, "mol/m3")
        if at_fill is not None and given.loop_volume is not UNSET:
            released = max(0.0, at_fill - at_operation) * given.loop_volume.si * GAS_CONSTANT * temperature / pressure
            numbers = (
                f"max(0, c_1 - c_2) V R T/p = {max(0.0, at_fill - at_operation):.4g} mol/m3 x "
                f"{given.loop_volume.si:.5g} m3 x {GAS_CONSTANT:.5g} x {temperature:.2f} K / {pressure:.6g} Pa"
            )
            notes.show("V_g", "air set free", numbers, Volume.from_si(released, "L"))
    if given.fluid.kind != "water" and (at_fill is not None or at_operation is not None):
        notes.assume(
            "air_as_in_water",
            "Air is taken to dissolve as in water; glycol mixtures hold less.",
            basis="derived",
            references=("air_solubility",),
        )
    return at_fill, at_operation, released


def _top_pressure(given: AirRemovalGiven, notes: Notes) -> float | None:
    if given.reference_gauge_pressure is UNSET or given.high_point_elevation is UNSET:
        return None
    density = properties(given.fluid, needs=("density",)).density
    rise = given.high_point_elevation.si - given.reference_elevation.si
    top = given.reference_gauge_pressure.si - density * GRAVITY * rise
    notes.show(
        "p_top",
        "pressure at the top, pump off",
        f"p - rho g (z_top - z) = {given.reference_gauge_pressure} - {density:.2f} x 9.80665 x {rise:.3f} Pa",
        GaugePressure.from_si(top, "kPa"),
    )
    return top


def _trapped(given: AirRemovalGiven, notes: Notes) -> float | None:
    if given.top_up is UNSET:
        return None
    air = given.atmospheric_pressure.si
    before, after = given.top_up.pressure_before.si + air, given.top_up.pressure_after.si + air
    trapped = given.top_up.volume_added.si / (1 - before / after)
    notes.show(
        "V_air",
        "air trapped before the top-up",
        f"dV/(1 - P1/P2) = {given.top_up.volume_added}/(1 - {before / 1e3:.3f}/{after / 1e3:.3f})",
        Volume.from_si(trapped, "L"),
    )
    notes.assume(
        "no_vessel_open",
        "No expansion vessel was open to the loop during the top-up; if one was, its gas is counted as trapped air.",
        basis="derived",
        references=("hydronic_first_principles",),
    )
    return trapped


def _judge(given: AirRemovalGiven, notes: Notes, top: float | None, trapped: float | None) -> None:
    if top is not None and top <= 0:
        notes.stop(
            "top_pressure_not_positive",
            f"With the pump off the top stands at {top / 1e3:.1f} kPa gauge.",
            why="a vent opened there draws air in",
            resolve=f"Raise the pressure by {(given.minimum_top_pressure.si - top) / 1e3:.0f} kPa before any vent is opened.",
            field="/reference_gauge_pressure",
            references=("hydronic_first_principles",),
        )
    elif top is not None and top < given.minimum_top_pressure.si * (1 - 1e-9):
        notes.check(
            "top_pressure_low",
            f"With the pump off the top stands at {top / 1e3:.1f} kPa gauge; {given.minimum_top_pressure} is wanted.",
            why="vents hardly blow, and the running pump may pull the top below the atmosphere",
            resolve=f"Raise the pressure by {(given.minimum_top_pressure.si - top) / 1e3:.0f} kPa.",
            field="/reference_gauge_pressure",
            references=("hydronic_practice",),
        )
    if trapped is not None and given.loop_volume is not UNSET and trapped > DONE_BELOW * given.loop_volume.si:
        notes.check(
            "air_left",
            f"{1e3 * trapped:.1f} L of air, {trapped / given.loop_volume.si:.3f} of the loop: the purge is not done.",
            why="air trips the flow proof, binds the pump and insulates the evaporator",
            resolve="Vent and top up again, by the steps; the same top-up day after day means a leak.",
            field="/top_up",
            references=("hydronic_practice",),
        )
    notes.note(
        "warming_frees_air",
        "Fill water that warms by 20 K sets free about 7 L of gas from each cubic metre: vent again when the loop has run.",
        references=("air_solubility",),
    )
    notes.caution(HOSE_UNDER_PRESSURE, EVAPORATOR_FREEZE, ETHYLENE_TOXIC, POTABLE_BACKFLOW, LOCAL_CODE)
