"""What one machine cools, and draws, where conditions are not those of its rating."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Example, Fluid, Given, Load, Notes, Results, about, calculator, finding
from coldwright.contract.quantities import (
    Frequency,
    HeatFlux,
    HeatLossCoefficient,
    Length,
    Power,
    Temperature,
    TemperatureDifference,
    ThermalResistance,
    VolumeFlow,
)
from coldwright_refrigeration import references as ref
from coldwright_refrigeration.cautions import PLANNING
from coldwright_refrigeration.liquids import WATER
from coldwright_refrigeration.refrigerants import ABOUT_REFRIGERANT, REFRIGERANTS_TABLE, RefrigerantName
from coldwright_refrigeration.saturation import SATURATION_TABLE

TEN_DEGF = TemperatureDifference(10, "delta_degF")
SEA_LEVEL = Length(0, "m")
RATED_FOULING = ThermalResistance(0.0001, "h.ft2.degF/Btu")
SIXTY_HERTZ = Frequency(60, "Hz")

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
    """What the maker's figures stand for, beside the two temperatures."""

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
    frequency: Annotated[Frequency, about("Supply frequency of the rating.", low=45, high=65, unit="Hz")] = SIXTY_HERTZ
    power_includes_fans: Annotated[bool, about("Whether the power includes the condenser fans.")] = True


class RatingBasis(RatingConditions, frozen=True, kw_only=True):
    """What a rating table stands for."""

    temperature_difference: Annotated[
        TemperatureDifference,
        about(
            "Entering minus leaving liquid temperature of the rating.",
            low=2,
            high=20,
            unit="delta_degC",
            basis="standard",
            references=("ahri_550_590_2015",),
        ),
    ] = TEN_DEGF


class RatingTable(Given, frozen=True, kw_only=True):
    """Capacity and power over leaving liquid and ambient temperature, as printed for the machine."""

    leaving_liquid_temperature: Annotated[RatingAxis, about("Leaving liquid temperatures, one for each row.")]
    ambient_temperature: Annotated[RatingAxis, about("Air temperatures at the coil, one for each column.")]
    capacity: Annotated[RatingGrid, about("Cooling capacity.")]
    power: Annotated[RatingGrid, about("Electric power drawn.")]
    basis: Annotated[RatingBasis, about("What the table stands for.")] = RatingBasis()


