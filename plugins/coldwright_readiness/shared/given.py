"""What several of the family ask: the set-up, and a loop to cool."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import (
    Duration,
    Frequency,
    GaugePressure,
    Impedance,
    Length,
    Power,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Voltage,
    Volume,
    VolumeFlow,
)
from coldwright_basis.freeze_margin import USUAL_FREEZE_MARGIN
from coldwright_basis.instants import stamp
from coldwright_readiness.shared.references import COMMON_PRACTICE, HIGH_POINT, MOTOR_SUPPLY

FluidKind = Literal["water", "ethylene_glycol", "propylene_glycol"]

COLDEST_PLAIN_WATER: Final = Temperature(4.4, "degC")
"""40 degF as the trade says it; one limit in all families."""
_PRACTICE: Final = (COMMON_PRACTICE.id,)
SHARED: Final = Meta(extra_json_schema={"x-shared-between-starts": True})
"""What speaks against one start counts in every other that gives the same name here."""


MachinesInTurn = Annotated[
    int,
    about(
        "Machines that one crew goes to one after the other: what is done at each takes so many times as long.",
        low=1,
        high=100,
        basis="derived",
    ),
]
OwnDurations = Annotated[
    dict[str, Duration],
    about("Durations of your own by step id, 0 to 30 d each.", max_length=60),
]


class Configuration(Given, frozen=True, kw_only=True):
    """Machine, supply, loop and limits of one set-up. The same object for procedure, start-up and shutdown."""

    supply_source: Annotated[Literal["site", "generator"], about("What feeds the machine.")]
    pump_mode: Annotated[
        Literal["own_pump", "site_pump"], about("Whether the machine's own pump or one of the site moves the liquid.")
    ]
    fluid_kind: Annotated[FluidKind, about("Liquid in the loop; its strength need not be known yet.")]
    source: (
        Annotated[
            Text,
            about(
                "Name of the source and of what opens it, such as `panel 3, breaker 12`: the same in every start that it "
                "feeds. What speaks against it there counts in all of them. Machines of one source behind breakers of "
                "their own have one name and `own_breaker`.",
                min_length=1,
            ),
            SHARED,
        ]
        | UnsetType
    ) = UNSET
    own_breaker: Annotated[
        bool,
        about(
            "True where a breaker of the source feeds this machine alone and others feed the other machines: what was "
            "recorded with `whole_source` false counts in no other start."
        ),
    ] = False
    loop: (
        Annotated[
            Text,
            about(
                "Name of the loop: the same in every start of a machine on it. What speaks against it there counts in all "
                "of them.",
                min_length=1,
            ),
            SHARED,
        ]
        | UnsetType
    ) = UNSET
    officer_on_duty: (
        Annotated[
            Text,
            about("Name and telephone of the supervisor who can be reached day and night.", min_length=1),
        ]
        | UnsetType
    ) = UNSET
    practice: (
        Annotated[
            Literal["nec", "iec"],
            about(
                "Words of the trade: `nec` says ground and truck, `iec` earth and lorry; `nec` when left out. No limit "
                "goes by it."
            ),
        ]
        | UnsetType
    ) = UNSET
    rated_voltage: (
        Annotated[
            Voltage,
            about("Line voltage on the machine's data plate; 460 V when left out.", low=200, high=690, unit="V"),
        ]
        | UnsetType
    ) = UNSET
    rated_frequency: (
        Annotated[Frequency, about("Frequency on the machine's data plate.", low=45, high=65, unit="Hz")] | UnsetType
    ) = UNSET
    compressors: Annotated[int, about("Compressors of the machine.", low=1, high=24)] = 1
    circuits: Annotated[int, about("Refrigerant circuits, no more than compressors.", low=1, high=8)] = 1
    lifted_by: Annotated[
        Literal["crane", "fork_truck", "stays_on_trailer"],
        about("How the machine is set down.", basis="common_practice", references=_PRACTICE),
    ] = "crane"
    second_start: Annotated[
        bool, about("True when it is still connected, filled and proven by an earlier handover.")
    ] = False
    pump_fitted: Annotated[bool, about("False for a machine without a pump; only with `site_pump`.")] = True
    warm_up_duration: (
        Annotated[
            Duration,
            about(
                "Unbroken time of oil heat before the first start; 1 h when left out. The maker's longer figure rules.",
                low=1,
                high=48,
                unit="h",
                why="Less than an hour of oil heat is never enough: refrigerant in the oil wrecks compressors",
            ),
        ]
        | UnsetType
    ) = UNSET
    fill_pressure_minimum: Annotated[
        GaugePressure,
        about(
            "Least pressure at the loop gauge, pump off.",
            low=5,
            high=150,
            unit="psi",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = GaugePressure(40.0, "psi")
    fill_pressure_maximum: Annotated[
        GaugePressure,
        about(
            "Greatest pressure at the loop gauge, pump off; never above the rating of the weakest part.",
            low=5,
            high=150,
            unit="psi",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = GaugePressure(50.0, "psi")
    high_point_rise: Annotated[
        Length, about("Height of the loop's highest point above its gauge.", low=-50, high=100, unit="m")
    ] = Length(0.0, "m")
    high_point_pressure_minimum: Annotated[
        GaugePressure,
        about(
            "Least pressure to keep at the highest point.",
            low=0,
            high=50,
            unit="psi",
            basis="handbook",
            references=(HIGH_POINT.id,),
        ),
    ] = GaugePressure(4.0, "psi")
    evaporator_pressure_drop_minimum: (
        Annotated[
            PressureDifference,
            about(
                "Drop across the evaporator at its least flow, maker's data for the liquid in the loop. The start-up "
                "needs it.",
                above=0,
                high=1000,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET
    evaporator_pressure_drop_maximum: (
        Annotated[
            PressureDifference,
            about(
                "Drop across the evaporator at its greatest flow, maker's data for the liquid in the loop. The start-up "
                "needs it.",
                above=0,
                high=1000,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET
    evaporator_reference_flow: (
        Annotated[VolumeFlow, about("A flow whose drop is known, for a cross-check.", above=0, high=1e4, unit="L/s")]
        | UnsetType
    ) = UNSET
    evaporator_reference_pressure_drop: (
        Annotated[PressureDifference, about("The drop at `evaporator_reference_flow`.", above=0, high=1000, unit="kPa")]
        | UnsetType
    ) = UNSET
    flow_minimum: (
        Annotated[VolumeFlow, about("Least flow through the evaporator, maker's data.", above=0, high=1e4, unit="L/s")]
        | UnsetType
    ) = UNSET
    rated_flow: (
        Annotated[
            VolumeFlow,
            about(
                "Flow on the data plate; half of it is the least where nothing else is given.",
                above=0,
                high=1e4,
                unit="L/s",
            ),
        ]
        | UnsetType
    ) = UNSET
    suction_pressure_minimum: Annotated[
        GaugePressure,
        about(
            "Least pressure at the pump's suction gauge while it runs; never below what the pump needs.",
            low=0,
            high=150,
            unit="psi",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = GaugePressure(35.0, "kPa")
    rated_pressure: Annotated[
        GaugePressure,
        about(
            "Pressure that the weakest part of the loop is rated for.",
            low=5,
            high=600,
            unit="psi",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = GaugePressure(125.0, "psi")
    ambient_temperature: (
        Annotated[
            Temperature,
            about(
                "Lowest air temperature to expect while it is set up; not known when left out.",
                low=-60,
                high=60,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    oil_heaters: Annotated[bool, about("False for a machine whose compressors have no oil heaters.")] = True
    transfer_switch: Annotated[
        bool,
        about("True where the machine is fed from behind a transfer switch: the rotation is read after every loss."),
    ] = False
    site_pump_stops: Annotated[
        bool, about("False where the site's pump cannot be stopped; only with `site_pump`, and only from a plan.")
    ] = True
    set_point_minimum_water: Annotated[
        Temperature,
        about(
            "Lowest leaving set point with plain water; the usual 40 degF is read as 4.4 degC (39.9 degF).",
            low=-60,
            high=120,
            unit="degC",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = COLDEST_PLAIN_WATER
    freeze_margin: Annotated[
        TemperatureDifference,
        about(
            "How far the freezing point must lie below the set point: evaporating runs colder than the liquid.",
            low=5,
            high=30,
            unit="delta_degF",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = USUAL_FREEZE_MARGIN
    required_freeze_point: (
        Annotated[
            Temperature,
            about(
                "Freezing point that the weather asks for: forecast frost less 5 delta_degF.",
                low=-60,
                high=120,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    voltage_unbalance_limit: Annotated[
        float,
        about(
            "Greatest unbalance of the line voltages, as a fraction of their mean.",
            low=0.005,
            high=0.05,
            basis="common_practice",
            references=(COMMON_PRACTICE.id, MOTOR_SUPPLY.id),
        ),
    ] = 0.02
    anti_recycle: Annotated[
        Duration,
        about(
            "Rest of a compressor before it starts again; the maker's timer governs.",
            low=1,
            high=30,
            unit="min",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = Duration(5.0, "min")
    loop_turnover_time: (
        Annotated[
            Duration, about("Loop volume over flow: how long the liquid takes to go round.", above=0, high=7, unit="d")
        ]
        | UnsetType
    ) = UNSET
    require_connection_evidence: Annotated[
        bool, about("True: proving dead, order of connection, tests and qualified hands must be on record.")
    ] = False
    ground_run_resistance: (
        Annotated[Impedance, about("Resistance of the ground conductor of the run.", low=0, high=10, unit="ohm")]
        | UnsetType
    ) = UNSET


class LoadModel(Given, frozen=True, kw_only=True):
    """Heat that comes in by a difference of temperature."""

    ua: Annotated[float, about("Heat for each kelvin of difference, W/K.", low=0, high=1e8)]
    driving_temperature: Annotated[
        Temperature, about("Temperature of what the loop cools.", low=-60, high=120, unit="degC")
    ]


class PullDownCompressor(Given, frozen=True, kw_only=True):
    """A compressor that will run."""

    id: Annotated[str, about("Name of the compressor.", min_length=1, max_length=60)]
    capacity: Annotated[Power, about("Cooling that it gives.", above=0, high=1e5, unit="kW")]
    started_at: Annotated[str, stamp("Not used here.")] | UnsetType = UNSET


class PullDown(Given, frozen=True, kw_only=True):
    """A loop to cool. The kind of liquid is that of the configuration."""

    mass_fraction: Annotated[float, about("Glycol by mass; needed for a glycol.", low=0.05, high=0.6)] | UnsetType = (
        UNSET
    )
    leaving_temperature: Annotated[Temperature, about("Temperature at the start.", low=-60, high=95, unit="degC")]
    set_point: Annotated[Temperature, about("Temperature to reach.", low=-60, high=95, unit="degC")]
    compressors: Annotated[tuple[PullDownCompressor, ...], about("Compressors that run.", min_length=1, max_length=24)]
    loop_volume: Annotated[Volume, about("Liquid in the loop.", above=0, high=1e4, unit="m3")]
    load: (
        Annotated[Power, about("Constant heat to take out during the pull-down.", low=0, high=1e5, unit="kW")]
        | UnsetType
    ) = UNSET
    load_model: Annotated[LoadModel, about("Heat that depends on temperature, instead of `load`.")] | UnsetType = UNSET
