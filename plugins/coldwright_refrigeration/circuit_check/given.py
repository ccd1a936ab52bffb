"""What `refrigeration.circuit_check` is asked."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import AbsolutePressure, GaugePressure, Length, Temperature, TemperatureDifference
from coldwright_refrigeration.shared.given import ABOUT_REFRIGERANT, RefrigerantName
from coldwright_refrigeration.shared.references import PRACTICE

_GAUGE = "as the gauge shows it, above the air pressure of the site"
_Band = tuple[TemperatureDifference, TemperatureDifference]


class ExpectedGiven(Given, frozen=True, kw_only=True):
    """Bands of this machine, `[low, high]`: below the first is low, above the second high. They beat the defaults."""

    superheat: (
        Annotated[_Band, about("Superheat at the compressor.", low=0, high=60, unit="delta_degC")] | UnsetType
    ) = UNSET
    subcooling: (
        Annotated[_Band, about("Subcooling at the condenser outlet.", low=0, high=60, unit="delta_degC")] | UnsetType
    ) = UNSET
    condensing_over_ambient: (
        Annotated[_Band, about("Condensing temperature above the air.", low=0, high=60, unit="delta_degC")] | UnsetType
    ) = UNSET
    evaporator_approach: (
        Annotated[_Band, about("Leaving liquid above the suction dew point.", low=0, high=60, unit="delta_degC")]
        | UnsetType
    ) = UNSET


class StandstillGiven(Given, frozen=True, kw_only=True):
    """Readings of the stopped circuit after its pressures have equalised, all of it at one temperature."""

    pressure: Annotated[GaugePressure, about(f"Pressure, {_GAUGE}.", low=-110, high=6000, unit="kPa")]
    temperature: Annotated[Temperature, about("Temperature of the whole circuit.", low=-50, high=90, unit="degC")]


class CircuitCheckGiven(Given, frozen=True, kw_only=True):
    """Readings of one running circuit, steady for ten minutes. Of a gauge pressure and its absolute twin give one."""

    refrigerant: Annotated[RefrigerantName, about(ABOUT_REFRIGERANT)]
    suction_pressure: (
        Annotated[GaugePressure, about(f"At the compressor inlet, {_GAUGE}.", low=-110, high=6000, unit="kPa")]
        | UnsetType
    ) = UNSET
    suction_pressure_absolute: (
        Annotated[AbsolutePressure, about("At the compressor inlet.", above=0, high=6100, unit="kPa")] | UnsetType
    ) = UNSET
    discharge_pressure: (
        Annotated[GaugePressure, about(f"At the compressor outlet, {_GAUGE}.", low=-110, high=6000, unit="kPa")]
        | UnsetType
    ) = UNSET
    discharge_pressure_absolute: (
        Annotated[AbsolutePressure, about("At the compressor outlet.", above=0, high=6100, unit="kPa")] | UnsetType
    ) = UNSET
    liquid_line_pressure: (
        Annotated[
            GaugePressure,
            about(
                f"At the condenser outlet, {_GAUGE}; the discharge pressure when nothing is given.",
                low=-110,
                high=6000,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET
    liquid_line_pressure_absolute: (
        Annotated[AbsolutePressure, about("At the condenser outlet.", above=0, high=6100, unit="kPa")] | UnsetType
    ) = UNSET
    suction_line_temperature: Annotated[
        Temperature, about("Clamp at the compressor inlet.", low=-50, high=150, unit="degC")
    ]
    liquid_line_temperature: Annotated[
        Temperature, about("Clamp at the condenser outlet.", low=-50, high=150, unit="degC")
    ]
    discharge_line_temperature: (
        Annotated[Temperature, about("Clamp at the compressor outlet.", low=-50, high=250, unit="degC")] | UnsetType
    ) = UNSET
    condenser_air_temperature: Annotated[
        Temperature, about("Air that enters the coil, measured at the coil.", low=-50, high=70, unit="degC")
    ]
    leaving_liquid_temperature: Annotated[
        Temperature, about("Liquid that leaves the evaporator.", low=-50, high=80, unit="degC")
    ]
    entering_liquid_temperature: (
        Annotated[Temperature, about("Liquid that enters the evaporator.", low=-50, high=80, unit="degC")] | UnsetType
    ) = UNSET
    design_liquid_temperature_difference: Annotated[
        TemperatureDifference,
        about(
            "Entering less leaving at full load.",
            low=1,
            high=40,
            unit="delta_degC",
            basis="common_practice",
            references=(PRACTICE.id,),
        ),
    ] = TemperatureDifference(10.0, "delta_degF")
    altitude: Annotated[Length, about("Height above sea level.", low=-100, high=4000, unit="m")] | UnsetType = UNSET
    barometric_pressure: (
        Annotated[AbsolutePressure, about("Air pressure at the site.", low=55, high=108, unit="kPa")] | UnsetType
    ) = UNSET
    liquid_freezing_temperature: Annotated[
        Temperature,
        about("Where the liquid freezes; unless given, where plain water does.", low=-60, high=20, unit="degC"),
    ] = Temperature(0.0, "degC")
    compressors_running: Annotated[int, about("Compressors that run.", low=1, high=32)] | UnsetType = UNSET
    compressors_total: Annotated[int, about("Compressors of the circuit.", low=1, high=32)] | UnsetType = UNSET
    expected: Annotated[ExpectedGiven, about("What this machine reads when it is well.")] = ExpectedGiven()
    circuit_opened_recently: Annotated[bool, about("The circuit was opened for work not long ago.")] = False
    standstill: Annotated[StandstillGiven, about("Standstill test, where one was made.")] | UnsetType = UNSET
