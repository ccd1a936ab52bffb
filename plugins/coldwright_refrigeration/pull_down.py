"""How long a loop takes to reach its set point, whether it ever does, and how it cycles at low load."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Fluid, Given, Load, Notes, Results, about, calculator, finding
from coldwright.contract.quantities import (
    Duration,
    HeatLossCoefficient,
    Mass,
    Power,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    Volume,
)
from coldwright_refrigeration import references as ref
from coldwright_refrigeration.cautions import FREEZE_UP, LIVE_PARTS, LOCAL_RULES
from coldwright_refrigeration.liquids import WATER


class PullDownLoop(Given, frozen=True, kw_only=True):
    """The loop: all liquid that is cooled, and the metal that cools with it."""

    volume: Annotated[Volume, about("Liquid in the whole loop.", low=1, high=1e8, unit="L")]
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    metal_mass: Annotated[Mass, about("Metal that cools with it.", low=0, high=1e4, unit="t")] = Mass(0, "kg")
    metal_specific_heat: Annotated[
        SpecificHeat,
        about("Specific heat of that metal; steel by default.", low=0.05, high=5, unit="kJ/kg.K", basis="handbook"),
    ] = SpecificHeat(0.5, "kJ/kg.K")


class PullDownGain(Given, frozen=True, kw_only=True):
    """Heat from the surroundings."""

    coefficient: Annotated[
        HeatLossCoefficient, about("Heat for each degree of ambient over loop.", low=0, high=1e6, unit="W/K")
    ]
    ambient_temperature: Annotated[Temperature, about("Surroundings.", low=-40, high=60, unit="degC")]


class PullDownMachine(Given, frozen=True, kw_only=True):
    """The machines together, in equal stages."""

    capacity: Annotated[Power, about("Of all stages, at the reference temperature.", low=0.1, high=1e5, unit="kW")]
    reference_temperature: (
        Annotated[
            Temperature,
            about("Loop temperature of that capacity; absent: the set point.", low=-40, high=60, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    capacity_slope: Annotated[
        float,
        about("Relative rise of capacity for each kelvin of warmer loop; 0.015 to 0.03 is usual.", low=0, high=0.1),
    ] = 0.0
    capacity_limit_temperature: (
        Annotated[Temperature, about("Above this the capacity rises no further.", low=-40, high=95, unit="degC")]
        | UnsetType
    ) = UNSET
    stages: Annotated[int, about("Equal stages.", low=1, high=16)] = 1
    maximum_entering_temperature: (
        Annotated[Temperature, about("Warmest liquid that the machine takes.", low=-40, high=95, unit="degC")]
        | UnsetType
    ) = UNSET


class PullDownControl(Given, frozen=True, kw_only=True):
    """Timers and band of the control."""

    first_start_delay: Annotated[Duration, about("Until the first stage starts.", low=0, high=7, unit="d")] = Duration(
        0, "min"
    )
    stage_delay: Annotated[
        Duration, about("From one stage to the next.", low=0, high=24, unit="h", basis="common_practice")
    ] = Duration(3, "min")
    anti_recycle_time: Annotated[
        Duration, about("Least time from stop to start.", low=0, high=2, unit="h", basis="common_practice")
    ] = Duration(5, "min")
    minimum_run_time: Annotated[
        Duration, about("Least time from start to stop.", low=0, high=2, unit="h", basis="common_practice")
    ] = Duration(3, "min")
    dead_band: Annotated[
        TemperatureDifference,
        about("Between start and stop of a stage.", low=0.1, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(4, "delta_degF")
    allowed_starts_per_hour: Annotated[
        float, about("Starts of one compressor in an hour; a screw often 4.", low=0.1, high=60, basis="common_practice")
    ] = 6.0


class PullDownGiven(Given, frozen=True, kw_only=True):
    """A loop, what heats it, and the machines that cool it."""

    loop: Annotated[PullDownLoop, about("The loop.")]
    initial_temperature: Annotated[Temperature, about("Loop at the start.", low=-40, high=95, unit="degC")]
    set_point: Annotated[Temperature, about("Loop temperature wanted.", low=-40, high=60, unit="degC")]
    load: Annotated[Power, about("Load while it is pulled down.", low=0, high=1e5, unit="kW")] = Power(0, "kW")
    heat_gain: Annotated[PullDownGain, about("Heat from the surroundings; absent: none.")] | UnsetType = UNSET
    machine: Annotated[PullDownMachine, about("The machines.")]
    control: Annotated[PullDownControl, about("Timers and band.")] = PullDownControl()
    low_load: Annotated[Power, about("Least load, to look at cycling.", low=0.001, high=1e5, unit="kW")] | UnsetType = (
        UNSET
    )
    process_tolerance: (
        Annotated[TemperatureDifference, about("Swing that the process bears.", low=0, high=50, unit="delta_degC")]
        | UnsetType
    ) = UNSET
    oil_heated_since: (
        Annotated[Duration, about("How long the oil heaters have been on without a break.", low=0, high=365, unit="d")]
        | UnsetType
    ) = UNSET
    oil_heating_before_start: Annotated[
        Duration,
        about(
            "Oil heating before the first start; the machine's own figure rules.",
            low=0,
            high=7,
            unit="d",
            basis="common_practice",
        ),
    ] = Duration(1, "h")


class PullDownPoint(Results, frozen=True, kw_only=True):
    """One point of the curve."""

    time: Annotated[Duration, about("Since the beginning.")]
    temperature: Annotated[Temperature, about("Of the loop, well mixed.")]
    stages: Annotated[int, about("Running from here on.")]


class PullDownCycling(Results, frozen=True, kw_only=True):
    """One stage at the low load."""

    on_time: Annotated[Duration, about("Running.")]
    off_time: Annotated[Duration, about("Standing.")]
    starts_per_hour: Annotated[float, about("Starts in an hour.")]
    worst_starts_per_hour: Annotated[float, about("Starts in an hour at half a stage's load, timers left out.")]
    temperature_swing: Annotated[TemperatureDifference, about("Band plus overshoot.")]


class PullDownResults(Results, frozen=True, kw_only=True):
    """Time to set point, the curve, cycling and volume."""

    reaches_set_point: Annotated[bool, about("Whether the set point is ever reached.")]
    time_to_set_point: Annotated[Duration, about("Until the loop is at its set point.")] | UnsetType = UNSET
    curve: Annotated[tuple[PullDownPoint, ...], about("At the beginning, at each start of a stage, at the end.")]
    final_temperature: Annotated[Temperature, about("Set point, or where the loop settles above it.")] | UnsetType = (
        UNSET
    )
    missing_capacity: Annotated[Power, about("Lacking at the set point.", us="ton")] | UnsetType = UNSET
    cycling: Annotated[PullDownCycling, about("At the low load.")] | UnsetType = UNSET
    minimum_volume: Annotated[Volume, about("Loop volume by the allowed starts.")]
    minimum_run_time_volume: Annotated[Volume, about("Loop volume by the least run at zero load.")]
    volume_to_add: Annotated[Volume, about("What the loop lacks of the larger of both.")]


EXAMPLES = (
    Example(
        "warm_loop",
        "An invented loop of 8,000 litres, warm after a weekend, pulled down by a machine of four stages under load.",
        {
            "loop": {"volume": {"value": 8000, "unit": "L"}, "metal_mass": {"value": 1800, "unit": "kg"}},
            "initial_temperature": {"value": 26, "unit": "degC"},
            "set_point": {"value": 12, "unit": "degC"},
            "load": {"value": 120, "unit": "kW"},
            "heat_gain": {
                "coefficient": {"value": 250, "unit": "W/K"},
                "ambient_temperature": {"value": 34, "unit": "degC"},
            },
            "machine": {
                "capacity": {"value": 350, "unit": "kW"},
                "capacity_slope": 0.02,
                "capacity_limit_temperature": {"value": 20, "unit": "degC"},
                "stages": 4,
                "maximum_entering_temperature": {"value": 24, "unit": "degC"},
            },
            "low_load": {"value": 40, "unit": "kW"},
            "oil_heated_since": {"value": 9, "unit": "h"},
        },
    ),
    Example(
        "too_small",
        "An invented machine that is too small for its load: where the loop settles, and what is missing.",
        {
            "loop": {"volume": {"value": 1500, "unit": "gal"}},
            "initial_temperature": {"value": 75, "unit": "degF"},
            "set_point": {"value": 48, "unit": "degF"},
            "load": {"value": 62, "unit": "ton"},
            "machine": {"capacity": {"value": 60, "unit": "ton"}, "capacity_slope": 0.018, "stages": 2},
        },
    ),
)

FINDINGS = (
    finding("set_point_not_reached", "stop", "With all stages on the loop does not reach its set point."),
    finding("oil_heating_incomplete", "stop", "The oil has not been heated for long enough to start."),
    finding("loop_overheats", "stop", "The loop gets hotter than 95 degC before it is cooled."),
    finding("entering_above_maximum", "check", "The loop is warmer than the machine takes: a hot start."),
    finding("starts_above_allowed", "check", "A compressor would start more often than it may."),
    finding("volume_below_minimum", "check", "The loop holds less than its control asks for."),
    finding("swing_above_tolerance", "check", "The temperature swings more than the process bears."),
    finding("no_cycling", "note", "The low load keeps at least one stage running."),
    finding("volume_for_capacity", "note", "Loop volume for each unit of capacity beside the usual figures."),
    finding("well_mixed", "note", "The loop is taken as well mixed."),
)


@calculator(
    "refrigeration.pull_down",
    version="1.0.0",
    title="Time to set point, cycling and loop volume",
    references=(ref.PRACTICE, ref.FIRST_PRINCIPLES, ref.COOLPROP, ref.CERVERA_VAZQUEZ, ref.NFPA_70E, ref.OSHA_LOCKOUT),
    hazards=("general", "pressure", "electrical"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def pull_down(given: PullDownGiven, notes: Notes) -> PullDownResults:
    """How long a warm loop takes to reach its set point while the stages come on one by one, or why it never does.

    A well-mixed loop, C dT/dt = load + UA (Ta - T) - n/N Q (1 + k (T - Tr)), solved exactly between the starts of the
    stages. At low load one stage cycles in its band: run and standing times, starts in an hour, the swing with the
    timers
    in it, and the loop volume that keeps the starts within what the compressors bear.
    """
    from coldwright_refrigeration.pull_down_answer import answer

    notes.caution(LOCAL_RULES, FREEZE_UP, LIVE_PARTS)
    return answer(given, notes)