class RatedPoint(RatingConditions, frozen=True, kw_only=True):
    """One point from the data plate, for a machine of which no table is at hand."""

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
    ] = TemperatureDifference(0, "delta_degC")
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
    ] = TemperatureDifference(25, "delta_degF")
    evaporator_approach: Annotated[
        TemperatureDifference,
        about(
            "Leaving liquid over evaporating temperature.", low=0.5, high=20, unit="delta_degC", basis="common_practice"
        ),
    ] = TemperatureDifference(6, "delta_degF")
    evaporator_heat_flux: Annotated[
        HeatFlux, about("Heat through the evaporator's area.", above=0, high=200, unit="kW/m2", basis="common_practice")
    ] = HeatFlux(20, "kW/m2")
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
    ] = TemperatureDifference(14, "delta_degC")
    superheat: Annotated[
        TemperatureDifference,
        about("Estimate: superheat of the suction gas.", low=0, high=30, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(6, "delta_degC")
    subcooling: Annotated[
        TemperatureDifference,
        about("Estimate: subcooling of the liquid.", low=0, high=30, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(6, "delta_degC")
    fan_power_fraction: Annotated[
        float, about("Estimate: share of the rated power that the fans draw.", low=0, high=0.4, basis="common_practice")
    ] = 0.07


class CapacityGiven(Given, frozen=True, kw_only=True):
    """A machine and the conditions at which its capacity is wanted."""

    machine: Annotated[CapacityMachine, about("The machine.")]
    conditions: Annotated[CapacityConditions, about("Where and how it shall run.")]
    assumed: Annotated[CapacityAssumed, about("Figures taken from common practice.")] = CapacityAssumed()


class CapacityCorrection(Results, frozen=True, kw_only=True):
    """One penalty that acts, and how it was applied."""

    name: Annotated[
        Literal["recirculation", "condenser_air", "fouling", "antifreeze", "range", "frequency"],
        about("What it corrects for; `condenser_air` is altitude and airflow together."),
    ]
    ambient_shift: Annotated[TemperatureDifference, about("Added to the ambient temperature.")] | UnsetType = UNSET
    leaving_shift: Annotated[TemperatureDifference, about("Added to the leaving liquid temperature.")] | UnsetType = (
        UNSET
    )
    capacity_factor: Annotated[float, about("Multiplies the capacity.")] | UnsetType = UNSET
    power_factor: Annotated[float, about("Multiplies the power.")] | UnsetType = UNSET


class CapacitySensitivity(Results, frozen=True, kw_only=True):
    """How the capacity moves with the two temperatures."""

    capacity_per_degree_ambient: Annotated[
        float, about("Relative change of capacity for each kelvin of warmer air; negative for a sound machine.")
    ]
    capacity_per_degree_leaving: Annotated[
        float, about("Relative change of capacity for each kelvin of warmer leaving liquid.")
    ]


class CapacityEstimate(Results, frozen=True, kw_only=True):
    """The cycle behind an estimate."""

    swept_volume_flow: Annotated[VolumeFlow, about("Swept volume flow fitted to the rated point.")]
    isentropic_efficiency: Annotated[float, about("Isentropic efficiency at the rated point.")]
    evaporator_effectiveness: Annotated[float, about("Effectiveness of the evaporator at the rated point.")]
    condenser_conductance: Annotated[
        HeatLossCoefficient, about("Heat rejected for each kelvin of condensing over air, rated.")
    ]
    evaporating_temperature: Annotated[Temperature, about("Evaporating (dew) temperature at the conditions.")]
    condensing_temperature: Annotated[Temperature, about("Condensing temperature, mean of bubble and dew.")]


class CapacityResults(Results, frozen=True, kw_only=True):
    """Capacity and power at the conditions, and how they came about."""

    capacity: Annotated[Power, about("Cooling capacity.", us="ton")]
    power: Annotated[Power, about("Electric power drawn.")]
    kw_per_ton: Annotated[float, about("Power over capacity, kW per ton.")]
    cop: Annotated[float, about("Capacity over power.")]
    eer: Annotated[float, about("Capacity over power, Btu per Wh.")]
    source: Annotated[Literal["table", "estimate"], about("Read from the machine's table, or estimated.")]
    corrections: Annotated[tuple[CapacityCorrection, ...], about("Penalties that act.")]
    effective_ambient_temperature: Annotated[Temperature, about("Air temperature at which the rating was read.")]
    effective_leaving_liquid_temperature: Annotated[
        Temperature, about("Leaving liquid temperature at which the rating was read.")
    ]
    uncertainty: Annotated[float, about("Relative uncertainty of the capacity beside that of the rating itself.")]
    flow: Annotated[VolumeFlow, about("Liquid flow: as given, or as the difference asks.")]
    entering_liquid_temperature: Annotated[Temperature, about("Entering liquid temperature at full capacity.")]
    in_envelope: Annotated[bool, about("Whether all limits that were given are kept.")] | UnsetType = UNSET
    sensitivity: Annotated[CapacitySensitivity, about("How the capacity moves with the temperatures.")]
    estimate: Annotated[CapacityEstimate, about("The cycle behind an estimate.")] | UnsetType = UNSET


_TABLE_EXAMPLE = {
    "leaving_liquid_temperature": {"values": [42, 44, 46, 50], "unit": "degF"},
    "ambient_temperature": {"values": [75, 85, 95, 105], "unit": "degF"},
    "capacity": {
        "values": [
            [106.2, 100.9, 95.3, 89.4],
            [110.1, 104.7, 98.9, 92.8],
            [114.1, 108.6, 102.6, 96.3],
            [122.4, 116.5, 110.2, 103.6],
        ],
        "unit": "ton",
    },
    "power": {
        "values": [
            [88.4, 98.9, 110.8, 124.3],
            [89.2, 99.7, 111.7, 125.2],
            [90.0, 100.6, 112.6, 126.1],
            [91.7, 102.4, 114.4, 128.0],
        ],
        "unit": "kW",
    },
}

EXAMPLES = (
    Example(
        "table_at_altitude",
        "An invented machine of about 100 ton, read from its table for a site at 1,200 m with a little recirculation.",
        {
            "machine": {"rating_table": _TABLE_EXAMPLE, "envelope": {"ambient_maximum": {"value": 46, "unit": "degC"}}},
            "conditions": {
                "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
                "ambient_temperature": {"value": 95, "unit": "degF"},
                "altitude": {"value": 1200, "unit": "m"},
                "recirculation_temperature_rise": {"value": 1, "unit": "delta_degC"},
            },
        },
    ),
    Example(
        "plate_only",
        "An invented machine of which only the data plate is known, on a hot day with 30 % propylene glycol.",
        {
            "machine": {
                "rated_point": {
                    "refrigerant": "R-410A",
                    "capacity": {"value": 100, "unit": "ton"},
                    "power": {"value": 112, "unit": "kW"},
                    "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
                    "temperature_difference": {"value": 10, "unit": "delta_degF"},
                    "ambient_temperature": {"value": 95, "unit": "degF"},
                }
            },
            "conditions": {
                "leaving_liquid_temperature": {"value": 42, "unit": "degF"},
                "ambient_temperature": {"value": 104, "unit": "degF"},
                "fluid": {"kind": "propylene_glycol", "mass_fraction": 0.3},
            },
        },
    ),
)

FINDINGS = (
    finding("outside_envelope", "stop", "A condition lies outside a limit of the machine."),
    finding("leaving_too_cold_without_antifreeze", "stop", "Plain water is to leave below 4.4 degC (40 degF)."),
    finding("voltage_outside_tolerance", "stop", "The supply voltage is more than 10 % from the rated voltage."),
    finding("entering_above_maximum", "check", "The liquid enters warmer than the machine takes: a hot start."),
    finding("ambient_low_without_head_pressure_control", "check", "Cold air without head-pressure control."),
    finding("capacity_rises_with_ambient", "check", "The table's capacity does not fall as the air gets warmer."),
    finding("antifreeze_factors_missing", "check", "Antifreeze, and no factors of the machine for it."),
    finding("frequency_below_rating", "check", "The supply frequency is below that of the rating."),
    finding("range_far_from_rating", "check", "The temperature difference is far from that of the rating."),
    finding("range_differs_from_rating", "note", "The temperature difference is not that of the rating."),
    finding("estimated_without_table", "note", "No table: the capacity is an estimate from one rated point."),
    finding("rated_point_not_used", "note", "A rated point was given beside a table, and was not used."),
    finding("power_excludes_fans", "note", "The power does not include the condenser fans."),
)


@calculator(
    "refrigeration.capacity",
    version="1.1.0",
    title="Capacity and power of a machine at other conditions than rated",
    references=(
        ref.PRACTICE,
        ref.FIRST_PRINCIPLES,
        ref.AHRI_550_590_2015,
        ref.AHRI_FOULING,
        ref.EN_14511,
        ref.ASHRAE_ATMOSPHERE,
        ref.NEMA_MG1,
        ref.COOLPROP,
        ref.PSYCHROLIB,
    ),
    tables=(REFRIGERANTS_TABLE, SATURATION_TABLE),
    hazards=("general", "pressure"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def capacity(given: CapacityGiven, notes: Notes) -> CapacityResults:
    """Capacity and electric power of one air-cooled machine at the conditions of the site.

    With a rating table the figures are interpolated linearly in both temperatures. Altitude, soiled coils, recirculated
    air and fouling become an equivalent shift of one of the two temperatures, and the table is read there. A point,
    or a
    shifted point, outside the table is refused: nothing is extrapolated. Correction tables of the machine come first.

    Without a table a vapour-compression cycle is fitted through one rated point: swept volume, compressor efficiency
    and
    the two heat exchangers. That is an estimate, valid within 15 K of the rated air and 8 K of the rated leaving liquid
    temperature, and says how uncertain it is.
    """
    from coldwright_refrigeration.capacity_answer import answer

    notes.caution(*PLANNING)
    return answer(given, notes)
