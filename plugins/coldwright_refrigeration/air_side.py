"""Condenser air: density, rise, recirculation, narrow gaps, and what they cost."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Given, Notes, Results, about, calculator, finding, tidy
from coldwright.contract.quantities import (
    AbsolutePressure,
    Density,
    Length,
    MassFlow,
    Power,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Velocity,
    VolumeFlow,
)
from coldwright_refrigeration.air_side_findings import judge
from coldwright_refrigeration.air_side_flow import MOST_LOSS, Air, air_of
from coldwright_refrigeration.cautions import FANS_START, LOCAL_RULES
from coldwright_refrigeration.references import (
    ASHRAE_ATMOSPHERE,
    ASHRAE_PSYCHROMETRICS,
    FIRST_PRINCIPLES,
    OSHA_GUARDING,
    OSHA_LOCKOUT,
    PRACTICE,
    PSYCHROLIB,
)

_PRACTICE = (PRACTICE.id,)


class ClearanceGiven(Given, frozen=True, kw_only=True):
    """Free space at one side of the machine."""

    side: Annotated[
        Literal["coil", "control", "facing_coil", "top"],
        about("`coil` to a wall, `facing_coil` to the coil of another machine, `top` means that something is above."),
    ]
    distance: Annotated[Length, about("Free distance.", low=0, high=100, unit="m")]
    required: (
        Annotated[Length, about("What the machine's data ask for; else common practice.", low=0, high=100, unit="m")]
        | UnsetType
    ) = UNSET
    ducted: Annotated[bool, about("The fan air is led away by a duct (`top`).")] = False


class GapGiven(Given, frozen=True, kw_only=True):
    """A gap between coil and wall through which the air must come."""

    airflow_through: Annotated[VolumeFlow, about("Air that comes through the gap.", above=0, high=1000, unit="m3/s")]
    length: Annotated[Length, about("Length of the gap along the coil.", low=0.1, high=100, unit="m")]
    distance: Annotated[Length, about("Width of the gap, coil to wall.", low=0.05, high=20, unit="m")]
    fan_static: Annotated[
        PressureDifference,
        about(
            "Static pressure that the fans make at their rated flow.",
            low=10,
            high=500,
            unit="Pa",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = PressureDifference(60, "Pa")


class AirSideGiven(Given, frozen=True, kw_only=True):
    """A condenser's heat, its air and what stands around it."""

    heat_rejected: Annotated[Power, about("Heat given to the air.", low=0.1, high=100_000, unit="kW")] | UnsetType = (
        UNSET
    )
    capacity: (
        Annotated[Power, about("Cooling; with `power` in place of `heat_rejected`.", low=0.1, high=100_000, unit="kW")]
        | UnsetType
    ) = UNSET
    power: (
        Annotated[Power, about("Power of the compressors; with `capacity`.", low=0, high=50_000, unit="kW")] | UnsetType
    ) = UNSET
    airflow: (
        Annotated[VolumeFlow, about("Air that the fans move, at ambient density.", low=0.01, high=10_000, unit="m3/s")]
        | UnsetType
    ) = UNSET
    air_temperature_rise: (
        Annotated[
            TemperatureDifference,
            about(
                "Rise over the coil, in place of `airflow`; 10 K when neither is given.",
                low=2,
                high=60,
                unit="delta_degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    ambient_temperature: Annotated[Temperature, about("Dry bulb of the open air.", low=-40, high=60, unit="degC")]
    relative_humidity: Annotated[float, about("Relative humidity of the open air; 0 is dry.", low=0, high=1)] = 0.0
    altitude: Annotated[Length, about("Height above sea level.", low=-100, high=4000, unit="m")] | UnsetType = UNSET
    barometric_pressure: (
        Annotated[AbsolutePressure, about("Air pressure at the site.", low=55, high=108, unit="kPa")] | UnsetType
    ) = UNSET
    recirculated_fraction: (
        Annotated[
            float,
            about("Share of the air at the coil that has been through it already.", low=0, below=0.6),
        ]
        | UnsetType
    ) = UNSET
    measured_inlet_temperature: (
        Annotated[
            Temperature,
            about("Air at the coil, in place of `recirculated_fraction`.", low=-41, high=120, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    clearances: Annotated[tuple[ClearanceGiven, ...], about("Free space around the machine.", max_length=50)] = ()
    gap: Annotated[GapGiven, about("The narrowest gap that feeds a coil.")] | UnsetType = UNSET
    condensing_over_ambient: Annotated[
        TemperatureDifference,
        about(
            "Condensing temperature above the air at rating.",
            low=2,
            high=60,
            unit="delta_degC",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = TemperatureDifference(25, "delta_degF")
    condenser_ntu: Annotated[
        float,
        about("Transfer units of the coil at rating.", low=0.2, high=5, basis="common_practice", references=_PRACTICE),
    ] = 1.2
    air_film_exponent: Annotated[
        float,
        about(
            "Exponent of the air film with mass flow.", low=0.2, high=0.9, basis="common_practice", references=_PRACTICE
        ),
    ] = 0.6
    rated_altitude: Annotated[
        Length, about("Height above sea level that the rating stands for.", low=-100, high=4000, unit="m")
    ] = Length(0, "m")


class AirSideResults(Results, frozen=True, kw_only=True):
    """The condenser's air, and the ambient temperature that costs as much as all its troubles together."""

    air_density: Annotated[Density, about("Density of the open air at the site.")]
    airflow: Annotated[VolumeFlow, about("Air that the fans move.")]
    airflow_mass: Annotated[MassFlow, about("The same by mass.")]
    air_temperature_rise: Annotated[TemperatureDifference, about("Rise over the coil.")]
    recirculated_fraction: Annotated[float, about("Share of the air that comes round again.")]
    recirculation_temperature_rise: Annotated[TemperatureDifference, about("Air at the coil above the open air.")]
    inlet_temperature: Annotated[Temperature, about("Air at the coil.")]
    gap_velocity: Annotated[Velocity, about("Air in the gap.")] | UnsetType = UNSET
    gap_pressure_drop: Annotated[PressureDifference, about("Pressure lost in the gap.")] | UnsetType = UNSET
    airflow_ratio: Annotated[float, about("Airflow left behind the gap, over the free one.")] | UnsetType = UNSET
    condenser_air_temperature_rise: Annotated[
        TemperatureDifference, about("Ambient rise with the effect of thin or scarce air.")
    ]
    effective_ambient_temperature: Annotated[
        Temperature, about("Ambient temperature at which a free machine would do as badly.")
    ]
    capacity_effect: (
        Annotated[
            float,
            about(
                "Estimated change of capacity, as a fraction; the machine's table knows better. Left out where the loss "
                "would be above half, where no straight line holds."
            ),
        ]
        | UnsetType
    ) = UNSET


@calculator(
    "refrigeration.air_side",
    version="1.0.0",
    title="Condenser air and clearances",
    references=(
        FIRST_PRINCIPLES,
        PRACTICE,
        PSYCHROLIB,
        ASHRAE_ATMOSPHERE,
        ASHRAE_PSYCHROMETRICS,
        OSHA_LOCKOUT,
        OSHA_GUARDING,
    ),
    hazards=("rotating",),
    findings=(
        finding("roof_over_discharge", "stop", "Something is above the fans and no duct leads their air away."),
        finding("clearance_short", "check", "A clearance is below what is required. One finding each."),
        finding("recirculation_high", "check", "The air at the coil is more than 2 K above the open air."),
        finding("gap_pressure_high", "check", "A gap takes more than 0.3 of the fans' static pressure."),
        finding("loss_beyond_estimate", "check", "The air is so warm or scarce that no estimate of capacity holds."),
        finding("air_rise_unusual", "note", "The rise over the coil lies outside 8 to 14 K."),
        finding("inlet_below_ambient", "note", "The measured inlet is below the open air; taken as no recirculation."),
        finding("hot_air_upwind", "note", "Always given: keep exhaust and radiator air of generators away."),
        finding("warmer_than_weather_station", "note", "Always given: pavements and roofs are warmer than reports."),
    ),
    examples=(
        Example(
            "beside a wall",
            "An invented 350 kW machine 0.9 m from a wall on a hot day at 600 m.",
            {
                "capacity": {"value": 350, "unit": "kW"},
                "power": {"value": 105, "unit": "kW"},
                "airflow": {"value": 40, "unit": "m3/s"},
                "ambient_temperature": {"value": 36, "unit": "degC"},
                "relative_humidity": 0.35,
                "altitude": {"value": 600, "unit": "m"},
                "recirculated_fraction": 0.1,
                "clearances": [
                    {"side": "coil", "distance": {"value": 0.9, "unit": "m"}},
                    {"side": "control", "distance": {"value": 1.5, "unit": "m"}},
                ],
                "gap": {
                    "airflow_through": {"value": 20, "unit": "m3/s"},
                    "length": {"value": 5, "unit": "m"},
                    "distance": {"value": 0.9, "unit": "m"},
                },
            },
        ),
        Example(
            "from a thermometer at the coil",
            "An invented machine whose coil gets warmer air than the yard.",
            {
                "heat_rejected": {"value": 130, "unit": "ton"},
                "ambient_temperature": {"value": 95, "unit": "degF"},
                "measured_inlet_temperature": {"value": 100, "unit": "degF"},
            },
        ),
    ),
)
def air_side(given: AirSideGiven, notes: Notes) -> AirSideResults:
    """Density, temperature rise and recirculation of condenser air, and what they cost in capacity.

    Density by the gas law, moist air by PsychroLib, at ambient temperature and site pressure. The fans move a volume, so
    thin air carries less heat: rise = heat/(density x flow x 1.006 kJ/(kg.K)). With a share f coming round again the
    coil sees ambient + f/(1 - f) x rise. A gap loses 1.5 velocity heads, and the flow falls by half the share of the
    fans' static pressure that is lost. Thin or scarce air acts like a warmer day by effectiveness and transfer units,
    the condensing side held. Capacity falls by about 0.7 % for each delta_degF (common practice): the machine's own
    table is better.

    Loss factor, fan law, clearances and the capacity slope are common practice, no source.
    """
    air = air_of(given, notes)
    notes.caution(LOCAL_RULES, FANS_START)
    judge(given, air, notes)
    return _results(air)


def _results(air: Air) -> AirSideResults:
    gap = air.gap
    return AirSideResults(
        air_density=Density.from_si(air.density, "kg/m3"),
        airflow=VolumeFlow.from_si(air.airflow, "m3/s"),
        airflow_mass=MassFlow.from_si(air.density * air.airflow, "kg/s"),
        air_temperature_rise=TemperatureDifference.of(air.rise, "delta_degC"),
        recirculated_fraction=tidy(air.fraction),
        recirculation_temperature_rise=TemperatureDifference.of(air.recirculation_rise, "delta_degC"),
        inlet_temperature=Temperature.from_si(air.ambient + air.recirculation_rise, "degC"),
        gap_velocity=UNSET if gap is None else Velocity.from_si(gap.velocity, "m/s"),
        gap_pressure_drop=UNSET if gap is None else PressureDifference.from_si(gap.pressure_drop, "Pa"),
        airflow_ratio=UNSET if gap is None else tidy(gap.airflow_ratio),
        condenser_air_temperature_rise=TemperatureDifference.of(air.shift, "delta_degC"),
        effective_ambient_temperature=Temperature.from_si(air.effective, "degC"),
        capacity_effect=UNSET if air.capacity_effect < MOST_LOSS else tidy(air.capacity_effect) + 0.0,  # no minus zero
    )
