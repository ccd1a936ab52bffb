"""What `refrigeration.capacity` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import (
    Frequency,
    HeatFlux,
    Length,
    Power,
    Temperature,
    TemperatureDifference,
    ThermalResistance,
    VolumeFlow,
)
from coldwright_refrigeration.shared.given import ABOUT_REFRIGERANT, WATER, RefrigerantName

SEA_LEVEL = Length(0.0, "m")
RATED_FOULING = ThermalResistance(0.0001, "h.ft2.degF/Btu")
SIXTY_HERTZ = Frequency(60.0, "Hz")
AxisNumber = Annotated[float, Meta(ge=-150, le=400)]
Positive = Annotated[float, Meta(ge=1e-6, le=1e9)]
PowerUnit = Literal["kW", "W", "Btu/h", "ton", "hp", "MW"]


class RatingAxis(Given, frozen=True, kw_only=True):
    """One axis of a rating table: rising temperatures."""

    values: Annotated[
        tuple[AxisNumber, ...], about("Temperatures, each above the one before.", min_length=2, max_length=60)
    ]
    unit: Annotated[Literal["degC", "degF", "K"], about("Unit of the numbers.")]


class RatingGrid(Given, frozen=True, kw_only=True):
    """The body of a rating table: one row for each leaving temperature, one column for each ambient temperature."""

    values: Annotated[
        tuple[Annotated[tuple[Positive, ...], Meta(min_length=2, max_length=60)], ...],
        about("Rows of numbers, all above zero.", min_length=2, max_length=60),
    ]
    unit: Annotated[PowerUnit, about("Unit of the numbers.")]


class RatingConditions(Given, frozen=True, kw_only=True):
    """What the maker's figures stand for, beside temperatures and frequency."""

    fluid: Annotated[Fluid, about("Liquid of the rating.", basis="standard", references=("ahri_550_590_2015",))] = WATER
    altitude: Annotated[
        Length, about("Altitude of the rating.", low=-100, high=4000, unit="m", references=("ahri_550_590_2015",))
    ] = SEA_LEVEL
    fouling_resistance: Annotated[
        ThermalResistance,
        about(
            "Fouling of the evaporator inside the rating; 0 for ratings on clean surfaces, as EN 14511 has them.",
            low=0,
            high=0.001,
            unit="m2.K/W",
            basis="standard",
            references=("ahri_evaporator_fouling",),
        ),
    ] = RATED_FOULING
    power_includes_fans: Annotated[bool, about("Whether the power includes the condenser fans.")] = True


class RatingBasis(RatingConditions, frozen=True, kw_only=True):
    """What a rating table stands for."""

    frequency: (
        Annotated[Frequency, about("Supply frequency of the rating; absent: 60 Hz.", low=45, high=65, unit="Hz")]
        | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[
            TemperatureDifference,
            about(
                "Entering minus leaving liquid temperature of the rating; absent: 10 delta_degF.",
                low=2,
                high=20,
                unit="delta_degC",
            ),
        ]
        | UnsetType
    ) = UNSET


class RatingTable(Given, frozen=True, kw_only=True):
    """Capacity and power over leaving liquid and ambient temperature, as printed for the machine."""

    leaving_liquid_temperature: Annotated[RatingAxis, about("Leaving liquid temperatures, one for each row.")]
    ambient_temperature: Annotated[RatingAxis, about("Air temperatures at the coil, one for each column.")]
    capacity: Annotated[RatingGrid, about("Cooling capacity.")]
    power: Annotated[RatingGrid, about("Electric power drawn.")]
    basis: Annotated[RatingBasis, about("What the table stands for.")] = RatingBasis()


class RatedPoint(RatingConditions, frozen=True, kw_only=True):
    """One point from the data plate, for a machine of which no table is at hand."""

    frequency: Annotated[Frequency, about("Supply frequency of the rating.", low=45, high=65, unit="Hz")] = SIXTY_HERTZ
    refrigerant: Annotated[RefrigerantName, about(ABOUT_REFRIGERANT)]
    capacity: Annotated[Power, about("Cooling capacity.", low=0.1, high=20000, unit="kW", us="ton")]
    power: Annotated[Power, about("Electric power drawn.", low=0.01, high=10000, unit="kW")]
    leaving_liquid_temperature: Annotated[
        Temperature, about("Leaving liquid temperature of the point.", low=-30, high=30, unit="degC")
    ]
    temperature_difference: Annotated[
        TemperatureDifference, about("Entering minus leaving liquid temperature.", low=2, high=20, unit="delta_degC")
    ]
    ambient_temperature: Annotated[Temperature, about("Air at the coil.", low=5, high=50, unit="degC")]


