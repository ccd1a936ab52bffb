"""Condenser air: density, rise, recirculation, narrow gaps, and what they cost."""

from msgspec import UNSET

from coldwright.contract import Notes, calculator, tidy
from coldwright.contract.quantities import (
    Density,
    Length,
    MassFlow,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Velocity,
    VolumeFlow,
)
from coldwright_refrigeration.air_side.clearances import clearances_of
from coldwright_refrigeration.air_side.examples import EXAMPLES
from coldwright_refrigeration.air_side.findings import FINDINGS, judge
from coldwright_refrigeration.air_side.flow import MOST_LOSS, Air, air_of
from coldwright_refrigeration.air_side.given import AirSideGiven
from coldwright_refrigeration.air_side.results import AirSideResults
from coldwright_refrigeration.shared.cautions import FANS_START, LOCAL_RULES
from coldwright_refrigeration.shared.references import (
    ASHRAE_ATMOSPHERE,
    ASHRAE_PSYCHROMETRICS,
    FIRST_PRINCIPLES,
    OSHA_GUARDING,
    OSHA_LOCKOUT,
    PRACTICE,
    PSYCHROLIB,
)


@calculator(
    "refrigeration.air_side",
    version="1.1.0",
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
    findings=FINDINGS,
    examples=EXAMPLES,
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
    return _results(given, air)


def _results(given: AirSideGiven, air: Air) -> AirSideResults:
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
        gap_distance_needed=(
            UNSET if gap is None or gap.distance_needed is None else Length.of(gap.distance_needed, "m")
        ),
        airflow_ratio=UNSET if gap is None else tidy(gap.airflow_ratio),
        condenser_air_temperature_rise=TemperatureDifference.of(air.shift, "delta_degC"),
        effective_ambient_temperature=Temperature.from_si(air.effective, "degC"),
        capacity_effect=UNSET if air.capacity_effect < MOST_LOSS else tidy(air.capacity_effect) + 0.0,  # no minus zero
        clearances=clearances_of(given),
    )
