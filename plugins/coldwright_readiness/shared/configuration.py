"""What is set up, as the start-up, the procedure and the shutdown know it."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Given, Notes, about, field_error
from coldwright.contract.quantities import (
    Duration,
    Frequency,
    GaugePressure,
    Impedance,
    Length,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Voltage,
    VolumeFlow,
)
from coldwright_basis.freeze_margin import USUAL_FREEZE_MARGIN
from coldwright_basis.instants import span
from coldwright_readiness.shared.references import COMMON_PRACTICE, HIGH_POINT, MOTOR_SUPPLY

FluidKind = Literal["water", "ethylene_glycol", "propylene_glycol"]

GRAVITY: Final = 9.80665
DENSITY: Final = {"water": 998.0, "ethylene_glycol": 1060.0, "propylene_glycol": 1060.0}
"""kg/m3 for the height of liquid up to the high point; the glycol figure is on the safe side."""
USUAL_VOLTAGE: Final = Voltage(460.0, "V")
USUAL_WARM_UP: Final = Duration(1.0, "h")
COLDEST_PLAIN_WATER: Final = Temperature(4.4, "degC")
"""40 degF as the trade says it; one limit in all families."""
_PRACTICE: Final = (COMMON_PRACTICE.id,)


class Configuration(Given, frozen=True, kw_only=True):
    """Machine, supply, loop and limits of one set-up. The same object for procedure, start-up and shutdown."""

    supply_source: Annotated[Literal["site", "generator"], about("What feeds the machine.")]
    pump_mode: Annotated[
        Literal["own_pump", "site_pump"], about("Whether the machine's own pump or one of the site moves the liquid.")
    ]
    fluid_kind: Annotated[FluidKind, about("Liquid in the loop; its strength need not be known yet.")]
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
                why="less than an hour of oil heat is never enough: refrigerant in the oil wrecks compressors",
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
            "Lowest leaving set point with plain water; the usual 40 degF is read as 4.4 degC.",
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


def rated_voltage(configuration: Configuration) -> Voltage:
    """As given, or the usual one."""
    given = configuration.rated_voltage
    return USUAL_VOLTAGE if given is UNSET else given


def warm_up_duration(configuration: Configuration) -> Duration:
    """As given, or the usual hour."""
    given = configuration.warm_up_duration
    return USUAL_WARM_UP if given is UNSET else given


def high_point_head(configuration: Configuration) -> float:
    """Pa lost between the loop gauge and the highest point."""
    return DENSITY[configuration.fluid_kind] * GRAVITY * configuration.high_point_rise.si


def configuration_errors(c: Configuration, pointer: str = "/configuration") -> list[FieldError]:
    """Contradictions between fields."""
    errors = []
    if c.circuits > c.compressors:
        errors.append(
            field_error(
                f"{pointer}/circuits",
                f"{c.circuits} circuits cannot share {c.compressors} compressors.",
                value=c.circuits,
                allowed=Allowed(minimum=1, maximum=c.compressors),
            )
        )
    if c.pump_mode == "own_pump" and not c.pump_fitted:
        text = "A machine without a pump cannot run on its own pump."
        errors.append(field_error(f"{pointer}/pump_fitted", text, value=False, allowed=Allowed(one_of=("true",))))
    if c.pump_mode == "own_pump" and not c.site_pump_stops:
        text = "The machine's own pump can be stopped."
        errors.append(field_error(f"{pointer}/site_pump_stops", text, value=False, allowed=Allowed(one_of=("true",))))
    if c.fill_pressure_minimum.si >= c.fill_pressure_maximum.si:
        errors.append(
            field_error(
                f"{pointer}/fill_pressure_minimum",
                f"{c.fill_pressure_minimum} is not below fill_pressure_maximum, {c.fill_pressure_maximum}.",
                value=c.fill_pressure_minimum,
                allowed=Allowed(below=c.fill_pressure_maximum.to("psi"), unit="psi"),
            )
        )
    low, high = c.evaporator_pressure_drop_minimum, c.evaporator_pressure_drop_maximum
    if low is not UNSET and high is not UNSET and low.si >= high.si:
        errors.append(
            field_error(
                f"{pointer}/evaporator_pressure_drop_minimum",
                f"{low} is not below evaporator_pressure_drop_maximum, {high}.",
                value=low,
                allowed=Allowed(below=high.to("kPa"), unit="kPa"),
            )
        )
    floor = Temperature(35.0, "degF")
    if c.fluid_kind == "water" and c.set_point_minimum_water.si < floor.si - 1e-9:
        errors.append(
            field_error(
                f"{pointer}/set_point_minimum_water",
                f"{c.set_point_minimum_water} is too cold for plain water.",
                code="out_of_range",
                value=c.set_point_minimum_water,
                allowed=Allowed(minimum=35, unit="degF"),
                why="the evaporator runs colder than the water that leaves it, and ice bursts it",
            )
        )
    pair = (c.evaporator_reference_flow, c.evaporator_reference_pressure_drop)
    if (pair[0] is UNSET) != (pair[1] is UNSET):
        name = "evaporator_reference_flow" if pair[0] is UNSET else "evaporator_reference_pressure_drop"
        text = "The reference flow and its drop are only of use together."
        errors.append(field_error(f"{pointer}/{name}", text, code="missing"))
    return errors


def tell_usual_values(c: Configuration, notes: Notes, *, voltage: bool) -> None:
    """List the two values that are taken when a field is left out, since absence itself means something to the rules."""
    if voltage and c.rated_voltage is UNSET:
        notes.assume(
            "default:/configuration/rated_voltage",
            "`rated_voltage` is 460 V, the usual one. Compare it with the data plate.",
            value=USUAL_VOLTAGE,
            basis="common_practice",
            references=_PRACTICE,
        )
    if c.warm_up_duration is UNSET:
        notes.assume(
            "default:/configuration/warm_up_duration",
            "`warm_up_duration` is 1 h, the shortest in use. The maker's longer figure rules.",
            value=USUAL_WARM_UP,
            basis="common_practice",
            references=_PRACTICE,
        )


def warm_up_span(c: Configuration) -> int:
    """Nanoseconds of oil heat."""
    return span(warm_up_duration(c))