class CorrectionFactors(Given, frozen=True, kw_only=True):
    """Factors printed for the machine at one value of what they correct for."""

    capacity_factor: Annotated[float, about("Capacity over capacity at the rating.", low=0.05, high=2)]
    power_factor: Annotated[float, about("Power over power at the rating.", low=0.05, high=2)]


class AntifreezeFactors(CorrectionFactors, frozen=True, kw_only=True):
    """Factors at one strength of antifreeze."""

    mass_fraction: Annotated[float, about("Glycol by mass; 0 is water.", low=0, high=0.6)]


class AltitudeFactors(CorrectionFactors, frozen=True, kw_only=True):
    """Factors at one altitude."""

    altitude: Annotated[Length, about("Altitude.", low=-100, high=4000, unit="m")]


class RangeFactors(CorrectionFactors, frozen=True, kw_only=True):
    """Factors at one difference of entering and leaving temperature."""

    temperature_difference: Annotated[
        TemperatureDifference, about("Entering minus leaving temperature.", low=1, high=30, unit="delta_degC")
    ]


class FoulingFactors(CorrectionFactors, frozen=True, kw_only=True):
    """Factors at one fouling resistance."""

    fouling_resistance: Annotated[ThermalResistance, about("Fouling.", low=0, high=0.01, unit="m2.K/W")]


class MachineCorrections(Given, frozen=True, kw_only=True):
    """Correction tables printed with the machine. A list that is given takes the place of our own method for it.

    Read linearly between rows, never beyond them. The factors are relative to the machine's rating.
    """

    antifreeze: Annotated[
        tuple[AntifreezeFactors, ...], about("By strength of antifreeze, rising.", max_length=40)
    ] = ()
    altitude: Annotated[tuple[AltitudeFactors, ...], about("By altitude, rising.", max_length=40)] = ()
    range: Annotated[tuple[RangeFactors, ...], about("By temperature difference, rising.", max_length=40)] = ()
    fouling: Annotated[tuple[FoulingFactors, ...], about("By fouling, rising.", max_length=40)] = ()


class CapacityEnvelope(Given, frozen=True, kw_only=True):
    """Limits inside which the machine may run. Each is optional; one that is not given is not tested."""

    leaving_minimum: (
        Annotated[Temperature, about("Coldest leaving liquid.", low=-60, high=60, unit="degC")] | UnsetType
    ) = UNSET
    leaving_maximum: (
        Annotated[Temperature, about("Warmest leaving liquid.", low=-60, high=80, unit="degC")] | UnsetType
    ) = UNSET
    entering_maximum: (
        Annotated[Temperature, about("Warmest entering liquid.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET
    ambient_minimum: Annotated[Temperature, about("Coldest air.", low=-60, high=60, unit="degC")] | UnsetType = UNSET
    ambient_maximum: Annotated[Temperature, about("Warmest air.", low=-20, high=80, unit="degC")] | UnsetType = UNSET
    ambient_minimum_without_head_pressure_control: (
        Annotated[
            Temperature,
            about("Air below which the machine needs head-pressure control.", low=-60, high=60, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    flow_minimum: Annotated[VolumeFlow, about("Least liquid flow.", low=0, high=2000, unit="L/s")] | UnsetType = UNSET
    flow_maximum: Annotated[VolumeFlow, about("Greatest liquid flow.", above=0, high=2000, unit="L/s")] | UnsetType = (
        UNSET
    )
    voltage_ratio_minimum: Annotated[float, about("Least voltage over rated.", low=0.5, high=1)] | UnsetType = UNSET
    voltage_ratio_maximum: Annotated[float, about("Greatest voltage over rated.", low=1, high=1.5)] | UnsetType = UNSET


class CapacityMachine(Given, frozen=True, kw_only=True):
    """A machine: its rating table, or else one rated point."""

    rating_table: Annotated[RatingTable, about("The machine's table; prevails over a rated point.")] | UnsetType = UNSET
    rated_point: Annotated[RatedPoint, about("One rated point, for an estimate.")] | UnsetType = UNSET
    corrections: Annotated[MachineCorrections, about("Correction tables printed with the machine.")] = (
        MachineCorrections()
    )
    envelope: Annotated[CapacityEnvelope, about("Limits of the machine.")] | UnsetType = UNSET
    head_pressure_control: Annotated[
        bool, about("Whether the machine holds its condensing pressure up in cold air.")
    ] = False


class CapacityConditions(Given, frozen=True, kw_only=True):
    """Where and how the machine shall run."""

    leaving_liquid_temperature: Annotated[
        Temperature, about("Leaving liquid temperature wanted.", low=-40, high=40, unit="degC")
    ]
    ambient_temperature: Annotated[
        Temperature, about("Air around the machine, before recirculation.", low=-30, high=60, unit="degC")
    ]
    temperature_difference: (
        Annotated[
            TemperatureDifference,
            about("Entering minus leaving temperature; absent: as rated.", low=2, high=20, unit="delta_degC"),
        ]
        | UnsetType
    ) = UNSET
    flow: (
        Annotated[VolumeFlow, about("Liquid flow, instead of the difference.", low=0.0001, high=2000, unit="L/s")]
        | UnsetType
    ) = UNSET
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    altitude: (
        Annotated[Length, about("Altitude of the site; absent: as rated.", low=-100, high=4000, unit="m")] | UnsetType
    ) = UNSET
    fouling_resistance: (
        Annotated[
            ThermalResistance, about("Fouling of the evaporator; absent: as rated.", low=0, high=0.001, unit="m2.K/W")
        ]
        | UnsetType
    ) = UNSET
    condenser_airflow_ratio: Annotated[
        float, about("Condenser airflow over rated, for a soiled or blocked coil.", low=0.3, high=1.2)
    ] = 1.0
    recirculation_temperature_rise: Annotated[
        TemperatureDifference,
        about("How much warmer the coil's air is than the ambient.", low=0, high=20, unit="delta_degC"),
    ] = TemperatureDifference(0.0, "delta_degC")
    frequency: (
        Annotated[Frequency, about("Supply frequency; absent: as rated.", low=45, high=65, unit="Hz")] | UnsetType
    ) = UNSET
    voltage_ratio: Annotated[float, about("Supply voltage over rated voltage.", low=0.5, high=1.5)] = 1.0


class CapacityAssumed(Given, frozen=True, kw_only=True):
    """Figures of the heat exchangers that nobody prints: common practice, each may be set."""

    condensing_over_ambient: Annotated[
        TemperatureDifference,
        about(
            "Condensing temperature over air, full load.", above=0, high=40, unit="delta_degC", basis="common_practice"
        ),
    ] = TemperatureDifference(25.0, "delta_degF")
    evaporator_approach: Annotated[
        TemperatureDifference,
        about(
            "Leaving liquid over evaporating temperature.", low=0.5, high=20, unit="delta_degC", basis="common_practice"
        ),
    ] = TemperatureDifference(6.0, "delta_degF")
    evaporator_heat_flux: Annotated[
        HeatFlux, about("Heat through the evaporator's area.", above=0, high=200, unit="kW/m2", basis="common_practice")
    ] = HeatFlux(20.0, "kW/m2")
    condenser_ntu: Annotated[
        float, about("Transfer units of the condenser on its air side.", low=0.1, high=5, basis="common_practice")
    ] = 1.2
    air_film_exponent: Annotated[
        float, about("Exponent of the air film with the air's mass flow.", low=0, high=1, basis="common_practice")
    ] = 0.6
    rated_evaporating_approach: Annotated[
        TemperatureDifference,
        about(
            "Estimate: leaving liquid over evaporating (dew) temperature at the rated point.",
            low=0.5,
            high=15,
            unit="delta_degC",
            basis="common_practice",
        ),
    ] = TemperatureDifference(3.5, "delta_degC")
    rated_condensing_over_ambient: Annotated[
        TemperatureDifference,
        about(
            "Estimate: condensing temperature (mean of bubble and dew) over air at the rated point.",
            low=3,
            high=30,
            unit="delta_degC",
            basis="common_practice",
        ),
    ] = TemperatureDifference(14.0, "delta_degC")
    superheat: Annotated[
        TemperatureDifference,
        about("Estimate: superheat of the suction gas.", low=0, high=30, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(6.0, "delta_degC")
    subcooling: Annotated[
        TemperatureDifference,
        about("Estimate: subcooling of the liquid.", low=0, high=30, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(6.0, "delta_degC")
    fan_power_fraction: Annotated[
        float, about("Estimate: share of the rated power that the fans draw.", low=0, high=0.4, basis="common_practice")
    ] = 0.07


class CapacityGiven(Given, frozen=True, kw_only=True):
    """A machine and the conditions at which its capacity is wanted."""

    machine: Annotated[CapacityMachine, about("The machine.")]
    conditions: Annotated[CapacityConditions, about("Where and how it shall run.")]
    assumed: Annotated[CapacityAssumed, about("Figures taken from common practice.")] = CapacityAssumed()
